"""A name over the catalogue: what is measured, within which bound, and what is left out is named."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import copy_demo_fonts
from fontTools.ttLib import TTFont

from catalogue.commands.main import main
from catalogue.draw.picture import Shape, check_scene
from catalogue.judge import measuring
from catalogue.judge.check import check_face
from catalogue.judge.lacking import LacksLetters, letters_of
from catalogue.judge.listing import Listing, Wanted, listing
from catalogue.judge.measuring import measure_covering
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.database import Store


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A block face, a script, a slab in several weights, and Arabic."""
    folder = copy_demo_fonts(
        tmp_path_factory.mktemp("fonts"), ("fontpkg_anton", "fontpkg_lobster", "fontpkg_roboto_slab", "fontpkg_amiri")
    )
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    assert main(["scan", str(folder), "--catalogue", str(path), "--workers", "2"]) == 0
    return path


def asked(name: str) -> Request:
    return Request.of(name, Size("cap-height", 14.0), load_process("nozzle-0.4"), default_stack(1.0))


def listed(shop: Path, name: str, wanted: Wanted | None = None) -> Listing:
    with Store(shop) as store:
        return listing(store, asked(name), wanted or Wanted(0, 2))


@pytest.mark.parametrize("name", ["Ωmega", "Жанна", "محمد"])
def test_names_in_a_script_that_no_table_covers_are_measured(shop: Path, name: str) -> None:
    found = listed(shop, name)
    with Store(shop) as store:
        faces = store.faces()
    # fontTools reads the character map without us.
    covering = {f.id for f in faces if set(map(ord, name)) <= set(TTFont(f.path).getBestCmap())}
    assert {row.face.id for row in found.rows} == covering != set()
    assert all(row.verified for row in found.rows)
    assert sum("lack" in note for note in found.notes) == (len(covering) < len(faces))


def test_beyond_the_bound_faces_are_counted_and_the_most_promising_come_first(shop: Path) -> None:
    with Store(shop) as store:
        whole = measure_covering(store, asked("Ωmega"), most=1000)
        some = measure_covering(store, asked("Ωmega"), most=4)
    assert not whole.unmeasured and whole.bound_line() == ""
    assert len(some.rows) == 4 and len(some.unmeasured) == len(whole.rows) - 4
    hold = {row.face.id: row.hold.hold for row in whole.rows}
    assert max(hold.values()) in {row.hold.hold for row in some.rows}, "the best is among those measured"
    total = len(whole.rows)
    assert some.bound_line() == (
        f"{total} faces have these letters; the 4 most promising were measured; --verify {total} --top 0 measures all"
    )


def test_more_to_verify_raises_the_bound(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catalogue.judge.listing.MOST_MEASURED", 1)
    assert measuring.MOST_MEASURED >= 50, "a bound that a person seldom meets"
    assert listed(shop, "Ωmega", Wanted(0, 0)).total == 1
    assert listed(shop, "Ωmega", Wanted(0, 3)).total == 3


def test_an_emoji_is_named_alone(shop: Path) -> None:
    found = listed(shop, "Jo👍🏽")
    assert found.rows == () and found.total == 0
    (note,) = found.notes
    assert note == f"👍🏽 is in none of the {found.asked} faces"


def test_letters_that_some_faces_lack_are_counted_one_by_one(shop: Path) -> None:
    found = listed(shop, "Ωж")
    (note,) = found.notes
    lacking = found.asked - found.total
    assert note.startswith(f"{lacking} faces lack Ω (") and " or ж (" in note


def test_what_was_asked_is_ranked_or_left_out(shop: Path) -> None:
    for name in ("Marlie", "Ωmega", "👍"):
        found = listed(shop, name)
        assert found.total == len(found.rows) <= found.asked


def test_a_name_with_a_missing_letter_does_not_hold(shop: Path) -> None:
    with Store(shop) as store:
        anton = store.find("Anton Regular")
    check = check_face(anton, asked("Marlie字"))
    assert check.missing_letters == ("字",) and not check.hold.holds and check.hold.hold <= 49
    assert any("lacks 字" in reason.text for reason in check.hold.reasons)
    with pytest.raises(LacksLetters, match="Anton Regular lacks 字; choose another face or type the name without"):
        check_face(anton, asked("字"))


@pytest.mark.parametrize(
    ("name", "letters"),
    [
        ("Zoë", ("Z", "o", "ë")),
        ("🇫🇷🇩🇪", ("🇫🇷", "🇩🇪")),  # regional indicators come in pairs (UAX 29, GB12)
        ("👨‍👩‍👧a", ("👨‍👩‍👧", "a")),  # joined by U+200D (GB11)
        ("हि", ("हि",)),  # a spacing mark stays with its letter (GB9a)
        ("a b", ("a", "b")),
        ("", ()),
    ],
)
def test_letters_are_what_a_person_sees(name: str, letters: tuple[str, ...]) -> None:
    assert letters_of(name) == letters


def test_a_word_space_stays_in_a_picture(shop: Path) -> None:
    """A name that the writing font lacks is drawn by its face: with its own word space, at least a tenth of an em."""
    with Store(shop) as store:
        lobster = store.find("Lobster Regular")
    check = check_face(lobster, asked("Жа Жа"))
    heading = next(item for item in check_scene(check).items if isinstance(item, Shape))
    left, low, right, high = check.as_typed.bounds
    cut = (left + right) / 2
    words = [part.bounds for part in check.as_typed.geoms]
    gap = min(b[0] for b in words if b[0] > cut - 1) - max(b[2] for b in words if b[2] < cut + 1)
    assert gap > 0.1 * check.em_mm
    x0, y0, x1, y1 = heading.region.bounds
    assert (x1 - x0) / (y1 - y0) == pytest.approx((right - left) / (high - low))
