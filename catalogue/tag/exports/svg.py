"""SVG: the layers as drawings in mm for other tools, and the tag seen from above and in front."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.polygon import orient

from catalogue.draw.picture import INK, PALE, Item, Line, Patch, Scene, Shape, Text, path_data
from catalogue.tag.colours import hex_of
from catalogue.tag.ring_places import HOLE_MM, OUTER_MM
from catalogue.tag.tag import Tag, TagLayer
from catalogue.text import clean

MARGIN_MM = 2.0


def layer_svg(tag: Tag, part: TagLayer) -> str:
    """One layer, filled black, at its place on the sheet of the whole tag."""
    return _sheet(tag, [(part, "#000000")], f"{clean(tag.name)}: {part.layer}")


def all_svg(tag: Tag) -> str:
    """Every layer in its colour, each a group of its own."""
    return _sheet(tag, [(p, hex_of(p.colour)) for p in tag.layers], clean(tag.name))


def _sheet(tag: Tag, parts: list[tuple[TagLayer, str]], title: str) -> str:
    width, height = tag.size_mm[0] + 2 * MARGIN_MM, tag.size_mm[1] + 2 * MARGIN_MM
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm"'
        f' viewBox="0 0 {width:.3f} {height:.3f}">',
        f"<title>{escape(title)}</title>",
    ]
    for part, fill in parts:
        placed = shapely.transform(
            part.region, lambda c: np.column_stack([c[:, 0] + MARGIN_MM, tag.size_mm[1] + MARGIN_MM - c[:, 1]])
        )
        out.append(f'<g id="{part.layer}"><path fill="{fill}" fill-rule="evenodd" d="{path_data(placed)}"/></g>')
    return "\n".join([*out, "</svg>\n"])


# ── seen from above and in front ────────────────────────────────────────────────────────────────────────────────────

TURN_DEG, RISE_DEG = 14.0, 52.0
"""The tag turned on the table, and the height of the eye over it."""

SHADES = 7


@dataclass(frozen=True, slots=True)
class View:
    """A parallel projection, x right and y down on the sheet."""

    turn_deg: float = TURN_DEG
    rise_deg: float = RISE_DEG

    def flat(self, points: NDArray[np.float64], height_mm: float) -> NDArray[np.float64]:
        """Points of the plan at a height, on the sheet."""
        a, b = np.radians(self.turn_deg), np.radians(self.rise_deg)
        across = points[:, 0] * np.cos(a) - points[:, 1] * np.sin(a)
        away = points[:, 0] * np.sin(a) + points[:, 1] * np.cos(a)
        return np.column_stack([across, -(away * np.sin(b) + height_mm * np.cos(b))])


def preview(tag: Tag, dimensions: bool = True) -> Scene:
    """The printed tag with its sizes. Bands are painted upwards, walls from the back to the front: exact for stacks."""
    view = View()
    order: list[Patch | Shape] = []
    for band in tag.bands:
        colour = hex_of(band.colour)
        region = shapely.simplify(band.region, PREVIEW_MM)
        painted = walls(region, band.bottom_mm, band.top_mm, view, colour)
        flat = shapely.transform(region, lambda c, z=band.top_mm: view.flat(c, z))
        # The lower of two bands in one colour needs no edge of its own where the upper one covers it.
        order += [*painted, Shape(flat, colour, _mixed(colour, "#000000", 0.45))]
    corners = view.flat(np.array([[x, y] for x in (0, tag.size_mm[0]) for y in (0, tag.size_mm[1])], dtype=float), 0.0)
    drawn = [s.points if isinstance(s, Patch) else shapely.get_coordinates(s.region) for s in order]
    points = np.concatenate([corners, *drawn])
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    em = max(1.5, min(3.0, (x1 - x0) / 30), (x1 - x0) / 44)
    left, head, foot = 2.2 * em, 1.8 * em, (6.4 if dimensions else 1.6) * em
    right = (7.0 if dimensions else 2.2) * em
    width, height = x1 - x0 + left + right, y1 - y0 + head + foot
    spare = max(0.0, 33 * em - width) if dimensions else 0.0
    shift = np.array([left + spare / 2 - x0, head - y0])
    items: list[Item] = [
        Patch(s.points + shift, s.fill)
        if isinstance(s, Patch)
        else Shape(shapely.transform(s.region, lambda c: c + shift), s.fill, s.edge)
        for s in order
    ]
    if dimensions:
        items += _dimensions(tag, view, shift, em, height)
    width += spare
    return Scene(float(width), float(height), f"{clean(tag.name)} in {clean(tag.face)}", tuple(items))


PREVIEW_MM = 0.02
"""How far a drawn outline may stray: half a pixel of the picture."""

CHAIN_MM = 0.8
"""How far from front to back one piece of wall may reach. Longer ones have no single place in the order of painting,
and a wall at the back would show in front of another."""


def walls(region: MultiPolygon, bottom: float, top: float, view: View, colour: str) -> list[Patch]:
    """Walls that face the eye, neighbours of one shade as one patch, the farthest first."""
    turn = np.radians(view.turn_deg)
    found: list[tuple[float, Patch]] = []
    fills = [_mixed(colour, "#000000", 0.5 - 0.34 * k / (SHADES - 1)) for k in range(SHADES)]
    for polygon in region.geoms if isinstance(region, MultiPolygon) else [region]:
        turned = orient(polygon)
        for ring in (turned.exterior, *turned.interiors):
            points = _split(shapely.get_coordinates(ring), turn)
            run = np.diff(points, axis=0)
            length = np.maximum(np.hypot(run[:, 0], run[:, 1]), 1e-9)
            # Outward normal of a counter-clockwise ring, turned as the tag is: towards the eye where it points down.
            nx, ny = run[:, 1] / length, -run[:, 0] / length
            facing = -(nx * np.sin(turn) + ny * np.cos(turn))
            side = nx * np.cos(turn) - ny * np.sin(turn)
            light = 0.5 + 0.5 * np.clip(0.75 * facing - 0.55 * side, -1, 1)
            shade = np.where(facing > 1e-6, np.rint(light * (SHADES - 1)).astype(int), -1)
            away = points[:, 0] * np.sin(turn) + points[:, 1] * np.cos(turn)
            low, high = view.flat(points, bottom), view.flat(points, top)
            for start, end, middle in _runs(shade.tolist(), away.tolist()):
                outline = np.concatenate([low[start : end + 1], high[start : end + 1][::-1]])
                found.append((middle, Patch(outline, fills[shade[start]])))
    return [patch for _, patch in sorted(found, key=lambda f: -f[0])]


def _split(points: NDArray[np.float64], turn: float) -> NDArray[np.float64]:
    """A closed outline with points added, so that no edge reaches farther back than ``CHAIN_MM``."""
    away = points[:, 0] * np.sin(turn) + points[:, 1] * np.cos(turn)
    count = np.maximum(1, np.ceil(np.abs(np.diff(away)) / CHAIN_MM)).astype(int)
    if (count == 1).all():
        return points
    edge = np.repeat(np.arange(len(count)), count)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)) / count[edge]
    inner = points[edge] + share[:, None] * (points[edge + 1] - points[edge])
    return np.concatenate([inner, points[-1:]])


def _runs(shades: list[int], away: list[float]) -> list[tuple[int, int, float]]:
    """Runs of edges of one shade that reach back no farther than ``CHAIN_MM``: start, end and how far back."""
    runs: list[tuple[int, int, float]] = []
    start, low, high = 0, away[0], away[0]
    for k, shade in enumerate([*shades, -2]):
        if k < len(shades):
            a, b = min(low, away[k + 1]), max(high, away[k + 1])
        if k > start and (shade != shades[start] or b - a > CHAIN_MM):
            if shades[start] >= 0:
                runs.append((start, k, (low + high) / 2))
            if k == len(shades):
                break
            start, a, b = k, min(away[k], away[k + 1]), max(away[k], away[k + 1])
        low, high = a, b
    return runs


def _dimensions(tag: Tag, view: View, shift: NDArray[np.float64], em: float, height: float) -> list[Item]:
    width, depth, tall = tag.size_mm

    def at(x: float, y: float, z: float = 0.0) -> tuple[float, float]:
        place = view.flat(np.array([[x, y]]), z)[0] + shift
        return float(place[0]), float(place[1])

    gap = 1.2 * em
    items: list[Item] = []
    a, b = at(0, -gap), at(width, -gap)
    items += [Line((at(0, -0.3 * gap), at(0, -1.3 * gap)), PALE, 0.06 * em)]
    items += [Line((at(width, -0.3 * gap), at(width, -1.3 * gap)), PALE, 0.06 * em), Line((a, b), INK, 0.07 * em)]
    items.append(Text((a[0] + b[0]) / 2, (a[1] + b[1]) / 2 + 1.3 * em, f"{width:.1f} mm", em, INK, "middle"))
    c, d = at(width + gap, 0), at(width + gap, depth)
    items += [Line((at(width + 0.3 * gap, y), at(width + 1.3 * gap, y)), PALE, 0.06 * em) for y in (0, depth)]
    items += [Line((c, d), INK, 0.07 * em)]
    items.append(Text((c[0] + d[0]) / 2 + 0.5 * em, (c[1] + d[1]) / 2 + 0.9 * em, f"{depth:.1f} mm", em, INK))
    heights = ", ".join(f"{p.layer} to {p.top_mm:g}" for p in tag.layers)
    lines = (
        f"heights in mm: {heights}; {tall:g} in all",
        f"ring {OUTER_MM:g} / {HOLE_MM:g} mm, bond {tag.ring.bond_mm:.2f} mm",
    )
    items += [Text(2.2 * em, height - (2.4 - 1.35 * k) * em, text, 0.8 * em, INK) for k, text in enumerate(lines)]
    return items


def _mixed(one: str, two: str, share: float) -> str:
    parts = [round(int(one[k : k + 2], 16) * (1 - share) + int(two[k : k + 2], 16) * share) for k in (1, 3, 5)]
    return "#" + "".join(f"{p:02x}" for p in parts)
