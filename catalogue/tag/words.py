"""A fit in words: each lever that moved with what that bought, and what is still missing."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from catalogue.tag.levers import Setting, moved
from catalogue.tag.measuring import bridges_at, join_mm, legible, measure, neck_needed_mm, strokes_hold, thicken_needed
from catalogue.tag.trial import Measured, Trial

SEEN_MM = 0.005
"""A smaller change of a length is not worth a word."""

_MOST_TIMES_LARGER = 16
"""How much larger than the start a readable size is looked for."""


@dataclass(frozen=True, slots=True)
class Change:
    """One lever that moved, and what that bought."""

    lever: str
    start: float
    end: float
    unit: str
    bought: str
    said: str = ""
    """What was done at one place, in words; empty for a lever of the whole name."""

    @property
    def text(self) -> str:
        """One line; a word space by what is taken out, as the space itself differs from face to face."""
        if self.said:
            return f"{self.said}: {self.bought}"
        if self.lever == "word space":
            return f"word space narrower by {self.start - self.end:.4g} {self.unit}: {self.bought}"
        return f"{self.lever} {self.start:.4g} → {self.end:.4g}{self.unit and ' '}{self.unit}: {self.bought}"


def changes(trial: Trial, start: Setting, end: Setting) -> tuple[Change, ...]:
    """The levers that moved, in the order of the stack of changes a person would make by hand."""
    names = (
        ("weight", "weight", "", 1.0), ("thicken_mm", "thickening", "mm", 1.0), ("space_mm", "word space", "mm", -1.0),
        ("tracking_em", "tracking", "em", 1.0), ("base_offset_mm", "base offset", "mm", 1.0),
        ("em_mm", *_size_words(trial)),
    )  # fmt: skip
    changed = [n for n in names if getattr(start, n[0]) != getattr(end, n[0])]
    found: list[Change] = []
    now = start
    if end.plain and not start.plain:
        now = replace(now, plain=True)
        bought = _bought(measure(trial, start), measure(trial, now))
        found.append(Change("forms", 0.0, 0.0, "", bought, "contextual forms and ligatures off"))
    for key, label, unit, factor in changed:
        then = moved(now, key, getattr(end, key))
        bought = _bought(measure(trial, now), measure(trial, then))
        found.append(Change(label, factor * getattr(now, key) or 0.0, factor * getattr(then, key), unit, bought))
        now = then
    return (*found, *_one_place_changes(trial, now, end))


def _one_place_changes(trial: Trial, start: Setting, end: Setting) -> Iterator[Change]:
    """What was changed at one place each: gaps closed, lines nearer, bridges."""
    texts, process = [text for word in trial.cut(end).texts for text in word], trial.process
    steps: list[tuple[Setting, str, float, str]] = []
    for k, closing in enumerate(end.closings, 1):
        far = closing.em * end.em_mm
        said = f"gap between {texts[closing.after]} and {texts[closing.after + 1]} closed by {far:.2f} mm"
        steps.append((replace(start, closings=end.closings[:k]), "gap", far, said))
    if end.nearer_mm:
        said = f"lines {end.nearer_mm:.2f} mm nearer than the least gap"
        steps.append((replace(start, closings=end.closings, nearer_mm=end.nearer_mm), "lines", end.nearer_mm, said))
    for k, bridge in enumerate(bridges_at(trial, end), 1):
        said = f"bridge {process.least_wall_mm:.2f} mm wide ties {bridge.ties}, over {bridge.length_mm:.2f} mm"
        steps.append((replace(end, bridged=end.bridged[:k]), "bridge", bridge.length_mm, said))
    now = start
    for then, lever, mm, said in steps:
        yield Change(lever, 0.0, round(mm, 6), "mm", _bought(measure(trial, now), measure(trial, then)), said)
        now = then


def _size_words(trial: Trial) -> tuple[str, str, float]:
    """Size by the capitals; by the em where a face has none."""
    cap_height_em = trial.face.cap_height_em
    return ("cap height", "mm", cap_height_em) if math.isfinite(cap_height_em) else ("size of the em", "mm", 1.0)


def misses(trial: Trial, setting: Setting) -> list[str]:
    """What the base and the strokes still lack; empty when nothing."""
    measured, found = measure(trial, setting), []
    if measured.pieces != 1:
        join = max(0.0, join_mm(trial, setting) - setting.thicken_mm)
        found.append(
            f"base in {measured.pieces} pieces: needs an offset of {join:.2f} mm, has {setting.base_offset_mm:.2f} mm"
            + _lines_apart(trial, setting)
        )
    elif measured.neck_mm < neck_needed_mm(trial.process):
        found.append(f"narrowest neck {measured.neck_mm:.2f} mm, {neck_needed_mm(trial.process):.2f} mm needed")
    if not strokes_hold(trial, setting):
        more = thicken_needed(trial, setting) - setting.thicken_mm
        found.append(f"strokes too thin: {more:.2f} mm more thickening needed")
    return found


def _lines_apart(trial: Trial, setting: Setting) -> str:
    """What to do where lines stand farther apart than they have to; empty where they do not."""
    asked, as_close = setting.line_spacing_mm, replace(setting, line_spacing_mm=None)
    if asked is None or len(trial.lines) < 2 or measure(trial, as_close).pieces == measure(trial, setting).pieces:
        return ""
    return f"; lines {asked:g} mm apart come apart, take less line spacing or none"


def unreadable(trial: Trial, start: Setting, setting: Setting) -> str:
    """Why the name cannot be read, with the size from which it can; empty when it can."""
    if legible(trial, setting):
        return ""
    measured = measure(trial, setting)
    return (
        f"cannot be read: {measured.closed} of {measured.openings} openings in and between the letters close, and"
        f" letters melt together; {_readable_from(trial, start)}"
    )


def _readable_from(trial: Trial, start: Setting) -> str:
    """The cap height from which strokes are walls and openings stay open."""

    def reads(em_mm: float) -> bool:
        setting = replace(start, em_mm=em_mm)
        needed = max(setting.thicken_mm, thicken_needed(trial, setting))
        return legible(trial, replace(setting, thicken_mm=needed))

    cap_height_em = trial.face.cap_height_em
    low, high = start.em_mm, _MOST_TIMES_LARGER * start.em_mm
    if not reads(high):
        return "take another face"
    while high - low > 0.01 * start.em_mm:
        middle = (low + high) / 2
        low, high = (low, middle) if reads(middle) else (middle, high)
    if not math.isfinite(cap_height_em):
        return f"{high / start.em_mm:.1f} times as large it can be read"
    return f"capitals from about {math.ceil(cap_height_em * high * 2) / 2:g} mm on can be read"


def _bought(before: Measured, after: Measured) -> str:
    words = []
    if before.pieces != after.pieces:
        words.append(f"base {before.pieces} → {after.pieces} {'piece' if after.pieces == 1 else 'pieces'}")
    if before.pieces == 1 and abs(after.neck_mm - before.neck_mm) >= SEEN_MM:
        words.append(f"neck {before.neck_mm:.2f} → {after.neck_mm:.2f} mm")
    if before.pieces == after.pieces == 1 and abs(after.spare_mm - before.spare_mm) >= SEEN_MM:
        words.append(f"offset to spare {before.spare_mm:.2f} → {after.spare_mm:.2f} mm")
    elif before.pieces != 1 and after.pieces == 1:
        words.append(f"neck {after.neck_mm:.2f} mm")
    thin, thicker = before.thinnest_stroke_mm, after.thinnest_stroke_mm
    if thin is not None and thicker is not None and abs(thin - thicker) >= SEEN_MM:
        words.append(f"thinnest stroke {thin:.2f} → {thicker:.2f} mm")
    if before.closed != after.closed:
        words.append(f"openings that close {before.closed} → {after.closed} of {after.openings}")
    return ", ".join(words) or "nearer, but nothing crossed its limit yet"
