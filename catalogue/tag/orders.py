"""Many tags at once: a CSV of orders in, a folder an order out, with results, a contact sheet and a plate.

Columns, by name in the first row, in any order: ``order`` (default: the row number), ``name``, ``face`` (or "best":
the first of the ranking that holds and may be sold), ``cap_height`` or ``width``, ``colours`` (three, parted by
spaces or slashes), ``process``, ``ring``, ``quantity``, ``note``. A broken row is reported and the rest goes on.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import INK, MARK, PALE, Item, Scene, Shape, Text, name_items
from catalogue.errors import LetterholdError
from catalogue.tag.colours import hex_of
from catalogue.tag.tag import Tag
from catalogue.text import clean
from catalogue.wording import count_of

COLUMNS = ("order", "name", "face", "cap_height", "width", "colours", "process", "ring", "quantity", "note")
RESULT_COLUMNS = ("order", "name", "face", "quantity", "done", "hold", "size_mm", "mass_g", "folder", "reason", "note")
MOST_ROWS, MOST_BYTES, MOST_QUANTITY = 5000, 4 * 1024 * 1024, 1000


class OrdersError(LetterholdError):
    """An order file that cannot be read at all; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class Order:
    """One row. ``reason`` tells what is wrong with it; empty when it can be made."""

    row: int
    order: str
    name: str = ""
    face: str = "best"
    cap_height: str = ""
    width: str = ""
    colours: tuple[str, str, str] = ("navy", "sky", "cream")
    process: str = ""
    ring: str = "upper-left"
    quantity: int = 1
    """0 in a row that cannot be read."""
    note: str = ""
    reason: str = ""

    @property
    def key(self) -> str:
        """The same for two orders of the same tag, so that it is made once."""
        parts = (self.name, self.face, self.cap_height, self.width, *self.colours, self.process, self.ring)
        return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:12]


@dataclass(frozen=True, slots=True)
class Result:
    """What became of an order."""

    order: Order
    face: str = ""
    hold: int = 0
    size_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mass_g: float = 0.0
    folder: str = ""
    reason: str = ""

    @property
    def told_face(self) -> str:
        """The face it was made in, else the one that was asked for."""
        return self.face or self.order.face


def read_orders(data: bytes) -> list[Order]:
    """Orders of a CSV file's bytes. Raises OrdersError only when there is no table to read.

    >>> [o.name for o in read_orders(b"name;face\\nZo\\xc3\\xab;best\\n")]
    ['Zoë']
    """
    if len(data) > MOST_BYTES:
        raise OrdersError(f"the order file is larger than {MOST_BYTES >> 20} MB; split it")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as cause:
        line = data[: cause.start].count(b"\n") + 1
        raise OrdersError(f"the order file is not UTF-8 text (line {line}); save it as CSV UTF-8") from cause
    head = text.partition("\n")[0]
    mark = max(",;\t", key=head.count)
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=mark))
    except csv.Error as cause:
        raise OrdersError(f"the order file is no CSV table ({cause}); save it as CSV UTF-8") from cause
    names = [c.strip().casefold().replace(" ", "_") for c in rows[0]] if rows else []
    unknown = [n for n in names if n and n not in COLUMNS]
    if "name" not in names:
        raise OrdersError(f"the order file has no column 'name'; its first row names columns of {', '.join(COLUMNS)}")
    if unknown:
        raise OrdersError(f"column {clean(unknown[0])!r} is not known; use {', '.join(COLUMNS)}")
    if len(rows) - 1 > MOST_ROWS:
        raise OrdersError(f"the order file has {len(rows) - 1} rows; {MOST_ROWS} are the most, split it")
    return [
        _order(number, dict(zip(names, (c.strip() for c in row), strict=False)), len(row) > len(names))
        for number, row in enumerate(rows[1:], 2)
        if any(c.strip() for c in row)
    ]


def _order(row: int, cells: Mapping[str, str], long: bool) -> Order:
    number = cells.get("order") or str(row - 1)
    name = cells.get("name", "").replace("\\n", "\n")
    reason = ""
    quantity = cells.get("quantity") or "1"
    colours = re.split(r"[\s,/|]+", cells.get("colours") or "navy sky cream")
    if long:
        reason = "more cells than columns; put cells that hold a comma in quotes"
    elif any(c[:1] in ("=", "@") or (c[:1] in ("+", "-") and k != "note") for k, c in cells.items()):
        reason = "a cell starts like a formula; write plain text"
    elif not name:
        reason = "no name; fill the cell"
    elif not quantity.isdecimal() or not 1 <= int(quantity[:6]) <= MOST_QUANTITY:
        reason = f"quantity {clean(quantity, 20)!r} is no whole number from 1 to {MOST_QUANTITY}; correct it"
    elif len(colours) != 3:
        reason = "colours are three, for base, middle and top; write them as navy sky cream"
    elif cells.get("cap_height") and cells.get("width"):
        reason = "both cap_height and width are given; keep one"
    if reason:
        return Order(
            row, number, name, cells.get("face") or "best", quantity=0, note=cells.get("note", ""), reason=reason
        )
    return Order(
        row, number, name, cells.get("face") or "best", cells.get("cap_height", ""), cells.get("width", ""),
        (colours[0], colours[1], colours[2]), cells.get("process", ""), cells.get("ring") or "upper-left",
        int(quantity), cells.get("note", ""),
    )  # fmt: skip


def folder_name(order: Order) -> str:
    """A folder name for any order: its number and the name's plain letters.

    >>> folder_name(Order(2, "7/../x", "Zoë & Bo"))
    '7-x-zoë-bo'
    """
    text = f"{order.order}-{order.name}".casefold()
    return "-".join(re.findall(r"\w+", text))[:60] or f"row-{order.row}"


def results_csv(results: Sequence[Result]) -> str:
    """A row for each order, done or not."""
    from catalogue.text import csv_cell

    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(RESULT_COLUMNS)
    for r in results:
        o = r.order
        size = " x ".join(f"{v:.1f}" for v in r.size_mm) if not r.reason else ""
        cells = (
            o.order, o.name.replace("\n", "\\n"), r.told_face, o.quantity or "", "no" if r.reason else "yes",
            "" if r.reason else r.hold, size, "" if r.reason else f"{r.mass_g:.2f}", r.folder, r.reason, o.note,
        )  # fmt: skip
        writer.writerow([csv_cell(c) if isinstance(c, str) else c for c in cells])
    return out.getvalue()


def contact_sheet(tags: Sequence[tuple[Order, Tag, BaseGeometry]], columns: int = 5) -> Scene:
    """All tags from above on one sheet at one scale, each with its order, name and face.

    Each comes with its name as its face draws it, for names the writing font lacks letters of.
    """
    cell_w = max((t.size_mm[0] for _, t, _ in tags), default=40.0) + 8
    columns = max(1, min(columns, len(tags)))
    items: list[Item] = []
    y = 8.0
    for start in range(0, len(tags), columns):
        row = tags[start : start + columns]
        bottom = y + max(t.size_mm[1] for _, t, _ in row)
        for k, (order, tag, drawn) in enumerate(row):
            x, middle = 6 + k * cell_w + (cell_w - tag.size_mm[0]) / 2, 6 + (k + 0.5) * cell_w
            items += [Shape(_placed(p.region, x, bottom), hex_of(p.colour), INK) for p in tag.layers]
            pieces = f", {order.quantity} pieces" if order.quantity > 1 else ""
            items += name_items(clean(tag.name, 30), drawn, middle, bottom + 5.2, 3.6, "middle")
            items.append(Text(middle, bottom + 9.2, clean(tag.face, 44), 2.8, INK, "middle"))
            items.append(Text(middle, bottom + 12.8, f"order {clean(order.order, 20)}{pieces}", 2.8, PALE, "middle"))
        y = bottom + 21.0
    return Scene(columns * cell_w + 12, y - 4.0, count_of(len(tags), "tag"), tuple(items))


@dataclass(frozen=True, slots=True)
class Place:
    """Where the lower left corner of a tag goes on its plate."""

    plate: int
    x_mm: float
    y_mm: float


def plate(
    sizes: Sequence[tuple[float, float]], bed_mm: tuple[float, float] = (220.0, 220.0), spacing_mm: float = 5.0
) -> list[Place | None]:
    """Rows of boxes, the deepest first, a new plate when one is full; None for what is larger than the bed.

    >>> plate([(100, 20)] * 3, (220, 50), 5)
    [Place(plate=0, x_mm=5, y_mm=5), Place(plate=0, x_mm=110, y_mm=5), Place(plate=1, x_mm=5, y_mm=5)]
    """
    places: list[Place | None] = [None] * len(sizes)
    number, x, y, deep = 0, spacing_mm, spacing_mm, 0.0
    for k in sorted(range(len(sizes)), key=lambda k: (-sizes[k][1], -sizes[k][0], k)):
        width, depth = sizes[k]
        if width + 2 * spacing_mm > bed_mm[0] or depth + 2 * spacing_mm > bed_mm[1]:
            continue
        if x + width + spacing_mm > bed_mm[0]:
            x, y, deep = spacing_mm, y + deep + spacing_mm, 0.0
        if y + depth + spacing_mm > bed_mm[1]:
            number, x, y, deep = number + 1, spacing_mm, spacing_mm, 0.0
        places[k] = Place(number, x, y)
        x += width + spacing_mm
        deep = max(deep, depth)
    return places


def plate_scene(
    here: Sequence[tuple[Tag, float, float]], bed_mm: tuple[float, float], title: str, left_over: int = 0
) -> Scene:
    """One plate from above: tags with the places of their lower left corners."""
    items: list[Item] = [Shape(shapely.box(5, 5, 5 + bed_mm[0], 5 + bed_mm[1]), "#ffffff", PALE)]
    for tag, x, y in here:
        items += [Shape(_placed(p.region, 5 + x, 5 + bed_mm[1] - y), hex_of(p.colour), INK) for p in tag.layers]
    items.append(Text(5, bed_mm[1] + 11, f"{title}; bed {bed_mm[0]:g} × {bed_mm[1]:g} mm", 4.0, INK))
    if left_over:
        items.append(Text(5, bed_mm[1] + 17, f"{left_over} larger than the bed", 4.0, MARK))
    return Scene(bed_mm[0] + 10, bed_mm[1] + 20, title, tuple(items))


def _placed(region: BaseGeometry, x: float, bottom: float) -> BaseGeometry:
    return shapely.transform(region, lambda c: np.column_stack([c[:, 0] + x, bottom - c[:, 1]]))
