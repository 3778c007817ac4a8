"""``letterhold rank``: the faces of the catalogue ordered by hold for a name."""

from __future__ import annotations

import argparse
import csv
import os
import sys
from pathlib import Path
from typing import Any

from catalogue.commands.options import as_json, count, judging, number, open_store, print_json, progress, request_of
from catalogue.errors import UsageError
from catalogue.judge.letters import predictions_weak
from catalogue.judge.listing import Listing, Wanted, listing
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import Request
from catalogue.text import clean, csv_cell
from catalogue.wording import CAUTION, count_of, sell

DEFAULT_VERIFY = 20
DEFAULT_TOP = 20
MOST_FILES = 3
"""Other files of a design that are named under its line."""


def add_arguments(rank: argparse.ArgumentParser) -> None:
    """The options of ``rank``."""
    rank.add_argument("name", metavar="NAME")
    judging(rank)
    rank.add_argument("--sell", action="store_true", help="only faces whose goods may be sold (yes, yes-conditions)")
    rank.add_argument("--group", metavar="G", help="only faces of this style group, as joined or heavy")
    rank.add_argument("--top", type=count, default=DEFAULT_TOP, metavar="N", help="rows to show (0: all)")
    rank.add_argument(
        "--verify", type=count, default=DEFAULT_VERIFY, metavar="N",
        help=f"full geometry for the first N faces (default {DEFAULT_VERIFY})",
    )  # fmt: skip
    as_json(rank)
    rank.add_argument("--csv", action="store_true", help="print CSV")


def run(options: argparse.Namespace) -> int:
    """Rank, and print the first rows."""
    asked = request_of(options)
    with open_store(options) as store:
        wanted = Wanted(options.top, options.verify, options.sell, options.group or "")
        found = listing(store, asked, wanted, progress, workers=os.cpu_count() or 1)
    return report(found, asked, options.json, options.csv)


def report(found: Listing, asked: Request, in_json: bool = False, in_csv: bool = False) -> int:
    """Print a listing as a table, JSON or CSV; returns the exit status, 1 when no face shown holds."""
    for trouble in found.troubles:
        print(f"letterhold: {trouble}", file=sys.stderr)
    if not found.asked:
        raise UsageError("no face is left to rank; scan a folder with fonts or drop --sell and --group")
    if not found.rows and found.notes and (in_json or in_csv):
        print(f"letterhold: no face could be ranked: {'; '.join(found.notes)}", file=sys.stderr)
    if in_json:
        print_json([row_of(r) for r in found.rows])
    elif in_csv:
        _print_csv([row_of(r) for r in found.rows])
    else:
        _print_table(found, asked)
    return 0 if any(r.hold.holds for r in found.rows) else 1


def row_of(row: Ranked) -> dict[str, Any]:
    """One row under its contract keys."""
    face = row.face
    return {
        "face": face.id, "family": face.family, "style": face.style, "path": face.path, "hold": row.hold.hold,
        "pieces": row.pieces, "letter_parts": row.letter_parts, "join_offset_mm": _round(row.join_offset_mm),
        "neck_mm": _round(row.neck_mm), "thinnest_stroke_mm": _round(row.thinnest_stroke_mm),
        "smallest_counter_mm": _round(row.smallest_counter_mm),
        "sell": face.sell, "group": face.group, "verified": row.verified,
        "reasons": [r.line for r in row.hold.reasons],
        "files": [{"face": f.id, "title": f.title, "path": f.path, "sell": f.sell} for f in (face, *row.also)],
    }  # fmt: skip


def files_line(row: Ranked) -> str:
    """The other files of a row's design, each with its verdict."""
    named = [f"{clean(Path(f.path).name, 60)} ({f.sell})" for f in row.also[:MOST_FILES]]
    more = f" and {len(row.also) - MOST_FILES} more" if len(row.also) > MOST_FILES else ""
    return f"the same letters: {', '.join(named)}{more}"


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _cell(part: str | dict[str, Any]) -> str:
    return part if isinstance(part, str) else f"{part['path']} ({part['sell']})"


def _print_csv(rows: list[dict[str, Any]]) -> None:
    writer = csv.writer(sys.stdout)
    if rows:
        writer.writerow(rows[0])
    for row in rows:
        flat = {k: "; ".join(map(_cell, v)) if isinstance(v, list) else v for k, v in row.items()}
        writer.writerow([csv_cell(v) if isinstance(v, str) else v for v in flat.values()])


def _print_table(found: Listing, asked: Request) -> None:
    size = asked.size
    print(
        f"“{asked.name}” at {size.kind.replace('-', ' ')} {size.mm:g} mm, {asked.process.name},"
        f" base offset {asked.base_offset_mm:g} mm (lengths in mm)"
    )
    print(f"{'':>3} {'hold':>4}  {'face':<34} {'join':>5} {'neck':>5} {'stroke':>6} {'counter':>7}  may be sold")
    for place, row in enumerate(found.rows, 1):
        print(
            f"{place:>3} {row.hold.hold:>4}{_mark(row)} {_cut(row.face.title, 34):<34} {row.join_offset_mm:>5.2f}"
            f" {number(row.neck_mm or None):>5} {number(row.thinnest_stroke_mm):>6}"
            f" {number(row.smallest_counter_mm):>7}"
            f"  {sell(row.face.sell).answer}"
        )
        for reason in row.hold.reasons:
            print(f"{'':>9} {reason.line}")
        if row.also:
            print(f"{'':>9} {files_line(row)}")
    _print_notes(found, asked)
    print(CAUTION)


def _print_notes(found: Listing, asked: Request) -> None:
    """What the table does not show: how rows are known, and faces that are not in it."""
    marks = {_mark(r) for r in found.rows}
    if marks - {" "}:
        print("~ predicted from letter pairs; measure it with: letterhold check NAME --face FACE")
    if "?" in marks:
        print("? uses contextual alternates, so pair predictions are unreliable: measure it first")
    if found.total > len(found.rows):
        print(f"{count_of(found.total - len(found.rows), 'more face')}; --top 0 lists all")
    for note in found.notes:
        print(f"not scored: {note}")
    if len(asked.name.split()) > 1:
        print("words are set closer than the face sets them, as 'letterhold tag' does, so that the base joins them")
    if found.rows and not any(r.hold.holds for r in found.rows):
        print(f"no face shown holds at this size; {_advice(found.rows[0])}")


def _mark(row: Ranked) -> str:
    """How a row is known: measured, predicted, or predicted for a face whose words differ from its pairs."""
    if row.verified:
        return " "
    return "?" if predictions_weak(row.face) else "~"


def _advice(row: Ranked) -> str:
    """What would help the best face, by what costs it most."""
    worst = max(row.hold.reasons, key=lambda r: (r.breaks, r.points), default=None)
    if worst is not None and worst.kind in ("stroke", "counter"):
        return "try a larger --cap-height or a finer nozzle, or let 'letterhold tag' thicken the letters"
    return "try a larger --offset or smaller letters, or let 'letterhold tag' close the gaps"


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"
