"""One print and what became of it, as a record and as JSON. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from catalogue.errors import LetterholdError, UsageError
from catalogue.judge.hold import stray_mm
from catalogue.judge.process import Process
from catalogue.text import clean

RESULTS = {"held": "it held", "broke": "it broke", "closed": "a hole or gap closed"}
"""What can become of a print, in words."""

MOST_WHERE = 120
"""Characters that say where."""

_NUMBERS = ("cap_height_mm", "thicken_mm", "tracking_em", "neck_mm")
"""Numbers of a job sheet that are kept as they are."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A print."""

    day: str
    """As 2026-11-27."""
    result: str
    """Of ``RESULTS``."""
    where: str
    """Where it broke or closed, in the person's words."""
    name: str
    face: str
    process: str
    hold: int
    measures: Mapping[str, float] = field(default_factory=dict)
    """Lengths by the job sheet's keys, and the process's limits as they were."""

    def as_json(self) -> dict[str, Any]:
        """As it is kept."""
        return {
            "day": self.day, "result": self.result, "where": self.where, "name": self.name, "face": self.face,
            "process": self.process, "hold": self.hold, "measures": dict(self.measures),
        }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Seen:
    """What a person saw."""

    result: str
    where: str
    day: str

    def __post_init__(self) -> None:
        if self.result not in RESULTS:
            raise UsageError(f"result {self.result!r} is not known; use one of {', '.join(RESULTS)}")


def outcome_of(facts: Mapping[str, Any], process: Process | None, seen: Seen) -> Outcome:
    """The print of a job sheet's facts; ``process`` adds its limits. Raises LetterholdError for facts of no tag."""
    try:
        measures = {key: facts[key] for key in _NUMBERS if key in facts}
        measures |= {f"{layer}_offset_mm": mm for layer, mm in facts.get("offsets_mm", {}).items()}
        if process is not None:
            measures |= {
                "line_width_mm": process.line_width_mm, "least_wall_mm": process.least_wall_mm,
                "least_gap_mm": process.least_gap_mm, "least_hole_mm": process.opening_mm,
                "stray_mm": round(stray_mm(process), 4),
            }  # fmt: skip
        return _checked({
            "day": seen.day, "result": seen.result, "where": seen.where, "name": facts["name"], "face": facts["face"],
            "process": facts["process"], "hold": facts["hold"], "measures": measures,
        })  # fmt: skip
    except (KeyError, TypeError, ValueError, AttributeError) as cause:
        raise LetterholdError("the job sheet is not one of a tag; make the tag again") from cause


def from_json(found: Any) -> Outcome | None:
    """The print that a line holds; None where it holds none."""
    try:
        return _checked(found)
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _checked(found: Mapping[str, Any]) -> Outcome:
    hold = found["hold"]
    if found["result"] not in RESULTS or isinstance(hold, bool) or not isinstance(hold, int) or not 0 <= hold <= 100:
        raise ValueError("no result or no hold")
    texts = [clean(str(found[key]), MOST_WHERE) for key in ("day", "where", "name", "face", "process")]
    day, where, name, face, process = texts
    numbers = {clean(str(k), 40): float(v) for k, v in found["measures"].items() if _is_number(v)}
    return Outcome(day, str(found["result"]), where, name, face, process, hold, numbers)


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
