"""Files to records: isolated workers, nothing lost, every failure a reason from the closed list.

A supervisor of our own, since pools of the standard library lose other tasks when a worker dies, or hang. Each worker
holds one file at a time and reports each step it begins and ends. So a death costs one face at most:

- The worker died of a signal from outside (the memory killer, a person, a test): the same face is tried again.
- It died of the font (a crash, the limit on computing): the face is tried once more in a fresh worker, because an
  earlier font may have left damage, then it gets its row with the reason. The other faces of the file go on.
- It passed the limit on computing: the face is tried again with double the limit, once. What a font takes depends a
  little on what else the machine does; whether it is measured must not.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterable, Iterator

from scanner.errors import LetterholdError
from scanner.files import FontFile
from scanner.reasons import Reason
from scanner.records import FaceRecord, FileRecord
from scanner.workers.choice import engine_for
from scanner.workers.engine import Engine, Worker
from scanner.workers.job import Job
from scanner.workers.limits import Limits
from scanner.workers.steps import Begun, Ended, Settings, Step
from scanner.workers.waiting import Waiting, plain_name

MOST_FILES = 500
"""Files after which a worker is replaced, for what libraries may leak."""


START_SECONDS = 300.0
"""Waiting for a worker that loads its libraries: on a busy machine it takes long, and that is no font's doing."""


class ScanError(LetterholdError):
    """The scan cannot go on; one line that ends with what to do."""


def scan_files(
    files: Iterable[FontFile], settings: Settings, workers: int = 0, limits: Limits | None = None
) -> Iterator[FileRecord]:
    """Scan in ``workers`` processes (0: one a core); records come as they are done, one for every file.

    Raises ScanError when no worker can be started.
    """
    waiting = Waiting(files)
    total = min(workers or os.cpu_count() or 1, len(waiting))
    supervisor = _Supervisor(settings, limits or Limits())
    try:
        for _ in range(total):
            supervisor.start(waiting.take())
        while supervisor.busy:
            finished = supervisor.turn()
            while waiting and len(supervisor.busy) < total:
                supervisor.start(waiting.take(after=supervisor.last_name))
            yield from finished  # while the caller stores them the workers are busy
    finally:
        supervisor.close()


class _Slot:
    """One worker and the job it holds."""

    def __init__(self, worker: Worker) -> None:
        self.worker = worker
        self.job: Job | None = None
        self.fresh = True
        """Nothing was finished here yet: what dies now dies of its own doing."""
        self.files = 0
        self.name = ""
        """Of the last file, without its ending."""
        self.deadline = 0.0

    def give(self, job: Job, limits: Limits) -> None:
        self.job, self.name = job, plain_name(job.file)
        self.files += 1
        self.wait(limits)
        self.worker.give(job.task(limits.cpu_seconds))

    def wait(self, limits: Limits) -> None:
        """From now on it may be silent for so long."""
        seconds = limits.wall_seconds if self.worker.loaded else max(limits.wall_seconds, START_SECONDS)
        self.deadline = time.monotonic() + seconds


class _Supervisor:
    """The engine and the workers at work. A worker without a job is put aside for the next one."""

    def __init__(self, settings: Settings, limits: Limits) -> None:
        self._settings, self._limits = settings, limits
        self._engine: Engine | None = None
        self.busy: dict[Worker, _Slot] = {}
        self._idle: list[_Slot] = []

    def start(self, job: Job, fresh: bool = False) -> None:
        """Give a job to an idle worker or to a new one."""
        slot = self._new() if fresh or not self._idle else self._idle.pop()
        slot.give(job, self._limits)
        self.busy[slot.worker] = slot

    @property
    def last_name(self) -> str:
        """Plain name of the last file of the worker that has the next job."""
        return self._idle[-1].name if self._idle else ""

    def turn(self) -> list[FileRecord]:
        """Wait until something happens, and see to it; the records that were finished by it."""
        assert self._engine is not None
        now = time.monotonic()
        pause = min([1.0, *(max(0.0, slot.deadline - now) for slot in self.busy.values())])
        finished: list[FileRecord] = []
        for worker in self._engine.wait(self.busy.keys(), pause):
            slot = self.busy[worker]
            steps = worker.messages()
            if steps is not None:
                slot.wait(self._limits)
            record = self._gone(slot) if steps is None else self._took(slot, steps)
            finished += [record] if record else []
        now = time.monotonic()
        for slot in [s for s in self.busy.values() if now > s.deadline]:
            record = self._stopped(slot, Reason.WAITING)
            finished += [record] if record else []
        return finished

    def _took(self, slot: _Slot, steps: list[Step]) -> FileRecord | None:
        assert slot.job is not None
        for step in steps:
            if not slot.fresh and _starved(step):
                return self._stopped(slot, Reason.MEMORY)
            record = slot.job.take(step)
            if record is not None:
                del self.busy[slot.worker]
                slot.job, slot.fresh = None, False
                if slot.files < MOST_FILES:
                    self._idle.append(slot)
                else:
                    slot.worker.end()
                return record
            if not isinstance(step, Begun):
                slot.fresh = False
        return None

    def _gone(self, slot: _Slot) -> FileRecord | None:
        """See to the job of a worker that has ended."""
        del self.busy[slot.worker]
        return self._again(slot, slot.worker.end())

    def _stopped(self, slot: _Slot, reason: Reason) -> FileRecord | None:
        """End a worker for a reason, and see to its job."""
        del self.busy[slot.worker]
        slot.worker.end()
        return self._again(slot, reason)

    def _again(self, slot: _Slot, reason: Reason | None) -> FileRecord | None:
        """Go on with the job of a worker that is gone, in a fresh one; the record when nothing is left of it."""
        job = slot.job
        assert job is not None
        record = job.ended(reason, slot.fresh)
        if record is None:
            self.start(job, fresh=True)
        return record

    def _new(self) -> _Slot:
        for attempt in range(5):
            try:
                if self._engine is None:
                    self._engine = engine_for(self._settings, self._limits)
                return _Slot(self._engine.start())
            except OSError as cause:
                if self._engine is not None:
                    self._engine.close()
                    self._engine = None
                if attempt == 4:
                    raise ScanError("no reader process can be started; free some memory and scan again") from cause
        raise AssertionError

    def close(self) -> None:
        """End every worker."""
        if self._engine is not None:
            self._engine.close()
        for slot in [*self.busy.values(), *self._idle]:
            slot.worker.end()


def _starved(step: Step) -> bool:
    return isinstance(step, FaceRecord | Ended) and step.reason == Reason.MEMORY
