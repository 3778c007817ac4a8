"""What a worker does with one font file: step by step, so that a step that breaks costs itself only.

Runs in a worker of any engine, or in a plain loop. A step begins with ``Begun`` and ends with what it gave: a face's
record, licence verdicts, or what is left to say of the file.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from scanner.files import FontFile, check_tables, face_count, read_font
from scanner.reasons import LICENCE_UNREAD, Reason, reason_of
from scanner.records import FaceRecord

Judge = Callable[[Path, int, Path | None], dict[str, Any]]
"""Licence verdict of a face, in its JSON form: font file, face index, scanned folder. Runs in the worker."""

Key = tuple[str, int] | tuple[str, int, str]
"""What is done of a file: ("face", index), all of it; ("instance", index, label); ("licence", index)."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What is the same for all files of a scan."""

    words: tuple[str, ...]
    every_instance: bool = False
    judge: Judge | None = None
    roots: tuple[Path, ...] = ()
    """Scanned folders: licence files are looked for up to them."""


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
    from scanner.shaping import sfnt_bytes  # the supervisor, which imports this module, loads no font library

    return sfnt_bytes(data)


def _face_steps(file: FontFile, data: bytes, index: int, settings: Settings, done: frozenset[Key]) -> Iterator[Step]:
    from scanner.face import identify, instances, open_faces, record_face, tidy  # as in _sfnt

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


@dataclass(frozen=True, slots=True)
class Task:
    """What a worker is given: a file, what is done of it already, and the computing that each step may take."""

    file: FontFile
    done: frozenset[Key]
    cpu_seconds: float


def work_off(
    task: Task, settings: Settings, send: Callable[[Step], None], start_clock: Callable[[float], None]
) -> None:
    """Do a task, every step sent off as it comes; the clock starts again for each."""
    start_clock(task.cpu_seconds)
    for step in scan_steps(task.file, settings, task.done):
        send(step)
        if isinstance(step, Begun):
            start_clock(task.cpu_seconds)
