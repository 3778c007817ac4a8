"""The strength figure against beam theory, worked by hand, and against finite elements."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry
from test_exports import made

from catalogue.tag.sections import Stack, sections
from catalogue.tag.strength import FLAT_MPA, ON_EDGE_MPA, UPRIGHT_MPA, strength_lines, strength_of, weakest_in_bending
from catalogue.tag.tag import Band
from scanner.regions import polygons_of

HIGH_MM = 2.8
HOLE_MM = 1.0


def stack(
    region: BaseGeometry, held: tuple[float, float], *seeds: tuple[float, float], upper: BaseGeometry | None = None
) -> Stack:
    """A region 2.8 mm high, and 3.6 mm more of ``upper``, that hangs from a hole of 1 mm."""
    bands = [Band("base", "navy", MultiPolygon(polygons_of(region)), 0.0, HIGH_MM)]
    if upper is not None:
        bands.append(Band("top", "sky", MultiPolygon(polygons_of(upper)), HIGH_MM, HIGH_MM + 3.6))
    return Stack(bands, held, HOLE_MM, np.array(seeds, dtype=float))


def test_a_bar_parts_next_to_where_it_is_held() -> None:
    # Handbook: W = b·h²/6 = 3 × 2.8² / 6 out of the plane, h·b²/6 = 2.8 × 3² / 6 in it; the lever ends at 40 mm.
    found = weakest_in_bending(sections(stack(box(0, 0, 40, 3), (2, 1.5), (38, 1.5))))
    assert found.out_of_plane and found.area_mm2 == pytest.approx(3 * HIGH_MM, rel=0.01)
    assert found.force.flat_n == pytest.approx(FLAT_MPA * 3.92 / 37.5, rel=0.05)
    assert (found.x_mm, found.y_mm) == (pytest.approx(2.5, abs=0.3), pytest.approx(1.5, abs=0.05))
    assert found.force.upright_n / UPRIGHT_MPA == pytest.approx(found.force.on_edge_n / ON_EDGE_MPA, rel=1e-5)


def test_the_worked_neck_of_the_check_values() -> None:
    # Check-values: 0.9 × 2.8 mm at 30 MPa, bent at 10 mm: 3.5 N out of the plane, 1.1 N in it; 75 N in tension.
    neck = box(0, -5, 5, 5).union(box(5, -0.45, 15.15, 0.45))
    found = sections(stack(neck, (2, 0), (14, 0)))
    k = int(np.argmin(np.hypot(found.x_mm - 5.15, found.y_mm) + 9 * (found.area_mm2 > 0.9 * HIGH_MM * 1.01)))
    assert found.lever_mm[k] == pytest.approx(10.0, abs=0.3)
    assert 30 * found.in_plane_mm3[k] / 10 == pytest.approx(1.134, rel=0.02)
    assert 30 * found.out_of_plane_mm3[k] / 10 == pytest.approx(3.528, rel=0.02)
    assert 30 * found.area_mm2[k] == pytest.approx(75.6, rel=0.02)
    assert not weakest_in_bending(found).out_of_plane


@pytest.mark.parametrize("turn", [0, 11.25, 30, 45, 77])
def test_a_t_joint_parts_at_the_thin_arm_whichever_way_it_lies(turn: float) -> None:
    # The arm is 1 mm wide and reaches 8 mm beyond the stem: W = 2.8 × 1² / 6 in the plane. Cut askew by at most half a
    # step of 22.5° it seems 2 % wider, its modulus 4 % larger.
    tee = box(-1.5, 0, 1.5, 20).union(box(-9.5, 19, 9.5, 20))
    origin = (0.0, 0.0)
    moved = [rotate(Point(p), turn, origin).coords[0] for p in ((0, 2), (-9, 19.5), (9, 19.5))]
    found = weakest_in_bending(sections(stack(rotate(tee, turn, origin), *moved)))
    assert not found.out_of_plane
    assert found.force.flat_n == pytest.approx(FLAT_MPA * (HIGH_MM / 6) / 8, rel=0.08)


def test_two_discs_part_at_their_neck() -> None:
    # G14: discs of 5 mm, 8 mm apart, share a chord of 2 √(5² − 4²) = 6 mm; the far disc reaches 9 mm from it.
    discs = Point(0, 0).buffer(5, 64).union(Point(8, 0).buffer(5, 64))
    found = weakest_in_bending(sections(stack(discs, (0, 0), (8, 0))))
    assert found.area_mm2 == pytest.approx(6 * HIGH_MM, rel=0.02) and found.x_mm == pytest.approx(4, abs=0.2)
    assert found.force.flat_n == pytest.approx(FLAT_MPA * (6 * HIGH_MM**2 / 6) / 9, rel=0.05)


def test_layers_of_other_widths_count_as_they_are() -> None:
    # Parallel axes: A = 4 × 2.8 + 2 × 3.6, centre at 2.652 mm, I = 59.97, W = I / 3.748; in the plane 17.33 / 2.
    found = sections(stack(box(0, 0, 40, 4), (2, 2), (38, 2), upper=box(0, 1, 40, 3)))
    across = np.flatnonzero(np.isclose(found.area_mm2, 18.4, rtol=1e-6) & (found.x_mm > 5) & (found.x_mm < 35))
    assert len(across) > 50
    assert found.out_of_plane_mm3[across] == pytest.approx(59.97 / 3.748, rel=1e-3)
    assert found.in_plane_mm3[across] == pytest.approx(17.33 / 2, rel=1e-3)


def test_both_sides_of_an_opening_carry() -> None:
    # Two strands of 1 mm, 4 mm apart: their area adds up, the opening between them carries nothing.
    frame = box(0, 0, 30, 6).difference(box(10, 1, 20, 5))
    found = sections(stack(frame, (2, 3), (28, 3)))
    k = int(np.argmin(found.area_mm2))
    assert found.area_mm2[k] == pytest.approx(2 * HIGH_MM, rel=0.01) and 10 < found.x_mm[k] < 20


def test_what_parts_no_letter_does_not_count() -> None:
    # A spike without a letter on it is no section between ring and letter.
    spiked = box(0, 0, 20, 10).union(box(9.9, 10, 10.1, 30))
    found = sections(stack(spiked, (2, 5), (18, 5)))
    assert found.area_mm2.min() > 5 * HIGH_MM


def test_a_wider_neck_is_never_weaker() -> None:
    forces = [
        weakest_in_bending(
            sections(stack(box(0, 0, 10, 10).union(box(10, 5 - w / 2, 20, 5 + w / 2)), (3, 5), (19, 5)))
        ).force.flat_n
        for w in (0.9, 1.2, 2.0, 3.0)
    ]
    assert forces == sorted(forces)


def test_finite_elements_agree_with_the_section(tmp_path: Path) -> None:
    """Plane stress of a stepped bar, 6 mm to 2 mm wide, pushed sideways at its end: scikit-fem, quadratic elements.

    At twice the width from the step (Saint-Venant) the greatest stress is force × lever / W within 5 %.
    """
    from skfem import (
        Basis,
        BilinearForm,
        ElementQuad2,
        ElementVector,
        FacetBasis,
        LinearForm,
        MeshQuad,
        condense,
        solve,
    )
    from skfem.helpers import ddot, sym_grad, trace

    xs, ys = np.linspace(0, 30, 121), np.linspace(-3, 3, 25)
    mesh = MeshQuad.init_tensor(xs, ys)
    middles = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.flatnonzero((middles[0] > 10) & (np.abs(middles[1]) > 1)))
    basis = Basis(mesh, ElementVector(ElementQuad2()))
    young, poisson, force = 2400.0, 0.36, 10.0
    shear = young / 2 / (1 + poisson)
    plane = young * poisson / (1 - poisson**2)

    @BilinearForm
    def stiffness(u, v, _):  # type: ignore[no-untyped-def]
        e, f = sym_grad(u), sym_grad(v)
        return 2 * shear * ddot(e, f) + plane * trace(e) * trace(f)

    @LinearForm
    def push(v, _):  # type: ignore[no-untyped-def]
        return force / (2 * HIGH_MM) * v[1]

    end = FacetBasis(mesh, ElementVector(ElementQuad2()), facets=mesh.facets_satisfying(lambda x: x[0] > 30 - 1e-9))
    held = basis.get_dofs(lambda x: x[0] < 1e-9)
    moved = solve(*condense(stiffness.assemble(basis), push.assemble(end), D=held))
    field = basis.interpolate(moved)
    strain = sym_grad(field)
    stress = 2 * shear * strain[0, 0] + plane * (strain[0, 0] + strain[1, 1])
    place = np.asarray(basis.global_coordinates())
    near = np.abs(place[0] - 14) < 0.06
    edge = np.abs(place[1][near]).max()
    measured = np.abs(stress[near][np.abs(place[1][near]) > edge - 1e-6]).mean() / edge  # linear over the width

    shape = box(0, -3, 10, 3).union(box(10, -1, 30, 1))
    found = sections(stack(shape, (2, 0), (29, 0)))
    k = int(np.argmin(np.abs(found.x_mm - 14) + np.abs(found.area_mm2 - 2 * HIGH_MM)))
    assert force * 16 / found.in_plane_mm3[k] == pytest.approx(measured, rel=0.05)


def test_a_tag_states_bending_first_and_gives_no_verdict(demo_font: Callable[[str], Path]) -> None:
    tag = made(demo_font("Pacifico-Regular.ttf"), "Marlie")
    strength = strength_of(tag)
    assert strength is not None
    for part in (strength.bending, strength.tension):
        assert 0 < part.force.upright_n < part.force.flat_n < part.force.on_edge_n
    assert strength.bending.force.on_edge_n < strength.tension.force.upright_n / 5  # bending governs, by far
    assert shapely.Point(strength.bending.x_mm, strength.bending.y_mm).distance(tag.outline) < 2
    lines = " ".join(strength_lines(strength)).casefold()
    assert lines.index("bent") < lines.index("pulled")
    for word in ("safe", "certified", "compliant", "within the", "passes", "holds"):
        assert word not in lines
