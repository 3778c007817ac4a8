"""Rows of a ranking as a table, JSON or CSV, as set and as made."""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from catalogue.commands.options import number, print_json
from catalogue.errors import UsageError
from catalogue.judge.listing import Listing
from catalogue.judge.made_listing import MadeListing, MadeRow
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import Request
from catalogue.text import clean, csv_cell
from catalogue.wording import CAUTION, count_of, sell

MOST_TITLE = 34

MOST_FILES = 3
"""Other files of a design that are named under its line."""


def made_report(found: MadeListing, asked: Request, in_json: bool = False, in_csv: bool = False) -> int:
    """Print a listing as made; returns the exit status, 1 when no face shown holds as made."""
    form = "json" if in_json else "csv" if in_csv else ""
    return written(found, lambda: map(made_row_of, found.rows), lambda: made_table(found, asked), form)


def written(
    found: Listing | MadeListing, rows: Callable[[], Iterable[dict[str, Any]]], table: Callable[[], None], form: str
) -> int:
    """Print a listing as a table, ``json`` or ``csv``; returns the exit status, 1 when no face shown holds."""
    for trouble in found.troubles:
        print(f"letterhold: {trouble}", file=sys.stderr)
    if not found.asked:
        raise UsageError("no face is left to rank; scan a folder with fonts or drop --sell and --group")
    if not found.rows and found.notes and form:
        print(f"letterhold: no face could be ranked: {'; '.join(found.notes)}", file=sys.stderr)
    if form == "json":
        print_json(list(rows()))
    elif form == "csv":
        print_csv(list(rows()))
    else:
        table()
    return 0 if any(r.holds for r in found.rows) else 1


def made_row_of(row: MadeRow) -> dict[str, Any]:
    """One row under its contract keys: the figures as set, then those as made."""
    return row_of(row.ranked) | {
        "made_hold": row.hold, "change": list(row.changes.words), "cost": row.cost_mm, "craft": row.craft,
        "why": list(row.why), "fitted": row.fitted, "others_of_family": row.others,
    }  # fmt: skip


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


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def files_line(row: Ranked) -> str:
    """The other files of a row's design, each with its verdict."""
    named = [f"{clean(Path(f.path).name, 60)} ({f.sell})" for f in row.also[:MOST_FILES]]
    more = f" and {len(row.also) - MOST_FILES} more" if len(row.also) > MOST_FILES else ""
    return f"the same letters: {', '.join(named)}{more}"


def _cell(part: str | dict[str, Any]) -> str:
    return part if isinstance(part, str) else f"{part['path']} ({part['sell']})"


def print_csv(rows: list[dict[str, Any]]) -> None:
    """Rows as CSV, lists joined; no cell is a formula."""
    writer = csv.writer(sys.stdout)
    if rows:
        writer.writerow(rows[0])
    for row in rows:
        flat = {k: "; ".join(map(_cell, v)) if isinstance(v, list) else v for k, v in row.items()}
        writer.writerow([csv_cell(v) if isinstance(v, str) else v for v in flat.values()])


def made_table(found: MadeListing, asked: Request) -> None:
    """The rows as made, each with what has to be changed."""
    size = asked.size
    print(
        f"“{asked.shown}” as made at {size.kind.replace('-', ' ')} {size.mm:g} mm, {asked.process.name},"
        f" base offset {asked.base_offset_mm:g} mm (lengths in mm, as set)"
    )
    print(HEAD)
    for place, row in enumerate(found.rows, 1):
        known = " " if row.fitted else "~"
        print(f"{place:>3} {row.hold:>4}{known} {figures(row.ranked)}")
        more = f" (+{row.others} of the family)" if row.others else ""
        print(f"{'':>9} {row.both}{more}")
        if row.ranked.also:
            print(f"{'':>9} {files_line(row.ranked)}")
        for miss in row.misses:
            print(f"{'':>9} still missing: {miss}")
    if any(not r.fitted for r in found.rows):
        print("~ predicted from letter pairs, as set and as made; letterhold tag fits it in full")
    if found.total > len(found.rows):
        print(f"{count_of(found.total - len(found.rows), 'more line')}; --top 0 lists all")
    for line in (*found.remarks, *(f"not scored: {note}" for note in found.notes)):
        print(line)
    if found.rows and not any(r.holds for r in found.rows):
        print("no face shown holds as made at this size; try a larger --cap-height, or free more with --change")
    print(CAUTION)


HEAD = f"{'':>3} {'hold':>4}  {'face':<{MOST_TITLE}} {'join':>5} {'neck':>5} {'stroke':>6} {'counter':>7}  may be sold"
"""Of both tables."""


def figures(row: Ranked) -> str:
    """Face, measures as set and verdict."""
    return (
        f"{cut(row.face.title, MOST_TITLE):<{MOST_TITLE}} {row.join_offset_mm:>5.2f} {number(row.neck_mm or None):>5}"
        f" {number(row.thinnest_stroke_mm):>6} {number(row.smallest_counter_mm):>7}  {sell(row.face.sell).answer}"
    )


def cut(text: str, most: int) -> str:
    """The text with what goes beyond left out."""
    return text if len(text) <= most else text[: most - 1] + "…"
