"""The ``tag`` command: a name and a face to files that print."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from catalogue.fit import Fit, Levers
    from catalogue.orders import Order, Result
    from catalogue.process import Process
    from catalogue.ranking import Size
    from catalogue.store import Face, Store
    from catalogue.tag import Tag

BEST_MEASURED = 5
"""Faces measured in full before one is called best."""

FORMATS = ("svg", "dxf", "stl", "3mf", "png")
OUR_FILES = frozenset({
    "layer-base.svg", "layer-ring.svg", "layer-middle.svg", "layer-top.svg", "all.svg", "preview.svg", "preview.png",
    "tag.dxf", "tag.stl", "tag.3mf", "job.html", "job.json", "made.txt", "licence.zip",
})  # fmt: skip
"""Names this command writes; a folder that holds anything else is left alone."""

Add = Callable[[str, Callable[[argparse.Namespace], int], str, str], argparse.ArgumentParser]


def add_commands(add: Add) -> None:
    """Register the commands of this module."""
    from catalogue.cli import _judging

    tag = add(
        "tag",
        _tag,
        "make a name hold and write the files to print it",
        'tag Marlie --face "Lobster Regular" --out marlie',
    )
    tag.add_argument("name", metavar="NAME", help=r"the name; \n starts a new line")
    tag.add_argument("--face", required=True, metavar="FACE", help="catalogue number, 'Family Style' or path#index")
    tag.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder to write into; made when not there")
    _judging(tag)
    tag.set_defaults(offset=None)
    tag.add_argument(
        "--formats", default=",".join(FORMATS), metavar="LIST", help="of svg,dxf,stl,3mf,png (default: all)"
    )
    tag.add_argument("--thicken", type=_length_or_zero, metavar="LENGTH", help="thicken the letters by exactly this")
    tag.add_argument("--tracking", type=float, metavar="EM", help="space between letters, in em, 0 or below: -0.02")
    tag.add_argument(
        "--ring", default="upper-left", metavar="SIDE", help="upper-left (default), left, right, top or an angle as 135"
    )
    tag.add_argument(
        "--bond", type=_length_or_zero, metavar="LENGTH", help="least bond of the ring (default four lines)"
    )
    tag.add_argument("--layers", type=int, choices=(1, 2, 3), default=3, help="colours stacked (default 3)")
    tag.add_argument(
        "--colours", default="navy,sky,cream", metavar="LIST", help="base, middle and top, by name or #rrggbb"
    )
    tag.add_argument("--price", type=float, metavar="PER_KG", help="price of a kilogram of filament, for the cost")
    tag.add_argument("--json", action="store_true", help="print the facts as JSON")

    orders = add("orders", _orders, "make the tags of a CSV of orders", "orders orders.csv --out shop")
    orders.add_argument(
        "file", type=Path, metavar="FILE.csv", help="columns: name, face, cap_height, width, colours ..."
    )
    orders.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder to write into")
    orders.add_argument("--process", default="nozzle-0.4", metavar="NAME", help="process where a row names none")
    orders.add_argument("--formats", default="3mf,svg", metavar="LIST", help="any of svg,dxf,stl,3mf,png")
    orders.add_argument("--bed", type=_length_or_zero, default=220.0, metavar="LENGTH", help="side of the bed (220mm)")
    orders.add_argument("--json", action="store_true", help="print a row an order as JSON")


def _tag(options: argparse.Namespace) -> int:
    from catalogue.cli import UsageError, _open, _size
    from catalogue.process import load_process
    from catalogue.tag import make_tag

    formats = _formats(options.formats)
    colours = _colours(options.colours)
    if options.price is not None and not 0 <= options.price < 1e6:
        raise UsageError(f"--price {options.price:g} is no price; give the cost of a kilogram, as 25")
    process = load_process(options.process)
    levers = _levers(options)
    options.name = options.name.replace("\\n", "\n")
    check_folder(options.out)
    with _open(options) as store:
        face = store.find(options.face)
        lacking = _lacking(face, options.name, store.faces)
    if lacking:
        raise UsageError(lacking)
    solved = fit_face(face, options.name, _size(options), process, levers, options.language)
    if not solved.holds:
        return _tell_miss(solved, face, options)
    tag = make_tag(solved, process, face.title, options.ring, options.layers, colours, options.bond)
    found = write_tag(tag, options.out, formats, face, options.price)
    if options.json:
        print(json.dumps(found, indent=1, ensure_ascii=False))
    else:
        _print_tag(tag, found, options.out)
    return 0


def fit_face(face: Face, name: str, size: Size, process: Process, levers: Levers, language: str | None = None) -> Fit:
    """Fit a name in a catalogue face at a size; a width is met by fitting again at the scale it asks for."""
    from catalogue.check import typesetter
    from catalogue.fit import fit
    from scanner.shaping import FontError
    from scanner.units import mm_per_em

    setter = typesetter(face)
    heights = {"cap-height": face.cap_height_em, "x-height": face.x_height_em}

    def at(em_mm: float) -> Fit:
        return fit(setter, name, em_mm, face.cap_height_em, process, levers, language=language, joining=face.joining)

    if size.kind != "width":
        try:
            return at(mm_per_em(size.mm, heights[size.kind]))
        except ValueError as cause:
            raise FontError(f"{face.title}: {cause}") from cause
    em = 14.0 / (face.cap_height_em or 0.7)
    for _ in range(4):
        solved = at(em)
        left, _, right, _ = solved.base.bounds
        grown = 2 * (solved.setting.base_offset_mm + solved.setting.thicken_mm)
        if size.mm <= grown + 1:
            raise FontError(f"a width of {size.mm:g} mm leaves nothing between the offsets; make it wider")
        if abs(right - left - size.mm) < 0.02:
            break
        em *= (size.mm - grown) / (right - left - grown)
    return solved


def write_tag(
    tag: Tag, folder: Path, formats: tuple[str, ...], face: Face, price: float | None = None
) -> dict[str, Any]:
    """Write every file of a tag, each whole or not at all; returns the facts of the job sheet.

    The licence is read afresh, so that the sheet and the record beside it say the same.
    """
    import datetime

    from catalogue.exports.jobsheet import facts, html
    from catalogue.exports.licence_record import write_record
    from catalogue.verdict import judge_font
    from catalogue.writing import write_file

    folder.mkdir(parents=True, exist_ok=True)
    parts = {name: data for kind in formats for name, data in _export(tag, kind)}
    names = {name: str(folder / name) for name in [*parts, "job.html", "job.json"]}
    font = Path(face.path)
    verdict = judge_font(font, face.face_index, None)
    found = facts(tag, verdict.as_json(), price, names)
    parts["job.html"] = html(tag, found).encode()
    # The sheet names its neighbours, not the folder they happen to be in.
    kept = found | {"files": {n: n for n in names}}
    parts["job.json"] = (json.dumps(kept, indent=1, ensure_ascii=False) + "\n").encode()
    for name, data in parts.items():
        write_file(folder / name, data)
    record = folder / "licence.zip"
    write_record(font, face.face_index, verdict, record, datetime.date.today())
    found["files"][record.name] = str(record)
    return found


def _export(tag: Tag, kind: str) -> list[tuple[str, bytes]]:
    if kind == "svg":
        from catalogue.exports.svg import all_svg, layer_svg, preview
        from catalogue.picture import svg

        each = [(f"layer-{p.layer}.svg", layer_svg(tag, p).encode()) for p in tag.layers]
        return [*each, ("all.svg", all_svg(tag).encode()), ("preview.svg", svg(preview(tag)).encode())]
    if kind == "png":
        from catalogue.exports.svg import preview
        from catalogue.picture import png

        return [("preview.png", png(preview(tag)))]
    if kind == "dxf":
        from catalogue.exports.dxf import dxf

        return [("tag.dxf", dxf(tag))]
    if kind == "stl":
        from catalogue.exports.stl import stl

        return [("tag.stl", stl(tag))]
    from catalogue.exports.threemf import threemf

    return [("tag.3mf", threemf(tag))]


def check_folder(folder: Path) -> None:
    """Raise UsageError unless the folder is new, empty, or holds only files of an earlier run."""
    from catalogue.cli import UsageError

    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder}: a file of that name is there; give a folder")
    others = sorted(p.name for p in folder.iterdir() if p.name not in OUR_FILES) if folder.is_dir() else []
    if others:
        raise UsageError(f"{folder}: holds other files ({others[0]}); give a new or empty folder")


def _formats(text: str) -> tuple[str, ...]:
    from catalogue.cli import UsageError

    asked = [f.strip().casefold() for f in text.split(",") if f.strip()]
    unknown = [f for f in asked if f not in FORMATS]
    if unknown or not asked:
        raise UsageError(f"format {', '.join(unknown) or text!r} is not known; use any of {','.join(FORMATS)}")
    return tuple(f for f in FORMATS if f in asked)


def _colours(text: str) -> tuple[str, str, str]:
    from catalogue.cli import UsageError
    from catalogue.tag import hex_of

    colours = [c.strip().casefold() for c in text.split(",")]
    if len(colours) != 3:
        raise UsageError(f"--colours {text!r} names {len(colours)}; give base, middle and top, as navy,sky,cream")
    for colour in colours:
        hex_of(colour)
    return colours[0], colours[1], colours[2]


def _levers(options: argparse.Namespace) -> Levers:
    from catalogue.cli import UsageError
    from catalogue.fit import Levers

    if options.tracking is not None and not -0.3 <= options.tracking <= 0:
        raise UsageError(f"--tracking {options.tracking:g} is outside -0.3 to 0 em; write it as -0.02")
    if options.thicken is not None and options.thicken > 5:
        raise UsageError(f"--thicken {options.thicken:g} mm is more than 5 mm; write it as 0.2mm")
    fixed = bool(options.cap_height or options.x_height or options.width)
    return Levers(options.tracking, options.thicken, options.offset, fixed)


def _length_or_zero(text: str) -> float:
    from catalogue.cli import _length

    return 0.0 if text.strip() in ("0", "0mm", "0in") else _length(text)


def _lacking(face: Face, name: str, faces: Callable[[], list[Face]]) -> str:
    """A line that names missing letters and faces that have them, or nothing."""
    from catalogue.check import typesetter
    from catalogue.fit import lines_of
    from catalogue.ranking import missing_letters
    from scanner.lettering import check_name

    text = " ".join(word for line in lines_of(name) for word in line)
    check_name(text)
    missing = typesetter(face).missing(text)
    if not missing:
        return ""
    others = [f for f in faces() if f.group == face.group and not missing_letters(f, text)]
    have = []
    for other in others[:12]:
        try:
            if not typesetter(other).missing(text):
                have.append(other.title)
        except ValueError:
            continue
    hint = f"these have them: {', '.join(list(dict.fromkeys(have))[:3])}" if have else "choose another face"
    return f"{face.title} lacks {' '.join(missing)}; {hint}"


def _tell_miss(solved: Fit, face: Face, options: argparse.Namespace) -> int:
    setting = solved.setting
    if options.json:
        facts = {
            "files": {}, "name": solved.name, "face": face.title, "cap_height_mm": round(solved.cap_height_mm, 4),
            "tracking_em": setting.tracking_em, "thicken_mm": setting.thicken_mm,
            "offsets_mm": {"base": setting.base_offset_mm + setting.thicken_mm}, "hold": solved.hold.hold,
            "holds": False,
            "changes": [c.text for c in solved.changes], "nearest_miss": list(solved.misses),
        }  # fmt: skip
        print(json.dumps(facts, indent=1, ensure_ascii=False))
    print(
        f"letterhold: does not hold in {face.title}; nearest miss: {'; '.join(solved.misses)}."
        " Free a lever, or take another face",
        file=sys.stderr,
    )
    for change in solved.changes:
        print(f"  tried: {change.text}", file=sys.stderr)
    return 1


def _print_tag(tag: Tag, found: dict[str, Any], folder: Path) -> None:
    from catalogue.cli import CAUTION, SELL_WORDS

    width, depth, tall = tag.size_mm
    print(f"“{tag.name}” in {tag.face}: holds, hold {found['hold']} of 100")
    print(f"  {width:.1f} × {depth:.1f} × {tall:g} mm, capitals {found['cap_height_mm']:.1f} mm, {tag.process.name}")
    for change in found["changes"]:
        print(f"  {change}")
    if not found["changes"]:
        print("  nothing had to be changed")
    for part in tag.layers:
        height = f"to {part.top_mm:.2f} mm (asked {part.top_asked_mm:.3f})"
        print(f"  {part.layer:<7} {part.colour:<8} {height}, {part.mass_g:.2f} g")
    print(
        f"  ring at {tag.ring.x_mm:.1f}, {tag.ring.y_mm:.1f}: bond {tag.ring.bond_mm:.2f} mm,"
        f" {tag.ring.overlap_share:.0%} of its outside in the base, hangs turned by {tag.ring.tilt_deg:.0f}°"
    )
    closing = found["closing_counters_mm"]
    if closing:
        print(f"  counters that may close: {len(closing)}, the smallest {closing[0]:.2f} mm")
    heights = ", ".join(f"{h:.2f} mm" for h in tag.colour_changes_mm)
    told = f", colour changes at {heights}" if heights else ""
    print(f"  {tag.mass_g:.2f} g, about {found['print_minutes']:.0f} min{told}")
    if "material_cost" in found:
        print(f"  material cost {found['material_cost']:.2f}")
    print(f"  may be sold: {SELL_WORDS.get(found['sell'], found['sell'])} ({found['spdx'] or 'no licence found'})")
    print(f"  {len(found['files'])} files in {folder}; start with job.html")
    print(CAUTION)


# ── orders ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def _orders(options: argparse.Namespace) -> int:
    from catalogue.cli import UsageError, _open, _progress
    from catalogue.orders import Result, folder_name, read_orders, results_csv
    from catalogue.writing import write_file

    formats = _formats(options.formats)
    if options.out.exists() and not options.out.is_dir():
        raise UsageError(f"{options.out}: a file of that name is there; give a folder")
    orders = read_orders(options.file.read_bytes())
    if not orders:
        raise UsageError(f"{options.file}: no orders in it; add a row under the column names")
    options.out.mkdir(parents=True, exist_ok=True)
    results: list[Result] = []
    made: dict[str, tuple[Result, Tag | None]] = {}
    taken: dict[str, str] = {}
    with _open(options) as store:
        for order in _progress(orders, len(orders), "orders"):
            if order.reason:
                results.append(Result(order, reason=order.reason))
                continue
            if order.key not in made:
                folder = folder_name(order)
                if taken.setdefault(folder, order.key) != order.key:  # two orders of one number and name
                    folder += f"-{order.key[:4]}"
                made[order.key] = _make_order(store, order, options, formats, options.out / folder)
            one = made[order.key][0]
            results.append(Result(order, one.face, one.hold, one.size_mm, one.mass_g, one.folder, one.reason))
    write_file(options.out / "results.csv", results_csv(results).encode())
    pictured = [(r.order.order, made[r.order.key][1], r.order.quantity) for r in results if not r.reason]
    _write_sheets([(label, tag, n) for label, tag, n in pictured if tag is not None], options)
    failed = [r for r in results if r.reason]
    if options.json:
        rows = [
            {"order": r.order.order, "done": not r.reason, "face": r.face, "folder": r.folder, "reason": r.reason}
            for r in results
        ]
        print(json.dumps(rows, indent=1, ensure_ascii=False))
    else:
        print(
            f"{len(results) - len(failed)} of {len(results)} orders done, {len(made)} different tags; see {options.out}"
        )
        for r in failed:
            print(f"  row {r.order.row}, order {r.order.order}: {r.reason}")
    return 1 if failed else 0


def _make_order(
    store: Store, order: Order, options: argparse.Namespace, formats: tuple[str, ...], folder: Path
) -> tuple[Result, Tag | None]:
    """Make one order's tag; whatever is wrong with it becomes its reason. Finished folders are not written again."""
    from catalogue.cli import DEFAULT_CAP_HEIGHT_MM
    from catalogue.fit import Levers
    from catalogue.orders import Result
    from catalogue.process import load_process
    from catalogue.ranking import Size
    from catalogue.tag import hex_of, make_tag
    from scanner.units import parse_length_mm

    try:
        for colour in order.colours:
            hex_of(colour)
        process = load_process(order.process or options.process)
        size = Size("cap-height", parse_length_mm(order.cap_height) if order.cap_height else DEFAULT_CAP_HEIGHT_MM)
        if order.width:
            size = Size("width", parse_length_mm(order.width))
        face = _best(store, order.name, size, process) if order.face.casefold() == "best" else store.find(order.face)
        lacking = _lacking(face, order.name, store.faces)
        if lacking:
            return Result(order, face.title, reason=lacking), None
        solved = fit_face(face, order.name, size, process, Levers(size_fixed=bool(order.cap_height or order.width)))
        if not solved.holds:
            return Result(
                order, face.title, reason=f"does not hold: {'; '.join(solved.misses)}; take another face"
            ), None
        tag = make_tag(solved, process, face.title, order.ring, 3, order.colours)
        stamp = folder / "made.txt"
        if not stamp.is_file() or stamp.read_text(encoding="utf-8") != f"{order.key} {','.join(formats)}\n":
            write_tag(tag, folder, formats, face)
            from catalogue.writing import write_file

            write_file(stamp, f"{order.key} {','.join(formats)}\n".encode())
        return Result(order, face.title, solved.hold.hold, tag.size_mm, tag.mass_g, folder.name), tag
    except ValueError as error:
        return Result(order, reason=str(error)), None


def _best(store: Store, name: str, size: Size, process: Process) -> Face:
    """The first face of the ranking whose goods may be sold; measured in full, not only predicted."""
    from catalogue.cli import UsageError
    from catalogue.listing import Asked, listing
    from catalogue.stack import default_stack
    from scanner.names import check_name

    text = " ".join(name.split())
    check_name(text)
    found = listing(store, Asked(text, size, process, default_stack(1.0)), top=1, verify=BEST_MEASURED, sellable=True)
    if not found.rows:
        raise UsageError(f"no face that may be sold has the letters of {text!r}; name a face")
    return found.rows[0].face


def _write_sheets(made: list[tuple[str, Tag, int]], options: argparse.Namespace) -> None:
    """The contact sheet, and the plates with every piece that was ordered."""
    from catalogue.orders import contact_sheet, plate, plate_scene
    from catalogue.picture import write_picture

    if not made:
        return
    write_picture(
        contact_sheet([(f"{label}, {n} pieces" if n > 1 else label, t) for label, t, n in made]),
        options.out / "contact.png",
    )
    bed = (options.bed, options.bed)
    pieces = [(label, tag) for label, tag, n in made for _ in range(n)]
    places = plate([(t.size_mm[0], t.size_mm[1]) for _, t in pieces], bed)
    count = max((p.plate for p in places if p is not None), default=-1) + 1
    for number in range(count):
        write_picture(plate_scene(pieces, places, number, bed), options.out / f"plate-{number + 1}.svg")
