"""The ``tag`` command: a name and a face to files that print."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalogue.commands.options import judging, length_or_zero, open_store, size_of
from catalogue.errors import UsageError
from catalogue.tag.exports.files import FORMATS

if TYPE_CHECKING:
    from catalogue.judge.process import Process
    from catalogue.judge.request import Size
    from catalogue.store.database import Face
    from catalogue.tag.fit import Fit, Levers, Weights
    from catalogue.tag.tag import Tag
    from scanner.lettering import Typesetter

OUR_FILES = frozenset({
    "layer-base.svg", "layer-ring.svg", "layer-middle.svg", "layer-top.svg", "all.svg", "preview.svg", "preview.png",
    "tag.dxf", "tag.stl", "tag.3mf", "job.html", "job.json", "made.txt", "licence.zip",
})  # fmt: skip
"""Names this command writes; a folder that holds anything else is left alone."""


def add_arguments(tag: argparse.ArgumentParser) -> None:
    """The options of ``tag``."""
    tag.add_argument("name", metavar="NAME", help=r"the name; \n starts a new line")
    tag.add_argument("--face", required=True, metavar="FACE", help="catalogue number, 'Family Style' or path#index")
    tag.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder to write into; made when not there")
    judging(tag)
    tag.set_defaults(offset=None)
    tag.add_argument(
        "--formats", default=",".join(FORMATS), metavar="LIST", help="of svg,dxf,stl,3mf,png (default: all)"
    )
    tag.add_argument("--thicken", type=length_or_zero, metavar="LENGTH", help="thicken the letters by exactly this")
    tag.add_argument("--weight", type=float, metavar="N", help="weight of a variable face, as 600; else found")
    tag.add_argument("--tracking", type=float, metavar="EM", help="space between letters, in em, 0 or below: -0.02")
    tag.add_argument(
        "--ring", default="upper-left", metavar="SIDE", help="upper-left (default), left, right, top or an angle as 135"
    )
    tag.add_argument(
        "--bond", type=length_or_zero, metavar="LENGTH", help="least bond of the ring (default four lines)"
    )
    tag.add_argument("--layers", type=int, choices=(1, 2, 3), default=3, help="colours stacked (default 3)")
    tag.add_argument(
        "--colours", default="navy,sky,cream", metavar="LIST", help="base, middle and top, by name or #rrggbb"
    )
    tag.add_argument("--price", type=float, metavar="PER_KG", help="price of a kilogram of filament, for the cost")
    tag.add_argument("--json", action="store_true", help="print the facts as JSON")


def run(options: argparse.Namespace) -> int:
    """Fit the name, and write the files when it holds."""
    from catalogue.judge.process import load_process
    from catalogue.tag.tag import make_tag

    formats = formats_of(options.formats)
    colours = _colours(options.colours)
    if options.price is not None and not 0 <= options.price < 1e6:
        raise UsageError(f"--price {options.price:g} is no price; give the cost of a kilogram, as 25")
    process = load_process(options.process)
    levers = _levers(options)
    options.name = options.name.replace("\\n", "\n")
    check_folder(options.out)
    with open_store(options) as store:
        face = store.find(options.face)
        without = lacking(face, options.name, store.faces)
    if without:
        raise UsageError(without)
    solved = fit_face(face, options.name, size_of(options), process, levers, options.language)
    if not solved.holds:
        return _tell_miss(solved, face, options)
    tag = make_tag(solved, process, title_of(face, solved), options.ring, options.layers, colours, options.bond)
    found = write_tag(tag, options.out, formats, face, options.price)
    if options.json:
        print(json.dumps(found, indent=1, ensure_ascii=False))
    else:
        _print_tag(tag, found, options.out)
    return 0


def fit_face(face: Face, name: str, size: Size, process: Process, levers: Levers, language: str | None = None) -> Fit:
    """Fit a name in a catalogue face at a size; a width is met by fitting again at the scale it asks for."""
    from catalogue.judge.check import typesetter
    from catalogue.tag.fit import fit
    from scanner.shaping import FontError
    from scanner.units import mm_per_em

    setter = typesetter(face)
    heights = {"cap-height": face.cap_height_em, "x-height": face.x_height_em}

    weights = _weights(face, setter, levers.weight)

    def at(em_mm: float) -> Fit:
        return fit(
            setter, name, em_mm, face.cap_height_em, process, levers, language=language, joining=face.joining,
            weights=weights,
        )  # fmt: skip

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


def _weights(face: Face, setter: Typesetter, asked: float | None) -> Weights | None:
    """The weight axis of a catalogue face, None when it has none. Raises UsageError for a weight it cannot take."""
    from catalogue.judge.check import open_face
    from catalogue.store.font_cache import font_file
    from catalogue.tag.fit import Weights

    axis = next((a for a in setter.shaper.axes() if a[0] == "wght"), None)
    if axis is None:
        if asked is not None:
            raise UsageError(f"{face.title} has no weight axis; leave --weight out or name another face")
        return None
    _, least, default, greatest = axis
    path = str(font_file(face))
    if asked is not None and not least <= asked <= greatest:
        raise UsageError(f"--weight {asked:g} is outside {least:g} to {greatest:g} of {face.title}; choose one inside")

    def at(weight: float) -> Typesetter:
        return open_face(path, face.face_index, tuple(sorted((face.coordinates | {"wght": weight}).items())))

    return Weights(face.coordinates.get("wght", default), greatest, at)


def title_of(face: Face, solved: Fit) -> str:
    """The face's name, with its weight where that is not the face's own."""
    from catalogue.judge.check import typesetter

    axis, weight = _weights(face, typesetter(face), None), solved.setting.weight
    return face.title if axis is None or weight in (None, axis.start) else f"{face.title}, weight {weight:g}"


def write_tag(
    tag: Tag, folder: Path, formats: tuple[str, ...], face: Face, price: float | None = None
) -> dict[str, Any]:
    """Write every file of a tag, each whole or not at all; returns the facts of the job sheet.

    The licence is read afresh, so that the sheet and the record beside it say the same.
    """
    import datetime

    from catalogue.atomic import write_file
    from catalogue.licence.shop_record import write_record
    from catalogue.licence.verdict import judge_font
    from catalogue.store.font_cache import font_with_notices
    from catalogue.tag.exports.files import tag_files

    folder.mkdir(parents=True, exist_ok=True)
    font = font_with_notices(face)
    verdict = judge_font(font, face.face_index, None)
    files = tag_files(tag, formats, verdict.as_json(), price)
    for name, data in files.items():
        write_file(folder / name, data)
    record = folder / "licence.zip"
    write_record(font, face.face_index, verdict, record, datetime.date.today())
    found: dict[str, Any] = json.loads(files["job.json"])
    found["files"] = {name: str(folder / name) for name in [*files, record.name]}
    return found


def check_folder(folder: Path) -> None:
    """Raise UsageError unless the folder is new, empty, or holds only files of an earlier run."""
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder}: a file of that name is there; give a folder")
    others = strangers(folder) if folder.is_dir() else []
    if others:
        raise UsageError(f"{folder}: holds other files ({others[0]}); give a new or empty folder")


def strangers(folder: Path) -> list[str]:
    """Names in a folder that no run of this command wrote; what a stopped run left behind is its own."""
    names = (p.name for p in folder.iterdir())
    return sorted(n for n in names if n not in OUR_FILES and not n.startswith(".letterhold-"))


def formats_of(text: str) -> tuple[str, ...]:
    asked = [f.strip().casefold() for f in text.split(",") if f.strip()]
    unknown = [f for f in asked if f not in FORMATS]
    if unknown or not asked:
        raise UsageError(f"format {', '.join(unknown) or text!r} is not known; use any of {','.join(FORMATS)}")
    return tuple(f for f in FORMATS if f in asked)


def _colours(text: str) -> tuple[str, str, str]:
    from catalogue.tag.tag import hex_of

    colours = [c.strip().casefold() for c in text.split(",")]
    if len(colours) != 3:
        raise UsageError(f"--colours {text!r} names {len(colours)}; give base, middle and top, as navy,sky,cream")
    for colour in colours:
        hex_of(colour)
    return colours[0], colours[1], colours[2]


def _levers(options: argparse.Namespace) -> Levers:
    from catalogue.tag.fit import Levers

    if options.tracking is not None and not -0.3 <= options.tracking <= 0:
        raise UsageError(f"--tracking {options.tracking:g} is outside -0.3 to 0 em; write it as -0.02")
    if options.thicken is not None and options.thicken > 5:
        raise UsageError(f"--thicken {options.thicken:g} mm is more than 5 mm; write it as 0.2mm")
    fixed = bool(options.cap_height or options.x_height or options.width)
    return Levers(options.tracking, options.thicken, options.offset, fixed, options.weight, weight_free=True)


def lacking(face: Face, name: str, faces: Callable[[], list[Face]]) -> str:
    """A line that names missing letters and faces that have them, or nothing."""
    from catalogue.judge.check import typesetter
    from catalogue.judge.ranking import missing_letters
    from catalogue.judge.spacing import lines_of
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
    from catalogue.tag.exports.jobsheet import hang_text
    from catalogue.tag.tag import bed_caution, changes_told
    from catalogue.wording import CAUTION, sell

    width, depth, tall = tag.size_mm
    print(f"“{tag.name.replace(chr(10), ' / ')}” in {tag.face}: holds, hold {found['hold']} of 100")
    for reason in found["reasons"]:
        print(f"  {reason}")
    print(f"  {width:.1f} × {depth:.1f} × {tall:g} mm, capitals {found['cap_height_mm']:.1f} mm, {tag.process.name}")
    for change in found["changes"]:
        print(f"  {change}")
    if not found["changes"]:
        print("  nothing had to be changed")
    if bed_caution(tag):
        print(f"  {bed_caution(tag)}")
    if _words_meet(tag):
        print(f'  the words stand close; two lines may read better: "{in_two_lines(tag.name)}"')
    for part in tag.layers:
        height = f"to {part.top_mm:.2f} mm (asked {part.top_asked_mm:.3f})"
        print(f"  {part.layer:<7} {part.colour:<8} {height}, {part.mass_g:.2f} g")
    print(
        f"  ring at {tag.ring.x_mm:.1f}, {tag.ring.y_mm:.1f}: bond {tag.ring.bond_mm:.2f} mm,"
        f" {tag.ring.overlap_share:.0%} of its outside in the base; {hang_text(tag.ring.tilt_deg)}"
    )
    closing = found["closing_counters_mm"]
    if closing:
        print(f"  counters that may close: {len(closing)}, the smallest {closing[0]:.2f} mm")
    if found["filled_pinholes"]:
        print(f"  holes between letters too small to print open, filled: {found['filled_pinholes']}")
    changes = f", change to {', then '.join(changes_told(tag))}" if tag.colour_changes_mm else ""
    print(f"  {tag.mass_g:.2f} g, about {found['print_minutes']:.0f} min{changes}")
    if "material_cost" in found:
        print(f"  material cost {found['material_cost']:.2f}")
    print(f"  may be sold: {sell(found['sell']).answer} ({found['spdx'] or 'no licence found'})")
    print(f"  {len(found['files'])} files in {folder}; start with job.html")
    print(CAUTION)


CLOSE_SHARE = 0.5
"""Share of a word space of a quarter em; where more is taken out the words may be read as one (our limit)."""


def _words_meet(tag: Tag) -> bool:
    """Whether little is left between the words of a line."""
    setting = tag.fit.setting
    return "\n" not in tag.name and setting.space_mm > CLOSE_SHARE * setting.em_mm / 4


def in_two_lines(name: str) -> str:
    r"""A name of several words as it is typed for two lines of nearly one length.

    >>> in_two_lines("Ana Luisa Costa")
    'Ana Luisa\\nCosta'
    """
    words = name.split()
    lines = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    first, second = min(lines, key=lambda pair: abs(len(pair[0]) - len(pair[1])))
    return rf"{first}\n{second}"
