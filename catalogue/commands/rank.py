"""``letterhold rank``: the faces of the catalogue for a name, as they would be made or as they are set."""

from __future__ import annotations

import argparse
import os

from catalogue.commands.made_rows import HEAD, figures, files_line, made_report, row_of, written
from catalogue.commands.options import (
    as_json,
    count,
    judging,
    length,
    open_store,
    progress,
    request_of,
)
from catalogue.judge.letters import predictions_weak
from catalogue.judge.listing import Listing, Wanted, listing
from catalogue.judge.made_listing import made_listing
from catalogue.judge.made_order import ORDERS
from catalogue.judge.ranking import Ranked, can_predict
from catalogue.judge.reach import CHANGES, Reach
from catalogue.judge.request import Request
from catalogue.wording import CAUTION, count_of

DEFAULT_VERIFY = 20
DEFAULT_TOP = 20


def add_arguments(rank: argparse.ArgumentParser) -> None:
    """The options of ``rank``."""
    rank.add_argument("name", metavar="NAME", help=r"the name; \n starts a new line")
    judging(rank)
    rank.add_argument("--as-set", action="store_true", help="order by hold as set, without changes to the letters")
    rank.add_argument(
        "--order", choices=ORDERS, default=ORDERS[0],
        help="mixed (default): one line a family, style groups in turn; hold, change (least first), craft; plain: all",
    )  # fmt: skip
    rank.add_argument("--change", metavar="LIST", help=f"change only these of {','.join(CHANGES)}")
    rank.add_argument("--most-offset", type=length, metavar="LENGTH", help="widest offset of the base (default twice)")
    rank.add_argument("--keep-weight", action="store_true", help="leave the weight of variable faces as it is")
    rank.add_argument("--sell", action="store_true", help="only faces whose goods may be sold (yes, yes-conditions)")
    rank.add_argument("--group", metavar="G", help="only faces of this style group, as joined or heavy")
    rank.add_argument("--top", type=count, default=DEFAULT_TOP, metavar="N", help="rows to show (0: all)")
    rank.add_argument(
        "--verify", type=count, default=DEFAULT_VERIFY, metavar="N",
        help=f"fit the first N faces in full, as set measure them (default {DEFAULT_VERIFY})",
    )  # fmt: skip
    as_json(rank)
    rank.add_argument("--csv", action="store_true", help="print CSV")


def run(options: argparse.Namespace) -> int:
    """Rank, and print the first rows."""
    asked, reach = request_of(options), _reach(options)
    wanted = Wanted(options.top, options.verify, options.sell, options.group or "")
    with open_store(options) as store:
        if options.as_set or not (options.verify or can_predict(asked.name)):
            as_set = listing(store, asked, wanted, progress, workers=os.cpu_count() or 1)
            return report(as_set, asked, options.json, options.csv)
        if options.verify:
            from catalogue.tag.fitted import Asked, as_made  # the geometry libraries take a fifth of a second to load

            fit = Asked(asked, reach, _is_sized(options))
            found = as_made(store, fit, wanted, options.order, progress, os.cpu_count() or 1)
        else:
            found = made_listing(store, asked, wanted, reach, options.order)
    return made_report(found, asked, options.json, options.csv)


def _is_sized(options: argparse.Namespace) -> bool:
    return bool(options.cap_height or options.x_height or options.width)


def _reach(options: argparse.Namespace) -> Reach:
    reach = Reach() if options.change is None else Reach.of(options.change)
    kept = {name for name, keeps in (("weight", options.keep_weight), ("size", _is_sized(options))) if keeps}
    return Reach(reach.change - kept, options.most_offset)


def report(found: Listing, asked: Request, in_json: bool = False, in_csv: bool = False) -> int:
    """Print a listing as set; returns the exit status, 1 when no face shown holds."""
    form = "json" if in_json else "csv" if in_csv else ""
    return written(found, lambda: map(row_of, found.rows), lambda: _print_table(found, asked), form)


def _print_table(found: Listing, asked: Request) -> None:
    size = asked.size
    print(
        f"“{asked.name}” at {size.kind.replace('-', ' ')} {size.mm:g} mm, {asked.process.name},"
        f" base offset {asked.base_offset_mm:g} mm (lengths in mm)"
    )
    print(HEAD)
    for place, row in enumerate(found.rows, 1):
        print(f"{place:>3} {row.hold.hold:>4}{_mark(row)} {figures(row)}")
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
