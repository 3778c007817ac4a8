"""Files to records: isolated workers, nothing lost, every failure a reason from the closed list.

A supervisor of our own, since pools of the standard library lose other tasks when a worker dies, or hang. Each worker
holds one file at a time on its own socket and tells each face it begins and ends. So a death costs one face at most:

- The worker died of a signal from outside (the memory killer, a person, a test): the same face is tried again.
- It died of the font (a crash, the limit on computing): the face is tried once more in a fresh worker, because an
  earlier font may have left damage, then it gets its row with the reason. The other faces of the file go on.

The limit on computing is kept by the kernel (``ITIMER_PROF``, whose signal ends the process wherever it is): a busy
machine does not make a font fail. Each face at each instance starts it anew, so files of many faces get their time.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import selectors
import signal
import socket
import struct
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from scanner.errors import LetterholdError
from scanner.files import FontFile, check_tables, face_count, read_font, shown_path
from scanner.reasons import LICENCE_UNREAD, Reason, reason_of
from scanner.records import FaceRecord, FileRecord
from scanner.workers.fork_server import Limits, Nursery

MOST_STOPS = 1000
"""Times one face is tried again after its worker was stopped from outside."""

MOST_FILES = 500
"""Files after which a worker is replaced, for what libraries may leak."""

Judge = Callable[[Path, int, Path | None], dict[str, Any]]
"""Licence verdict of a face, in its JSON form: font file, face index, scanned folder. Runs in the worker."""

Key = tuple[str, int] | tuple[str, int, str]
"""What is done of a file: ("face", index), all of it; ("instance", index, label); ("licence", index)."""


class ScanError(LetterholdError):
    """The scan cannot go on; one line that ends with what to do."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What is the same for all files of a scan."""

    words: tuple[str, ...]
    every_instance: bool = False
    judge: Judge | None = None
    roots: tuple[Path, ...] = ()
    """Scanned folders: licence files are looked for up to them."""


# ── in the worker ───────────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Begun:
    """The next step; ``blank`` is the face's row should the step fail, None for the file as a whole."""

    blank: FaceRecord | None = None
    whole_face: bool = False
    licence: int | None = None


@dataclass(frozen=True, slots=True)
class Ended:
    """What is left to say of a file."""

    digest: str = ""
    reason: str = ""


Step = Begun | FaceRecord | Ended | dict[int, dict[str, Any]]


def scan_steps(file: FontFile, settings: Settings, done: frozenset[Key] = frozenset()) -> Iterator[Step]:
    """Everything measured in one font file, step by step, save the faces already ``done``. Raises nothing."""
    digest, data, reason = "", b"", ""
    judged: list[int] = []
    stage = Reason.SHUT
    try:
        data = read_font(file.path)
        digest = hashlib.sha256(data).hexdigest()
        stage = Reason.PACKED
        data = _sfnt(data)
        stage = Reason.FACES
        for index in range(face_count(data)):
            judged.append(index)
            if ("face", index) not in done:
                yield from _face_steps(file, data, index, settings, done)
    except Exception as error:
        reason = str(reason_of(error, stage))
    if settings.judge is not None:
        root = next((r for r in settings.roots if file.path.is_relative_to(r)), None)
        for index in judged:
            if ("licence", index) not in done:
                yield Begun(licence=index)
                yield {index: _judged(settings.judge, file.path, index, root)}
    yield Ended(digest, reason)


def _sfnt(data: bytes) -> bytes:
    from scanner.shaping import sfnt_bytes

    return sfnt_bytes(data)


def _face_steps(file: FontFile, data: bytes, index: int, settings: Settings, done: frozenset[Key]) -> Iterator[Step]:
    from scanner.face import identify, instances, open_faces, record_face, tidy

    path = str(file.path)
    blank = FaceRecord(path, index, "", {}, tidy(file.path.stem) or "unnamed", "", "", False, 0, None)
    yield Begun(blank, whole_face=True)
    try:
        check_tables(data, index)
        shaper = open_faces(data, index)
        family, style, version = identify(shaper)
        wanted = instances(shaper, settings.every_instance)
        blank = replace(blank, family=family, style=style, version=version, variable=bool(shaper.axes()))
    except Exception as error:
        yield replace(blank, reason=str(reason_of(error, Reason.UNREADABLE)))
        return
    for label, place in wanted:
        if ("instance", index, label) in done:
            continue
        row = replace(blank, instance=label, coordinates=dict(place), style=label or style)
        yield Begun(row)
        try:
            yield record_face(data, path, index, label, place, settings.words)
        except Exception as error:  # a font may break any library below us; the scan goes on and says where it broke
            yield replace(row, reason=str(reason_of(error, Reason.OUTLINES)))


def _judged(judge: Judge, path: Path, index: int, root: Path | None) -> dict[str, Any]:
    try:
        return judge(path, index, root)
    except Exception:
        return unread_licence()


def unread_licence() -> dict[str, Any]:
    """The verdict of a face whose evidence could not be read."""
    return {"verdict": "unknown", "reasons": [LICENCE_UNREAD]}


def serve(link: socket.socket, settings: Settings, limits: Limits) -> None:
    """Scan the files that come over the link, until it closes."""
    with link.makefile("rb") as source:
        while True:
            head = source.read(_SIZE.size)
            if len(head) < _SIZE.size:
                return
            file, done = pickle.loads(source.read(_SIZE.unpack(head)[0]))
            _start_clock(limits)
            for step in scan_steps(file, settings, done):
                _send(link, step)
                if isinstance(step, Begun):
                    _start_clock(limits)
            signal.setitimer(signal.ITIMER_PROF, 0)


_SIZE = struct.Struct(">Q")


def _start_clock(limits: Limits) -> None:
    """From now on so much computing, in Python or below; then the kernel ends the process."""
    signal.setitimer(signal.ITIMER_PROF, limits.cpu_seconds)


def _send(link: socket.socket, message: object) -> None:
    load = pickle.dumps(message)
    link.sendall(_SIZE.pack(len(load)) + load)


# ── in the asker ────────────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(slots=True)
class _Job:
    """One file and how far it is."""

    file: FontFile
    faces: list[FaceRecord] = field(default_factory=list)
    done: set[Key] = field(default_factory=set)
    verdicts: dict[int, dict[str, Any]] = field(default_factory=dict)
    step: Begun = field(default_factory=Begun)
    stops: int = 0

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


class _Worker:
    """One worker process and the job it holds."""

    def __init__(self, nursery: Nursery, limits: Limits) -> None:
        self._nursery = nursery
        self._limits = limits
        self.link, self.pid = nursery.fork()
        self._buffer = bytearray()
        self.job: _Job | None = None
        self.fresh = True
        """Nothing was finished here yet: what dies now dies of itself."""
        self.files = 0
        self.deadline = 0.0

    def give(self, job: _Job) -> None:
        self.job = job
        job.step = Begun()
        self.files += 1
        self.deadline = time.monotonic() + self._limits.wall_seconds
        load = pickle.dumps((job.file, frozenset(job.done)))
        with contextlib.suppress(OSError):  # should it be dead, its closed socket tells in a moment
            self.link.sendall(_SIZE.pack(len(load)) + load)  # always fits: an idle worker has read all before it

    def read(self) -> list[Step] | None:
        """The steps that have arrived whole, None when the worker has ended."""
        steps: list[Step] = []
        while True:
            try:
                piece = self.link.recv(1 << 20)
            except BlockingIOError:
                return steps
            except OSError:
                piece = b""
            if not piece:
                return steps or None  # what came whole counts; the end is seen again at the next reading
            self._buffer += piece
            while len(self._buffer) >= _SIZE.size:
                end = _SIZE.size + _SIZE.unpack_from(self._buffer)[0]
                if len(self._buffer) < end:
                    break
                steps.append(pickle.loads(bytes(self._buffer[_SIZE.size : end])))
                del self._buffer[:end]
                self.deadline = time.monotonic() + self._limits.wall_seconds

    def end(self) -> int:
        """Make sure that it has ended; its exit status."""
        self.link.close()
        return self._nursery.reap(self.pid)


_OUTSIDE = frozenset({-signal.SIGKILL, -signal.SIGTERM, -signal.SIGHUP, -signal.SIGINT, -signal.SIGQUIT})
"""Ends that no font causes by itself."""


def _fault(status: int) -> Reason | None:
    """Why a worker ended, or None when it was stopped from outside."""
    if status in _OUTSIDE:
        return None
    return Reason.COMPUTING if status == -signal.SIGPROF else Reason.CRASH


def scan_files(
    files: Iterable[FontFile],
    words: Sequence[str],
    workers: int = 0,
    every_instance: bool = False,
    judge: Judge | None = None,
    roots: Sequence[Path] = (),
    limits: Limits | None = None,
) -> Iterator[FileRecord]:
    """Scan in ``workers`` processes (0: one a core); records come as they are done, one for every file.

    With a ``judge`` (a function that can be imported by its name) the licences are read in the workers too.
    Raises ScanError when no worker can be started.
    """
    settings = Settings(tuple(words), every_instance, judge, tuple(roots))
    waiting = [_Job(file) for file in files]
    waiting.reverse()
    total = min(workers or os.cpu_count() or 1, len(waiting))
    engine = _Engine(settings, limits or Limits())
    try:
        for _ in range(total):
            engine.start(waiting.pop())
        while engine.workers:
            finished = engine.turn()
            while waiting and len(engine.workers) < total:
                engine.start(waiting.pop())
            yield from finished  # while the asker stores them the workers are busy
    finally:
        engine.close()


class _Engine:
    """The nursery and the workers at work. A worker without a job is put aside for the next one."""

    def __init__(self, settings: Settings, limits: Limits) -> None:
        self._settings, self._limits = settings, limits
        self._nursery: Nursery | None = None
        self.workers: dict[socket.socket, _Worker] = {}
        self._idle: list[_Worker] = []

    def start(self, job: _Job, fresh: bool = False) -> None:
        """Give a job to an idle worker or to a new one."""
        worker = self._new() if fresh or not self._idle else self._idle.pop()
        worker.give(job)
        self.workers[worker.link] = worker

    def turn(self) -> list[FileRecord]:
        """Wait until something happens, and see to it; the records that were finished by it."""
        now = time.monotonic()
        pause = min([1.0, *(max(0.0, w.deadline - now) for w in self.workers.values())])
        with selectors.PollSelector() as selector:
            for link in self.workers:
                selector.register(link, selectors.EVENT_READ)
            ready = [self.workers[key.fileobj] for key, _ in selector.select(pause)]  # type: ignore[index]
        finished: list[FileRecord] = []
        for worker in ready:
            steps = worker.read()
            record = self._ended(worker) if steps is None else self._took(worker, steps)
            finished += [record] if record else []
        now = time.monotonic()
        for worker in [w for w in self.workers.values() if now > w.deadline]:
            record = self._failed(worker, Reason.WAITING)
            finished += [record] if record else []
        return finished

    def _took(self, worker: _Worker, steps: list[Step]) -> FileRecord | None:
        assert worker.job is not None
        for step in steps:
            if not worker.fresh and _starved(step):
                return self._failed(worker, Reason.MEMORY)
            record = worker.job.take(step)
            if record is not None:
                del self.workers[worker.link]
                worker.job, worker.fresh = None, False
                if worker.files < MOST_FILES:
                    self._idle.append(worker)
                else:
                    worker.end()
                return record
            if not isinstance(step, Begun):
                worker.fresh = False
        return None

    def _ended(self, worker: _Worker) -> FileRecord | None:
        del self.workers[worker.link]
        status = worker.end()
        return self._again(worker, _fault(status))

    def _failed(self, worker: _Worker, reason: Reason) -> FileRecord | None:
        del self.workers[worker.link]
        worker.end()
        return self._again(worker, reason)

    def _again(self, worker: _Worker, reason: Reason | None) -> FileRecord | None:
        """Go on with the job of a worker that is gone, in a fresh one; the record when nothing is left of it."""
        job = worker.job
        assert job is not None
        record = None
        if reason is None:
            job.stops += 1
            if job.stops > MOST_STOPS:
                record = job.fail(Reason.STOPPED)
        elif worker.fresh:
            record = job.fail(reason)
        if record is None:
            self.start(job, fresh=True)
        return record

    def _new(self) -> _Worker:
        for attempt in range(5):
            try:
                if self._nursery is None:
                    self._nursery = Nursery(serve, (self._settings, self._limits), self._limits)
                return _Worker(self._nursery, self._limits)
            except OSError as cause:
                if self._nursery is not None:
                    self._nursery.close()
                    self._nursery = None
                if attempt == 4:
                    raise ScanError("no reader process can be started; free some memory and scan again") from cause
        raise AssertionError

    def close(self) -> None:
        """End every worker."""
        for worker in [*self.workers.values(), *self._idle]:
            worker.link.close()
        if self._nursery is not None:
            self._nursery.close()


def _starved(step: Step) -> bool:
    return isinstance(step, FaceRecord | Ended) and step.reason == Reason.MEMORY


def demo_folders() -> list[Path]:
    """Folders of the font packages installed beside this tool (distributions named ``fontpkg-*``)."""
    from importlib import metadata

    folders: dict[str, Path] = {}
    for distribution in metadata.distributions():
        name = (distribution.metadata["Name"] or "").lower()
        if name.startswith("fontpkg-"):
            folder: Any = distribution.locate_file(name.replace("-", "_"))
            folders[name] = Path(str(folder))
    return [folders[name] for name in sorted(folders) if folders[name].is_dir()]
