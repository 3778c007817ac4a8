"""What a shop keeps and shows: shortlist, filaments, price, order table, batches, the sheet for customers, hanging."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
import shapely

from catalogue.page import batches, drafts, filaments, making, price
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.customer_sheet import HEIGHT_MM, WIDTH_MM, Choice, pdf, sheet_scene
from catalogue.page.desk import Desk
from catalogue.page.filaments import Filament
from catalogue.page.hanging import Hanging, hang, level
from catalogue.page.mesh_data import mesh_data
from catalogue.page.place import FIRST, Look, Place
from catalogue.page.price import Rates
from catalogue.page.shortlist import Shortlist
from catalogue.page.strips import strips
from catalogue.store.face import Face
from catalogue.tag.orders import OrdersError
from catalogue.tag.tag import Tag
from tests.conftest import demo_paths


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path / "desk")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> SimpleNamespace:
    """A tag of the demo's heaviest block, and what it came from."""
    from catalogue.gather.scan import Scan, scan_into

    catalogue = tmp_path_factory.mktemp("made") / "c.sqlite"
    scan_into(catalogue, Scan([p for p in demo_paths() if p.name == "Anton-Regular.ttf"], ["Anna"]))
    view = CatalogueView(catalogue)
    (face,) = view.faces
    fit = making.proposal(view, face, replace(FIRST, lines=("Otto",)))
    assert fit.holds
    return SimpleNamespace(view=view, face=face, fit=fit, tag=making.tag_of(view, face, fit, Look()))


# ── the desk ────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_what_is_kept_is_there_tomorrow(desk: Desk) -> None:
    desk.write("notes", {"a": "Zoë"})
    assert Desk(desk.folder).read("notes", {}) == {"a": "Zoë"}
    assert desk.read("other", ["nothing"]) == ["nothing"]


def test_a_damaged_file_is_set_aside_and_reported(desk: Desk) -> None:
    desk.write("shortlist", [])
    (desk.folder / "shortlist.json").write_text('[{"mark": "a')
    assert Shortlist(desk).entries() == []
    (notice,) = desk.notices
    assert notice.startswith("shortlist.json could not be read; it is kept as ") and notice.endswith("starts empty")
    assert (desk.folder / "shortlist.damaged").read_text() == '[{"mark": "a'


# ── shortlist ───────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_kept_face_is_known_again_after_another_scan(desk: Desk, made: SimpleNamespace) -> None:
    kept = Shortlist(desk)
    kept.keep(made.face, "Otto\nLee")
    kept.note(kept.entries()[0].mark, "for the door")
    renumbered: Face = replace(made.face, id=4711, path="/elsewhere/a.ttf")
    assert Shortlist(Desk(desk.folder)).numbers([renumbered]) == [4711]
    (one,) = kept.entries()
    assert (one.title, one.name, one.note) == ("Anton Regular", "Otto Lee", "for the door")
    kept.keep(made.face, "Bo", on=False)
    assert kept.entries() == []


# ── filaments and price ─────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [("#000000", "#ffffff", 21.0), ("#777777", "#ffffff", 4.48), ("#ff0000", "#ffffff", 4.0), ("navy", "navy", 1.0)],
)
def test_contrast_is_that_of_wcag(one: str, other: str, ratio: float) -> None:
    """WCAG 2.2, "contrast ratio": black on white is 21; #777777 is the well-known grey that just misses 4.5."""
    assert filaments.contrast(one, other) == pytest.approx(ratio, abs=0.01)
    assert filaments.contrast(other, one) == filaments.contrast(one, other)


def test_colours_too_alike_are_reported() -> None:
    line, poor = filaments.contrast_line(("navy", "navy", "cream"), 3)
    assert poor and "middle on base 1.0 to 1" in line and line.endswith("too alike to read; take another colour.")
    assert not filaments.contrast_line(("navy", "navy", "cream"), 2)[1], "two layers have no middle"


def test_the_shops_own_filaments_come_first(desk: Desk) -> None:
    filaments.keep(desk, [Filament("Dusk", "#6b3f75", 22.0)])
    own = filaments.filaments(desk)
    choices = filaments.choices(own, ["navy", "#123456"])
    assert next(iter(choices.items())) == ("#6b3f75", "Dusk") and choices["#123456"] == "#123456"


@pytest.mark.parametrize(
    "row", [{}, {"name": "A"}, {"name": "A", "colour": "navy"}, {"name": " ", "colour": "#000000"}, "text", None]
)
def test_a_row_without_name_or_colour_is_no_filament(row: object) -> None:
    assert filaments.read_rows([row]) == []


def test_a_metre_of_filament_weighs_what_geometry_says() -> None:
    """π/4 · 1.75² mm² · 1000 mm · 1.24 g/cm³ (PLA, common data sheets)."""
    assert Filament("A", "#000000").g_per_m == pytest.approx(math.pi / 4 * 1.75**2 * 1.24, abs=0.01)


def test_the_price_is_the_sum_of_what_the_shop_set(made: SimpleNamespace) -> None:
    tag: Tag = made.tag
    rates = Rates("EUR", 20.0, 3.0, 0.5, 100.0)
    own = [Filament("Deep", "#274c77", 40.0)]  # the base's navy
    navy = sum(p.mass_g for p in tag.layers if p.colour == "navy")
    found = price.quote(tag, own, rates)
    assert found.filament == pytest.approx((40 * navy + 20 * (tag.mass_g - navy)) / 1000)
    assert found.machine == pytest.approx(tag.print_minutes / 60 * 3)
    assert found.price == pytest.approx(2 * (found.filament + found.machine + 0.5))
    assert f"{found.price:.2f} EUR" == found.words and "100 % on top" in found.formula


def test_rates_that_are_no_numbers_stand_at_their_first_value(desk: Desk) -> None:
    desk.write("price", {"currency": "", "machine_hour": "x", "fixed_parts": -1, "margin_percent": 10, "new": 1})
    assert price.rates(desk) == replace(Rates(), margin_percent=10.0)


# ── hanging ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_hanging_tag_has_its_weight_under_its_hole(made: SimpleNamespace) -> None:
    """A body at rest hangs with its centre of mass below the point it hangs from (statics)."""
    tag: Tag = made.tag
    heights = {p.layer: p.top_mm - p.bottom_mm for p in tag.layers}
    hanging = hang(tag)
    moment = sum(region.centroid.x * region.area * heights[name] for name, _, region in hanging.layers)
    weight = sum(region.area * heights[name] for name, _, region in hanging.layers)
    assert abs(moment / weight) < 0.5, "half a millimetre aside of the hole"
    assert sum(region.centroid.y * region.area for _, _, region in hanging.layers) > 0, "below it, y down"


def test_level_and_hanging_are_one_tag(made: SimpleNamespace) -> None:
    for one, other in zip(level(made.tag).layers, hang(made.tag).layers, strict=True):
        assert one[2].area == pytest.approx(other[2].area, rel=1e-3)
    left, _, right, _ = level(made.tag).box
    assert right - left == pytest.approx(made.tag.size_mm[0], abs=0.1)


def test_the_turnable_tag_is_the_one_that_is_written(made: SimpleNamespace) -> None:
    import base64

    import numpy as np

    from catalogue.tag.exports.mesh import Mesh

    data = mesh_data(made.tag, "Otto")
    volumes = []
    for _, points, triangles in data["bodies"]:
        mesh = Mesh(
            np.frombuffer(base64.b64decode(points), "<f4").reshape(-1, 3).astype(float),
            np.frombuffer(base64.b64decode(triangles), "<u4").reshape(-1, 3).astype(np.int64),
        )
        volumes.append(mesh.volume_mm3)
    assert sum(volumes) == pytest.approx(made.tag.volume_mm3, rel=0.01)


# ── the sheet for customers ─────────────────────────────────────────────────────────────────────────────────────────


def plate(width: float, height: float) -> Choice:
    return Choice(Hanging((("base", "#274c77", shapely.box(0, 0, width, height)),)), "40 by 10 mm")


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 6, 9])
def test_every_tag_of_a_sheet_lies_on_it_at_one_scale(count: int) -> None:
    from catalogue.draw.picture import Shape, Text

    scene = sheet_scene("Zoë", [plate(40.0, 10.0), *[plate(20.0, 12.0)] * (count - 1)])
    shapes = [i.region.bounds for i in scene.items if isinstance(i, Shape)]
    assert len(shapes) == min(count, 6)
    scales = [(b[2] - b[0]) / (40.0 if k == 0 else 20.0) for k, b in enumerate(shapes)]
    assert max(scales) - min(scales) < 1e-6
    assert all(b[0] >= 0 and b[2] <= WIDTH_MM and b[1] >= 0 and b[3] <= HEIGHT_MM for b in shapes)
    letters = [i.text for i in scene.items if isinstance(i, Text) and len(i.text) == 1]
    assert letters == list("ABCDEF")[: min(count, 6)]


def test_the_sheet_is_a_page_of_its_size() -> None:
    """A5 across is 210 × 148 mm (ISO 216); a PDF point is 1/72 in (ISO 32000)."""
    import re

    data = pdf(sheet_scene("Otto", [plate(40.0, 10.0)]))
    assert data.startswith(b"%PDF-")
    box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", data)
    assert box is not None
    assert [float(v) for v in box.groups()] == pytest.approx([210 / 25.4 * 72, 148 / 25.4 * 72], abs=1.5)


def test_a_name_the_writing_font_lacks_is_not_written_wrong() -> None:
    assert sheet_scene("名前", [plate(40.0, 10.0)]).title == "Which one shall it be?"


# ── orders ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_customers_choice_becomes_an_order(desk: Desk, made: SimpleNamespace) -> None:
    drafts.keep(desk, [{"order": "7", "name": "Mia", "face": "best"}])
    drafts.add(
        desk, Place(replace(FIRST, lines=("Anna", "Lee")), look=Look(colours=("plum", "pink", "white"))), made.face
    )
    first, second = drafts.orders(drafts.rows(desk))
    assert (first.order, first.name) == ("7", "Mia")
    assert (second.order, second.name, second.face) == ("8", "Anna\nLee", "Anton Regular")
    assert second.colours == ("plum", "pink", "white") and second.cap_height == "14mm" and not second.reason


def test_empty_cells_and_rows_of_the_table_are_left_out(desk: Desk) -> None:
    rows = drafts.keep(desk, [{"name": "Bo", "note": None, "width": math.nan}, {"name": "", "order": None}])
    assert [r["name"] for r in rows] == ["Bo"] and rows[0]["width"] == "" == rows[0]["note"]


def test_a_table_without_names_says_what_to_do() -> None:
    with pytest.raises(OrdersError, match="no column 'name'"):
        drafts.read(b"who,what\nx,y\n")


def test_a_row_to_correct_keeps_what_was_typed() -> None:
    """Also what no order can be made of: a person corrects it in the table."""
    (row,) = drafts.read(b"order,name,quantity,colours\n7,Otto,many,plum\n").rows
    assert (row["order"], row["name"], row["quantity"], row["colours"]) == ("7", "Otto", "many", "plum")
    assert "no whole number" in drafts.orders([row])[0].reason
    tall = drafts.orders([{"name": "Otto", "cap_height": "tall"}])[0]
    assert tall.reason == "“tall” is no size; write it as 14mm or 0.55in"


def test_a_workbook_is_taken_in() -> None:
    """ISO/IEC 29500 by openpyxl, as a shop's spreadsheet saves it."""
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["name", "quantity"])
    book.active.append(["Zoë", 2])
    out = io.BytesIO()
    book.save(out)
    (row,) = drafts.read(out.getvalue()).rows
    assert (row["name"], row["quantity"]) == ("Zoë", "2")


def test_batches_are_listed_newest_first_and_removed(desk: Desk) -> None:
    one = batches.create(desk, [{"order": "1", "name": "Bo"}], "nozzle-0.4")
    two = batches.create(desk, [{"order": "1", "name": "Mia"}, {"order": "2", "name": "Ida"}], "nozzle-0.6")
    found = batches.batches(Desk(desk.folder))
    assert {b.folder for b in found} == {one.folder, two.folder} and found == sorted(
        found, key=lambda b: b.folder.name, reverse=True
    )
    assert [b.count for b in found if b.folder == two.folder] == [2]
    assert [r["name"] for r in two.rows()] == ["Mia", "Ida"] and two.results() == []
    batches.remove(one)
    assert [b.folder for b in batches.batches(desk)] == [two.folder]


def test_a_folder_that_is_no_batch_is_left_alone(desk: Desk) -> None:
    (desk.folder / "batches" / "20260101-000000-abcd").mkdir(parents=True)
    (desk.folder / "batches" / "mine").mkdir()
    assert batches.batches(desk) == []


def test_strips_take_the_colours_of_the_tag(made: SimpleNamespace) -> None:
    from catalogue.page.drawing import Solid

    solid = Solid((("base", shapely.box(0, 0, 30, 10)),), colours=("plum", "pink", "white"))
    assert "--base:#6b3f75" in strips([("One", solid)], "one")


def test_a_picture_of_the_sheet_is_an_image() -> None:
    from PIL import Image

    from catalogue.draw.picture import png

    picture = Image.open(io.BytesIO(png(sheet_scene("Otto", [plate(40.0, 10.0)]))))
    assert picture.width / picture.height == pytest.approx(WIDTH_MM / HEIGHT_MM, rel=0.01)
