"""Files to records on many machines; the only importer of ``distributed``.

A task is a batch of files, and each worker of the cluster works it off with the scan's own engine (``scan.scan_files``
with one process): the same isolation, the same reasons, so the same records as on one machine. A worker that is lost
takes its batch along; the scheduler gives the batch to another one. The records come back to the caller, who is the
one writer, so a scan that was stopped goes on as any other does; or the workers keep them as partitions.

The workers must see the fonts under the same paths as the caller (shared storage), or reach the same store: of an
address a task carries what the caller's listing says of its fonts, and the worker fetches them (``remote``). They must
have this version of the project.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from scanner.files import FontFile, batches
from scanner.reasons import FileError
from scanner.records import FileRecord
from scanner.workers.remote import scan_anywhere
from scanner.workers.supervisor import Judge, ScanError

Keep = Callable[[Sequence[FileRecord]], list[FileRecord]]
"""What a worker does with a batch's records in place of sending them back: it writes them, and returns their stubs."""

BATCH = 16
"""Files a task: enough that the start of the engine, once a task, weighs little (an estimate, not measured)."""

AHEAD = 2
"""Batches handed out a worker at a time: one at work, one waiting. What is handed out must be done again on a loss."""

MOST_LOSSES = 20
"""Times a batch is handed out again after the scheduler gave it up (by default when four workers were lost over it).
A font cannot end a worker, only the engine's own processes; so losses come from outside, a machine taken away or short
of memory, and the batch is as good as before."""

ANSWER_SECONDS = 10
"""Wait for the scheduler."""


def scan_on_cluster(
    address: str,
    files: Iterable[FontFile],
    words: Sequence[str],
    every_instance: bool = False,
    judge: Judge | None = None,
    roots: Sequence[Path] = (),
    keep: Keep | None = None,
) -> Iterator[FileRecord]:
    """As ``scan_files``, on the workers of the scheduler at ``address``; records come as batches are done.

    With ``keep`` (a function that can be imported by its name, or a partial of one) the workers keep the records.

    Raises ScanError when ``distributed`` is not installed, no scheduler answers, or the workers cannot do the work.
    """
    try:
        from distributed import Client, KilledWorker, as_completed
    except ImportError as cause:
        raise ScanError("a cluster needs the extra `cluster`; pip install 'letterhold[cluster]'") from cause
    left = batches(files, BATCH)
    try:
        client = Client(address, timeout=ANSWER_SECONDS, set_as_default=False)
    except (OSError, ValueError) as cause:
        reason = f"{address}: no scheduler answers there; start one with 'dask scheduler' and give its tcp:// address"
        raise ScanError(reason) from cause
    with client:
        at_work: dict[str, tuple[FontFile, ...]] = {}
        losses: dict[tuple[FontFile, ...], int] = {}

        settings = (tuple(words), every_instance, judge, tuple(roots), keep)

        def hand_out(batch: tuple[FontFile, ...]) -> Any:
            future = client.submit(scan_batch, batch, *settings, pure=False)
            at_work[future.key] = batch
            return future

        def following() -> list[Any]:
            batch = next(left, None)
            return [hand_out(batch)] if batch else []

        workers = max(1, len(client.scheduler_info(n_workers=-1)["workers"]))
        pool = as_completed([f for _ in range(AHEAD * workers) for f in following()], loop=client.loop)
        for future in pool:
            batch = at_work.pop(future.key)
            error = future.exception()
            if isinstance(error, KilledWorker) and losses.get(batch, 0) < MOST_LOSSES:
                losses[batch] = losses.get(batch, 0) + 1
                pool.add(hand_out(batch))
                continue
            if isinstance(error, FileError):  # a store is away, in one line that says so
                raise error
            if error is not None:
                raise ScanError(
                    f"{address}: a worker cannot scan ({type(error).__name__}); see its log, and that every worker has"
                    " this version of letterhold and sees the same folders"
                ) from error
            for more in following():
                pool.add(more)
            yield from future.result()


def scan_batch(
    files: Sequence[FontFile],
    words: Sequence[str],
    every_instance: bool,
    judge: Judge | None,
    roots: Sequence[Path],
    keep: Keep | None = None,
) -> list[FileRecord]:
    """One task: runs on a worker of the cluster."""
    records = list(scan_anywhere(files, words, 1, every_instance, judge, roots))
    return records if keep is None else keep(records)
