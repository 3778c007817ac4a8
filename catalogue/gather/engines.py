"""Every face of a catalogue looked at by a second engine: does it draw the same ink as the outlines that were measured?

FreeType runs in a process of its own, which is replaced when a font crashes it.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

from catalogue.errors import LetterholdError
from catalogue.parallel import ParallelError, Progress, in_silence
from catalogue.store.face import Face
from catalogue.store.font_cache import font_file
from scanner.alphabet import LOWER, UPPER
from scanner.files import read_font
from scanner.second_engine import ink_differences
from scanner.shaping import sfnt_bytes

CHARACTERS = UPPER + LOWER + "0123456789&"
"""Compared in each face, as far as it has them."""
_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A face that the second engine draws differently, or not at all."""

    face: str
    what: str


def disagreements(faces: Sequence[Face], progress: Progress = in_silence) -> Iterator[Disagreement]:
    """Faces on which the engines disagree. Fonts that are gone or changed since the scan are passed over."""
    pool = _pool()
    try:
        for face in progress(faces, len(faces), "comparing"):
            try:
                what = pool.submit(_compared, face).result()
            except BrokenProcessPool:
                pool.shutdown()
                pool = _pool()
                what = "crashes the second engine"
            if what:
                yield Disagreement(face.title, what)
    finally:
        pool.shutdown(cancel_futures=True)


def _pool() -> ProcessPoolExecutor:
    # Spawned as everywhere: a forked child would share the open catalogue.
    pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"))
    try:
        pool.submit(int).result()  # no font is to be blamed for a process that cannot start
    except BrokenProcessPool as cause:
        raise ParallelError("no process for the second engine could be started; close other programs") from cause
    return pool


def _compared(face: Face) -> str:
    """Where the engines disagree about a face, in words; empty where they agree."""
    try:
        data = sfnt_bytes(read_font(font_file(face)))
    except LetterholdError:
        return ""
    try:
        found = ink_differences(data, face.face_index, face.coordinates, CHARACTERS)
    except LetterholdError as error:
        return str(error)
    worst = [f"{d.character} by {d.share:.0%}" for d in found[:_MOST_NAMED]]
    more = f" and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else ""
    return f"{', '.join(worst)}{more}" if found else ""
