"""``letterhold check``: one name in one face, measured in full."""

from __future__ import annotations

import argparse
import math
import shlex

from catalogue.commands.options import (
    FACE_HELP,
    as_json,
    judging,
    number,
    open_store,
    picture_path,
    picture_to,
    print_json,
    request_of,
)
from catalogue.draw.picture import KINDS, check_scene, numbered, write_picture
from catalogue.judge.check import Check, check_face
from catalogue.wording import CAUTION, count_of, pieces_of


def add_arguments(check: argparse.ArgumentParser) -> None:
    """The options of ``check``."""
    check.add_argument("name", metavar="NAME", help=r"the name; \n starts a new line")
    check.add_argument("--face", required=True, metavar="FACE", help=FACE_HELP)
    judging(check)
    picture_to(check, "a picture with weak spots marked")
    as_json(check)


def run(options: argparse.Namespace) -> int:
    """Measure, draw and print."""
    asked = request_of(options)
    picture_path(options.picture)
    with open_store(options) as store:
        face = store.find(options.face)
    result = check_face(face, asked)
    if options.picture:
        write_picture(check_scene(result), options.picture)
    if options.json:
        print_json(result.as_json())
    else:
        _print(result)
        if options.picture:
            print(f"picture: {options.picture}")
    return 0 if result.hold.holds and not result.missing_letters else 1


def _print(check: Check) -> None:
    verdict = "holds" if check.hold.holds else "does not hold"
    print(f"“{check.shown}” in {check.family} {check.style}: {verdict}, hold {check.hold.hold} of 100")
    height = f"{check.sized_by} {check.cap_height_mm:.2f} mm, " if math.isfinite(check.cap_height_mm) else ""
    print(f"  {height}{check.process}; lengths in mm")
    if check.missing_letters:
        print(f"  the face lacks: {' '.join(check.missing_letters)}")
    print(
        f"  join offset {check.join_offset_mm:.2f}, thinnest stroke {number(check.thinnest_stroke_mm)},"
        f" smallest counter {number(check.smallest_counter_mm)}"
    )
    if check.words_closer_mm > 0:
        print(f"  words set {check.words_closer_mm:.2f} closer than the face sets them, so that the base joins them")
    for layer in check.layers:
        neck = f", neck {layer.neck_mm:.2f}" if layer.neck_mm else ""
        print(
            f"  {layer.layer:<7} offset {layer.offset_mm:.2f}, top at {layer.top_mm:.3f}: {pieces_of(layer.pieces)},"
            f" {count_of(layer.holes, 'hole')} ({count_of(layer.pinholes, 'pinhole')}){neck}"
        )
    for reason in check.hold.reasons:
        print(f"  {reason.line}")
    _print_weak_spots(check)
    if not check.missing_letters:
        face = shlex.quote(f"{check.family} {check.style}")
        what = "the files to print it" if check.hold.holds else "the least change that makes it hold"
        name = shlex.quote(check.name.replace("\n", "\\n"))
        print(f"next, for {what}: letterhold tag {name} --face {face} --out FOLDER")
    print(CAUTION)


def _print_weak_spots(check: Check) -> None:
    """Numbered as in the picture; lesser ones, which it leaves out, come last and without a number."""
    marked = numbered(check.weak_spots)
    for mark, spot in [*enumerate(marked, 1), *((0, s) for s in check.weak_spots if s not in marked)]:
        place = f"at {spot.x_mm:6.1f}, {spot.y_mm:5.1f}"
        print(f"  {mark or '':>2} {place}: {KINDS[spot.kind]} ({spot.size_mm:.2f}, {spot.layer})")
