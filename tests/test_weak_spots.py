"""Weak spots stand once: what a check of a name marks is what a tag of the same name marks."""

from __future__ import annotations

import pytest
import shapely
from conftest import copy_demo_fonts
from shapely.geometry.base import BaseGeometry

from catalogue.commands.main import main
from catalogue.judge.check import check_face
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.judge.typesetters import typesetter
from catalogue.judge.weak_spots import KINDS, WeakSpot, gravest, weak_spots_of
from catalogue.store.database import Face, Store
from catalogue.tag.fit import fit
from catalogue.tag.levers import Levers
from catalogue.tag.trial import FitFace

PROCESS = load_process("nozzle-0.4")
STACK = default_stack(1.0)
PACKAGES = (
    "anton", "pacifico", "lobster", "great_vibes", "playfair_display", "arvo", "press_start_2p", "caveat", "raleway",
    "black_ops_one", "amiri", "orbitron",
)  # fmt: skip
NAMES = ("Marlie", "Zoë", "Fjölnir", "Ziggy", "O'Malley")


@pytest.fixture(scope="module")
def faces(tmp_path_factory: pytest.TempPathFactory) -> list[Face]:
    """One face of each of twelve families, of every style the demo has."""
    folder = copy_demo_fonts(tmp_path_factory.mktemp("fonts"), [f"fontpkg_{name}" for name in PACKAGES])
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    assert main(["scan", str(folder), "--catalogue", str(path), "--workers", "2"]) == 0
    with Store(path) as store:
        first = {face.family: face for face in sorted(store.faces(), key=lambda f: f.title, reverse=True)}
    return list(first.values())


def as_tag(face: Face, request: Request) -> tuple[WeakSpot, ...]:
    """Weak spots of the tag made of the name as it is set, no lever free."""
    setter = typesetter(face)
    levers = Levers(tracking_em=0.0, thicken_mm=0.0, base_offset_mm=1.0, size_fixed=True)
    em = request.size.mm / face.cap_height_em
    return fit(FitFace(setter, face.cap_height_em, face.joining), request, em, levers).weak_spots()


def rounded(spots: tuple[WeakSpot, ...]) -> list[tuple[str, float, float, float, str]]:
    return sorted((s.kind, round(s.x_mm, 3), round(s.y_mm, 3), round(s.size_mm, 3), s.layer) for s in spots)


def test_check_and_tag_mark_the_same_places(faces: list[Face]) -> None:
    pairs = marked = 0
    kinds = set()
    for face in faces:
        for name, height in zip(NAMES, (14.0, 14.0, 14.0, 7.0, 7.0), strict=True):  # small letters close their counters
            request = Request.of(name, Size("cap-height", height), PROCESS, STACK)
            check = check_face(face, request)
            assert rounded(check.weak_spots) == rounded(as_tag(face, request)), (face.title, name)
            pairs += 1
            marked += bool(check.weak_spots)
            kinds |= {spot.kind for spot in check.weak_spots}
    assert pairs == 60 and marked >= 30
    assert kinds >= {"gap", "loose part", "thin stroke", "counter", "slit", "pinhole", "margin"}


# ── one kind at a time, on shapes ───────────────────────────────────────────────────────────────────────────────────

BLOCK = shapely.box(0, 0, 5, 14)


def spots_of(*letters: BaseGeometry) -> tuple[WeakSpot, ...]:
    return weak_spots_of(letters, 20.0, STACK, PROCESS)


def beside(gap: float) -> tuple[BaseGeometry, BaseGeometry]:
    """Two blocks with a gap between them."""
    return BLOCK, shapely.box(5 + gap, 0, 10 + gap, 14)


@pytest.mark.parametrize(
    ("gap", "kind", "size"),
    [
        (2.5, "gap", 2.5),  # beyond twice the offset of 1 mm
        (1.9, "margin", 0.05),  # joins from 0.95 mm on
        (1.5, None, 0.0),  # 0.25 mm to spare is more than a quarter of a line of 0.45 mm
    ],
)
def test_two_blocks(gap: float, kind: str | None, size: float) -> None:
    spots = [s for s in spots_of(*beside(gap)) if s.kind in ("gap", "margin")]
    assert [s.kind for s in spots] == ([kind] if kind else [])
    for spot in spots:
        assert spot.size_mm == pytest.approx(size)
        assert (spot.x_mm, spot.layer) == (pytest.approx(5 + gap / 2), "base")


def test_a_dot_far_from_its_stem_is_a_loose_part() -> None:
    i = shapely.union(shapely.box(0, 0, 2, 8), shapely.box(0, 11, 2, 13))
    (spot,) = [s for s in spots_of(i) if s.kind == "loose part"]
    assert spot.size_mm == pytest.approx(3.0) and spot.y_mm == pytest.approx(9.5)


def test_a_hairline_is_marked_and_a_corner_is_not() -> None:
    hairline = shapely.union(BLOCK, shapely.box(5, 6.8, 9, 7.2))
    (spot,) = [s for s in spots_of(hairline) if s.kind == "thin stroke"]
    assert spot.size_mm == pytest.approx(0.4, abs=0.02) and spot.x_mm > 5
    for degrees in (30, 45, 60, 90):
        tip = shapely.affinity.skew(BLOCK, xs=90 - degrees)
        assert not [s for s in spots_of(tip) if s.kind == "thin stroke"], degrees


def test_a_narrow_waist_is_a_neck() -> None:
    parts = weak_spots_of(
        [BLOCK, shapely.box(5, 7, 9, 7.01), shapely.box(9, 0, 14, 14)], 20.0, default_stack(0.3), PROCESS
    )
    (spot,) = [s for s in parts if s.kind == "neck"]
    assert spot.size_mm == pytest.approx(0.61, abs=0.02) and 5 < spot.x_mm < 9  # 0.01 and twice 0.3 mm


def test_small_holes_are_counters_of_letters_and_pinholes_of_layers() -> None:
    window = BLOCK - shapely.box(2.3, 6, 2.7, 8)
    assert [(s.kind, s.layer, round(s.size_mm, 2)) for s in spots_of(window)] == [("counter", "top", 0.4)]
    wide = BLOCK - shapely.box(1.8, 6, 3.2, 8)  # 1.4 mm: 0.4 mm are left at an offset of 0.5, none at 1 mm
    assert [(s.kind, s.layer, round(s.size_mm, 2)) for s in spots_of(wide)] == [("pinhole", "middle", 0.4)]


def test_the_gravest_come_first_and_from_left_to_right() -> None:
    many = [WeakSpot("pinhole", float(30 - k), 0.0, 0.1, "base") for k in range(20)]
    shown = gravest([*many, WeakSpot("gap", 15.0, 0.0, 3.0, "base")])
    assert len(shown) == 12 and "gap" in {s.kind for s in shown}
    assert [s.x_mm for s in shown] == sorted(s.x_mm for s in shown)
    assert next(iter(KINDS)) == "gap"
