"""Fonts for the tests: the demo packages, Debian packages, and tiny fonts built here.

Debian fonts are named by package and file. Where one is not installed the test is skipped and says which
package to install; with LETTERHOLD_REQUIRE_ALL=1 in the environment it fails instead, so that a full run
cannot skip in silence.
"""

from __future__ import annotations

import io
import os
import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import without_posix
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from hypothesis import settings

PORTABLE = os.environ.get("LETTERHOLD_ENGINE") == "portable"
"""The whole run is one on a system without POSIX's processes."""
if PORTABLE:
    without_posix.install()
    without_posix.install_in_children()

from scanner.files import find_fonts  # noqa: E402 - after what is not there has been taken away
from scanner.installed import demo_folders  # noqa: E402

forked_only = pytest.mark.skipif(PORTABLE, reason="about forked workers, which this run has not")

# Slow machines are no failures; in CI the same cases every time, so that a red run means a changed project.
settings.register_profile("letterhold", deadline=None, derandomize=os.environ.get("CI") == "true")
settings.load_profile("letterhold")


Contour = Sequence[tuple[float, float]]

DEBIAN_FOLDER = Path("/usr/share/fonts")


@lru_cache(maxsize=1)
def demo_paths() -> tuple[Path, ...]:
    """Every font file of the installed ``fontpkg-*`` packages, in a stable order."""
    return tuple(file.path for file in find_fonts(demo_folders()))


@lru_cache(maxsize=1)
def demo_sample() -> tuple[Path, ...]:
    """The first file of every package: one face a family, in every style the demo has."""
    first: dict[Path, Path] = {}
    for path in demo_paths():
        first.setdefault(next(p for p in path.parents if p.name.startswith("fontpkg_")), path)
    return tuple(first.values())


@pytest.fixture(scope="session")
def demo_fonts() -> tuple[Path, ...]:
    """Demo font files. Fewer than 40 would make the checks over them say nothing."""
    found = demo_paths()
    if len(found) < 40:
        absent(f"only {len(found)} demo fonts; install the extra `demo`: pip install 'letterhold[demo]'")
    return found


@pytest.fixture(scope="session")
def demo_font() -> Callable[[str], Path]:
    """A demo font by its file name."""

    def find(name: str) -> Path:
        for path in demo_paths():
            if path.name == name:
                return path
        return absent(f"{name} is not there; install the extra `demo`: pip install 'letterhold[demo]'")

    return find


@pytest.fixture(scope="session")
def debian_font() -> Callable[[str, str], Path]:
    """A font by Debian package and file name."""
    return find_debian_font


def find_debian_font(package: str, filename: str) -> Path:
    """Path of a Debian font; skips, or fails where all are required, when it is not installed."""
    for path in sorted(DEBIAN_FOLDER.rglob(filename)):
        return path
    return absent(f"{filename} is not installed; apt-get install {package}")


def copy_demo_fonts(folder: Path, packages: Sequence[str]) -> Path:
    """Copies the fonts of some demo packages into a folder, each with its licence beside it."""
    installed = {f.name: f for f in demo_folders()}
    for package in packages:
        if package not in installed:
            absent(f"needs the font package {package.replace('_', '-')}: pip install it")
        for file in (installed[package] / "files").glob("*.ttf"):
            shutil.copy(file, folder)
        shutil.copy(installed[package] / "LICENSE", folder / f"{package}-LICENSE.txt")
    return folder


def absent(reason: str) -> Path:
    """Skip, or fail when LETTERHOLD_REQUIRE_ALL=1."""
    if os.environ.get("LETTERHOLD_REQUIRE_ALL") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    """Clockwise rectangle, as TrueType wants an outer contour."""
    return [(x0, y0), (x0, y1), (x1, y1), (x1, y0)]


TINY: dict[str, list[Contour]] = {
    ".notdef": [rectangle(50, 0, 450, 700)],
    "space": [],
    "A": [rectangle(50, 0, 450, 700)],
    "B": [rectangle(50, 0, 450, 700), rectangle(150, 100, 350, 600)[::-1]],
    "C": [rectangle(50, 0, 300, 700), rectangle(200, 200, 450, 500)],
    "D": [rectangle(50, 0, 450, 700), rectangle(150, 100, 350, 600)],
    "i": [rectangle(100, 0, 200, 450), rectangle(100, 500, 200, 600)],
    "l": [rectangle(100, 0, 200, 700)],
    "f": [rectangle(100, 0, 200, 700), rectangle(60, 420, 260, 480)],
    "f_i": [rectangle(100, 0, 200, 700), rectangle(60, 420, 600, 480), rectangle(500, 0, 600, 480)],
    "l.alt": [rectangle(100, 0, 200, 300)],
}
"""Glyph name to contours, all straight, in a 1000-unit em; see ``tiny_font``."""

CMAP = {0x20: "space", 0x41: "A", 0x42: "B", 0x43: "C", 0x44: "D", 0x66: "f", 0x69: "i", 0x6C: "l"}


def tiny_font(
    *,
    cff: bool = False,
    features: str = "",
    upem: int = 1000,
    glyphs: Mapping[str, list[Contour]] | None = None,
    cmap: Mapping[int, str] | None = None,
    advance: int = 500,
) -> TTFont:
    """A font of a few straight-sided glyphs, every advance 500 units of a 1000-unit em.

    The glyphs, with their exact areas in square units under the non-zero rule:

    ===== ============================================ =======
    A     a block 400 x 700                            280,000
    B     a block with a window 200 x 500              180,000
    C     two blocks that overlap in 100 x 300         220,000
    D     a block in a block, turning the same way:    280,000
          the non-zero rule leaves no hole
    i     a stem and a dot 50 above it                  55,000
    l     a stem 100 x 700                              70,000
    f     a stem with a bar that crosses it             76,000
    f_i   the ligature of f and i, in one piece        124,400
    l.alt a short stem, for features to put in          30,000
    space nothing
    ===== ============================================ =======

    Other ``glyphs`` with their ``cmap`` replace these. ``features`` is OpenType feature text.
    """
    shapes = dict(glyphs or TINY)
    builder = FontBuilder(upem, isTTF=not cff)
    builder.setupGlyphOrder(list(shapes))
    builder.setupCharacterMap(dict(cmap or CMAP))
    if cff:
        programs = {}
        for name, contours in shapes.items():
            pen = T2CharStringPen(advance, None)
            _draw(pen, contours)
            programs[name] = pen.getCharString()
        builder.setupCFF("Tiny-Regular", {}, programs, {})
    else:
        outlines = {}
        for name, contours in shapes.items():
            pen = TTGlyphPen(None)
            _draw(pen, contours)
            outlines[name] = pen.glyph()
        builder.setupGlyf(outlines)
    # A left side bearing other than the least x would shift TrueType outlines.
    least = {name: round(min((x for c in shapes[name] for x, _ in c), default=0)) for name in shapes}
    builder.setupHorizontalMetrics({name: (advance, least[name]) for name in shapes})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Tiny", "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=800, usWinAscent=800, usWinDescent=200)
    builder.setupPost()
    if features:
        builder.addOpenTypeFeatures(features)
    return builder.font


def tiny_variable_font() -> TTFont:
    """``tiny_font`` with a weight axis 100 to 900 (default 100): only ``l`` grows, from 100 to 300 wide."""
    from fontTools.ttLib.tables.TupleVariation import TupleVariation

    builder = FontBuilder(font=tiny_font())
    builder.setupFvar([("wght", 100, 100, 900, "Weight")], [])
    # Points of l in order: (100,0) (100,700) (200,700) (200,0), then four phantom points.
    deltas = [(0, 0), (0, 0), (200, 0), (200, 0), (0, 0), (0, 0), (0, 0), (0, 0)]
    builder.setupGvar({"l": [TupleVariation({"wght": (0.0, 1.0, 1.0)}, deltas)]})
    return builder.font


def font_bytes(font: TTFont, flavor: str | None = None) -> bytes:
    """The font as a file's bytes; ``flavor`` is None, "woff" or "woff2"."""
    out = io.BytesIO()
    font.flavor = flavor
    font.save(out)
    return out.getvalue()


def _draw(pen: TTGlyphPen | T2CharStringPen, contours: list[Contour]) -> None:
    for contour in contours:
        pen.moveTo(contour[0])
        for point in contour[1:]:
            pen.lineTo(point)
        pen.closePath()


# ── a browser ───────────────────────────────────────────────────────────────────────────────────────────────────────

CHROMIUM = Path(os.environ.get("LETTERHOLD_CHROMIUM", "/usr/bin/chromium"))
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """Debian's Chromium, driven by Playwright; where either is missing the test skips and says so."""
    if not CHROMIUM.exists():
        absent(f"{CHROMIUM} is not there; apt-get install chromium")
    sync_api = pytest.importorskip("playwright.sync_api", reason="pip install 'letterhold[test]'")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield browser
        browser.close()
