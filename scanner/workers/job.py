"""One file on its way through the workers: what is done of it, and what to do when a worker ends over it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from scanner.files import FontFile, shown_path
from scanner.reasons import Reason
from scanner.records import FaceRecord, FileRecord
from scanner.workers.steps import Begun, Key, Step, Task, unread_licence

MOST_STOPS = 1000
"""Times one face is tried again after its worker was stopped from outside."""

MORE_COMPUTING = 2
"""Times the limit on computing that the second try is given."""


@dataclass(slots=True)
class Job:
    """One file and how far it is."""

    file: FontFile
    faces: list[FaceRecord] = field(default_factory=list)
    done: set[Key] = field(default_factory=set)
    verdicts: dict[int, dict[str, Any]] = field(default_factory=dict)
    step: Begun = field(default_factory=Begun)
    stops: int = 0
    strained: bool = False
    """A step of it has passed the limit on computing once: the rest is given more."""

    def task(self, cpu_seconds: float) -> Task:
        """What is left to do, for the next worker."""
        self.step = Begun()
        return Task(self.file, frozenset(self.done), cpu_seconds * (MORE_COMPUTING if self.strained else 1))

    def ended(self, reason: Reason | None, fresh: bool) -> FileRecord | None:
        """Note that a worker is gone, and why: None means from outside. The record when nothing is left to try.

        ``fresh`` says that the worker had finished nothing before: what ends it is this file's own doing.
        """
        if reason is None:
            self.stops += 1
            return self.fail(Reason.STOPPED) if self.stops > MOST_STOPS else None
        if reason is Reason.COMPUTING and not self.strained:
            self.strained = True
            return None
        return self.fail(reason) if fresh else None

    def take(self, step: Step) -> FileRecord | None:
        """Note one step; the record when it was the last."""
        if isinstance(step, Begun):
            self.step = step
        elif isinstance(step, FaceRecord):
            self._note(step)
        elif isinstance(step, dict):
            self.verdicts |= step
            self.done |= {("licence", index) for index in step}
        else:
            return self.record(step.digest, step.reason)
        self.stops = 0
        return None

    def _note(self, face: FaceRecord) -> None:
        self.faces.append(face)
        whole = self.step.whole_face and bool(face.reason)
        self.done.add(("face", face.face_index) if whole else ("instance", face.face_index, face.instance))

    def fail(self, reason: Reason) -> FileRecord | None:
        """Give the step at hand up; the record when nothing is left to try."""
        if self.step.blank is not None:
            self._note(replace(self.step.blank, reason=str(reason)))
        elif self.step.licence is not None:
            self.verdicts[self.step.licence] = unread_licence()
            self.done.add(("licence", self.step.licence))
        else:
            return self.record("", str(reason))
        self.step, self.stops = Begun(), 0
        return None

    def record(self, digest: str, reason: str) -> FileRecord:
        """The file's record with the faces in the file's own order."""
        file = self.file
        path = shown_path(file.path)
        return FileRecord(path, file.size, file.mtime_ns, digest, tuple(self.faces), reason, self.verdicts)
