"""``letterhold compare``: one name in chosen faces, side by side on one millimetre scale."""

from __future__ import annotations

import argparse

from catalogue.commands.options import (
    as_json,
    judging,
    open_store,
    picture_path,
    picture_to,
    print_json,
    request_of,
)
from catalogue.draw.compare import Strip, compare_scene, strip_of, table
from catalogue.draw.picture import write_picture
from catalogue.judge.check import check_face
from catalogue.judge.request import Request
from catalogue.store.database import Face
from catalogue.wording import sell


def add_arguments(compare: argparse.ArgumentParser) -> None:
    """The options of ``compare``."""
    compare.add_argument("faces", nargs="+", metavar="FACE", help="catalogue numbers, 'Family Style' or path#index")
    compare.add_argument("--name", required=True, metavar="NAME", help=r"the name to set in each; \n starts a new line")
    judging(compare)
    picture_to(compare, "the drawing")
    as_json(compare)


def run(options: argparse.Namespace) -> int:
    """Measure the name in each face, draw and print."""
    picture_path(options.picture)
    asked = request_of(options)
    with open_store(options) as store:
        faces = [store.find(text) for text in options.faces]
    strips = [_strip(face, asked) for face in faces]
    if options.picture:
        write_picture(compare_scene(strips), options.picture)
    if options.json:
        print_json([s.check.as_json() | {"group": s.group, "sell": f.sell} for s, f in zip(strips, faces, strict=True)])
        return 0
    for line in table(strips):
        print(line)
    if options.picture:
        print(f"picture: {options.picture}")
    return 0


def _strip(face: Face, asked: Request) -> Strip:
    result = check_face(face, asked)
    return strip_of(result, face, sell(face.sell).answer)
