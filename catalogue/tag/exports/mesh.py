"""Bands to closed triangle meshes: prisms between two heights, and their union for formats that know one body."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.polygon import orient

from catalogue.tag.solids import GRID_MM, clean
from catalogue.tag.tag import Band
from scanner.regions import offset, polygons_of


@dataclass(frozen=True, slots=True)
class Mesh:
    """Points (n, 3) in mm and triangles (m, 3), counter-clockwise from outside."""

    points: NDArray[np.float64]
    triangles: NDArray[np.int64]

    @property
    def volume_mm3(self) -> float:
        """By the divergence theorem; right only for a closed mesh."""
        a, b, c = (self.points[self.triangles[:, k]] for k in range(3))
        return float((a * np.cross(b, c)).sum() / 6)


def prism(region: MultiPolygon, bottom_mm: float, top_mm: float) -> Mesh:
    """A region between two heights. Every outline point is kept, so that caps and walls share their edges."""
    rings = _rings(region)
    flat = np.concatenate(rings)
    count = len(flat)
    cap = _triangles(rings)
    here, following = _edges(rings)
    walls = np.concatenate(
        [
            np.column_stack([here, following, following + count]),
            np.column_stack([here, following + count, here + count]),
        ]
    )
    points = np.concatenate(
        [np.column_stack([flat, np.full(count, bottom_mm)]), np.column_stack([flat, np.full(count, top_mm)])]
    )
    return Mesh(points, np.concatenate([cap[:, ::-1], cap + count, walls]))


def union(bands: Sequence[Band]) -> Mesh:
    """One closed body of bands stacked from below, each inside the one under it.

    Its skin is put together from the outlines: walls, the shelves where a band is smaller than the one below, the
    caps. That takes a twentieth of a boolean of solids, which is kept for stacks that the skin would not close.
    """
    mesh = _ordered(_skin(bands))
    if is_closed(mesh):
        return mesh
    mesh = united([prism(b.region, b.bottom_mm, b.top_mm) for b in bands])
    if is_closed(mesh):
        return mesh
    # Where merged coordinates would pinch the body, upper bands give way by a hair.
    shrunk = [bands[0]] + [
        Band(b.name, b.colour, clean(offset(b.region, -0.004 * k, mitre=True)), b.bottom_mm, b.top_mm)
        for k, b in enumerate(bands[1:], 1)
    ]
    return united([prism(b.region, b.bottom_mm, b.top_mm) for b in shrunk])


def _skin(bands: Sequence[Band]) -> Mesh:
    """Walls, shelves and caps of the stack; points are not merged yet."""
    points: list[NDArray[np.float64]] = []
    triangles: list[NDArray[np.int64]] = []
    count = 0

    def add(flat: NDArray[np.float64], height: float, found: NDArray[np.int64]) -> None:
        nonlocal count
        points.append(np.column_stack([flat, np.full(len(flat), height)]))
        triangles.append(found + count)
        count += len(flat)

    all_rings = [_rings(b.region) for b in bands]
    for band, rings, above in zip(bands, all_rings, [*bands[1:], None], strict=True):
        flat = np.concatenate(rings)
        if band is bands[0]:
            add(flat, band.bottom_mm, _triangles(rings)[:, ::-1])
        here, following = _edges(rings)
        low, high = count, count + len(flat)
        add(flat, band.bottom_mm, np.empty((0, 3), dtype=np.int64))
        add(flat, band.top_mm, np.empty((0, 3), dtype=np.int64))
        triangles.append(np.column_stack([here + low, following + low, following + high]))
        triangles.append(np.column_stack([here + low, following + high, here + high]))
        shelf = rings if above is None else _shelf(band.region, above.region)
        if shelf:
            add(np.concatenate(shelf), band.top_mm, _triangles(shelf))
    return Mesh(np.concatenate(points), np.concatenate(triangles))


def _shelf(below: MultiPolygon, above: MultiPolygon) -> list[NDArray[np.float64]]:
    """Outlines of what the band above leaves open."""
    if shapely.intersects(below.boundary, above.boundary):
        left = shapely.difference(below, above, grid_size=GRID_MM)
        return _rings(MultiPolygon(polygons_of(left)))
    return [*_rings(below), *(ring[::-1] for ring in _rings(above))]


def _rings(region: MultiPolygon) -> list[NDArray[np.float64]]:
    """Outlines without their repeated end; holes clockwise: what is solid lies to the left."""
    turned = [orient(p) for p in region.geoms]
    return [shapely.get_coordinates(r)[:-1] for p in turned for r in (p.exterior, *p.interiors)]


def _edges(rings: Sequence[NDArray[np.float64]]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Start and end of every edge, as places in the concatenated rings."""
    sizes = np.array([len(r) for r in rings])
    ends = np.cumsum(sizes)
    here = np.arange(int(ends[-1]))
    following = here + 1
    following[ends - 1] = ends - sizes
    return here, following


def _triangles(rings: Sequence[NDArray[np.float64]]) -> NDArray[np.int64]:
    from manifold3d import triangulate

    found: NDArray[np.int64] = np.asarray(triangulate(list(rings))).astype(np.int64)
    return found


def is_closed(mesh: Mesh) -> bool:
    """Whether each edge has one triangle on either side, with points merged as a reader of single precision would."""
    points = np.asarray(mesh.points, dtype=np.float32)
    order = np.lexsort(points.T)
    fresh = np.concatenate([[False], (np.diff(points[order], axis=0) != 0).any(axis=1)])
    index = np.empty(len(points), dtype=np.int64)
    index[order] = np.cumsum(fresh)
    triangles = index[mesh.triangles]
    if (triangles == np.roll(triangles, 1, axis=1)).any():
        return False
    ends = np.roll(triangles, -1, axis=1)
    forward = np.sort((triangles * len(points) + ends).ravel())
    backward = np.sort((ends * len(points) + triangles).ravel())
    return bool((np.diff(forward) > 0).all() and (forward == backward).all())


def united(meshes: Sequence[Mesh]) -> Mesh:
    from manifold3d import Manifold, Mesh64, OpType

    solids = [Manifold(Mesh64(m.points, m.triangles.astype(np.uint64))) for m in meshes]
    whole = Manifold.batch_boolean(solids, OpType.Add).to_mesh64()
    return _ordered(Mesh(np.asarray(whole.vert_properties)[:, :3], np.asarray(whole.tri_verts).astype(np.int64)))


def _ordered(mesh: Mesh) -> Mesh:
    """Equal points merged, points and triangles in one fixed order, whatever order they were computed in."""
    order = np.lexsort(mesh.points.T[::-1])
    points = mesh.points[order]
    fresh = np.concatenate([[True], (np.diff(points, axis=0) != 0).any(axis=1)])
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.cumsum(fresh) - 1
    triangles = rank[mesh.triangles]
    first = np.argmin(triangles, axis=1)[:, None]
    triangles = np.take_along_axis(triangles, (first + np.arange(3)) % 3, axis=1)
    return Mesh(points[fresh], triangles[np.lexsort(triangles.T[::-1])])
