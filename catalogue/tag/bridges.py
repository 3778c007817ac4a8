"""Bridges: bars of the least wall in base and middle that tie a dot, an accent or a mark to its letter. Pure; mm.

A bridge runs along the shortest line between two parts, from the middle of the stroke on one side to that on the other,
and ends round. The top layer keeps its letters. In the base it is as wide as a neck has to be, with what a print strays
to spare; in the middle a least wall, so that the stack keeps its step.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import NECK_LINES, stray_mm
from catalogue.judge.process import Process
from catalogue.tag.parts import Part

LINK_MM = 0.01
"""Width of a link where only what hangs together is asked."""

FACING_MM = 0.05
"""Places that are farther apart by less face each other as well: a bridge stands in their middle."""

FAR = 1e6
"""Times farther an accent is from any letter that is not its own: never the nearest."""

MOST_SPAN_EM = 0.35
"""No bridge is longer: a bar across half an em would be read as a stroke (our choice)."""


@dataclass(frozen=True, slots=True)
class Bridge:
    """One bridge between two parts, as it is drawn."""

    ties: str
    """What it ties to what, in words."""
    line: LineString
    length_mm: float
    """Of the gap it crosses."""


def bridges_of(parts: Sequence[Part], bridged: Sequence[tuple[int, int]], process: Process) -> tuple[Bridge, ...]:
    """The bridges between pairs of parts."""
    return tuple(_bridge(parts[a], parts[b], base_width_mm(process)) for a, b in bridged)


def base_width_mm(process: Process) -> float:
    """Width of a bridge in the base."""
    return max(process.least_wall_mm, NECK_LINES * process.line_width_mm) + stray_mm(process)


def drawn(bridges: Sequence[Bridge], width_mm: float) -> BaseGeometry:
    """The bridges as regions of a width, with round ends; empty for none."""
    if not bridges:
        return Polygon()
    return shapely.union_all([shapely.buffer(b.line, width_mm / 2) for b in bridges])


def needed(
    parts: Sequence[Part], home: NDArray[np.intp], letters_too: bool, most_mm: float
) -> tuple[tuple[int, int], ...] | None:
    """Pairs of parts to be tied so that all hang together; None where a tie is needed that no bridge may make.

    ``home`` numbers the piece of the base each part hangs on, -1 for a part that hangs on nothing. The least lines
    that connect all pieces; of these a bridge may be one at a dot, an accent or punctuation, or any with
    ``letters_too``.
    """
    pieces = [h if h >= 0 else -1 - k for k, h in enumerate(home.tolist())]
    found: list[tuple[int, int]] = []
    for a, b in _nearest_first(parts):
        if pieces[a] == pieces[b]:
            continue
        if parts[a].region.distance(parts[b].region) > most_mm:
            return None
        if not (letters_too or parts[a].mark or parts[b].mark):
            return None
        found.append((a, b))
        pieces = [pieces[a] if piece == pieces[b] else piece for piece in pieces]
    return tuple(found) if len(set(pieces)) == 1 else None


def _nearest_first(parts: Sequence[Part]) -> list[tuple[int, int]]:
    """All pairs of parts, the nearest first; an accent is near to its own letter only."""
    regions = np.asarray([p.region for p in parts], dtype=object)
    i, j = np.triu_indices(len(parts), 1)
    far = shapely.distance(regions[i], regions[j])
    letter = np.array([p.letter for p in parts])
    own = np.array([p.mark and not p.alone for p in parts])
    far = np.where((letter[i] != letter[j]) & (own[i] | own[j]), (far + 1) * FAR, far)
    order = np.argsort(far, kind="stable")
    return list(zip(i[order].tolist(), j[order].tolist(), strict=True))


def _bridge(one: Part, two: Part, width_mm: float) -> Bridge:
    a, b = _ends(one.region, two.region)
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length if length > 0 else np.array([0.0, 1.0])
    line = LineString([_inside(one.region, a, -along, width_mm), a, b, _inside(two.region, b, along, width_mm)])
    return Bridge(_words(one, two), line, length)


def _ends(one: Polygon, two: Polygon) -> NDArray[np.float64]:
    """The two ends of the shortest line between parts, shape (2, 2): its middle place where they face each other."""
    near = shapely.buffer(two, shapely.distance(one, two) + FACING_MM)
    facing = [p for p in shapely.get_parts(shapely.intersection(one.boundary, near)) if p.length > 0]
    start: BaseGeometry = one
    if facing:
        joined = shapely.line_merge(shapely.union_all(facing))
        longest = max(shapely.get_parts(joined), key=lambda line: float(line.length))
        start = longest.interpolate(0.5, normalized=True)
    ends: NDArray[np.float64] = shapely.get_coordinates(shapely.shortest_line(start, two))
    return ends


def _inside(
    region: Polygon, start: NDArray[np.float64], along: NDArray[np.float64], most_mm: float
) -> NDArray[np.float64]:
    """The middle of the stroke that begins at ``start``, at most ``most_mm`` in."""
    ray = LineString([start, start + 2 * most_mm * along])
    inside = shapely.intersection(ray, region)
    stretches = [s for s in shapely.get_parts(inside) if s.length > 0]
    first = min(stretches, key=lambda s: shapely.Point(start).distance(s), default=None)
    deep = 0.0 if first is None else first.length / 2
    return np.asarray(start + min(deep, most_mm) * along)


def _words(one: Part, two: Part) -> str:
    if one.letter == two.letter:
        accented = len(unicodedata.normalize("NFD", one.text)) > 1
        return f"the {'accent' if accented else 'dot' if one.text in ('i', 'j') else 'loose part'} of {one.text}"
    if one.mark != two.mark:
        mark, letter = (one, two) if one.mark else (two, one)
        return f"{mark.text} to {letter.text}"
    return f"{one.text} to {two.text}"
