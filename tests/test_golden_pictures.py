"""Pictures as they were when somebody last looked at them: a change of what is drawn is seen before it is kept.

A golden file says only that a picture has changed, not which of the two is right (common practice, no source). With
LETTERHOLD_GOLDEN=write in the environment the files are written anew: look at them, then keep them.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from conftest import font_bytes, tiny_font

from catalogue.draw.compare import compare_scene, strip_of
from catalogue.draw.picture import check_scene, svg
from catalogue.gather.scan import Scan, scan_into
from catalogue.judge.check import check_face
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.database import Store
from catalogue.tag.exports.svg import all_svg, preview
from catalogue.tag.fit import fit
from catalogue.tag.levers import Levers
from catalogue.tag.tag import Look, make_tag
from catalogue.tag.trial import FitFace
from scanner.lettering import Typesetter
from scanner.shaping import Shaper

GOLDEN = Path(__file__).parent / "golden"
WRITE = os.environ.get("LETTERHOLD_GOLDEN") == "write"

TOLERANCE_MM = 0.01
"""Ten times the last digit of a drawing, for other versions of the libraries that round differently; a printer repeats
no better than that, and an eye sees ten times as much."""

MOST_BYTES = 20_000

CAP_MM = 14.0
PICTURES = ("check", "comparison", "layers", "tag")

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def drawn(font: Path, name: str, catalogue: Path) -> dict[str, str]:
    """The SVG of each picture of a name in a font."""
    scan_into(catalogue, Scan([font], (name,), workers=1))
    request = Request.of(name, Size("cap-height", CAP_MM), load_process("nozzle-0.4"), default_stack())
    with Store(catalogue) as store:
        (face,) = store.faces()
    check = check_face(face, request)
    shaper = Shaper.open(font)
    cap = shaper.metric("cpht") / shaper.upem or 0.7
    solved = fit(FitFace(Typesetter(shaper), cap), request, CAP_MM / cap, Levers())
    # Seen from the front in one layer: each wall is a piece of its own, and those of three layers fill a large file.
    tag, flat = make_tag(solved, face.title), make_tag(solved, face.title, Look(layers=1))
    strip = strip_of(check, face, "not decided")
    scenes = (svg(check_scene(check)), svg(compare_scene([strip, strip])), all_svg(tag), svg(preview(flat)))
    return dict(zip(PICTURES, scenes, strict=True))


@pytest.fixture(scope="module")
def tiny(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Letters that only just come apart: 0.11 em of 20 mm are 2.2 mm, and two outlines grown by 1 mm reach over 2."""
    folder = tmp_path_factory.mktemp("golden")
    (folder / "Tiny-Regular.ttf").write_bytes(font_bytes(tiny_font(advance=460)))
    return drawn(folder / "Tiny-Regular.ttf", "Bi", folder / "c.sqlite")


# ── two pictures compared ───────────────────────────────────────────────────────────────────────────────────────────


def difference(golden: str, now: str) -> str | None:
    """The first thing that differs between two drawings, in words."""
    before, after = (list(ElementTree.fromstring(text).iter()) for text in (golden, now))
    for k, (old, new) in enumerate(zip(before, after, strict=False), 1):
        where = f"element {k}, {new.tag.rpartition('}')[2]}"
        if old.tag != new.tag or list(old.attrib) != list(new.attrib):
            return f"{where}: was {old.tag.rpartition('}')[2]} with {list(old.attrib)}, is with {list(new.attrib)}"
        values = {"text": (old.text or "", new.text or "")} | {a: (old.attrib[a], new.attrib[a]) for a in old.attrib}
        for attribute, (was, value) in values.items():
            if not (same_outline if attribute == "d" else same_text)(was, value):
                return f"{where}, {attribute}: was {was[:200]!r}, is {value[:200]!r}"
    return None if len(before) == len(after) else f"{len(before)} elements have become {len(after)}"


def same_text(was: str, value: str) -> bool:
    """The same words, their numbers within the tolerance; colours exactly."""
    if was == value or was.startswith("#") or _NUMBER.sub("", was) != _NUMBER.sub("", value):
        return was == value
    old, new = (np.array(_NUMBER.findall(text), dtype=float) for text in (was, value))
    return bool(np.all(np.abs(old - new) <= TOLERANCE_MM + 1e-9))


def same_outline(was: str, value: str) -> bool:
    """As many rings, no point of one drawing farther than the tolerance from the other, wherever a ring starts."""
    old, new = rings(was), rings(value)
    if old.is_empty or new.is_empty or len(old.geoms) != len(new.geoms):
        return bool(old.is_empty and new.is_empty)
    return float(shapely.hausdorff_distance(old, new)) <= TOLERANCE_MM + 1e-9


def rings(data: str) -> shapely.MultiLineString:
    """The rings of path data as closed lines."""
    found = [np.array(_NUMBER.findall(part), dtype=float).reshape(-1, 2) for part in data.split("M")[1:]]
    return shapely.MultiLineString([np.concatenate([ring, ring[:1]]) for ring in found])


# ── the pictures ────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("picture", PICTURES)
def test_the_picture_is_the_one_that_was_looked_at(tiny: dict[str, str], picture: str) -> None:
    path = GOLDEN / f"{picture}.svg"
    if WRITE:
        GOLDEN.mkdir(exist_ok=True)
        path.write_text(tiny[picture], encoding="utf-8")
    changed = difference(path.read_text(encoding="utf-8"), tiny[picture])
    assert changed is None, (
        f"{path.name} has changed; if it is meant, LETTERHOLD_GOLDEN=write and look at it: {changed}"
    )
    assert path.stat().st_size < MOST_BYTES


def test_a_face_read_and_measured_anew_is_drawn_the_same(demo_font: Callable[[str], Path], tmp_path: Path) -> None:
    """No golden file: the font may come in another version. Curves, and outlines that many steps have made."""
    font = demo_font("Pacifico-Regular.ttf")
    once, again = (drawn(font, "Marlie", tmp_path / f"{k}.sqlite") for k in range(2))
    assert once == again


# ── the comparison notices what an eye would ────────────────────────────────────────────────────────────────────────


@cache
def golden(picture: str) -> str:
    return (GOLDEN / f"{picture}.svg").read_text(encoding="utf-8")


SQUARE = (
    '<svg><path fill="#112233" d="M0.000 0.000L0.000 9.000L9.000 9.000L9.000 0.000Z"/><text x="1.000">a 5</text></svg>'
)


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ("L9.000 9.000", "L9.008 9.000", True),  # below the tolerance
        ("L9.000 9.000", "L9.020 9.000", False),
        ("M0.000 0.000L0.000 9.000L9.000 9.000L9.000 0.000", "M9.000 9.000L9.000 0.000L0.000 0.000L0.000 9.000", True),
        ("0.000Z", "0.000ZM2.000 2.000L2.000 3.000L3.000 3.000Z", False),  # a hole
        ("#112233", "#112234", False),
        ('x="1.000"', 'x="1.020"', False),
        ("a 5", "a 6", False),
        ("a 5", "b 5", False),
        ("<text", "<text/><text", False),
        ("</svg>", "<text/></svg>", False),
        ("path", "line", False),
    ],
)  # fmt: skip
def test_a_change_that_shows_is_noticed(old: str, new: str, same: bool) -> None:
    assert old in SQUARE
    assert (difference(SQUARE, SQUARE.replace(old, new)) is None) is same


def test_pictures_of_one_name_differ() -> None:
    assert difference(golden("check"), golden("comparison")) is not None
