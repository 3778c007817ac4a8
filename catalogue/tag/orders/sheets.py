"""What shows all tags of a run: the contact sheet, and plates with every piece that was ordered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import INK, MARK, PALE, Item, Scene, Shape, Text, name_items, png, svg
from catalogue.tag.colours import hex_of
from catalogue.tag.exports.threemf import Placed, plate_threemf
from catalogue.tag.orders.body import Body
from catalogue.tag.orders.order import Order
from catalogue.tag.orders.plates import plate
from catalogue.text import clean
from catalogue.wording import count_of

CONTACT_COLUMNS = 5

_EDGE_MM = 5.0
"""Room round the bed on a plate's drawing."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One order with its tag and the bed it is printed on."""

    order: Order
    body: Body
    bed_mm: tuple[float, float]


def sheet_files(shown: Sequence[Shown]) -> dict[str, bytes]:
    """Contact sheet and plates by file name.

    Tags of other colours or another process never share a plate: the colour changes at a height, for all of it.
    """
    files: dict[str, bytes] = {}
    if shown:
        sheet = contact_sheet(shown)
        files = {"contact.png": png(sheet), "contact.svg": svg(sheet).encode()}
    number = 0
    for pieces in _groups(shown).values():
        bed = pieces[0].bed_mm
        places = plate([one.body.size_mm[:2] for one in pieces], bed)
        left_over = sum(p is None for p in places)
        for k in range(max((p.plate for p in places if p is not None), default=-1) + 1):
            number += 1
            here = [
                Placed(one.body, p.x_mm, p.y_mm)
                for one, p in zip(pieces, places, strict=True)
                if p is not None and p.plate == k
            ]
            title = _plate_title(number, len(here), pieces[0].body)
            files[f"plate-{number}.svg"] = svg(plate_scene(here, bed, title, left_over)).encode()
            files[f"plate-{number}.3mf"] = plate_threemf(here, title)
    return files


def plate_count(files: Mapping[str, object]) -> int:
    """How many plates are among the files of a run."""
    return sum(name.startswith("plate-") and name.endswith(".3mf") for name in files)


def _groups(shown: Sequence[Shown]) -> dict[tuple[str, tuple[str, ...]], list[Shown]]:
    """Every piece that was ordered, by process and colours."""
    groups: dict[tuple[str, tuple[str, ...]], list[Shown]] = {}
    for one in shown:
        groups.setdefault((one.body.process, _colours(one.body)), []).extend([one] * one.order.quantity)
    return groups


def _colours(body: Body) -> tuple[str, ...]:
    return tuple(dict.fromkeys(p.colour for p in body.layers))


def _plate_title(number: int, tags: int, body: Body) -> str:
    return f"plate {number}: {count_of(tags, 'tag')}, {body.process}, {', '.join(_colours(body))}"


def contact_sheet(shown: Sequence[Shown], columns: int = CONTACT_COLUMNS) -> Scene:
    """All tags from above on one sheet at one scale, each with its order, name and face.

    Names are written as their face draws them where the writing font lacks letters.
    """
    cell_w = max((one.body.size_mm[0] for one in shown), default=40.0) + 8
    columns = max(1, min(columns, len(shown)))
    items: list[Item] = []
    y = 8.0
    for start in range(0, len(shown), columns):
        row = shown[start : start + columns]
        bottom = y + max(one.body.size_mm[1] for one in row)
        for k, one in enumerate(row):
            items += _cell_items(one, 6 + k * cell_w, bottom, cell_w)
        y = bottom + 21.0
    return Scene(columns * cell_w + 12, y - 4.0, count_of(len(shown), "tag"), tuple(items))


def _cell_items(one: Shown, left: float, bottom: float, width: float) -> list[Item]:
    order, body = one.order, one.body
    x, middle = left + (width - body.size_mm[0]) / 2, left + 0.5 * width
    pieces = f", {order.quantity} pieces" if order.quantity > 1 else ""
    return [
        *(Shape(_placed(p.region, x, bottom), hex_of(p.colour), INK) for p in body.layers),
        *name_items(clean(body.name, 30), body.lettering, middle, bottom + 5.2, 3.6, "middle"),
        Text(middle, bottom + 9.2, clean(body.face, 44), 2.8, INK, "middle"),
        Text(middle, bottom + 12.8, f"order {clean(order.order, 20)}{pieces}", 2.8, PALE, "middle"),
    ]


def plate_scene(here: Sequence[Placed[Body]], bed_mm: tuple[float, float], title: str, left_over: int = 0) -> Scene:
    """One plate from above: tags with the places of their lower left corners."""
    width, depth = bed_mm
    items: list[Item] = [Shape(shapely.box(_EDGE_MM, _EDGE_MM, _EDGE_MM + width, _EDGE_MM + depth), "#ffffff", PALE)]
    for one in here:
        items += [
            Shape(_placed(p.region, _EDGE_MM + one.x_mm, _EDGE_MM + depth - one.y_mm), hex_of(p.colour), INK)
            for p in one.tag.layers
        ]
    items.append(Text(_EDGE_MM, depth + 11, f"{title}; bed {width:g} × {depth:g} mm", 4.0, INK))
    if left_over:
        items.append(Text(_EDGE_MM, depth + 17, f"{left_over} larger than the bed", 4.0, MARK))
    return Scene(width + 10, depth + 20, title, tuple(items))


def _placed(region: BaseGeometry, x: float, bottom: float) -> BaseGeometry:
    return shapely.transform(region, lambda c: np.column_stack([c[:, 0] + x, bottom - c[:, 1]]))
