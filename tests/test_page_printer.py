"""My printer on the served page: the coupon taken away, what came out entered, the profile used, changed and removed.

Playwright drives Debian's Chromium, as in ``test_page_browser``; where it is missing these tests skip and say so.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import trimesh
from test_page_browser import download, pick, ready, serve

from tests.conftest import demo_paths


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SimpleNamespace]:
    """A served catalogue of one face, with a user's folder of its own."""
    from catalogue.gather.scan import Scan, scan_into

    folder = tmp_path_factory.mktemp("workshop")
    catalogue = folder / "catalogue.sqlite"
    scan_into(catalogue, Scan([p for p in demo_paths() if p.name == "Anton-Regular.ttf"], ["Otto"]))
    process, address = serve(catalogue)
    yield SimpleNamespace(address=address, catalogue=catalogue, profiles=folder / "letterhold" / "processes")
    process.terminate()
    process.wait(10)


@pytest.fixture
def page(chromium: Any, workshop: SimpleNamespace) -> Iterator[Any]:
    """A page at 1280 pixels; at its end nothing went wrong unseen, and no profile is left."""
    context = chromium.new_context(accept_downloads=True, viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    opened.set_default_timeout(60_000)
    faults: list[str] = []
    opened.on("pageerror", lambda error: faults.append(str(error)))
    yield opened
    assert opened.get_by_text("This is a fault in letterhold").count() == 0
    assert opened.locator(".stException").count() == 0 and faults == []
    context.close()
    for left in workshop.profiles.glob("*.toml"):
        left.unlink()


def go(page: Any, workshop: SimpleNamespace, path: str) -> None:
    page.goto(workshop.address + path)
    ready(page)


def tick(page: Any, question: str, size: str) -> None:
    """Turn one answer over."""
    page.get_by_role("toolbar", name=re.compile(question)).get_by_role("button", name=size, exact=True).click()
    ready(page)


def test_a_printer_is_measured_used_changed_and_removed(page: Any, workshop: SimpleNamespace) -> None:
    from catalogue.judge.process import parse_process

    go(page, workshop, "/shop")
    page.get_by_role("button", name="My printer", exact=True).click()
    page.get_by_role("heading", name="My printer", level=1).wait_for()
    ready(page)
    page.get_by_text("None yet.").wait_for()
    body = trimesh.load(io.BytesIO(download(page, "STL")), file_type="stl")
    assert body.is_watertight and body.body_count == 1

    assert page.get_by_role("button", name="Save and use it").is_disabled(), "it has no name"
    page.get_by_label("What do you call this printer?").fill("Workshop Left")
    page.get_by_label("What do you call this printer?").press("Enter")
    ready(page)
    tick(page, "walls stand", ".6")  # .8 and wider are ticked: .7 is not
    page.get_by_text("The wall of 0.6 mm came out, and the wider one of 0.7 mm did not").wait_for()
    assert page.get_by_role("button", name="Save and use it").is_disabled(), "it contradicts itself"
    tick(page, "walls stand", ".7")
    measured = page.get_by_role("spinbutton", name="What does the wall marked 1.2 measure")
    measured.fill("1.36")
    measured.press("Enter")
    ready(page)
    page.get_by_role("button", name="Save and use it").click()
    page.get_by_text("workshop-left is saved and in use").wait_for()
    made = parse_process((workshop.profiles / "workshop-left.toml").read_text(), "saved")
    assert (made.least_wall_mm, made.least_gap_mm, made.least_hole_mm, made.stray_mm) == (0.6, 0.5, 0.5, 0.08)
    page.wait_for_url("**process=workshop-left*")

    page.get_by_role("button", name="Change it").click()
    page.get_by_text("its coupon and what came out so far").wait_for()
    ready(page)
    tick(page, "walls stand", ".5")
    page.get_by_role("button", name="Save and use it").click()
    page.get_by_text("its coupon and what came out so far").wait_for(state="detached")
    page.get_by_text("workshop-left is saved and in use").wait_for()
    changed = parse_process((workshop.profiles / "workshop-left.toml").read_text(), "saved")
    assert (changed.least_wall_mm, changed.stray_mm) == (0.5, 0.08), "what was measured before stays"

    page.get_by_role("button", name="Remove it").click()
    page.get_by_text("workshop-left is removed.").wait_for()
    assert not list(workshop.profiles.glob("*.toml"))
    page.wait_for_url(lambda url: "process=" not in url)  # names are judged by the usual nozzle again


def test_an_own_printer_can_be_chosen_wherever_one_is(page: Any, workshop: SimpleNamespace) -> None:
    """And the job sheet of a tag made for it names it."""
    import dataclasses

    from catalogue.judge.process import load_process, profile_text

    workshop.profiles.mkdir(parents=True, exist_ok=True)
    mine = dataclasses.replace(load_process("nozzle-0.4"), name="bench-two", least_wall_mm=0.6)
    (workshop.profiles / "bench-two.toml").write_text(profile_text(mine))
    go(page, workshop, "/make?name=Otto&face=1")
    page.get_by_role("button", name="Capitals 14 mm, 0.4 mm nozzle").click()
    pick(page, "w_process", "bench-two")
    page.wait_for_url("**process=bench-two*")
    page.keyboard.press("Escape")
    assert "bench-two" in download(page, "Job sheet").decode()
    page.reload()
    page.get_by_role("button", name="Capitals 14 mm, bench-two").wait_for()


def test_a_print_is_kept_where_its_tag_was_made(page: Any, workshop: SimpleNamespace) -> None:
    from catalogue.tag.printed import kept

    go(page, workshop, "/make?name=Otto&face=1")
    page.get_by_text("Printed it?").click()
    page.get_by_text("it broke", exact=True).click()
    ready(page)
    page.get_by_label("Where").fill("at the ring")
    page.get_by_label("Where").press("Enter")
    ready(page)
    page.get_by_role("button", name="Keep it", exact=True).click()
    page.get_by_text("Kept: Otto, it broke.").wait_for()
    (found,) = kept.read(workshop.catalogue).outcomes
    assert (found.result, found.where, found.name, found.face) == ("broke", "at the ring", "Otto", "Anton Regular")
    assert found.process == "nozzle-0.4" and found.measures["neck_mm"] > 0.9
    page.reload()
    page.get_by_text("Printed it?").click()
    page.get_by_text("1 print so far; 95 % interval").wait_for()


def test_a_damaged_profile_is_named_and_stops_nothing(page: Any, workshop: SimpleNamespace) -> None:
    workshop.profiles.mkdir(parents=True, exist_ok=True)
    (workshop.profiles / "bad.toml").write_text("name = 3")
    go(page, workshop, "/printer")
    page.get_by_text("compare it with a built-in profile").wait_for()
    page.get_by_role("heading", name="What each printer is taken to do").wait_for()
    go(page, workshop, "/?name=Otto&process=bad")
    page.get_by_text("process “bad” (nozzle-0.4 is used)").wait_for()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_nobody_is_kept_out_and_nothing_is_cut(
    chromium: Any, workshop: SimpleNamespace, width: int, scheme: str
) -> None:
    """axe-core's rules for WCAG 2.2 A and AA and good practice; nothing is wider than the window."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="pip install 'letterhold[test]'")
    context = chromium.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme, has_touch=width < 500)
    page = context.new_page()
    page.set_default_timeout(60_000)
    go(page, workshop, "/printer")
    page.wait_for_timeout(800)
    found = axe.Axe().run(page).response["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:160]) for v in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    box = page.get_by_role("heading", name="My printer", level=1).bounding_box()
    assert box is not None and box["height"] > 10, "no door says where one is"
    if width < 500:
        small = page.locator("[data-testid=stMain] button:visible:not(.term)").evaluate_all(
            "all => all.filter(b => b.innerText.trim() && b.getBoundingClientRect().height < 44).map(b => b.innerText)"
        )
        assert small == [], "44 px to touch (WCAG 2.2, 2.5.5)"
    context.close()


def test_the_profiles_of_this_test_are_not_the_users(workshop: SimpleNamespace) -> None:
    assert Path.home() not in workshop.profiles.parents
