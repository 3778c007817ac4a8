"""What counts as a fault, told from the outside: status, lines, JSON, files; nothing of how the product works."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from soaking.child import Outcome

_TRACE = re.compile(r"^Traceback \(most recent call last\)", re.M)
_FRAME = re.compile(r'File "([^"]+)", line \d+, in (\S+)')
_POSITIVE = re.compile(r"(^|\.)(mass_g|volume_mm3|size_mm|filament_m)")
_LENGTHS = re.compile(r"(neck|stroke|counter|area|bond|join_offset|em|gap)_mm2?$|_share$")
_VOLATILE = re.compile(r'"(seconds|date|made|when|time)": [^,\n]+')


@dataclass(frozen=True)
class Fault:
    """One thing that went wrong, with the command that shows it."""

    kind: str
    what: str
    """Message with numbers and names left out, so that equal faults fall together."""
    detail: str
    command: str
    face: int | None = None
    case: str = ""


class NotFinite(ValueError):
    """JSON with NaN or Infinity, which no JSON reader must take."""


def outcome_faults(outcome: Outcome, mistake: bool = False) -> Iterator[tuple[str, str]]:
    """Kind and message of what is wrong with any outcome whatever was asked."""
    said = outcome.stderr
    if _TRACE.search(said):
        yield "traceback", _last_frame(said)
    if outcome.status is None:
        yield "does not end", f"{outcome.argv[0]}: ended after {outcome.seconds:.0f} s"
        return
    if outcome.status < 0:
        yield "killed by a signal", f"{outcome.argv[0]}: signal {-outcome.status}"
    elif outcome.status == 3:
        yield "exit status 3", said.strip()
    elif outcome.status not in (0, 1, 2):
        yield "exit status outside the contract", f"{outcome.argv[0]}: {outcome.status}"
    if outcome.left:
        yield "process left behind", f"{outcome.argv[0]}: {outcome.left[0]}"
    lines = said.strip().splitlines()
    if outcome.status == 2 and not _TRACE.search(said):
        if len(lines) != 1:
            yield f"{len(lines)} lines for a mistake", said.strip()
        if outcome.out.strip():
            yield "output before a mistake is told", outcome.stdout[:120]
    elif re.search(r"\w+Warning\b|\bWARNING\b|Exception ignored", said):
        yield "a warning on standard error", next(line for line in lines if re.search(r"arning|WARN|ignored", line))
    if mistake and outcome.status != 2:
        yield "a mistake is not told", f"{outcome.argv[0]}: status {outcome.status} {said.strip()[:100]}"


def data(outcome: Outcome) -> tuple[Any, list[tuple[str, str]]]:
    """What ``--json`` printed, and what is wrong with it; None where there is none to be expected (status 2)."""
    if outcome.status not in (0, 1) or _TRACE.search(outcome.stderr):
        return None, []
    try:
        return json.loads(outcome.stdout, parse_constant=_no_constant), []
    except NotFinite as constant:
        return json.loads(outcome.stdout), [("NaN or Infinity in JSON", f"{outcome.argv[0]}: {constant}")]
    except ValueError as reason:
        return None, [("invalid JSON", f"{outcome.argv[0]}: status {outcome.status}: {reason}")]


def figures(value: Any, where: str = "") -> Iterator[tuple[str, str]]:
    """Figures that cannot be: a negative length, area, volume, mass or share, a hold outside 0 to 100."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from figures(inner, f"{where}.{key}" if where else str(key))
    elif isinstance(value, list):
        for inner in value:
            yield from figures(inner, where)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        last = where.rpartition(".")[2]
        # A weak spot may be a margin of which nothing is left.
        empty = _POSITIVE.search(where) and value < (0 if "weak_spots" in where else 1e-12) and "ring" not in where
        if empty or (_LENGTHS.search(last) and value < 0) or (last in {"hold", "made_hold"} and not 0 <= value <= 100):
            yield "impossible figure", f"{where} is {value}"


def check_faults(row: dict[str, Any], status: int | None, lost: str | None) -> Iterator[tuple[str, str]]:
    """``check --json`` or a row of ``compare`` against itself; ``lost`` are the letters the face lacks by our reading.

    Below a hold of 50 a name does not hold (the README's words); a name in pieces or with a letter missing never does.
    """
    hold, holds = row["hold"], row["holds"]
    if holds != (hold >= 50):
        yield "holds against its own number", f"check: hold {hold}, holds {holds}"
    if status is not None and (status == 0) != holds:
        yield "exit status against holds", f"check: status {status}, holds {holds}"
    missing = set(row.get("missing_letters", []))
    if holds and missing:
        yield "holds though letters are missing", "check"
    base = next((layer for layer in row["layers"] if layer["layer"] == "base"), None)
    if holds and base and base["pieces"] != 1:
        yield "holds against its own number", f"check: holds in {base['pieces']} pieces"
    if not holds and not row["reasons"]:
        yield "no reason given", "check: does not hold, reasons empty"
    if lost and not missing:
        kind = "letter lost, and it says it holds" if holds else "letter lost in silence"
        yield kind, "check: missing_letters empty"
    if lost == "" and missing:
        yield "says a letter is missing that is there", "check"


def tag_faults(row: dict[str, Any], status: int | None, lost: str | None) -> Iterator[tuple[str, str]]:
    """``tag --json`` against itself."""
    hold, holds = row["hold"], row["holds"]
    if holds != (hold >= 50):
        yield "holds against its own number", f"tag: hold {hold}, holds {holds}"
    if status == 0 and not holds:
        yield "exit status against holds", "tag: status 0 and does not hold"
    if status == 1 and holds and row["sell"] in {"yes", "yes-conditions"}:
        yield "exit status against holds", f"tag: status 1, holds, sell {row['sell']}"
    if not holds and not row["files"]:
        if not row.get("nearest_miss"):
            yield "no reason given", "tag: does not hold, no nearest miss"
        return
    points = [re.match(r"[-−](\d+) ", reason) for reason in row["reasons"]]
    if all(points) and max(0, 100 - sum(int(found[1]) for found in points if found)) != hold:
        yield "points do not add up", f"tag: hold {hold}, reasons {row['reasons']}"
    if lost:
        yield "tag made without a letter", f"tag: holds {holds}"
    if not row["cautions"]:
        yield "no cautions", "tag"


def steady(text: str) -> str:
    """Output without what may differ between two runs: times."""
    return _VOLATILE.sub("", text)


def signature(message: str) -> str:
    """The message without names, paths and numbers."""
    short = re.sub(r"'[^']*'|“[^”]*”|\"[^\"]*\"", "'…'", message)
    short = re.sub(r"(/[^\s:,]+)+", "PATH", short)
    return re.sub(r"-?\d[\d.,e+-]*", "N", short)[:160]


def _last_frame(said: str) -> str:
    frames = [found for found in _FRAME.findall(said) if "/soaking/" not in found[0]]
    ours = [found for found in frames if re.search(r"/(catalogue|scanner)/", found[0])] or frames
    path, function = ours[-1] if ours else ("?", "?")
    last = said.strip().splitlines()[-1]
    place = re.sub(r".*/(catalogue|scanner)/", r"\1/", path)
    return f"{last[:100]} in {place}:{function}"


def _no_constant(constant: str) -> Any:
    raise NotFinite(constant)
