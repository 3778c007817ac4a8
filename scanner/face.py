"""One opened face: who it is and what it measures. Pure: bytes in, records out."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import NamedTuple

from scanner.coverage import runs_of
from scanner.measuring import measure
from scanner.names import one_line
from scanner.reasons import FontError, Reason
from scanner.records import FaceRecord
from scanner.shaping import Shaper

MOST_INSTANCES = 512
"""Instances of one face; a table can claim 65,535 (common practice, no source)."""

WEIGHT_NAMES = (
    "thin", "hairline", "extralight", "ultralight", "light", "regular", "book", "normal", "medium", "semibold",
    "demibold", "bold", "extrabold", "ultrabold", "black", "heavy",
)  # fmt: skip
"""Style names that are weights alone: the instances scanned by default (OpenType wght names)."""


def open_faces(data: bytes, face_index: int) -> Shaper:
    """Open one face and refuse what has no letters to cut. Raises FontError with the reason."""
    shaper = Shaper(data, face_index)
    if not shaper.has_outlines:
        tags = shaper.table_tags
        raise FontError(
            Reason.BITMAPS if tags & {"EBDT", "CBDT", "sbix", "bdat"}
            else Reason.COLOURS if tags & {"COLR", "SVG "}
            else Reason.NO_OUTLINES
        )  # fmt: skip
    return shaper


def instances(shaper: Shaper, every: bool) -> list[tuple[str, dict[str, float]]]:
    """The instances to scan: the default first, then the named weights (or every named instance)."""
    chosen: list[tuple[str, dict[str, float]]] = [("", {})]
    if not shaper.axes():
        return chosen
    default = {axis.tag: axis.default for axis in shaper.axes()}
    places = {tuple(default.items())}
    labels = {""}
    for label, place in ((tidy(label), place) for label, place in shaper.named_instances()):
        plain = label.lower().replace(" ", "").replace("-", "")
        key = tuple(place.items())
        if key in places or label in labels or not (every or plain in WEIGHT_NAMES):
            continue
        places.add(key)
        labels.add(label)  # two instances of one name would be one row
        chosen.append((label, place))
        if len(chosen) == MOST_INSTANCES:
            break
    return chosen


class Identity(NamedTuple):
    """What a face calls itself, made fit to show."""

    family: str
    style: str
    version: str


def identify(shaper: Shaper) -> Identity:
    """Names from the name table: typographic ones (16, 17) before the older ones (1, 2)."""
    family = tidy(shaper.name(16)) or tidy(shaper.name(1)) or "unnamed"
    style = tidy(shaper.name(17)) or tidy(shaper.name(2)) or "Regular"
    return Identity(family, style, tidy(shaper.name(5)))


def tidy(text: str, most: int = 200) -> str:
    """A font's own words made fit to show: no control, direction, surrogate or unassigned characters, bounded."""
    return one_line(text[: 8 * most])[:most]


def record_face(
    data: bytes,
    path: str,
    face_index: int,
    instance: str,
    coordinates: dict[str, float],
    words: Sequence[str],
) -> FaceRecord:
    """Measure one instance of one face; a face that cannot be measured comes back with the reason."""
    start = time.process_time()
    shaper = Shaper(data, face_index, coordinates)
    family, style, version = identify(shaper)
    reason = ""
    measures = None
    try:
        measures = measure(shaper, words)
    except FontError as error:
        reason = str(error)
    mapped = shaper.unicodes
    return FaceRecord(
        path, face_index, instance, dict(coordinates), family, instance or style, version,
        bool(shaper.axes()), len(mapped), measures, reason, time.process_time() - start, runs_of(mapped),
    )  # fmt: skip
