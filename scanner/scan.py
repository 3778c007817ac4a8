"""Folder to records: isolated workers, progress, nothing lost.

Each worker is one process with one task at a time on its own pipe. A font that crashes or stalls its worker costs
that worker only: the file gets a row with the reason, a fresh worker takes the next file. Pools of the standard
library lose other tasks in that case, so the supervisor here is our own; it holds no font data.
"""

from __future__ import annotations

import hashlib
import multiprocessing as mp
import os
import time
from collections.abc import Iterable, Iterator, Sequence
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

from scanner.files import FileError, FontFile, face_count, read_font
from scanner.records import FaceRecord, FileRecord

WALL_SECONDS = 120.0
"""Longest time for one file with all its instances."""

MEMORY_BYTES = 2 << 30


def scan_file(file: FontFile, words: Sequence[str], every_instance: bool = False) -> FileRecord:
    """Everything measured in one font file. A file that cannot be read comes back with its reason."""
    from scanner.face import instances, open_faces, record_face
    from scanner.shaping import FontError, sfnt_bytes

    digest = ""
    faces: list[FaceRecord] = []
    try:
        data = read_font(file.path)
        digest = hashlib.sha256(data).hexdigest()
        data = sfnt_bytes(data)
        for index in range(face_count(data)):
            shaper = open_faces(data, index)
            for label, place in instances(shaper, every_instance):
                faces.append(record_face(data, str(file.path), index, label, place, words))
    except (FileError, FontError) as error:
        return FileRecord(str(file.path), file.size, file.mtime_ns, digest, tuple(faces), str(error))
    except MemoryError:
        reason = "it needs more memory than a font should; get the font anew from its source"
        return FileRecord(str(file.path), file.size, file.mtime_ns, digest, tuple(faces), reason)
    except Exception as error:  # a font may break any library below us; the scan must go on and say so
        reason = f"it breaks the reader ({type(error).__name__}); get the font anew from its source"
        return FileRecord(str(file.path), file.size, file.mtime_ns, digest, tuple(faces), reason)
    return FileRecord(str(file.path), file.size, file.mtime_ns, digest, tuple(faces))


def scan_files(
    files: Iterable[FontFile], words: Sequence[str], workers: int = 0, every_instance: bool = False
) -> Iterator[FileRecord]:
    """Scan in ``workers`` processes (0: one a core); records come as they are done, one for every file."""
    queue = list(files)
    queue.reverse()
    total = min(workers or os.cpu_count() or 1, max(1, len(queue)))
    crew = [_Worker(words, every_instance) for _ in range(total)]
    try:
        busy = {w.pipe: w for w in crew if queue and w.give(queue.pop())}
        while busy:
            ready = wait(list(busy), timeout=1.0)
            for pipe in ready:
                worker = busy.pop(pipe)  # type: ignore[call-overload]
                yield worker.take()
                if queue and worker.give(queue.pop()):
                    busy[worker.pipe] = worker
            for pipe, worker in list(busy.items()):
                if time.monotonic() > worker.deadline:
                    del busy[pipe]
                    yield worker.give_up("it takes longer than a font should; get the font anew from its source")
                    if queue and worker.give(queue.pop()):
                        busy[worker.pipe] = worker
    finally:
        for worker in crew:
            worker.stop()


class _Worker:
    """One child process and the task it holds."""

    def __init__(self, words: Sequence[str], every_instance: bool) -> None:
        self._arguments = (tuple(words), every_instance)
        self._task: FontFile | None = None
        self.deadline = 0.0
        self._start()

    def _start(self) -> None:
        context = mp.get_context("spawn")  # a fork would carry the parent's threads and database handle along
        self.pipe, other = context.Pipe()
        self._process = context.Process(target=_serve, args=(other, *self._arguments), daemon=True)
        self._process.start()
        other.close()

    def give(self, file: FontFile) -> bool:
        self._task = file
        self.deadline = time.monotonic() + WALL_SECONDS
        self.pipe.send(file)
        return True

    def take(self) -> FileRecord:
        try:
            record: FileRecord = self.pipe.recv()
        except (EOFError, OSError):
            return self.give_up("it crashes the reader; get the font anew from its source")
        self._task = None
        return record

    def give_up(self, reason: str) -> FileRecord:
        assert self._task is not None
        file = self._task
        self.stop()
        self._start()
        return FileRecord(str(file.path), file.size, file.mtime_ns, "", (), reason)

    def stop(self) -> None:
        self.pipe.close()
        if self._process.is_alive():
            self._process.kill()
        self._process.join()


def _serve(pipe: Connection, words: Sequence[str], every_instance: bool) -> None:
    _limit()
    try:
        while True:
            file = pipe.recv()
            pipe.send(scan_file(file, words, every_instance))
    except (EOFError, OSError, KeyboardInterrupt):
        return  # the parent has gone or stopped


def _limit() -> None:
    for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ.setdefault(variable, "1")
    try:
        import resource
    except ImportError:  # not on Windows; the wall-time limit still holds there
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    import cv2

    cv2.setNumThreads(1)


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
