"""A licence text that the seller got with a font, dropped or pasted: it counts like one next to the font."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from scanner.workers.scratch import Scratch

if TYPE_CHECKING:
    from catalogue.licence.looked import Looked
    from catalogue.licence.verdict import Verdict

ENDINGS = ("txt", "md", "rtf", "html", "htm", "pdf")
"""Kinds of text that can be read, by the ending of the file's name."""
MOST_PASTED = 130_000
"""Characters; the longest common licence has 35,000."""


@dataclass(frozen=True, slots=True)
class GivenText:
    """A text as it was handed over."""

    ending: str
    """One of ``ENDINGS``."""
    data: bytes

    def write(self, folder: Path) -> Path:
        """Write it into a folder, under a name of ours."""
        path = folder / f"licence-given.{self.ending}"
        path.write_bytes(self.data)
        return path


def given_text(name: str, data: bytes | None, pasted: str) -> GivenText | None:
    """The dropped file before the pasted words; None for neither."""
    if data is not None:
        ending = Path(name).suffix.lower().removeprefix(".")
        return GivenText(ending if ending in ENDINGS else "txt", data)
    return GivenText("txt", pasted.encode()) if pasted.strip() else None


def judge_with(font: Path, face_index: int, given: GivenText) -> Verdict:
    """The verdict with the text; its place is told without folders.

    :raises ValueError: when no text can be read in it; the message says what to do.
    """
    from catalogue.licence.verdict import judge_font  # loads the tables of licences: only where a licence is read

    with Scratch() as folder:
        path = given.write(folder)
        try:
            verdict = judge_font(font, face_index, None, given=path)
        except ValueError as error:
            raise ValueError(str(error).replace(str(path), path.name)) from error
    return replace(
        verdict,
        evidence=tuple(replace(e, locator=path.name) if e.source == "given" else e for e in verdict.evidence),
        reasons=tuple(reason.replace(str(path), path.name) for reason in verdict.reasons),
        conflicts=tuple(conflict.replace(str(path), path.name) for conflict in verdict.conflicts),
    )


def record_with(font: Path, face_index: int, given: GivenText | None, looked: Looked) -> bytes:
    """The record as a zip, with a copy of the text where one was given."""
    from catalogue.licence.shop_record import record_bytes
    from catalogue.licence.verdict import judge_font

    with Scratch() as folder:
        path = given.write(folder) if given is not None else None
        verdict = judge_font(font, face_index, None, given=path)
        return record_bytes(font, face_index, verdict, looked)
