"""The same work on many items, here or shared out over processes: the same results in the same order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, TypeVar

from catalogue.errors import LetterholdError

Item = TypeVar("Item")
Result = TypeVar("Result")

Progress = Callable[[Iterable[Any], int, str], Iterable[Any]]
"""Passes items on, their number and a label known, and shows how far they are."""

FEW = 100
"""Items below which it is done here: in the time a process takes to start some fifteen faces are measured in full (the
figures of ``check`` and of 50 faces in ``bench/rank_speed.py``)."""

_SHARE = 8
"""Items handed out at once."""


def in_silence(items: Iterable[Any], total: int, label: str) -> Iterable[Any]:
    """The progress that shows nothing."""
    return items


class ParallelError(LetterholdError):
    """A process ended before its work was done."""


def each(work: Callable[[Item], Result], items: Sequence[Item], workers: int, few: int = 0) -> Iterator[Result]:
    """``work`` on every item, in order, as results come; in several processes from ``few`` items on (0: ``FEW``).

    ``work``, items and results must be able to be pickled. Raises ParallelError when a process ends unasked, with
    what to do; closing the iterator early stops the processes.
    """
    if workers < 2 or len(items) < (few or FEW):
        yield from map(work, items)
        return
    import multiprocessing  # here, as a ranking mostly does without
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    # Spawned as everywhere: a forked child would share the open catalogue.
    with ProcessPoolExecutor(workers, multiprocessing.get_context("spawn")) as pool:
        try:
            yield from pool.map(work, items, chunksize=min(_SHARE, -(-len(items) // workers)))
        except BrokenProcessPool as cause:
            raise ParallelError(
                "a measuring process ended early, perhaps because it ran out of memory; run again with fewer faces"
            ) from cause
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
