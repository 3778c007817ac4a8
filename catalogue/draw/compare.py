"""Chosen faces side by side: one name in each, on one millimetre scale and one baseline, the measures below. Pure.

The drawing is a scene of simple shapes: the file that the command line writes, and that the page hands out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import INK, LAYER_COLOURS, MARK, PALE, Item, Line, Scene, Shape, Text, name_items
from catalogue.judge.check import Check
from catalogue.store.database import Face
from catalogue.wording import count_of, pieces_of

TEXT_MM = 2.6
"""Height of the writing on the sheet."""

WIDEST_MM = 250.0
"""Sheets grow downwards past this width: more rows, each with its own baseline, all on one scale."""

_LABELS_MM = 29.0
_GAP_MM = 7.0
_NARROWEST_MM = 34.0
_CHARACTER = 0.56
"""Width of a letter of the sheet's writing over its height, on average."""


@dataclass(frozen=True, slots=True)
class Strip:
    """One face on the sheet: the name as measured, and what is said below it."""

    check: Check
    x_height_mm: float
    group: str
    sell: str
    """Whether goods may be sold, in words."""

    @property
    def title(self) -> str:
        """Family and style."""
        return f"{self.check.family} {self.check.style}"


def strip_of(check: Check, face: Face, sell: str) -> Strip:
    """The strip of a measured name; ``sell`` in words."""
    return Strip(check, face.x_height_em * check.em_mm, face.group or "not decided", sell)


def facts(strip: Strip) -> dict[str, str]:
    """What a strip says, in the order it is shown; lengths in mm."""
    check = strip.check
    left, bottom, right, top = _bounds(strip)
    base = max(check.layers, key=lambda layer: layer.offset_mm)
    return {
        "hold": f"{check.hold.hold} of 100, {'holds' if check.hold.holds else 'does not hold'}",
        "size": f"{right - left:.1f} by {top - bottom:.1f} mm",
        "letters apart": pieces_of(check.letter_parts),
        "join offset": f"{check.join_offset_mm:.2f} mm",
        "neck of base": f"{base.neck_mm:.2f} mm" if base.neck_mm else "none, in pieces",
        "thinnest stroke": _mm(check.thinnest_stroke_mm),
        "median stroke": _mm(check.median_stroke_mm),
        "smallest counter": _mm(check.smallest_counter_mm),
        "lacks": " ".join(check.missing_letters) or "nothing",
        "style group": strip.group,
        "may be sold": strip.sell,
    }


def _mm(value: float | None) -> str:
    return "none" if value is None else f"{value:.2f} mm"


def table(strips: Sequence[Strip]) -> list[str]:
    """The measures as lines of text, a column a face."""
    columns = [[strip.title, *facts(strip).values()] for strip in strips]
    names = ["", *facts(strips[0])]
    wide = [min(30, max(len(cell) for cell in column)) for column in columns]
    first = strips[0].check
    lines = [f"“{first.shown}”, {first.sized_by} {first.cap_height_mm:.4g} mm, {first.process}, all at one scale"]
    label = max(map(len, names))
    for k, name in enumerate(names):
        cells = (f"{_cut(column[k], w):<{w}}" for column, w in zip(columns, wide, strict=True))
        lines.append(f"{name:<{label}}  {'  '.join(cells)}".rstrip())
    return lines


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _bounds(strip: Strip) -> tuple[float, float, float, float]:
    boxes = shapely.bounds(np.asarray(strip.check.regions, dtype=object))
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def compare_scene(strips: Sequence[Strip]) -> Scene:
    """The sheet: strips side by side on a shared baseline, a ruler in mm, the measures in a column below each.

    Strips that do not fit into ``WIDEST_MM`` go to a further row on the same scale.
    """
    widths = [_width(strip) for strip in strips]
    lines = _lines(widths)
    wide = max(sum(widths[k] + _GAP_MM for k in line) for line in lines)
    width = max(_LABELS_MM + wide, 90.0)
    title = f"{strips[0].check.shown} in {count_of(len(strips), 'face')}"
    process = f"{strips[0].check.process}, lengths in mm, one scale for all"
    items: list[Item] = [
        *name_items(strips[0].check.shown, strips[0].check.as_typed, _GAP_MM, 7.0, 1.5 * TEXT_MM),
        Text(_GAP_MM, 11.5, f"in {count_of(len(strips), 'face')}; {process}", TEXT_MM, PALE),
    ]
    y = 15.0
    for line in lines:
        added, y = _row([strips[k] for k in line], [widths[k] for k in line], y)
        items += added
    return Scene(width + _GAP_MM, y, title, tuple(items))


def _width(strip: Strip) -> float:
    left, _, right, _ = _bounds(strip)
    words = max(len(cell) for cell in facts(strip).values())
    return max(_NARROWEST_MM, right - left, words * TEXT_MM * _CHARACTER)


def _lines(widths: Sequence[float]) -> list[list[int]]:
    """Which strips stand in which row."""
    lines: list[list[int]] = []
    used = 0.0
    for k, width in enumerate(widths):
        if not lines or used + width + _GAP_MM > WIDEST_MM - _LABELS_MM:
            lines.append([])
            used = 0.0
        lines[-1].append(k)
        used += width + _GAP_MM
    return lines


def _row(strips: Sequence[Strip], widths: Sequence[float], top: float) -> tuple[list[Item], float]:
    """One row of the sheet, from ``top`` down; the items and where the row ends."""
    boxes = [_bounds(strip) for strip in strips]
    rise = max(b[3] for b in boxes)
    fall = -min(0.0, *(b[1] for b in boxes))
    baseline = top + rise + 2.0
    end = _LABELS_MM + sum(widths) + _GAP_MM * (len(strips) - 1)
    items: list[Item] = [Line(((_LABELS_MM - 3, baseline), (end, baseline)), INK, 0.12)]
    items += _ruler(_LABELS_MM - 5, baseline, rise)
    table_top = baseline + fall + 7.0
    names = list(facts(strips[0]))
    for k, name in enumerate(names):
        items.append(Text(_GAP_MM, table_top + (k + 1) * 1.65 * TEXT_MM, name, TEXT_MM, PALE))
    x = _LABELS_MM
    for strip, width, (left, *_) in zip(strips, widths, boxes, strict=True):
        for height in (strip.check.cap_height_mm, strip.x_height_mm):
            if np.isfinite(height) and height > 0:
                items.append(Line(((x, baseline - height), (x + width, baseline - height)), PALE, 0.08))
        for region, fill in zip(strip.check.regions, LAYER_COLOURS, strict=False):
            items.append(Shape(_placed(region, x - left, baseline), fill, INK))
        most = int(width / (1.1 * TEXT_MM * _CHARACTER))
        items.append(Text(x, table_top, _cut(strip.title, most), 1.1 * TEXT_MM, INK))
        for k, (name, value) in enumerate(facts(strip).items()):
            bad = name == "hold" and not strip.check.hold.holds
            bad |= name == "lacks" and bool(strip.check.missing_letters)
            colour = MARK if bad else INK
            items.append(Text(x, table_top + (k + 1) * 1.65 * TEXT_MM, value, TEXT_MM, colour))
        x += width + _GAP_MM
    return items, table_top + (len(names) + 1) * 1.65 * TEXT_MM + 3.0


def _ruler(x: float, baseline: float, rise: float) -> list[Item]:
    """Millimetres above the baseline."""
    tall = int(rise)
    items: list[Item] = [Line(((x, baseline), (x, baseline - tall)), PALE, 0.1)]
    for mm in range(tall + 1):
        long = 1.8 if mm % 10 == 0 else 1.2 if mm % 5 == 0 else 0.6
        items.append(Line(((x - long, baseline - mm), (x, baseline - mm)), PALE, 0.1))
        if mm % 10 == 0:
            label = "0 mm" if mm == 0 else str(mm)
            items.append(Text(x - 2.4, baseline - mm + 0.35 * TEXT_MM, label, 0.85 * TEXT_MM, PALE, "end"))
    return items


def _placed(region: BaseGeometry, x: float, baseline: float) -> BaseGeometry:
    """A drawing with y up put on the sheet, whose y runs down."""
    return shapely.transform(region, lambda c: np.column_stack([c[:, 0] + x, baseline - c[:, 1]]))


# ── contact sheet ───────────────────────────────────────────────────────────────────────────────────────────────────

SHEET_MM = 190.0
_CAP_MM = 4.6
_CELL_MM = 30.0
_LINE_MM = 11.5


def sheet_scene(groups: Sequence[tuple[str, Sequence[tuple[str, BaseGeometry]]]]) -> Scene:
    """A contact sheet: under the title of each group a name in each of its families, all with capitals of one height.

    Each family comes with its drawing, capitals one unit high, baseline at y = 0.
    """
    across = int((SHEET_MM - 8) / _CELL_MM)
    items: list[Item] = []
    y = 4.0
    for title, families in groups:
        y += 4.5
        items.append(Text(4.0, y, title, 2.9, INK))
        items.append(Line(((4.0, y + 1.3), (SHEET_MM - 4.0, y + 1.3)), PALE, 0.12))
        y += 1.5
        for k, (family, drawing) in enumerate(families):
            if k % across == 0:
                y += _LINE_MM
            x = 4.0 + _CELL_MM * (k % across)
            left, bottom, right, _ = drawing.bounds
            # A face far wider or deeper than its capitals is drawn smaller, so that it stays in its cell.
            room = min(_CAP_MM, (_CELL_MM - 4) / (right - left), 3.5 / max(0.1, -bottom))
            items.append(
                Shape(_placed(shapely.transform(drawing, lambda c, k=room: c * k), x - left * room, y - 3.5), INK)
            )
            items.append(Text(x, y, _cut(family, 24), 1.7, PALE))
        y += 2.0
    return Scene(SHEET_MM, y + 4.0, "style groups", tuple(items))
