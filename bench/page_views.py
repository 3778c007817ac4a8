"""Every view of the page over a whole catalogue, in a real browser: which shows a fault, an error or a refusal.

    python bench/page_views.py CATALOGUE [FACES]

The catalogue is copied and the copy served. Views that need no face are opened once for each name; make, licence and
side by side for FACES (12) faces spread over the catalogue, of every verdict there is. A sentence on what a
person can do is an answer; a fault of the program is not. Exit status 1 when one is found.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench.page_speed import CHROMIUM, FLAGS, served
from catalogue.page.faults import FAULT
from catalogue.store.database import Store
from catalogue.store.face import Face

NAMES = ("Marlie", "Bo & Kim", "Zoë", "ΜΑΡΊΑ", "أحمد", "I" * 40, "ﬁ 👍", "")
"""Plain, several words, an accent, other scripts, very long, what hardly a font has, none."""
PATIENCE_MS = 120_000


def main() -> int:
    if len(sys.argv) < 2:
        print("name a catalogue: python bench/page_views.py CATALOGUE [FACES]", file=sys.stderr)
        return 2
    wanted = int(sys.argv[2]) if len(sys.argv) > 2 else 12
    with tempfile.TemporaryDirectory() as folder:
        catalogue = Path(folder, "copy.sqlite")
        copied(Path(sys.argv[1]), catalogue)
        with Store(catalogue) as store:
            faces = list(store.faces())
        with served(catalogue) as (address, _):
            return visited(address, list(addresses(spread(faces, wanted))), len(faces))


def copied(source: Path, to: Path) -> None:
    """A copy by SQLite itself, so that what stands in the write-ahead log comes along."""
    import sqlite3

    with sqlite3.connect(f"file:{source}?mode=ro", uri=True) as old, sqlite3.connect(to) as new:
        old.backup(new)


def spread(faces: list[Face], wanted: int) -> list[Face]:
    """A face of each verdict, with and without all letters of the alphabet, then others evenly over the catalogue."""
    kinds = {(f.sell, bool(f.missing)): f for f in faces}
    even = faces[:: max(1, len(faces) // max(1, wanted))]
    return list({f.id: f for f in [*kinds.values(), *even]}.values())[: wanted + len(kinds)]


def addresses(faces: list[Face]) -> Iterator[str]:
    """Addresses to open."""
    for name in map(quote, NAMES):
        yield f"/?name={name}"
        yield f"/?name={name}&as=board"
        yield f"/shortlist?name={name}"
    yield from ("/orders", "/fonts", "/shop", "/help", "/make", "/licence", "/side-by-side", "/?name=A&hold=85&sell=no")
    for k, face in enumerate(faces):
        name = quote(NAMES[k % 3])
        yield f"/make?name={name}&face={face.id}"
        yield f"/licence?face={face.id}"
    for k in range(0, len(faces) - 3, 4):
        yield f"/side-by-side?name=Marlie&faces={','.join(str(f.id) for f in faces[k : k + 4])}"


def visited(address: str, wanted: list[str], count: int) -> int:
    """Opens each address; prints what went wrong and how many were fine."""
    from playwright.sync_api import sync_playwright

    bad = 0
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        for path in wanted:
            found = looked_at(context, address, path)
            bad += bool(found)
            for line in found:
                print(f"{path}: {line}", flush=True)
        browser.close()
    print(f"{count} faces, {len(wanted)} addresses: {len(wanted) - bad} fine, {bad} with a fault")
    return 1 if bad else 0


def looked_at(context: Any, address: str, path: str) -> list[str]:
    """What went wrong at one address; also what asks another host or is refused."""
    found: list[str] = []
    page = context.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.on("pageerror", lambda error: found.append(f"script error: {error}"))
    page.on("response", lambda r: found.append(f"{r.status} {r.url}") if r.status >= 400 else None)
    page.on("request", lambda r: None if r.url.startswith((address, "data:", "blob:", f"ws{address[4:]}"))
            else found.append(f"asked {r.url}"))  # fmt: skip
    try:
        page.goto(address + path)
        page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for()
        page.wait_for_timeout(1500)
        page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for()
        for what in (page.get_by_text(FAULT), page.get_by_text("Traceback"), page.locator(".stException, .fault")):
            if what.count():
                found.append(what.first.inner_text()[:200])
    except Exception as error:  # a time-out of the browser is a finding, not the end
        found.append(str(error).splitlines()[0])
    page.close()
    return found


if __name__ == "__main__":
    raise SystemExit(main())
