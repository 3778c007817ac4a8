"""Faces side by side: the drawing is true to scale, and the sheet tells what was measured."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from conftest import copy_demo_fonts

from catalogue.commands.main import main
from catalogue.draw.compare import WIDEST_MM, Strip, compare_scene, facts, sheet_scene, strip_of, table
from catalogue.draw.picture import INK, LAYER_COLOURS, Line, Scene, Shape, png, svg
from catalogue.gather.scan import Scan, scan_into
from catalogue.judge.check import check_face
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.database import Store


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fonts")
    copy_demo_fonts(folder, ["fontpkg_lobster", "fontpkg_anton"])
    scan_into(folder.parent / "pair.sqlite", Scan([folder], ["Marlie"], workers=1))
    return folder.parent / "pair.sqlite"


def strips(shop: Path, name: str, size: Size | None = None) -> list[Strip]:
    with Store(shop) as store:
        faces = [store.find("Lobster Regular"), store.find("Anton Regular")]
    asked = size or Size("cap-height", 14.0)
    request = Request.of(name, asked, load_process("nozzle-0.4"), default_stack(1.0))
    return [strip_of(check_face(f, request), f, "yes") for f in faces]


def drawn(scene: Scene) -> list[Shape]:
    return [i for i in scene.items if isinstance(i, Shape)]


def test_script_and_block_stand_on_one_baseline_at_one_scale(shop: Path) -> None:
    """What is drawn has the size in mm that was measured, and all of it stands on the same line."""
    both = strips(shop, "HIHI")
    scene = compare_scene(both)
    shapes = drawn(scene)
    layers = [r for s in both for r in s.check.regions]
    assert len(shapes) == len(layers) == 6
    (baseline,) = {i.points[0][1] for i in scene.items if isinstance(i, Line) and i.colour == INK}
    for shape, region in zip(shapes, layers, strict=True):
        assert shape.region.area == pytest.approx(region.area)
        x0, y0, x1, y1 = shape.region.bounds
        left, bottom, right, top = region.bounds
        assert (x1 - x0, y1 - y0) == (pytest.approx(right - left), pytest.approx(top - bottom))
        assert baseline - y1 == pytest.approx(bottom)
    tops = [s for s in shapes if s.fill == LAYER_COLOURS[2]]
    # Flat capitals of both faces are as high as asked: 14 mm, within the overshoot of Lobster's H and I.
    assert [baseline - s.region.bounds[1] for s in tops] == [pytest.approx(14, abs=0.6), pytest.approx(14, abs=0.05)]


def test_strips_do_not_overlap_and_long_sheets_grow_downwards(shop: Path) -> None:
    four = strips(shop, "Marlie Henrietta") * 2
    scene = compare_scene(four)
    boxes = [shapely.box(*s.region.bounds) for s in drawn(scene) if s.fill == LAYER_COLOURS[0]]
    assert all(not a.intersects(b) for k, a in enumerate(boxes) for b in boxes[:k])
    baselines = {i.points[0][1] for i in scene.items if isinstance(i, Line) and i.colour == INK}
    assert len(baselines) >= 2
    assert scene.width <= max(WIDEST_MM, max(b.bounds[2] for b in boxes)) + 60
    assert all(b.bounds[2] <= scene.width and b.bounds[3] <= scene.height for b in boxes)


def test_the_sheet_tells_what_was_measured(shop: Path) -> None:
    script, block = strips(shop, "Marlie")
    with Store(shop) as store:
        groups = [store.find(title).group for title in ("Lobster Regular", "Anton Regular")]
    assert [facts(strip)["style group"] for strip in (script, block)] == groups and len(set(groups)) == 2
    assert facts(block)["join offset"] == f"{block.check.join_offset_mm:.2f} mm"
    text = svg(compare_scene([script, block]))
    lines = table([script, block])
    for strip in (script, block):
        assert strip.title in text and strip.title in lines[1]
    for value in facts(block).values():
        assert value in text and any(value in line for line in lines)
    assert (
        len({line.index(value) for line, value in zip(lines[2:], facts(script).values(), strict=True)}) == 1
    )  # columns
    assert png(compare_scene([script, block])).startswith(b"\x89PNG")


def test_what_the_writing_of_pictures_lacks_is_drawn_or_told_by_its_plain_letter(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The font that comes with Pillow has little beyond ASCII and sets a crossed box for the rest."""
    from PIL import ImageDraw

    written: list[str] = []
    write = ImageDraw.ImageDraw.text
    monkeypatch.setattr(
        ImageDraw.ImageDraw, "text", lambda d, xy, text, **k: written.append(text) or write(d, xy, text, **k)
    )
    both = strips(shop, "Zoë")
    scene = compare_scene([replace(s, group="écriture 名") for s in both])
    png(scene)
    assert written and all(c.isascii() for text in written for c in text)
    assert "ecriture ?" in written and not any(text.startswith("Zo") for text in written)
    assert len(drawn(scene)) == 7  # three layers each, and the name drawn by its face
    assert "écriture 名" in svg(scene)  # viewers of SVG have fonts


def test_missing_letters_are_told(shop: Path) -> None:
    script, _ = strips(shop, "Marlie漢")
    assert facts(script)["lacks"] == "漢"


def test_contact_sheet_keeps_every_name_in_its_cell() -> None:
    wide = shapely.box(0, -3, 40, 1)
    shapes = drawn(sheet_scene([("one", [("Wide", wide)] * 7), ("two", [("Flat", shapely.box(0, 0, 3, 1))])]))
    assert len(shapes) == 8
    assert all(not a.region.intersects(b.region) for k, a in enumerate(shapes) for b in shapes[:k])


def test_compare_command(shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "both.svg"
    names = ["Lobster Regular", "Anton Regular", "--name", "Marlie", "--catalogue", str(shop)]
    assert main(["compare", *names, "--picture", str(out)]) == 0
    assert "Anton Regular" in capsys.readouterr().out and out.read_text(encoding="utf-8").startswith("<svg")
    assert main(["compare", *names, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    with Store(shop) as store:
        assert [r["group"] for r in rows] == [store.find(title).group for title in names[:2]]
    assert main(["compare", *names, "--picture", str(tmp_path / "both.pdf")]) == 2
    assert ".svg or .png" in capsys.readouterr().err
    assert main(["compare", "Lobster Regular", "Nobody", *names[2:]]) == 2
    assert "no face 'Nobody'" in capsys.readouterr().err
