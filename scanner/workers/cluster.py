"""Files to records on many machines; the only importer of ``distributed``.

A task is a batch of files, and each worker of the cluster works it off with the scan's own engine (``scan_files`` with
one process): the same isolation, the same reasons, so the same records as on one machine. A worker that is lost
takes its batch along; the scheduler gives the batch to another one. The records come back to the caller, who is the
one writer, so a scan that was stopped goes on as any other does; or the workers keep them as partitions.

The workers must see the fonts under the same paths as the caller (shared storage), or reach the same store: of an
address a task carries what the caller's listing says of its fonts, and the worker fetches them (``remote``). They must
have this version of the project.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import Any

from scanner.files import FontFile, batches
from scanner.reasons import FileError
from scanner.records import FileRecord
from scanner.workers.remote import scan_anywhere
from scanner.workers.steps import Settings
from scanner.workers.supervisor import ScanError

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
    address: str, files: Iterable[FontFile], settings: Settings, keep: Keep | None = None
) -> Iterator[FileRecord]:
    """As ``scan_files``, on the workers of the scheduler at ``address``; records come as batches are done.

    With ``keep`` (a function that can be imported by its name, or a partial of one) the workers keep the records.

    Raises ScanError when ``distributed`` is not installed, no scheduler answers, or the workers cannot do the work.
    """
    try:
        from distributed import Client, as_completed  # an extra, and slow to load
    except ImportError as cause:
        raise ScanError("a cluster needs the extra `cluster`; pip install 'letterhold[cluster]'") from cause
    try:
        client = Client(address, timeout=ANSWER_SECONDS, set_as_default=False)
    except (OSError, ValueError) as cause:
        reason = f"{address}: no scheduler answers there; start one with 'dask scheduler' and give its tcp:// address"
        raise ScanError(reason) from cause
    with client:
        queue = _Queue(client, address, batches(files, BATCH), partial(scan_batch, settings=settings, keep=keep))
        workers = max(1, len(client.scheduler_info(n_workers=-1)["workers"]))
        pool = as_completed([f for _ in range(AHEAD * workers) for f in queue.following()], loop=client.loop)
        for future in pool:
            again = queue.again(future)
            for more in again or queue.following():
                pool.add(more)
            if not again:
                yield from future.result()


class _Queue:
    """Batches handed out to a cluster and not yet back."""

    def __init__(
        self, client: Any, address: str, left: Iterator[tuple[FontFile, ...]], work: Callable[..., list[FileRecord]]
    ) -> None:
        self._client, self._address, self._left, self._work = client, address, left, work
        self._at_work: dict[str, tuple[FontFile, ...]] = {}
        self._losses: dict[tuple[FontFile, ...], int] = {}

    def following(self) -> list[Any]:
        """The next batch handed out, as a list of one future; none when all are."""
        batch = next(self._left, None)
        return [self._hand_out(batch)] if batch else []

    def _hand_out(self, batch: tuple[FontFile, ...]) -> Any:
        future = self._client.submit(self._work, batch, pure=False)
        self._at_work[future.key] = batch
        return future

    def again(self, future: Any) -> list[Any]:
        """A batch that came back: handed out again where the scheduler gave it up, none where it is done.

        Raises FileError of a store that is away, ScanError where a worker cannot do the work.
        """
        from distributed import KilledWorker  # as above

        batch = self._at_work.pop(future.key)
        error = future.exception()
        if isinstance(error, KilledWorker) and self._losses.get(batch, 0) < MOST_LOSSES:
            self._losses[batch] = self._losses.get(batch, 0) + 1
            return [self._hand_out(batch)]
        if isinstance(error, FileError):
            raise error
        if error is not None:
            raise ScanError(
                f"{self._address}: a worker cannot scan ({type(error).__name__}); see its log, and"
                " that every worker has this version of letterhold and sees the same folders"
            ) from error
        return []


def scan_batch(files: Sequence[FontFile], settings: Settings, keep: Keep | None = None) -> list[FileRecord]:
    """One task: runs on a worker of the cluster."""
    records = list(scan_anywhere(files, settings, 1))
    return records if keep is None else keep(records)
