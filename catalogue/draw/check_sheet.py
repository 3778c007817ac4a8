"""The sheet of a checked name: its layers at true proportion with every weak spot numbered and named. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.scene import INK, LAYER_COLOURS, MARK, PALE, Circle, Item, Line, Scene, Shape, Text, name_items
from catalogue.judge.check import Check
from catalogue.judge.weak_spots import KINDS, WeakSpot, gravest
from catalogue.wording import count_of, pieces_of


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Where things stand on the sheet; lengths in mm."""

    em: float
    """Size of the writing, which everything else follows."""
    margin: float
    head: float
    """From the top of the sheet to the top of the drawing."""
    left: float
    top: float
    """Left and top of the drawing in its own coordinates, y up."""
    wide: float
    tall: float

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A place of the drawing on the sheet."""
        return x - self.left + self.margin, self.top - y + self.head

    def placed(self, region: BaseGeometry) -> BaseGeometry:
        """A region of the drawing on the sheet."""
        return shapely.transform(region, lambda c: np.column_stack(self.at(c[:, 0], c[:, 1])))


def check_scene(check: Check) -> Scene:
    """Three layers at true proportion, a millimetre ruler, and every weak spot marked, numbered and named."""
    spots = gravest(check.weak_spots)
    sheet = _sheet_of(check, bool(spots))
    verdict = "holds" if check.hold.holds else "does not hold"
    items = _head(check, verdict, sheet)
    items += [Shape(sheet.placed(r), fill, INK) for r, fill in zip(check.regions, LAYER_COLOURS, strict=False)]
    items += _marks(spots, sheet)
    y = sheet.head + sheet.tall + 2.2 * sheet.em
    items += _ruler(sheet.margin, y, sheet.wide, sheet.em)
    layers, y = _layers(check, sheet, y + 2.8 * sheet.em)
    legend, y = _legend(check, spots, sheet, y + 0.4 * sheet.em)
    width = max(sheet.wide, 31 * sheet.em) + 2 * sheet.margin
    return Scene(width, y + 0.4 * sheet.em, f"{check.shown}: {verdict}", (*items, *layers, *legend))


def _sheet_of(check: Check, marked: bool) -> _Sheet:
    left, bottom, right, top = shapely.bounds(np.asarray(check.regions, dtype=object)).T
    x0, y0, x1, y1 = (float(v) for v in (left.min(), bottom.min(), right.max(), top.max()))
    em = max(1.6, min(3.0, (x1 - x0) / 30))
    return _Sheet(em, 2.0 * em, (10.2 if marked else 8.0) * em, x0, y1, x1 - x0, y1 - y0)


def _head(check: Check, verdict: str, sheet: _Sheet) -> list[Item]:
    em, margin, hold = sheet.em, sheet.margin, check.hold
    capitals = f"{check.sized_by} {check.cap_height_mm:.1f} mm, " if np.isfinite(check.cap_height_mm) else ""
    return [
        *name_items(check.shown, check.as_typed, margin, 2.2 * em, 1.6 * em),
        Text(margin, 3.9 * em, f"{check.family} {check.style}", 1.1 * em, INK),
        Text(margin, 5.4 * em, f"{verdict}: hold {hold.hold} of 100", em, INK if hold.holds else MARK),
        Text(
            margin, 6.8 * em, f"{capitals}{check.process}, join offset {check.join_offset_mm:.2f} mm", 0.85 * em, INK,
        ),
    ]  # fmt: skip


def _marks(spots: Sequence[WeakSpot], sheet: _Sheet) -> list[Item]:
    """A ring at each spot, tied to its number in a row above the drawing."""
    em, row = sheet.em, sheet.head - 1.5 * sheet.em
    items: list[Item] = []
    for number, (spot, label) in enumerate(zip(spots, _spread(spots, 1.5 * em), strict=True), 1):
        x, y = sheet.at(spot.x_mm, spot.y_mm)
        label_x = sheet.at(label, 0.0)[0]
        radius = max(0.4 * em, spot.size_mm / 2 + 0.15 * em)
        items.append(Line(((label_x, row), (x, y - radius)), MARK, 0.09 * em))
        items.append(Circle(x, y, radius, MARK, 0.16 * em))
        items += _number(label_x, row, number, em)
    return items


def _layers(check: Check, sheet: _Sheet, y: float) -> tuple[list[Item], float]:
    """A line for each layer from ``y`` down, and where they end."""
    em, margin = sheet.em, sheet.margin
    items: list[Item] = []
    for layer, colour in zip(check.layers, LAYER_COLOURS, strict=False):
        items.append(Shape(shapely.box(margin, y - 0.75 * em, margin + 0.9 * em, y + 0.15 * em), colour, INK))
        words = f"{layer.layer}: offset {layer.offset_mm:g} mm, top at {layer.top_mm:g} mm, {pieces_of(layer.pieces)}"
        if layer.neck_mm:
            words += f", neck {layer.neck_mm:.2f} mm"
        items.append(Text(margin + 1.4 * em, y, words, 0.85 * em, INK))
        y += 1.35 * em
    return items, y


def _legend(check: Check, spots: Sequence[WeakSpot], sheet: _Sheet, y: float) -> tuple[list[Item], float]:
    """What the numbers mean, from ``y`` down, and where that ends."""
    em, margin = sheet.em, sheet.margin
    items: list[Item] = []
    for kind, meaning in KINDS.items():
        numbers = [n for n, spot in enumerate(spots, 1) if spot.kind == kind]
        if not numbers:
            continue
        sizes = [spots[n - 1].size_mm for n in numbers]
        span = f"{min(sizes):.2f} mm" if len(sizes) == 1 else f"{min(sizes):.2f} to {max(sizes):.2f} mm"
        for k, number in enumerate(numbers):
            items += _number(margin + (0.6 + 1.4 * k) * em, y - 0.3 * em, number, em)
        y += 1.35 * em
        items.append(Text(margin + 0.1 * em, y, f"{meaning} ({span})", 0.85 * em, INK))
        y += 1.7 * em
    hidden = len(check.weak_spots) - len(spots)
    if hidden:
        more = f"and {count_of(hidden, 'lesser one')}, listed by the check command"
        items.append(Text(margin, y, more, 0.85 * em, INK))
        y += 1.35 * em
    if not check.weak_spots:
        items.append(Text(margin, y, "no weak spot found at this size", 0.85 * em, INK))
        y += 1.35 * em
    return items, y


def _number(x: float, y: float, number: int, em: float) -> list[Item]:
    """A numbered disc."""
    return [
        Circle(x, y, 0.62 * em, MARK, 0.0, MARK),
        Text(x, y + 0.29 * em, str(number), 0.8 * em, "#ffffff", "middle"),
    ]


def _spread(spots: Sequence[WeakSpot], least: float) -> list[float]:
    """Places along the row for labels of spots sorted from left to right: near their spots, ``least`` apart."""
    places: list[float] = []
    for spot in spots:
        places.append(max(spot.x_mm, places[-1] + least) if places else spot.x_mm)
    # Where a crowd was pushed to the right, pull the row back over the middle of its spots.
    drift = sum(p - s.x_mm for p, s in zip(places, spots, strict=True)) / max(1, len(spots))
    return [p - drift for p in places]


def _ruler(x: float, y: float, length: float, em: float) -> list[Item]:
    """Millimetres along the drawing."""
    items: list[Item] = [Line(((x, y), (x + np.floor(length), y)), INK, 0.06 * em)]
    for mm in range(int(length) + 1):
        high = 0.8 if mm % 10 == 0 else 0.55 if mm % 5 == 0 else 0.3
        items.append(Line(((x + mm, y), (x + mm, y - high * em)), INK if mm % 5 == 0 else PALE, 0.05 * em))
        if mm % 10 == 0:
            label = f"{mm} mm" if mm == 0 else str(mm)
            items.append(Text(x + mm, y + 0.95 * em, label, 0.7 * em, INK, "middle" if mm else "start"))
    return items
