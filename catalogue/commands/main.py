"""The command line: words in, one clear answer out. Reads and writes; the judging is elsewhere.

Exit status: 0 done; 1 done, but the answer is "no"; 2 wrong use or unreadable input, with one line on what to do.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import shlex
import sqlite3
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from catalogue.errors import LetterholdError
from catalogue.wording import count_of, pieces_of, sell

if TYPE_CHECKING:
    from catalogue.judge.check import Check
    from catalogue.judge.listing import Listing
    from catalogue.judge.ranking import Ranked
    from catalogue.judge.request import Size
    from catalogue.store.database import Store

DEFAULT_CAP_HEIGHT_MM = 14.0
DEFAULT_VERIFY = 20
DEFAULT_TOP = 20
DEMO_NAME = "Marlie"

CAUTION = (
    "A calculation from the drawing: no test, no certificate, no legal advice. Small parts can come off; not for"
    " children under 3. Follow local rules."
)


class UsageError(LetterholdError):
    """Wrong use; the message is one line that ends with what to do."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Entry point of the ``letterhold`` command; returns the exit status."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if not hasattr(options, "run"):
        parser.print_help()
        return 0
    try:
        return int(options.run(options))
    except ValueError as error:  # every error class of ours is a ValueError with a finished sentence
        print(f"letterhold: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # the reader of our output has seen enough
        sys.stderr.close()
        return 0
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        what = (error.strerror or str(error)).lower()
        print(f"letterhold: {where}{what}; check the path, its rights and the free space", file=sys.stderr)
        return 2
    except sqlite3.Error as error:
        from catalogue.store.database import plain

        print(f"letterhold: the catalogue: {plain(error)}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("letterhold: stopped; what was done is kept, run the same command to go on", file=sys.stderr)
        return 2


class _Parser(argparse.ArgumentParser):
    """Names the nearest command or choice in its complaint, in one line."""

    def error(self, message: str) -> NoReturn:
        import difflib
        import re

        match = re.search(r"(argument -\S+: )?[^:]*invalid choice: '?([^']*?)'? \(choose from (.*)\)", message)
        if match:
            choices = [c.strip(" '") for c in match[3].split(",")]
            near = difflib.get_close_matches(match[2], choices, 1, 0.5)
            hint = f"did you mean {near[0]}?" if near else f"use one of {', '.join(choices)}"
            message = f"{match[1] or ''}{match[2]!r} is not known; {hint}"
        self.exit(2, f"{self.prog}: {message}; see {self.prog} --help\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="letterhold",
        description="Finds fonts whose letters hold together when a name is cut as a solid tag and printed.",
        epilog="Start with: letterhold demo",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Parser)

    def add(name: str, run: Callable[[argparse.Namespace], int], summary: str, example: str) -> argparse.ArgumentParser:
        command = commands.add_parser(name, help=summary, description=summary, epilog=f"Example: letterhold {example}")
        command.set_defaults(run=run)
        command.add_argument(
            "--catalogue", type=Path, metavar="FILE", help="catalogue file (default: in your data folder)"
        )
        return command

    scan = add("scan", _scan, "read every font under the paths into the catalogue", "scan ~/fonts")
    scan.add_argument("paths", nargs="+", type=_place, metavar="PATH", help="folders, font files or s3://… addresses")
    scan.add_argument("--workers", type=_count, default=0, metavar="N", help="processes to use (default: one a core)")
    scan.add_argument(
        "--cluster", default="", metavar="ADDRESS", help="measure on the workers of the Dask scheduler at this address"
    )
    scan.add_argument(
        "--parts",
        type=_text_place,
        metavar="FOLDER",
        help="write partitions there, to be merged, instead of a catalogue",
    )
    scan.add_argument("--words", type=Path, metavar="FILE", help="test words of your own, one a line")
    scan.add_argument("--all-instances", action="store_true", help="every named instance, not only the weights")
    scan.add_argument(
        "--progress", action="store_true", help="tell 'progress DONE TOTAL' on standard error, a line a file"
    )
    scan.add_argument("--json", action="store_true", help="print the counts as JSON")

    rank = add("rank", _rank, "order the faces by hold for a name", 'rank "Marlie" --cap-height 14mm')
    rank.add_argument("name", metavar="NAME")
    _judging(rank)
    rank.add_argument("--sell", action="store_true", help="only faces whose goods may be sold (yes, yes-conditions)")
    rank.add_argument("--group", metavar="G", help="only faces of this style group, as joined or heavy")
    rank.add_argument("--top", type=_count, default=DEFAULT_TOP, metavar="N", help="rows to show (0: all)")
    rank.add_argument(
        "--verify", type=_count, default=DEFAULT_VERIFY, metavar="N",
        help=f"full geometry for the first N faces (default {DEFAULT_VERIFY})",
    )  # fmt: skip
    rank.add_argument("--json", action="store_true", help="print JSON")
    rank.add_argument("--csv", action="store_true", help="print CSV")

    inspect = add("inspect", _inspect, "show one face: measures, coverage, licence", 'inspect "Lobster Regular"')
    inspect.add_argument("face", metavar="FACE", help="catalogue number, 'Family Style' or path#index")
    inspect.add_argument("--json", action="store_true", help="print JSON")

    check = add("check", _check, "measure one name in one face in full", 'check Marlie --face "Lobster Regular"')
    check.add_argument("name", metavar="NAME")
    check.add_argument("--face", required=True, metavar="FACE", help="catalogue number, 'Family Style' or path#index")
    _judging(check)
    check.add_argument(
        "--picture", type=Path, metavar="OUT", help="write a picture, .svg or .png, with weak spots marked"
    )
    check.add_argument("--json", action="store_true", help="print JSON")

    licence = add("licence", _licence, "evidence and sell verdict of a font", "licence ~/fonts/Some.ttf")
    licence.add_argument("what", nargs="?", metavar="PATH_OR_FACE")
    licence.add_argument("--record", type=Path, metavar="OUT.zip", help="write the record for the shop")
    licence.add_argument("--csv", action="store_true", help="one CSV row a face (for a folder)")
    licence.add_argument("--ledger", type=Path, metavar="OUT.csv", help="write the verdicts of the whole catalogue")
    licence.add_argument("--json", action="store_true", help="print JSON")

    from catalogue.commands import health as cli_health
    from catalogue.commands import page as cli_page
    from catalogue.commands import style as cli_style
    from catalogue.commands import tag as cli_tag

    cli_tag.add_commands(add)
    cli_style.add_commands(add)
    cli_page.add_commands(add)
    cli_health.add_commands(add)

    merge = add("merge", _merge, "put the partitions of 'scan --parts' into the catalogue", "merge /mnt/share/parts")
    merge.add_argument("parts", type=_text_place, metavar="FOLDER", help="folder or address with the partitions")
    merge.add_argument("--json", action="store_true", help="print the counts as JSON")

    demo = add("demo", _demo, "scan the demo fonts that came with the install and rank a name", "demo")
    demo.add_argument("name", nargs="?", default=DEMO_NAME, metavar="NAME")
    demo.add_argument("--json", action="store_true", help="print JSON")
    return parser


def _judging(command: argparse.ArgumentParser) -> None:
    size = command.add_mutually_exclusive_group()
    size.add_argument("--cap-height", type=_length, metavar="LENGTH", help="height of the capitals (default 14mm)")
    size.add_argument("--x-height", type=_length, metavar="LENGTH", help="height of the small letters")
    size.add_argument("--width", type=_length, metavar="LENGTH", help="width of the whole tag without the ring")
    command.add_argument(
        "--process", default="nozzle-0.4", metavar="NAME", help="process profile or path of a TOML file"
    )
    command.add_argument(
        "--offset", type=_length, default=1.0, metavar="LENGTH", help="offset of the base (default 1mm)"
    )
    command.add_argument("--language", metavar="TAG", help="language of the name, such as tr or sr")


def _length(text: str) -> float:
    from scanner.units import parse_length_mm

    try:
        return parse_length_mm(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _place(text: str) -> Path | str:
    """A path, or the address of a store as text."""
    from scanner.files import place_of

    return place_of(text)


def _text_place(text: str) -> str:
    """The same as text."""
    return str(_place(text))


def _count(text: str) -> int:
    if not text.isdecimal() or len(text) > 6:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number; write it as 20")
    return int(text)


def _one_line(name: str) -> None:
    """Raise unless the name can be set in one line."""
    from scanner.names import check_name

    if "\\n" in name or "\n" in name:
        raise UsageError("a name of several lines can only be made with tag; give one line here")
    check_name(name)


def _size(options: argparse.Namespace) -> Size:
    from catalogue.judge.request import Size

    if options.width:
        return Size("width", options.width)
    if options.x_height:
        return Size("x-height", options.x_height)
    return Size("cap-height", options.cap_height or DEFAULT_CAP_HEIGHT_MM)


def _open(options: argparse.Namespace, create: bool = False) -> Store:
    from catalogue.store.database import Store, usual_catalogue

    return Store(options.catalogue or usual_catalogue(), create)


# ── scan ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def _scan(options: argparse.Namespace) -> int:
    from catalogue.gather.scan import Scan, scan_into, scan_to_parts
    from catalogue.text import clean
    from scanner.alphabet import read_words

    if options.parts and options.catalogue:
        raise UsageError("--parts writes no catalogue; leave --catalogue out, and give it to 'letterhold merge'")
    words = read_words(options.words)
    scan = Scan(options.paths, words, options.workers, options.all_instances, options.cluster)
    progress = _told if options.progress else _progress
    facts = (
        scan_to_parts(options.parts, scan, progress) if options.parts else scan_into(options.catalogue, scan, progress)
    )
    if options.json:
        print(json.dumps(facts, indent=1))
    else:
        print(
            f"{_amount(facts)}:"
            f" {facts['failed']} failed, {facts['skipped_unchanged']} unchanged, {facts['seconds']:.1f} s"
        )
        for path, reason in facts["reasons"]:
            print(f"  {clean(path, 1000)}: {reason}")
        print(f"next: letterhold merge {facts['parts']}" if options.parts else f"catalogue: {facts['catalogue']}")
    return 0


def _merge(options: argparse.Namespace) -> int:
    from catalogue.gather.partitions import merge_parts
    from catalogue.store.database import default_catalogue

    facts = merge_parts(options.parts, options.catalogue or default_catalogue(), _progress)
    if options.json:
        print(json.dumps(facts, indent=1))
    else:
        print(
            f"{count_of(facts['merged'], 'file')} of {count_of(facts['partitions'], 'partition')} merged,"
            f" {facts['seconds']:.1f} s; {_amount(facts)}"
        )
        print(f"catalogue: {facts['catalogue']}")
    return 0


def _amount(facts: dict[str, Any]) -> str:
    """What a catalogue holds, in words."""
    return (
        f"{count_of(facts['faces'], 'face')} and {count_of(facts['instances'], 'instance')}"
        f" in {count_of(facts['files'], 'file')}"
    )


def _told(items: Iterable[Any], total: int, label: str) -> Iterable[Any]:
    """Progress for another program: a line before the first item and after each."""
    print(f"progress 0 {total}", file=sys.stderr, flush=True)
    for done, item in enumerate(items, 1):
        yield item
        print(f"progress {done} {total}", file=sys.stderr, flush=True)


def _progress(items: Iterable[Any], total: int, label: str, unit: str = "font") -> Iterable[Any]:
    if not sys.stderr.isatty() or total == 0:
        return items
    from tqdm import tqdm

    bar: Iterable[Any] = tqdm(items, total=total, desc=label, unit=unit, leave=False)
    return bar


# ── rank ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def _rank(options: argparse.Namespace) -> int:
    from catalogue.judge.listing import listing
    from catalogue.judge.process import load_process
    from catalogue.judge.request import Request
    from catalogue.judge.stack import default_stack

    _one_line(options.name)
    asked = Request.of(
        options.name, _size(options), load_process(options.process), default_stack(options.offset), options.language
    )
    with _open(options) as store:
        found = listing(
            store, asked, options.top, min(options.verify, options.top or options.verify), options.sell,
            options.group or "", _progress, workers=os.cpu_count() or 1,
        )  # fmt: skip
    for trouble in found.troubles:
        print(f"letterhold: {trouble}", file=sys.stderr)
    if not found.total and found.unsized:
        raise UsageError(found.unsized)
    if not found.total and not found.left_out:
        raise UsageError("no face is left to rank; scan a folder with fonts or drop --sell and --group")
    if options.json:
        print(json.dumps([_row(r) for r in found.rows], indent=1, ensure_ascii=False))
    elif options.csv:
        _print_csv([_row(r) for r in found.rows])
    else:
        _print_ranking(found, options)
    return 0 if any(r.hold.holds for r in found.rows) else 1


def _row(row: Ranked) -> dict[str, Any]:
    """One row under its contract keys."""
    face = row.face
    return {
        "face": face.id, "family": face.family, "style": face.style, "path": face.path, "hold": row.hold.hold,
        "pieces": row.pieces, "join_offset_mm": _round(row.join_offset_mm), "neck_mm": _round(row.neck_mm),
        "thinnest_stroke_mm": _round(row.thinnest_stroke_mm), "smallest_counter_mm": _round(row.smallest_counter_mm),
        "sell": face.sell, "group": face.group, "verified": row.verified,
        "reasons": [r.line for r in row.hold.reasons],
    }  # fmt: skip


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _print_csv(rows: list[dict[str, Any]]) -> None:
    import csv

    from catalogue.text import csv_cell

    writer = csv.writer(sys.stdout)
    if rows:
        writer.writerow(rows[0])
    for row in rows:
        flat = {k: "; ".join(v) if isinstance(v, list) else v for k, v in row.items()}
        writer.writerow([csv_cell(v) if isinstance(v, str) else v for v in flat.values()])


def _print_ranking(found: Listing, options: argparse.Namespace) -> None:
    size = _size(options)
    print(
        f"“{options.name}” at {size.kind.replace('-', ' ')} {size.mm:g} mm, {options.process},"
        f" base offset {options.offset:g} mm (lengths in mm)"
    )
    print(f"{'':>3} {'hold':>4}  {'face':<34} {'join':>5} {'neck':>5} {'stroke':>6} {'counter':>7}  may be sold")
    for k, row in enumerate(found.rows, 1):
        print(
            f"{k:>3} {row.hold.hold:>4}{_mark(row)} {_cut(row.face.title, 34):<34} {row.join_offset_mm:>5.2f}"
            f" {_number(row.neck_mm or None):>5} {_number(row.thinnest_stroke_mm):>6}"
            f" {_number(row.smallest_counter_mm):>7}"
            f"  {sell(row.face.sell).answer}"
        )
        for reason in row.hold.reasons:
            print(f"{'':>9} {reason.line}")
    marks = {_mark(r) for r in found.rows}
    if marks - {" "}:
        print("~ predicted from letter pairs; measure it with: letterhold check NAME --face FACE")
    if "?" in marks:
        print("? predicted as well, but the face draws letters otherwise in a word than in pairs: measure it first")
    if found.total > len(found.rows):
        print(f"{count_of(found.total - len(found.rows), 'more face')}; --top 0 lists all")
    if found.left_out:
        print(f"not scored: {count_of(found.left_out, 'face')} without {' '.join(found.lacking)}")
    if found.unsized:
        print(f"not scored: {found.unsized}")
    if len(options.name.split()) > 1:
        print("words are set closer than the face sets them, as 'letterhold tag' does, so that the base joins them")
    if found.rows and not any(r.hold.holds for r in found.rows):
        print(f"no face shown holds at this size; {_advice(found.rows[0])}")
    print(CAUTION)


def _mark(row: Ranked) -> str:
    """How a row is known: measured, predicted, or predicted for a face whose words differ from its pairs."""
    from catalogue.judge.listing import CONTEXTUAL_FROM

    if row.verified:
        return " "
    return "?" if row.face.contextual > CONTEXTUAL_FROM else "~"


def _advice(row: Ranked) -> str:
    """What would help the best face, by what costs it most."""
    worst = max(row.hold.reasons, key=lambda r: (r.breaks, r.points), default=None)
    if worst is not None and worst.kind in ("stroke", "counter"):
        return "try a larger --cap-height or a finer nozzle, or let 'letterhold tag' thicken the letters"
    return "try a larger --offset or smaller letters, or let 'letterhold tag' close the gaps"


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _number(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"


# ── one face ────────────────────────────────────────────────────────────────────────────────────────────────────────


def _inspect(options: argparse.Namespace) -> int:
    from catalogue.style.grouping import neighbours

    with _open(options) as store:
        face = store.find(options.face)
        words = store.words(face.id)
        verdict = store.verdict(face.id)
        alike = neighbours(store, face, 5)
    joins = sorted(w["join_edges_em"][0] / 2 if w["join_edges_em"] else 0.0 for w in words)
    facts: dict[str, Any] = {
        "face": face.id, "family": face.family, "style": face.style, "path": face.path,
        "face_index": face.face_index, "instance": face.instance, "version": face.version,
        "letters": face.letters, "missing_letters": face.missing, "upem": face.upem,
        "cap_height_em": face.cap_height_em, "x_height_em": face.x_height_em, "slant_deg": face.slant_deg,
        "median_stroke_em": face.median_stroke_em, "thinnest_stroke_em": face.thinnest_stroke_em,
        "smallest_counter_em": face.smallest_counter_em, "joining": face.joining,
        "advances_variation": face.advances_variation,
        "median_join_offset_em": joins[len(joins) // 2] if joins else None,
        "worst_join_offset_em": joins[-1] if joins else None,
        "spdx": face.spdx, "sell": face.sell, "group": face.group, "group_support": face.group_support,
        "neighbours": alike,
        "reasons": verdict.get("reasons", []),
    }  # fmt: skip
    facts = {k: round(v, 4) if isinstance(v, float) and math.isfinite(v) else v for k, v in facts.items()}
    facts = {k: None if isinstance(v, float) and math.isnan(v) else v for k, v in facts.items()}
    if options.json:
        print(json.dumps(facts, indent=1, ensure_ascii=False))
        return 0
    print(f"{face.title} (number {face.id})")
    print(f"  file          {face.path}" + (f"#{face.face_index}" if face.face_index else ""))
    print(
        f"  letters       {count_of(face.letters, 'character')}"
        + (f", lacks {face.missing[:40]}" if face.missing else "")
    )
    heights = f"{face.cap_height_em:.3f} em, small letters {face.x_height_em:.3f} em"
    print(f"  capitals      {heights}, slant {round(face.slant_deg)}°")
    print(f"  strokes       median {face.median_stroke_em:.3f} em, thinnest {face.thinnest_stroke_em:.3f} em")
    print(f"  joined pairs  {face.joining:.0%} of small-letter pairs touch")
    if joins:
        print(
            f"  join offset   {joins[len(joins) // 2]:.3f} em at the median test word, {joins[-1]:.3f} em at the worst"
        )
    print(f"  style group   {face.group or 'not decided; scan again'}: {face.group_support}")
    if alike:
        print(f"  looks like    {', '.join(n['family'] for n in alike)}")
    print(f"  may be sold   {sell(face.sell).answer}" + (f" ({face.spdx})" if face.spdx else ""))
    for reason in verdict.get("reasons", [])[:4]:
        print(f"                {reason}")
    return 0


def _check(options: argparse.Namespace) -> int:
    from catalogue.judge.check import check_face
    from catalogue.judge.process import load_process
    from catalogue.judge.stack import default_stack

    _one_line(options.name)
    process = load_process(options.process)
    if options.picture and not options.picture.absolute().parent.is_dir():
        raise UsageError(f"{options.picture.parent}: no such folder; make it first or name another")
    if options.picture and options.picture.suffix.lower() not in (".svg", ".png"):
        raise UsageError(f"{options.picture}: a picture is .svg or .png; give the file one of these endings")
    with _open(options) as store:
        face = store.find(options.face)
    result = check_face(face, options.name, _size(options), process, default_stack(options.offset), options.language)
    if options.picture:
        from catalogue.draw.picture import check_scene, write_picture

        write_picture(check_scene(result), options.picture)
    if options.json:
        print(json.dumps(result.as_json(), indent=1, ensure_ascii=False))
    else:
        _print_check(result)
        if options.picture:
            print(f"picture: {options.picture}")
    return 0 if result.hold.holds and not result.missing_letters else 1


def _print_check(check: Check) -> None:
    from catalogue.draw.picture import KINDS, numbered

    verdict = "holds" if check.hold.holds else "does not hold"
    print(f"“{check.name}” in {check.family} {check.style}: {verdict}, hold {check.hold.hold} of 100")
    print(f"  capitals {check.cap_height_mm:.2f} mm, {check.process}; lengths in mm")
    if check.missing_letters:
        print(f"  the face lacks: {' '.join(check.missing_letters)}")
    print(
        f"  join offset {check.join_offset_mm:.2f}, thinnest stroke {_number(check.thinnest_stroke_mm)},"
        f" smallest counter {_number(check.smallest_counter_mm)}"
    )
    if check.words_closer_mm > 0:
        print(f"  words set {check.words_closer_mm:.2f} closer than the face sets them, so that the base joins them")
    for layer in check.layers:
        print(
            f"  {layer.layer:<7} offset {layer.offset_mm:.2f}, top at {layer.top_mm:.3f}: {pieces_of(layer.pieces)},"
            f" {count_of(layer.holes, 'hole')} ({count_of(layer.pinholes, 'pinhole')})"
            + (f", neck {layer.neck_mm:.2f}" if layer.neck_mm else "")
        )
    for reason in check.hold.reasons:
        print(f"  {reason.line}")
    # Numbered as in the picture; lesser ones, which it leaves out, come last and without a number.
    marked = numbered(check.weak_spots)
    for number, spot in [*enumerate(marked, 1), *((0, s) for s in check.weak_spots if s not in marked)]:
        place = f"at {spot.x_mm:6.1f}, {spot.y_mm:5.1f}"
        print(f"  {number or '':>2} {place}: {KINDS[spot.kind]} ({spot.size_mm:.2f}, {spot.layer})")
    if not check.missing_letters:
        face = shlex.quote(f"{check.family} {check.style}")
        what = "the files to print it" if check.hold.holds else "the least change that makes it hold"
        print(f"next, for {what}: letterhold tag {shlex.quote(check.name)} --face {face} --out FOLDER")
    print(CAUTION)


# ── licence ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _licence(options: argparse.Namespace) -> int:
    if options.ledger:
        return _ledger(options)
    if not options.what:
        raise UsageError("name a font, a folder or a face, as in: letterhold licence ~/fonts/Some.ttf")
    from catalogue.store.database import CatalogueError
    from catalogue.store.font_cache import font_with_notices
    from scanner.files import SUFFIXES

    path = Path(options.what.rpartition("#")[0] or options.what)
    if path.is_dir():
        return _licence_folder(path, options)
    index, shown = 0, str(path)
    root: Path | None = None
    if path.is_file():
        tail = options.what.rpartition("#")[2]
        index = int(tail) if "#" in options.what and tail.isdecimal() else 0
    else:
        with _open(options) as store:
            try:
                face = store.find(options.what)
            except CatalogueError as error:
                if path.suffix.lower() not in SUFFIXES:
                    raise
                raise UsageError(f"{path}: no such file, nor in the catalogue; check the spelling") from error
        path, index, shown = font_with_notices(face), face.face_index, face.path
        if not path.is_file():
            raise UsageError(f"{path}: gone since the scan; scan its folder again")
    from catalogue.licence.verdict import explain, judge_font

    verdict = judge_font(path, index, root)
    if options.record:
        import datetime

        from catalogue.licence.shop_record import write_record

        write_record(path, index, verdict, options.record, datetime.date.today())
    if options.json:
        print(json.dumps({"path": shown, "face": index} | verdict.as_json(), indent=1, ensure_ascii=False))
    else:
        print(explain(verdict, shown))
        if options.record:
            print(f"record: {options.record}")
    return 0 if verdict.verdict in ("yes", "yes-conditions") else 1


def _licence_folder(folder: Path, options: argparse.Namespace) -> int:
    from catalogue.licence.ledger import COLUMNS, ledger_csv
    from catalogue.licence.verdict import judge_font
    from scanner.evidence import family_and_style
    from scanner.face import tidy
    from scanner.files import FileError, face_count, find_fonts, read_font

    rows: list[tuple[str, ...]] = []
    for file in _progress(list(find_fonts([folder])), 0, "reading"):
        try:
            for index in range(face_count(read_font(file.path))):
                family, style = map(tidy, family_and_style(file.path, index))
                if not family:
                    raise FileError("it names no family; get the font anew from its source")
                verdict = judge_font(file.path, index, folder)
                rows.append((str(file.path), str(index), family, style, verdict.spdx or "", verdict.verdict))
        except FileError as error:
            print(f"letterhold: {file.path}: {error}", file=sys.stderr)
    if not rows:
        raise UsageError(f"{folder}: no font could be read there; give a folder that holds fonts")
    if options.json:
        print(json.dumps([dict(zip(COLUMNS, r, strict=True)) for r in rows], indent=1, ensure_ascii=False))
    else:
        sys.stdout.write(ledger_csv(rows))
    return 0 if all(r[-1] in ("yes", "yes-conditions") for r in rows) else 1


def _ledger(options: argparse.Namespace) -> int:
    from catalogue.atomic import write_file
    from catalogue.licence.ledger import ledger_csv, row_of

    with _open(options) as store:
        faces = [f for f in store.faces() if not f.instance]
    write_file(options.ledger, ledger_csv(map(row_of, faces)).encode())
    print(f"{count_of(len(faces), 'face')} written to {options.ledger}")
    return 0


# ── demo ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def _demo(options: argparse.Namespace) -> int:
    from catalogue.gather.scan import Scan, scan_into
    from catalogue.store.database import default_catalogue, usual_catalogue
    from scanner.alphabet import read_words
    from scanner.workers.supervisor import demo_folders

    folders = demo_folders()
    if not folders:
        raise UsageError("the demo fonts are not installed; run: pip install 'letterhold[demo]'")
    target = options.catalogue or default_catalogue().with_name("demo.sqlite")
    print(f"scanning the fonts of {count_of(len(folders), 'installed package')} ...", file=sys.stderr)
    facts = scan_into(target, Scan(folders, read_words(None)), _progress)
    if not options.json:
        print(f"{_amount(facts)}, {facts['seconds']:.0f} s\n")
    arguments = ["rank", options.name, "--catalogue", str(target), "--top", "12"]
    status = main([*arguments, "--json"] if options.json else arguments)
    if not options.json:
        where = f" --catalogue {target}" if target != usual_catalogue() else ""
        best = _first_face(target, options.name)
        print(f'\nNext: letterhold check {options.name} --face "{best}" --picture weak.png{where}')
        print(f"      letterhold page{where}   (browse it in the browser)")
    return status


def _first_face(catalogue: Path, name: str) -> str:
    """The face that is foretold to hold best, for a command to go on with."""
    from catalogue.judge.listing import listing
    from catalogue.judge.process import load_process
    from catalogue.judge.request import Request, Size
    from catalogue.judge.stack import default_stack
    from catalogue.store.database import Store

    size = Size("cap-height", DEFAULT_CAP_HEIGHT_MM)
    with Store(catalogue) as store:
        found = listing(store, Request.of(name, size, load_process("nozzle-0.4"), default_stack(1.0)), top=1, verify=0)
    return found.rows[0].face.title if found.rows else "FACE"


if __name__ == "__main__":
    raise SystemExit(main())
