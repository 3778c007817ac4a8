"""The wall of styles and the words on likeness: shelves of faces made here, no fonts."""

from __future__ import annotations

from dataclasses import replace

from catalogue.page.more_like import reasons
from catalogue.page.pictures import Picture
from catalogue.page.wall import MOST_NAMES, names, shelves
from catalogue.store.face import Face
from catalogue.style.groups import Decision


def styled(number: int, family: str, group: str, style: str = "Regular") -> Face:
    """A face of the catalogue; all that the wall does not read is 0 or empty."""
    return Face(
        id=number, path="", face_index=0, instance="", coordinates={}, family=family, style=style, version="",
        variable=False, letters=52, reason="", upem=1000, cap_height_em=0.7, x_height_em=0.5, slant_deg=0.0,
        advances_variation=0.0, median_stroke_em=0.0, thinnest_stroke_em=0.0, joining=0.0, smallest_counter_em=0.0,
        contextual=0.0, letter_gap_em=0.0, missing="", spdx="", sell="", group=group, digest="",
    )  # fmt: skip


SERIFS = [
    styled(1, "Anna", "serif"), styled(2, "Anna", "serif", "Bold"), styled(3, "Bert", "serif"),
    styled(4, "Cleo", "joined script"), styled(5, "Dots", "not grouped"),
]  # fmt: skip
SURE = {
    1: Decision("serif", "", 0.6), 2: Decision("serif", "", 0.9), 3: Decision("serif", "", 0.8),
    4: Decision("joined script", "", 0.7), 5: Decision("not grouped", "few letters"),
}  # fmt: skip


def test_a_shelf_holds_each_family_once_by_its_most_typical_face() -> None:
    script, serif = shelves(SERIFS, SURE)
    assert (script.group, [f.id for f in script.faces]) == ("joined script", [4]), "groups in their own order"
    assert [f.id for f in serif.faces] == [2, 3], "Anna's bold is surer than her regular; Bert comes after"
    assert serif.data()["many"] == "3 faces of 2 families"


def test_what_has_no_style_hangs_on_no_shelf() -> None:
    assert all(5 not in [f.id for f in shelf.faces] for shelf in shelves(SERIFS, SURE))
    assert shelves([], SURE) == []


def test_a_shelf_draws_the_first_families_and_counts_all() -> None:
    many = [styled(k, f"Family {k}", "pixel") for k in range(1, 41)]
    (pixel,) = shelves(many, {})
    assert len(pixel.faces) == MOST_NAMES
    assert (pixel.count, pixel.families) == (40, 40)


def test_names_leave_out_fonts_that_are_gone_and_carry_their_cap_height() -> None:
    (_, serif) = shelves(SERIFS, SURE)
    drawn = names(serif, lambda f: None if f.id == 3 else Picture("M0 0L9 -9", (0, -175, 500, 0)))
    assert [one["i"] for one in drawn] == [2]
    assert drawn[0]["c"] == 175.0, "0.7 em of 250 units"
    flat = names(replace(serif, faces=(replace(SERIFS[0], cap_height_em=float("nan")),)),
                 lambda f: Picture("M0 0L9 -9", (0, -120, 500, 30)))  # fmt: skip
    assert flat[0]["c"] == 150, "without a cap height the height of the name's ink"


def test_reasons_are_text_whatever_a_font_calls_itself() -> None:
    shown = reasons([{"family": "<b>Bo", "style": "", "alike": [], "differs": ["more slant (9° against 0°)"]}])
    assert "&lt;b&gt;Bo" in shown and "it has more slant" in shown
    assert reasons([]) == ""
