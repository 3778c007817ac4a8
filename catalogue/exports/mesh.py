"""Bands to closed triangle meshes: prisms between two heights, and their union for formats that know one body."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.polygon import orient

from catalogue.tag import Band, clean


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
    from manifold3d import triangulate

    rings = []
    for polygon in region.geoms:
        turned = orient(polygon)  # holes clockwise: what is solid lies to the left
        rings += [shapely.get_coordinates(r)[:-1] for r in (turned.exterior, *turned.interiors)]
    flat = np.concatenate(rings)
    count = len(flat)
    cap = np.asarray(triangulate(rings), dtype=np.int64)
    following = np.arange(1, count + 1)
    ends = np.cumsum([len(r) for r in rings])
    following[ends - 1] = ends - [len(r) for r in rings]
    here = np.arange(count)
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
    """One closed body of stacked bands. Where coordinates merged would pinch it, upper bands give way by a hair."""
    mesh = _union([prism(b.region, b.bottom_mm, b.top_mm) for b in bands])
    if is_closed(mesh):
        return mesh
    shrunk = [bands[0]] + [
        Band(b.name, b.colour, clean(shapely.buffer(b.region, -0.004 * k, join_style="mitre")), b.bottom_mm, b.top_mm)
        for k, b in enumerate(bands[1:], 1)
    ]
    return _union([prism(b.region, b.bottom_mm, b.top_mm) for b in shrunk])


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


def _union(meshes: Sequence[Mesh]) -> Mesh:
    from manifold3d import Manifold, Mesh64, OpType

    solids = [Manifold(Mesh64(m.points, m.triangles.astype(np.uint64))) for m in meshes]
    whole = Manifold.batch_boolean(solids, OpType.Add).to_mesh64()
    return _ordered(Mesh(np.asarray(whole.vert_properties)[:, :3], np.asarray(whole.tri_verts).astype(np.int64)))


def _ordered(mesh: Mesh) -> Mesh:
    """Points and triangles in one fixed order, whatever order they were computed in."""
    order = np.lexsort(mesh.points.T[::-1])
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    triangles = rank[mesh.triangles]
    first = np.argmin(triangles, axis=1)[:, None]
    triangles = np.take_along_axis(triangles, (first + np.arange(3)) % 3, axis=1)
    return Mesh(mesh.points[order], triangles[np.lexsort(triangles.T[::-1])])
