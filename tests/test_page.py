"""The page without a browser: addresses, seen, lines, drawings, dropped fonts, and the views run by AppTest."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
import shapely

from catalogue.judge.request import Request, Size
from catalogue.judge.weak_spots import WeakSpot, gravest
from catalogue.page import dropped, faults, links, making, markup, runs
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.drawing import Solid, sheet, spot_lines
from catalogue.page.pictures import UNITS_PER_EM
from catalogue.page.place import FIRST, Filters, Hand, Look, Place, request
from catalogue.page.rows import row
from catalogue.page.strips import strips
from catalogue.store.database import CatalogueError, Face, Store
from tests.conftest import demo_paths, font_bytes, tiny_font

SCRIPT = Path(links.__file__).with_name("app.py")
PROCESSES = ("nozzle-0.25", "nozzle-0.4")
WORDS = ["Anna", "Otto"]


def named(name: str) -> Request:
    """A name at the first size on the first printer."""
    return replace(FIRST, lines=(name,))


def put_fonts(catalogue: Path, paths: list[Path]) -> None:
    """Measure files into a catalogue, with few test words."""
    from catalogue.gather.scan import Scan, scan_into

    scan_into(catalogue, Scan(paths, WORDS))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> SimpleNamespace:
    """Three demo faces: a joined script, a heavy block, a light block."""
    wanted = ("Pacifico-Regular.ttf", "Anton-Regular.ttf", "Abel-Regular.ttf")
    paths = [p for p in demo_paths() if p.name in wanted]
    assert len(paths) == 3, "install the extra `demo`: pip install 'letterhold[demo]'"
    catalogue = tmp_path_factory.mktemp("page") / "catalogue.sqlite"
    put_fonts(catalogue, paths)
    return SimpleNamespace(catalogue=catalogue, paths=paths)


@pytest.fixture
def view(shop: SimpleNamespace, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    """Runs the page's script as Streamlit does, without a browser."""
    from streamlit.testing.v1 import AppTest

    monkeypatch.setattr(Desk, "write_soon", lambda *_: None)  # a test must not lead the next one to its last place

    def run(catalogue: Path = shop.catalogue, **parameters: str) -> AppTest:
        monkeypatch.setenv("LETTERHOLD_CATALOGUE", str(catalogue))
        test = AppTest.from_file(str(SCRIPT), default_timeout=60)
        for key, value in parameters.items():
            test.query_params[key] = value
        return test.run()

    return run


# ── addresses ───────────────────────────────────────────────────────────────────────────────────────────────────────

PLACES = (
    Place(),
    Place(
        request("Zoë & Bo", Size("width", 70.0), "nozzle-0.25", 0.0),
        Filters("sellable", "", "joined", 70, "lob"),
        7,
        (3, 1),
    ),
    Place(
        request("Anna\nLee", Size("cap-height", 14.0), "nozzle-0.4", 1.0),
        hand=Hand(0.25, -0.01, 640.0),
        look=Look("top", 2, ("plum", "#aabbcc", "white")),
        form="board",
    ),
    Place(request("Ida", Size("cap-height", 14.0), "nozzle-0.4", 1.0), form="wall"),
    Place(request("", Size("x-height", 9.5), "nozzle-0.4", 0.8), Filters(sell="ask", group="brush")),
)


@pytest.mark.parametrize("place", PLACES)
def test_an_address_brings_back_its_place(place: Place) -> None:
    assert links.read(links.write(place), PROCESSES) == place


@pytest.mark.parametrize(
    "parameters",
    [
        {"size": "0mm"}, {"size": "1e9"}, {"size": "-4"}, {"by": "weight"}, {"process": "../../etc/passwd"},
        {"offset": "9mm"}, {"sell": "<b>"}, {"letters": "x"}, {"hold": "-1"}, {"face": "one"}, {"faces": ",,x,²"},
        {"thicken": "9"}, {"tracking": "0.1"}, {"weight": "nan"}, {"ring": "below"}, {"layers": "4"},
        {"colours": "plum,white"}, {"as": "ceiling"},
    ],
)  # fmt: skip
def test_what_cannot_be_read_counts_as_not_given(parameters: dict[str, str]) -> None:
    assert links.read(parameters, PROCESSES) == Place()
    assert links.read_and_report(parameters, PROCESSES)[1].startswith("Not understood in this link: ")


@pytest.mark.parametrize(
    ("parameters", "told"),
    [
        ({"name": "", "size": "20 mm", "faces": "1, 2", "hold": "", "offset": "0"}, ""),
        ({"group": "joined"}, ""),
        ({"group": "gone"}, "group “gone” (all are shown)"),
        ({"hold": "60"}, "hold “60” (all are shown)"),
        ({"process": "<b>\u202e"}, "process “<b>” (nozzle-0.4 is used)"),
        ({"faces": "3,x"}, "face “x” (left out)"),
        ({"faces": ",".join("123456789")}, "faces beyond the first 8 (left out)"),
        ({"name": "a" * 900}, "the end of the name (its first 200 characters are used)"),
        ({"by": "weight", "utm": "1"}, "size of the “weight” (that of the capitals is used), “utm” (left out)"),
        ({f"k{n}": "1" for n in range(9)}, ", ".join(f"“k{n}” (left out)" for n in range(6)) + " and 3 more"),
    ],
)  # fmt: skip
def test_what_was_not_understood_is_told_in_one_line(parameters: dict[str, str], told: str) -> None:
    line = links.read_and_report(parameters, PROCESSES, ("joined",))[1]
    assert line == (f"Not understood in this link: {told}. Set here what you meant." if told else "")


def test_an_address_names_no_more_faces_than_fit_side_by_side() -> None:
    assert links.read({"faces": ",".join(map(str, range(1, 30)))}, PROCESSES).chosen == tuple(range(1, 9))


# ── seen and lines ─────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_listing_is_the_ranking(shop: SimpleNamespace) -> None:
    """The same order and numbers as the ranking of the command line."""
    from catalogue.judge.ranking import rank
    from catalogue.store.columns import load_columns

    with Store(shop.catalogue) as store:
        truth = rank(load_columns(store), named("Otto"))
    lines = CatalogueView(shop.catalogue).listing(named("Otto"), Filters()).lines(0, 10)
    assert [line.face.id for line in lines] == truth.ids.tolist()
    assert [line.hold for line in lines] == truth.hold.tolist()
    assert [line.join_offset_mm for line in lines] == truth.join_offset_mm.tolist()
    assert not any(line.verified for line in lines)


@pytest.mark.parametrize(
    ("filters", "families"),
    [
        (Filters(letters="joined"), {"Pacifico"}),
        (Filters(letters="separate"), {"Anton", "Abel"}),
        (Filters(family="ant REG"), {"Anton"}),
        (Filters(sell="sellable"), {"Pacifico", "Anton", "Abel"}),
        (Filters(sell="no"), set()),
        (Filters(group="none such"), set()),
        (Filters(least_hold=101), set()),
    ],
)
def test_filters(shop: SimpleNamespace, filters: Filters, families: set[str]) -> None:
    listing = CatalogueView(shop.catalogue).listing(FIRST, filters)
    assert {line.face.family for line in listing.lines(0, 10)} == families
    assert len(listing) == len(families) and listing.ranked == 3


def test_a_changed_catalogue_is_read_again(shop: SimpleNamespace, tmp_path: Path) -> None:
    catalogue = tmp_path / "c.sqlite"
    put_fonts(catalogue, shop.paths[:1])
    seen = CatalogueView(catalogue)
    before = len(seen.listing(FIRST, Filters()))
    shown = seen.listing(FIRST, Filters()).revision
    put_fonts(catalogue, shop.paths[1:2])
    for _ in range(300):  # after a reading the view rests nine times as long as that took
        if len(seen.listing(FIRST, Filters())) == 2:
            break
        time.sleep(0.1)
    assert (before, len(seen.listing(FIRST, Filters()))) == (1, 2)
    # What is fetched for a list that is still on the screen belongs to that list.
    assert len(seen.listing(FIRST, Filters(), of=shown)) == 1


def test_no_catalogue_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="no catalogue there yet; scan a folder with fonts first"):
        CatalogueView(tmp_path / "none.sqlite").listing(FIRST, Filters())


def test_a_name_outside_the_alphabet_is_measured(shop: SimpleNamespace) -> None:
    """ẞ is in no pair table; Abel and its like have it or are left out."""
    listing = CatalogueView(shop.catalogue).listing(named("АБВ"), Filters())
    assert not listing.name.predicted
    lines = listing.lines(0, 10)
    assert all(line.verified for line in lines)
    assert len(lines) + listing.ranking.left_out == 3


def test_a_line_is_plain_json(shop: SimpleNamespace) -> None:
    seen = CatalogueView(shop.catalogue)
    for k, line in enumerate(seen.listing(FIRST, Filters()).lines(0, 3)):
        found = row(k + 1, line, seen.picture(line.face, "Marlie"))
        text = json.dumps(found, allow_nan=False)
        assert len(text) < 6000
        assert found["d"].startswith("M") and found["n"] == k + 1
        unknown = replace(line, known=False, em_mm=math.nan, join_offset_mm=math.nan, neck_mm=math.nan)
        assert row(1, unknown, None)["h"] is None
        json.dumps(row(1, unknown, None), allow_nan=False)


def test_a_picture_has_the_area_of_its_letters(shop: SimpleNamespace) -> None:
    """The path, read by svgpathtools, covers what the regions of the geometry cover."""
    svgpathtools = pytest.importorskip("svgpathtools")
    from catalogue.judge.check import typesetter

    seen = CatalogueView(shop.catalogue)
    for face in seen.faces:
        picture = seen.picture(face, "Marlie")
        assert picture is not None
        rings = []
        for loop in svgpathtools.parse_path(picture.path).continuous_subpaths():
            points = [loop.point(t / 400) for t in range(400)]
            rings.append(shapely.Polygon([(p.real, p.imag) for p in points]))
        filled = shapely.Polygon()
        for ring in rings:  # letters of these faces do not overlap themselves: even-odd is enough
            filled = filled.symmetric_difference(shapely.make_valid(ring))
        setter = typesetter(face)
        scale = UNITS_PER_EM / setter.shaper.upem
        truth = setter.set("Marlie").region
        if face.family != "Pacifico":  # its letters overlap each other
            assert filled.area == pytest.approx(truth.area * scale**2, rel=0.02)
        x0, y0, x1, y1 = truth.bounds
        left, top, right, bottom = picture.box
        assert left <= x0 * scale + 1 and right >= x1 * scale - 1
        assert top <= -y1 * scale + 1 and bottom >= -y0 * scale - 1


def test_others_draw_while_a_font_is_fetched(shop: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    """The font of one face comes only when another thread has drawn the other one."""
    from catalogue.store import font_cache as fetching

    seen = CatalogueView(shop.catalogue)
    slow, other = seen.faces[:2]
    finding, drawn = fetching.font_file, []

    def fetched(face: Face) -> Path:
        if face == slow:
            thread = threading.Thread(target=lambda: drawn.append(seen.picture(other, "Anna")), daemon=True)
            thread.start()
            thread.join(20)
        return finding(face)

    monkeypatch.setattr(fetching, "font_file", fetched)
    assert seen.picture(slow, "Anna") is not None
    assert drawn and drawn[0] is not None


def test_a_font_that_is_gone_has_no_picture(shop: SimpleNamespace) -> None:
    seen = CatalogueView(shop.catalogue)
    assert seen.picture(replace(seen.faces[0], path="/nowhere/a.ttf", id=99), "Anna") is None


# ── markup and drawings ─────────────────────────────────────────────────────────────────────────────────────────────


def test_everything_that_is_not_markup_is_escaped() -> None:
    made = markup.table("<c>", ["<h>", "b"], [["<r>", markup.tag("b", "<v>")]])
    assert "<c>" not in made and "<h>" not in made and "<r>" not in made and "<v>" not in made
    assert "&lt;v&gt;" in made
    assert markup.tag("p", class_='"><script>') == '<p class="&quot;&gt;&lt;script&gt;"></p>'


def spot(kind: str, x: float, size: float = 0.3) -> WeakSpot:
    return WeakSpot(kind, x, 2.0, size, "base")


def test_the_gravest_spots_are_numbered_from_left_to_right() -> None:
    spots = [spot("pinhole", float(x)) for x in range(20)] + [spot("gap", 9.5, 2.0), spot("neck", 3.5)]
    kept = gravest(spots)
    assert len(kept) == 12
    assert {"gap", "neck"} <= {s.kind for s in kept}
    assert [s.x_mm for s in kept] == sorted(s.x_mm for s in kept)
    assert spot_lines(spots)[-1] == "and 10 lesser ones without a number"


def test_a_sheet_is_true_to_scale_and_has_words() -> None:
    """A plate of 40 × 10 mm: the drawing's unit is the millimetre, and the dimension says 40.0 mm."""
    plate = shapely.box(0, -2, 40, 8)
    made = sheet(Solid((("base", plate),), (spot("gap", 10.0),)), "Anna in <Tiny>")
    assert 'role="img"' in made and 'aria-label="Anna in &lt;Tiny&gt;"' in made
    assert ">40.0 mm<" in made and ">10.0<" in made
    xs = [float(x) for x in re.findall(r"[ML](-?[\d.]+) ", re.search(r'class="base"[^>]*', made)[0])]  # type: ignore[index]
    assert max(xs) - min(xs) == pytest.approx(40.0, abs=0.01)


def test_a_drawing_has_the_colours_of_its_tag() -> None:
    plate = (("base", shapely.box(0, 0, 25, 16)),)
    made = sheet(Solid(plate, colours=("plum", "#ABCDEF", "white")), "one")
    assert "--base:#6b3f75;--middle:#abcdef;--top:#f7f5ef" in made


def test_strips_share_scale_and_left_edge() -> None:
    one, two = Solid((("base", shapely.box(5, 0, 25, 8)),)), Solid((("base", shapely.box(-3, -4, 37, 6)),))
    made = strips([("One", one), ("Two", two)], "both")
    boxes = []
    for path in re.findall(r'class="base"[^>]*', made):
        numbers = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)
        xs, ys = [float(x) for x, _ in numbers], [float(y) for _, y in numbers]
        boxes.append((min(xs), max(xs) - min(xs), max(ys) - min(ys)))
    assert boxes[0][0] == pytest.approx(boxes[1][0])
    assert [b[1:] for b in boxes] == [pytest.approx((20, 8)), pytest.approx((40, 10))]


# ── scans and dropped fonts ─────────────────────────────────────────────────────────────────────────────────────────


def test_dropped_fonts_are_kept_under_the_hash_of_their_bytes(tmp_path: Path) -> None:
    font = font_bytes(tiny_font())
    files = [
        ("../../evil.ttf", font),
        ("again.ttf", font),
        ("a.ttf", b"GIF89a"),
        ("empty.ttf", b""),
        ("web.woff2", b"wOF2..."),
    ]
    kept, refused = dropped.keep_fonts(files, tmp_path / "dropped")
    assert [p.suffix for p in kept] == [".ttf", ".ttf", ".woff2"] and kept[0] == kept[1]
    assert sorted(tmp_path.rglob("*.*")) == sorted(set(kept))
    assert refused == [
        "“a.ttf” is no font file; drop .ttf, .otf, .ttc, .woff or .woff2 files.",
        "“empty.ttf” is no font file; drop .ttf, .otf, .ttc, .woff or .woff2 files.",
    ]


def test_dropped_fonts_are_limited_in_size_and_number(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dropped, "MOST_FILES", 2)
    monkeypatch.setattr(dropped, "MOST_BYTES", 100)
    kept, refused = dropped.keep_fonts(
        [("big.ttf", b"OTTO" + bytes(200)), ("one.ttf", b"OTTO1"), ("two.ttf", b"OTTO2")], tmp_path / "dropped"
    )
    assert len(kept) == 1
    assert refused[0].startswith("“big.ttf” is larger than") and refused[1].startswith(
        "“two.ttf” was left out: 2 files"
    )
    monkeypatch.setattr(dropped, "MOST_KEPT", 1)
    assert "holds 1 files; clear it out first" in dropped.keep_fonts([("x.ttf", b"OTTO3")], tmp_path / "dropped")[1][0]


def done(run: runs.Run) -> runs.Run:
    """A run that has ended."""
    for _ in range(1200):
        if not run.running:
            break
        time.sleep(0.1)
    return run


def test_a_scan_reports_its_progress_and_its_outcome(tmp_path: Path) -> None:
    (tmp_path / "a.ttf").write_bytes(font_bytes(tiny_font()))
    (tmp_path / "b.ttf").write_bytes(b"OTTO broken")
    run = done(runs.scan(tmp_path / "c.sqlite", [tmp_path], "two files"))
    assert (run.status, run.done, run.total) == (0, 2, 2)
    assert run.result["faces"] == 1 and run.result["failed"] == 1


def test_a_scan_of_no_catalogue_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "notes.sqlite").write_text("not a database, only words about one\n" * 50)
    (tmp_path / "a.ttf").write_bytes(font_bytes(tiny_font()))
    run = done(runs.scan(tmp_path / "notes.sqlite", [tmp_path], "nothing"))
    assert run.status == 2 and "not a letterhold catalogue" in run.trouble and not run.fault


def test_only_one_scan_of_a_catalogue_at_a_time(tmp_path: Path) -> None:
    run = runs.scan(tmp_path / "c.sqlite", [tmp_path], "nothing")
    with pytest.raises(runs.RunError, match="a scan is under way in this catalogue; wait for it or stop it first"):
        runs.scan(tmp_path / "c.sqlite", [tmp_path], "nothing")
    run.stop()
    assert done(run).stopped


# ── the command ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("port", ["80", "x", "70000"])
def test_a_wrong_port_is_told(port: str) -> None:
    command = [sys.executable, "-m", "catalogue.commands.main", "page", "--port", port]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 2 and "use a number from 1024 to 65535" in done.stderr


def test_the_page_stays_on_this_machine() -> None:
    from catalogue.page.server import SETTINGS

    assert SETTINGS["server.address"] == "127.0.0.1"
    assert SETTINGS["server.enableXsrfProtection"] is True
    assert SETTINGS["server.allowedHosts"] == ["127.0.0.1", "localhost"]
    assert SETTINGS["browser.gatherUsageStats"] is False
    assert SETTINGS["server.fileWatcherType"] == "none"
    assert SETTINGS["client.showErrorDetails"] == "none"


# ── views ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_first_run_ranks_the_first_name(view) -> None:  # type: ignore[no-untyped-def]
    test = view()
    assert not test.exception
    assert test.text_input(key="w_name").value == "Marlie"
    assert test.query_params["name"] == "Marlie"
    assert not test.warning and not test.error


def test_a_link_with_nonsense_is_told_until_something_is_asked(view) -> None:  # type: ignore[no-untyped-def]
    test = view(name="Otto", size="tall", group="nosuch")
    (told,) = [w.value for w in test.warning]
    assert told == (
        "Not understood in this link: size “tall” (14 mm is used), group “nosuch” (all are shown). Set here what you"
        " meant."
    )
    assert not test.text_input(key="w_size").set_value("20mm").run().warning
    assert not view(name="Otto", size="20mm").warning


def test_the_address_sets_the_widgets(view) -> None:  # type: ignore[no-untyped-def]
    test = view(name="Zoë", size="20mm", process="nozzle-0.6", letters="joined", hold="70")
    assert test.text_input(key="w_name").value == "Zoë"
    assert test.text_input(key="w_size").value == "20 mm"
    assert test.selectbox(key="w_process").value == "nozzle-0.6"
    assert test.selectbox(key="w_letters").value == "joined"
    assert test.selectbox(key="w_hold").value == 70


def test_a_name_of_two_lines_is_judged_in_one(view) -> None:  # type: ignore[no-untyped-def]
    test = view(name="Anna\nOtto")
    assert any(c.value.startswith("Its lines are judged here one after") for c in test.caption)
    assert test.text_input(key="w_name").value == "Anna Otto"
    assert test.query_params["name"] == "Anna\nOtto", "Make gets it as it was typed"
    assert not test.exception and not test.error


def test_a_second_line_is_typed_in_a_box_of_its_own(view) -> None:  # type: ignore[no-untyped-def]
    test = turned(view(name="Anna"), "make")
    test.text_input(key="w_second").set_value("Otto").run()
    assert test.query_params["name"] == "Anna\nOtto"


def test_make_sets_lines_under_each_other(shop: SimpleNamespace) -> None:
    """As ``letterhold tag`` does: two lines of one word are about twice as high as it and as wide."""
    seen = CatalogueView(shop.catalogue)
    face = next(f for f in seen.faces if f.family == "Anton")
    one, two = (making.as_set(seen, face, replace(FIRST, lines=n), Hand()) for n in (("HAHA",), ("HAHA", "HAHA")))
    assert two.holds and two.name == "HAHA\nHAHA"
    (x0, y0, x1, y1), (u0, v0, u1, v1) = one.base.bounds, two.base.bounds
    assert u1 - u0 == pytest.approx(x1 - x0, rel=0.02)
    assert 1.7 < (v1 - v0) / (y1 - y0) < 2.1


def turned(test, to: str):  # type: ignore[no-untyped-def]
    """The page at another view."""
    test.session_state["goto"] = to
    return test.run()


def test_the_widgets_set_the_address(view) -> None:  # type: ignore[no-untyped-def]
    test = view()
    test.text_input(key="w_size").set_value("0.5in")
    test.selectbox(key="w_sell").set_value("sellable")
    test.run()
    assert test.query_params["size"] == "12.7mm"
    assert test.query_params["sell"] == "sellable"


@pytest.mark.parametrize(
    ("key", "typed", "told"),
    [
        ("w_size", "tall", "“tall” is no size from 2 to 400 mm; write it as 14mm or 0.55in."),
        ("w_size", "0.1mm", "“0.1mm” is no size from 2 to 400 mm; write it as 14mm or 0.55in."),
        ("w_offset", "12mm", "“12mm” is no outline up to 5 mm; write it as 1mm or 0.04in."),
    ],
)
def test_a_wrong_length_is_told_and_the_last_one_stays(view, key: str, typed: str, told: str) -> None:  # type: ignore[no-untyped-def]
    test = view()
    test.text_input(key=key).set_value(typed).run()
    assert [w.value for w in test.warning] == [told]
    assert "size" not in test.query_params and "offset" not in test.query_params


@pytest.mark.parametrize(
    ("parameters", "told"),
    [
        ({"name": ""}, "Type a name above: every set of letters is judged for it as you type."),
        (
            {"name": "名前"},
            "No face can set “名前”: 名 is in none of the 3 faces; 前 is in none of the 3 faces. Type it without, or"
            " add fonts that have them.",
        ),
        (
            {"family": "nosuch"},
            "Of 3 faces none passes these filters: family “nosuch”.",
        ),
    ],
)
def test_an_empty_listing_says_what_to_do(view, parameters: dict[str, str], told: str) -> None:  # type: ignore[no-untyped-def]
    assert [i.value for i in view(**parameters).info] == [told]


def test_a_letter_that_no_face_has_is_named(view) -> None:  # type: ignore[no-untyped-def]
    told = "No face can set “Bo 👍”: 👍 is in none of the 3 faces. Type it without, or add fonts that have them."
    assert [i.value for i in view(name="Bo 👍").info] == [told]


def test_no_catalogue_offers_a_name_in_the_demo_fonts(view, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    test = view(tmp_path / "none.sqlite")
    assert not test.exception
    assert test.text_input(key="w_name").value == "Marlie"
    assert "Show it in the demo fonts" in [b.label for b in test.button]


def test_a_file_that_is_no_catalogue_gets_a_sentence(view, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "notes.sqlite"
    path.write_text("not a database, only words about one\n" * 50)
    test = view(path)
    assert not test.exception
    assert "not a letterhold catalogue" in test.warning[0].value


def test_an_empty_catalogue_offers_a_name_in_the_demo_fonts(view, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    with Store(tmp_path / "empty.sqlite", create=True):
        pass
    test = view(tmp_path / "empty.sqlite")
    assert not test.exception
    assert "Show it in the demo fonts" in [b.label for b in test.button]


def test_a_fault_in_a_view_is_one_line_with_its_details(view, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    shown: list[tuple[str, str]] = []
    monkeypatch.setattr(faults, "fault_box", lambda line, details: shown.append((line, details)))
    monkeypatch.setattr(faults, "keep_details", lambda error: Path("/there/fault.txt"))
    monkeypatch.setattr(CatalogueView, "groups", lambda self: 1 / 0)
    test = view()
    assert not test.exception and not test.error
    (line, details) = shown[0]
    assert line == ("This is a fault in letterhold, not in what you did; the other views go on. Details are in"
                    " /there/fault.txt.")  # fmt: skip
    assert "ZeroDivisionError" in details and "\n" not in line


@pytest.mark.parametrize(("sheet_key", "what"), [("make", "make its tag"), ("licence", "read its licence")])
def test_no_face_is_opened_that_nobody_picked(  # type: ignore[no-untyped-def]
    view, shop: SimpleNamespace, sheet_key: str, what: str
) -> None:
    test = view(name="Otto")
    test.session_state["goto"] = sheet_key
    test.run()
    assert f"Pick letters first, to {what}: in the box above, or from the list." in [i.value for i in test.info]
    assert test.selectbox(key="w_face").value is None and "face" not in test.query_params
    test.button(key="take_best").click().run()
    best = CatalogueView(shop.catalogue).listing(named("Otto"), Filters()).lines(0, 1)[0].face
    assert test.selectbox(key="w_face").value == best.id and test.query_params["face"] == str(best.id)
    assert not test.info


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ("/nowhere/fonts", "/nowhere/fonts is not there; check the path, or drop the files instead."),
        ("s3://key:word@bucket/fonts", "s3://…: a password in the address would be kept with it; leave it out here and"
                                       " set it where the store's own tools look for it."),
        ("zip://a::s3://b/c.zip", "zip://a::s3://b/c.zip: chained addresses are not read; unpack the fonts and give"
                                  " their folder."),
    ],
)  # fmt: skip
def test_what_cannot_be_scanned_is_told_before_a_scan(  # type: ignore[no-untyped-def]
    view, monkeypatch: pytest.MonkeyPatch, given: str, told: str
) -> None:
    monkeypatch.setattr(runs, "scan", lambda *_: pytest.fail("nothing of this may be started"))
    test = view(name="Otto")
    turned(test, "fonts")
    test.segmented_control(key="w_way").set_value("more").run()
    test.text_input(key="w_folder").set_value(given)
    next(b for b in test.button if b.label == "Read it").click().run()
    assert [m.value for m in test.warning] == [told]


def test_an_address_is_scanned_as_the_command_scans_it(view, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    asked: list[object] = []
    monkeypatch.setattr(runs, "scan", lambda _, places, label: asked.extend([*places, label]))
    test = view(name="Otto")
    turned(test, "fonts")
    test.segmented_control(key="w_way").set_value("more").run()
    assert "address of a store (s3://…)" in test.text_input(key="w_folder").label
    test.text_input(key="w_folder").set_value(" s3://bucket/fonts ")
    next(b for b in test.button if b.label == "Read it").click().run()
    assert asked == ["s3://bucket/fonts", "the fonts in s3://bucket/fonts"]


def test_the_page_scans_an_address(tmp_path: Path) -> None:
    """By the command and ``fsspec``, with its store in one process replaced by one on the disk, ``local://``."""
    pytest.importorskip("fsspec")
    (tmp_path / "store").mkdir()
    (tmp_path / "store" / "a.ttf").write_bytes(font_bytes(tiny_font()))
    run = done(runs.scan(tmp_path / "c.sqlite", [f"local://{tmp_path}/store"], "a store"))
    assert (run.status, run.done, run.total) == (0, 1, 1), run.trouble
