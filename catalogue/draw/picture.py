"""Pictures of a checked name: one scene of simple shapes, written as SVG or PNG.

Colours were chosen to stay apart for every kind of colour vision (dark, middle and light steps of one hue for the
layers, orange for what is wrong), and each mark carries a number that the legend explains in words.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from pathlib import Path

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from catalogue.atomic import write_file
from catalogue.judge.check import Check, WeakSpot
from catalogue.text import clean
from catalogue.wording import count_of, pieces_of
from scanner.regions import polygons_of

PAPER, INK, PALE = "#fbfaf6", "#22313f", "#8b97a3"
LAYER_COLOURS = ("#274c77", "#8ab4d8", "#f6efd9")
MARK = "#c2410c"

KINDS = {
    "gap": "gap too wide for the base: the letters come apart here",
    "loose part": "loose part: nothing of its letter reaches it",
    "neck": "neck too narrow: it snaps here first",
    "thin stroke": "thin stroke: less than the least wall",
    "counter": "counter may close",
    "pinhole": "pinhole: too small to print open, filled in the tag",
    "slit": "slit: too narrow to stay open",
}


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled region, in mm on the sheet (y down)."""

    region: BaseGeometry
    fill: str
    edge: str = ""


@dataclass(frozen=True, slots=True)
class Patch:
    """A filled outline without holes: points (n, 2). Many of them cost little."""

    points: NDArray[np.float64]
    fill: str


@dataclass(frozen=True, slots=True)
class Line:
    points: tuple[tuple[float, float], ...]
    colour: str
    width: float


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    radius: float
    colour: str
    width: float
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    x: float
    y: float
    text: str
    size: float
    colour: str
    anchor: str = "start"


Item = Shape | Patch | Line | Circle | Text


@dataclass(frozen=True, slots=True)
class Scene:
    """A sheet in mm, y down, items in painting order."""

    width: float
    height: float
    title: str
    items: tuple[Item, ...]


def name_items(name: str, drawn: BaseGeometry, x: float, y: float, size: float, anchor: str = "start") -> list[Item]:
    """A name on the sheet: written where the writing font of pictures has its letters, else as ``drawn`` by its face.

    ``drawn`` may be in any unit, y up; it is brought to the height of writing of ``size`` on the baseline ``y``.
    """
    if writable(name) == name or drawn.is_empty:
        return [Text(x, y, name, size, INK, anchor)]
    x0, y0, x1, y1 = drawn.bounds
    scale = min(0.95 * size / (y1 - y0), 12 * size / (x1 - x0))
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * scale * (x1 - x0)
    placed = shapely.transform(
        drawn, lambda c: np.column_stack([left + scale * (c[:, 0] - x0), y + 0.15 * size - scale * (c[:, 1] - y0)])
    )
    return [Shape(placed, INK)]


WRITABLE = "’‘“”°…·"
"""Beyond ASCII, what the writing font of PNG pictures (Pillow's own) surely has."""


def writable(text: str) -> str:
    """The text with what the writing font lacks told by its plain letter, or by a question mark.

    >>> writable("Fira Séans 名")
    'Fira Seans ?'
    """

    def plain(letter: str) -> str:
        if letter.isascii() or letter in WRITABLE:
            return letter
        kept = [c for c in unicodedata.normalize("NFKD", letter) if c.isascii()]
        return "".join(kept) or "?"

    return "".join(map(plain, text))


def check_scene(check: Check) -> Scene:
    """Three layers at true proportion, a millimetre ruler, and every weak spot marked, numbered and told in words."""
    left, bottom, right, top = shapely.bounds(np.asarray(check.regions, dtype=object)).T
    x0, y0, x1, y1 = left.min(), bottom.min(), right.max(), top.max()
    em = max(1.6, min(3.0, (x1 - x0) / 30))
    margin = 2.0 * em
    width = max(x1 - x0, 31 * em) + 2 * margin
    spots = numbered(check.weak_spots)
    head = (10.2 if spots else 8.0) * em

    def place(region: BaseGeometry) -> BaseGeometry:
        return shapely.transform(region, lambda c: np.column_stack([c[:, 0] - x0 + margin, y1 - c[:, 1] + head]))

    hold = check.hold
    verdict = "holds" if hold.holds else "does not hold"
    items: list[Item] = [
        *name_items(check.name, check.regions[-1], margin, 2.2 * em, 1.6 * em),
        Text(margin, 3.9 * em, f"{check.family} {check.style}", 1.1 * em, INK),
        Text(margin, 5.4 * em, f"{verdict}: hold {hold.hold} of 100", em, INK if hold.holds else MARK),
        Text(
            margin, 6.8 * em,
            f"capitals {check.cap_height_mm:.1f} mm, {check.process}, join offset {check.join_offset_mm:.2f} mm",
            0.85 * em, INK,
        ),
    ]  # fmt: skip
    for region, fill in zip(check.regions, LAYER_COLOURS, strict=False):
        items.append(Shape(place(region), fill, INK))
    row = head - 1.5 * em
    for number, (spot, label_x) in enumerate(zip(spots, _spread(spots, 1.5 * em), strict=True), 1):
        x, y = spot.x_mm - x0 + margin, y1 - spot.y_mm + head
        label_x += margin - x0
        radius = max(0.4 * em, spot.size_mm / 2 + 0.15 * em)
        items.append(Line(((label_x, row), (x, y - radius)), MARK, 0.09 * em))
        items.append(Circle(x, y, radius, MARK, 0.16 * em))
        items += _number(label_x, row, number, em)
    y = head + (y1 - y0) + 2.2 * em
    items += _ruler(margin, y, x1 - x0, em)
    y += 2.8 * em
    for layer, colour in zip(check.layers, LAYER_COLOURS, strict=False):
        items.append(Shape(shapely.box(margin, y - 0.75 * em, margin + 0.9 * em, y + 0.15 * em), colour, INK))
        words = f"{layer.layer}: offset {layer.offset_mm:g} mm, top at {layer.top_mm:g} mm, {pieces_of(layer.pieces)}"
        if layer.neck_mm:
            words += f", neck {layer.neck_mm:.2f} mm"
        items.append(Text(margin + 1.4 * em, y, words, 0.85 * em, INK))
        y += 1.35 * em
    y += 0.4 * em
    for kind in _ORDER:
        numbers = [n for n, spot in enumerate(spots, 1) if spot.kind == kind]
        if not numbers:
            continue
        sizes = [spots[n - 1].size_mm for n in numbers]
        span = f"{min(sizes):.2f} mm" if len(sizes) == 1 else f"{min(sizes):.2f} to {max(sizes):.2f} mm"
        for k, number in enumerate(numbers):
            items += _number(margin + (0.6 + 1.4 * k) * em, y - 0.3 * em, number, em)
        y += 1.35 * em
        items.append(Text(margin + 0.1 * em, y, f"{KINDS[kind]} ({span})", 0.85 * em, INK))
        y += 1.7 * em
    hidden = len(check.weak_spots) - len(spots)
    if hidden:
        items.append(
            Text(margin, y, f"and {count_of(hidden, 'lesser one')}, told by the check command", 0.85 * em, INK)
        )
        y += 1.35 * em
    if not check.weak_spots:
        items.append(Text(margin, y, "no weak spot found at this size", 0.85 * em, INK))
        y += 1.35 * em
    return Scene(width, y + 0.4 * em, f"{check.name}: {verdict}", tuple(items))


def _number(x: float, y: float, number: int, em: float) -> list[Item]:
    """A numbered disc."""
    return [
        Circle(x, y, 0.62 * em, MARK, 0.0, MARK),
        Text(x, y + 0.29 * em, str(number), 0.8 * em, "#ffffff", "middle"),
    ]


def _spread(spots: list[WeakSpot], least: float) -> list[float]:
    """Places along the row for labels of spots sorted from left to right: near their spots, ``least`` apart."""
    places: list[float] = []
    for spot in spots:
        places.append(max(spot.x_mm, places[-1] + least) if places else spot.x_mm)
    # Where a crowd was pushed to the right, pull the row back over the middle of its spots.
    drift = sum(p - s.x_mm for p, s in zip(places, spots, strict=True)) / max(1, len(spots))
    return [p - drift for p in places]


MOST_MARKS = 12
_ORDER = ("gap", "loose part", "neck", "thin stroke", "counter", "slit", "pinhole")


def numbered(spots: tuple[WeakSpot, ...]) -> list[WeakSpot]:
    """The gravest spots first by kind, at most ``MOST_MARKS``, then from left to right."""
    worst = sorted(spots, key=lambda s: (_ORDER.index(s.kind), s.size_mm if s.kind != "gap" else -s.size_mm))
    return sorted(worst[:MOST_MARKS], key=lambda s: s.x_mm)


def _ruler(x: float, y: float, length: float, em: float) -> list[Item]:
    items: list[Item] = [Line(((x, y), (x + np.floor(length), y)), INK, 0.06 * em)]
    for mm in range(int(length) + 1):
        tall = 0.8 if mm % 10 == 0 else 0.55 if mm % 5 == 0 else 0.3
        items.append(Line(((x + mm, y), (x + mm, y - tall * em)), INK if mm % 5 == 0 else PALE, 0.05 * em))
        if mm % 10 == 0:
            label = f"{mm} mm" if mm == 0 else str(mm)
            items.append(Text(x + mm, y + 0.95 * em, label, 0.7 * em, INK, "middle" if mm else "start"))
    return items


def svg(scene: Scene) -> str:
    """The scene as SVG in millimetres; texts are cleaned and escaped."""
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{scene.width:.3f}mm" height="{scene.height:.3f}mm"'
        f' viewBox="0 0 {scene.width:.3f} {scene.height:.3f}" role="img" font-family="sans-serif">',
        f"<title>{escape(clean(scene.title))}</title>",
        f'<rect width="100%" height="100%" fill="{PAPER}"/>',
    ]
    for item in scene.items:
        if isinstance(item, Patch):
            # A thin edge of its own colour closes the seam to its neighbour.
            out.append(f'<path fill="{item.fill}" stroke="{item.fill}" stroke-width="0.08" d="{_ring(item.points)}"/>')
        elif isinstance(item, Shape):
            edge = f' stroke="{item.edge}" stroke-width="0.08"' if item.edge else ""
            out.append(f'<path fill="{item.fill}"{edge} fill-rule="evenodd" d="{path_data(item.region)}"/>')
        elif isinstance(item, Line):
            points = " ".join(f"{px:.3f},{py:.3f}" for px, py in item.points)
            out.append(
                f'<polyline points="{points}" fill="none" stroke="{item.colour}" stroke-width="{item.width:.3f}"/>'
            )
        elif isinstance(item, Circle):
            out.append(
                f'<circle cx="{item.x:.3f}" cy="{item.y:.3f}" r="{item.radius:.3f}" fill="{item.fill or "none"}"'
                f' stroke="{item.colour}" stroke-width="{item.width:.3f}"/>'
            )
        else:
            out.append(
                f'<text x="{item.x:.3f}" y="{item.y:.3f}" font-size="{item.size:.3f}" fill="{item.colour}"'
                f' text-anchor="{item.anchor}">{escape(clean(item.text))}</text>'
            )
    return "\n".join([*out, "</svg>\n"])


def path_data(region: BaseGeometry) -> str:
    """SVG path data of a region, three decimals; holes by the even-odd rule."""
    rings = [r for p in polygons_of(region) for r in (p.exterior, *p.interiors)]
    return "".join(_ring(shapely.get_coordinates(r)[:-1]) for r in rings)


def _ring(points: NDArray[np.float64]) -> str:
    # One format for the whole outline takes a third of the time of one a point.
    return "M" + ("%.3f %.3fL" * len(points) % tuple(points.ravel().tolist()))[:-1] + "Z"


PX_PER_MM = 10
MOST_PX = 2400
_SHIFT = 6
"""Binary places of a pixel in OpenCV's coordinates."""


def png(scene: Scene) -> bytes:
    """The scene as a PNG at ``PX_PER_MM`` pixels a millimetre, fewer where it would be wider than ``MOST_PX``."""
    import cv2

    px = min(PX_PER_MM, MOST_PX / scene.width)
    row = np.tile(np.array(_bgr(PAPER), dtype=np.uint8), (1, int(scene.width * px), 1))
    sheet = np.repeat(row, int(scene.height * px), axis=0)
    for item in scene.items:
        _paint(sheet, item, px)
    # Run lengths suit flat colours: a third of the time of the usual strategy, a sixth larger.
    done, data = cv2.imencode(".png", sheet, [cv2.IMWRITE_PNG_STRATEGY, cv2.IMWRITE_PNG_STRATEGY_RLE])
    if not done:
        raise ValueError("the picture cannot be written as PNG; write it as SVG")
    return bytes(data)


def _paint(sheet: NDArray[np.uint8], item: Item, px: float) -> None:
    import cv2

    def fixed(points: NDArray[np.float64]) -> NDArray[np.int32]:
        # OpenCV counts from pixel centres, the sheet from its corner.
        return np.rint((points * px - 0.5) * (1 << _SHIFT)).astype(np.int32)

    def fill(rings: list[NDArray[np.int32]], colour: str) -> None:
        cv2.fillPoly(sheet, rings, _bgr(colour), cv2.LINE_AA, _SHIFT)

    def draw(rings: list[NDArray[np.int32]], closed: bool, colour: str, width_mm: float) -> None:
        wide = max(1, round(width_mm * px))
        cv2.polylines(sheet, rings, closed, _bgr(colour), wide, cv2.LINE_AA, _SHIFT)

    if isinstance(item, Patch):
        rings = [fixed(item.points)]
        fill(rings, item.fill)
        draw(rings, True, item.fill, 0.0)
    elif isinstance(item, Shape):
        found = [r for p in polygons_of(item.region) for r in (p.exterior, *p.interiors)]
        outlines = [shapely.get_coordinates(r)[:-1] for r in found]
        rings = [fixed(points) for points in outlines]
        if rings and item.edge:
            fill(rings, item.fill)
            draw(rings, True, item.edge, 0.08)
        elif rings:
            _fill_finely(sheet, [points * px for points in outlines], item.fill)
    elif isinstance(item, Line):
        draw([fixed(np.array(item.points))], False, item.colour, item.width)
    elif isinstance(item, Circle):
        centre = tuple(fixed(np.array([item.x, item.y])).tolist())
        radius = round(item.radius * px * (1 << _SHIFT))
        if item.fill:
            cv2.circle(sheet, centre, radius, _bgr(item.fill), cv2.FILLED, cv2.LINE_AA, _SHIFT)
        if item.width:
            wide = max(1, round(item.width * px))
            cv2.circle(sheet, centre, radius, _bgr(item.colour), wide, cv2.LINE_AA, _SHIFT)
    else:
        _write(sheet, item, px)


_FINE = 8
"""Parts of a pixel's side that are told apart in a fine filling."""


def _fill_finely(sheet: NDArray[np.uint8], outlines: list[NDArray[np.float64]], colour: str) -> None:
    """Fill by the share of each pixel that is covered: OpenCV's own fills widen a shape by half a pixel all round,
    which closes the counters of small writing. Outlines in pixels, row 0 at the top."""
    import cv2

    every = np.concatenate(outlines)
    low = np.maximum(np.floor(every.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(every.max(axis=0)).astype(int) + 1, [sheet.shape[1], sheet.shape[0]])
    if (high <= low).any():
        return
    width, height = (high - low).tolist()
    mask = np.zeros((height * _FINE, width * _FINE), dtype=np.uint8)
    rings = [np.rint(((points - low) * _FINE - 0.5) * (1 << _SHIFT)).astype(np.int32) for points in outlines]
    cv2.fillPoly(mask, rings, (255,), cv2.LINE_8, _SHIFT)
    share = cv2.resize(mask, (width, height), interpolation=cv2.INTER_AREA)[..., None] / 255.0
    there = sheet[low[1] : high[1], low[0] : high[0]]
    there[:] = np.rint(there * (1 - share) + np.array(_bgr(colour)) * share).astype(np.uint8)


def _write(sheet: NDArray[np.uint8], item: Text, px: float) -> None:
    """Blend a text into the sheet; what lies outside is cut."""
    from PIL import Image, ImageDraw, ImageFont

    font, words = ImageFont.load_default(max(1.0, item.size * px)), writable(item.text)
    x0, y0, x1, y1 = (int(np.floor(v)) for v in font.getbbox(words, anchor="ls"))
    wide, tall = x1 - x0 + 2, y1 - y0 + 2
    mask = Image.new("L", (max(1, wide), max(1, tall)))
    ImageDraw.Draw(mask).text((-x0, -y0), words, fill=255, font=font, anchor="ls")
    length = font.getlength(words)
    left = round(item.x * px - {"start": 0.0, "middle": length / 2, "end": length}[item.anchor]) + x0
    top = round(item.y * px) + y0
    ink = np.asarray(mask)[max(0, -top) : sheet.shape[0] - top, max(0, -left) : sheet.shape[1] - left, None] / 255.0
    place = sheet[max(0, top) : max(0, top) + ink.shape[0], max(0, left) : max(0, left) + ink.shape[1]]
    place[:] = np.rint(place * (1 - ink) + np.array(_bgr(item.colour)) * ink)


@lru_cache(maxsize=256)
def _bgr(colour: str) -> tuple[int, int, int]:
    """OpenCV's order."""
    return int(colour[5:7], 16), int(colour[3:5], 16), int(colour[1:3], 16)


def write_picture(scene: Scene, path: Path) -> None:
    """Write SVG or PNG by the file's ending; nothing half-written is left under the name."""
    kind = path.suffix.lower()
    if kind not in (".svg", ".png"):
        raise ValueError(f"{path}: a picture is .svg or .png; give the file one of these endings")
    write_file(path, svg(scene).encode() if kind == ".svg" else png(scene))
