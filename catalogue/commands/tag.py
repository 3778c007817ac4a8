"""The ``tag`` command: a name and a face to files that print."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from catalogue.commands.ending import ending_soon
from catalogue.commands.options import FACE_HELP, judging, length, length_or_zero, open_store, print_json, size_of
from catalogue.errors import UsageError
from catalogue.judge.process import load_process
from catalogue.judge.request import Request
from catalogue.judge.stack import default_stack
from catalogue.store.database import Face
from catalogue.tag import making
from catalogue.tag.backing import BACKINGS
from catalogue.tag.colours import hex_of
from catalogue.tag.exports.facts import JobFacts, rounded
from catalogue.tag.exports.files import FORMATS, formats_of
from catalogue.tag.fit import Fit
from catalogue.tag.levers import USUAL_BY_HAND, Levers, by_hand_of
from catalogue.tag.ring import RingWish, hang_text
from catalogue.tag.ring_places import END
from catalogue.tag.strength import strength_lines
from catalogue.tag.tag import Look, Tag
from catalogue.wording import CAUTION, sell

MOST_PRICE = 1e6
MOST_THICKEN_MM, TIGHTEST_EM = 5.0, -0.3
"""What a person may ask of a lever."""


def add_arguments(tag: argparse.ArgumentParser) -> None:
    """The options of ``tag``."""
    tag.add_argument("name", metavar="NAME", help=r"the name; \n starts a new line")
    tag.add_argument("--face", required=True, metavar="FACE", help=FACE_HELP)
    tag.add_argument("--out", required=True, type=Path, metavar="DIR", help="folder to write into; made when not there")
    judging(tag)
    tag.set_defaults(offset=None)
    tag.add_argument(
        "--formats", default=",".join(FORMATS), metavar="LIST", help=f"of {','.join(FORMATS)} (default: all)"
    )
    tag.add_argument("--thicken", type=length_or_zero, metavar="LENGTH", help="thicken the letters by exactly this")
    tag.add_argument("--weight", type=float, metavar="N", help="weight of a variable face, as 600; else found")
    tag.add_argument("--tracking", type=float, metavar="EM", help="space between letters, in em, 0 or below: -0.02")
    tag.add_argument(
        "--ring",
        default=END,
        metavar="SIDE",
        help="how it hangs: end (lengthwise, default), level or corner; or where the ring sits: left, right, top, 135",
    )
    tag.add_argument(
        "--bond", type=length_or_zero, metavar="LENGTH", help="least bond of the ring (default four lines)"
    )
    tag.add_argument("--behind", choices=BACKINGS, default="", help="a plate or a bar behind the name holds any face")
    tag.add_argument(
        "--by-hand",
        metavar="LIST",
        help="change single places where that saves outline, of forms (contextual forms and ligatures off), gaps (one"
        " gap closed), lines (nearer), bridges (to dots, accents, punctuation), letters (bridges between letters), or"
        " none (default: all but letters, where nothing else holds)",
    )
    tag.add_argument(
        "--line-spacing", type=length, metavar="LENGTH", help="from baseline to baseline (default: as close as holds)"
    )
    tag.add_argument("--layers", type=int, choices=(1, 2, 3), default=3, help="colours stacked (default 3)")
    tag.add_argument(
        "--colours", default="navy,sky,cream", metavar="LIST", help="base, middle and top, by name or #rrggbb"
    )
    tag.add_argument("--price", type=float, metavar="PER_KG", help="price of a kilogram of filament, for the cost")
    tag.add_argument("--json", action="store_true", help="print the facts as JSON")


def run(options: argparse.Namespace) -> int:
    """Fit the name, and write the files when it holds."""
    with ending_soon():
        return _run(options)


def _run(options: argparse.Namespace) -> int:
    formats, look, levers = formats_of(options.formats), _look(options), _levers(options)
    if options.price is not None and not 0 <= options.price < MOST_PRICE:
        raise UsageError(f"--price {options.price:g} is no price; give the cost of a kilogram, as 25")
    asked = _request(options)
    making.check_folder(options.out)
    with open_store(options) as store:
        face = store.find(options.face)
        without = making.lacking(face, asked, store.faces)
    if without:
        raise UsageError(without)
    solved = making.fit_face(face, asked, levers)
    if not solved.holds:
        return _print_miss(solved, face, options.json)
    made = making.bundle(making.tag_of(face, solved, look), face, formats, options.price)
    making.write(made, options.out)
    if options.json:
        places = ((name, str(options.out / name)) for name in made.files)
        print_json(made.facts.as_json(places))
    else:
        _print_tag(made.facts)
        print(f"  {len(made.files)} files in {options.out}; start with job.html")
        print(CAUTION)
    return 0


def _request(options: argparse.Namespace) -> Request:
    text = options.name.replace("\\n", "\n")
    return Request.of(text, size_of(options), load_process(options.process), default_stack(), options.language)


def _look(options: argparse.Namespace) -> Look:
    return Look(RingWish(options.ring, options.bond), options.layers, _colours(options.colours))


def _colours(text: str) -> tuple[str, str, str]:
    colours = [c.strip().casefold() for c in text.split(",")]
    if len(colours) != 3:
        raise UsageError(f"--colours {text!r} names {len(colours)}; give base, middle and top, as navy,sky,cream")
    for colour in colours:
        hex_of(colour)
    return colours[0], colours[1], colours[2]


def _levers(options: argparse.Namespace) -> Levers:
    if options.tracking is not None and not TIGHTEST_EM <= options.tracking <= 0:
        raise UsageError(f"--tracking {options.tracking:g} is outside -0.3 to 0 em; write it as -0.02")
    if options.thicken is not None and options.thicken > MOST_THICKEN_MM:
        raise UsageError(f"--thicken {options.thicken:g} mm is more than 5 mm; write it as 0.2mm")
    fixed = bool(options.cap_height or options.x_height or options.width)
    by_hand = USUAL_BY_HAND if options.by_hand is None else by_hand_of(options.by_hand)
    return Levers(
        options.tracking, options.thicken, options.offset, fixed, options.weight, True, options.behind,
        options.line_spacing, by_hand, options.by_hand is not None,
    )  # fmt: skip


def _print_miss(solved: Fit, face: Face, as_json: bool) -> int:
    setting = solved.setting
    if as_json:
        facts = {
            "files": {}, "name": solved.name, "face": face.title, "cap_height_mm": rounded(solved.cap_height_mm),
            "tracking_em": setting.tracking_em, "thicken_mm": setting.thicken_mm,
            "offsets_mm": {"base": setting.base_offset_mm + setting.thicken_mm}, "hold": solved.hold.hold,
            "holds": False,
            "changes": [c.text for c in solved.changes], "nearest_miss": list(solved.misses),
        }  # fmt: skip
        print_json(facts)
    print(
        f"letterhold: does not hold in {face.title}; nearest miss: {'; '.join(solved.misses)}."
        " Free a lever, or take another face",
        file=sys.stderr,
    )
    for change in solved.changes:
        print(f"  tried: {change.text}", file=sys.stderr)
    return 1


def _print_tag(facts: JobFacts) -> None:
    """What came out, in the order a person reads it: verdict, size, changes, layers, ring, print, licence."""

    tag = facts.tag
    width, depth, tall = tag.size_mm
    print(f"“{tag.name.replace(chr(10), ' / ')}” in {tag.face}: holds, hold {tag.fit.hold.hold} of 100")
    for reason in facts.reasons:
        print(f"  {reason}")
    print(f"  {width:.1f} × {depth:.1f} × {tall:g} mm, {facts.capitals}, {tag.process.name}")
    for line in facts.changes or ("nothing had to be changed",):
        print(f"  {line}")
    for line in filter(None, (tag.bed_caution, _words_close(tag))):
        print(f"  {line}")
    _print_layers(tag)
    if facts.strength is not None:
        print(f"  {strength_lines(facts.strength)[0]}")
    changes = f", change to {', then '.join(tag.change_lines)}" if tag.colour_changes_mm else ""
    print(f"  {tag.mass_g:.2f} g, about {tag.print_minutes:.0f} min{changes}")
    if facts.material_cost is not None:
        print(f"  material cost {facts.material_cost:.2f}")
    if facts.sale is not None:
        print(f"  may be sold: {sell(facts.sale.verdict).answer} ({facts.sale.spdx or 'no licence found'})")


def _print_layers(tag: Tag) -> None:
    for part in tag.layers:
        height = f"to {part.top_mm:.2f} mm (asked {part.top_asked_mm:.3f})"
        print(f"  {part.layer:<7} {part.colour:<8} {height}, {part.mass_g:.2f} g")
    print(
        f"  ring at {tag.ring.x_mm:.1f}, {tag.ring.y_mm:.1f}: bond {tag.ring.bond_mm:.2f} mm,"
        f" {tag.ring.overlap_share:.0%} of its outside in the base; {hang_text(tag.ring.tilt_deg)}"
    )
    closing = tag.fit.closing_counters_mm
    if closing:
        print(f"  counters that may close: {len(closing)}, the smallest {closing[0]:.2f} mm")
    if tag.fit.filled_pinholes:
        print(f"  holes between letters too small to print open, filled: {tag.fit.filled_pinholes}")


CLOSE_SHARE = 0.5
"""Share of a word space of a quarter em; where more is taken out the words may be read as one (our limit)."""


def _words_close(tag: Tag) -> str:
    """A line for a name of which little is left between the words; empty for others."""
    setting = tag.fit.setting
    if "\n" in tag.name or setting.space_mm <= CLOSE_SHARE * setting.em_mm / 4:
        return ""
    return f'the words stand close; two lines may read better: "{in_two_lines(tag.name)}"'


def in_two_lines(name: str) -> str:
    r"""A name of several words as it is typed for two lines of nearly one length.

    >>> in_two_lines("Ana Luisa Costa")
    'Ana Luisa\\nCosta'
    """
    words = name.split()
    lines = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    first, second = min(lines, key=lambda pair: abs(len(pair[0]) - len(pair[1])))
    return rf"{first}\n{second}"
