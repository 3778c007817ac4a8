"""Pieces, gaps and the join curve.

The number of pieces after an outward offset r is ``1 + count(edge > 2 r)`` over the edges of the pieces' minimum
spanning tree (a minimum spanning tree is a minimum bottleneck spanning tree), so the sorted edges answer every
question of the form "one piece at this offset?".
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.regions import polygons_of


def spanning_edges(pieces: Sequence[BaseGeometry]) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Minimum spanning tree over the least distances between pieces.

    Returns the n - 1 edge lengths, longest first, in the unit of the pieces, and an array (n - 1, 2) of the pieces
    each edge joins. Prim's algorithm: n is the number of letters, so the full matrix is small.
    """
    count = len(pieces)
    if count < 2:
        return np.empty(0), np.empty((0, 2), dtype=np.intp)
    array = np.asarray(pieces, dtype=object)
    i, j = np.triu_indices(count, 1)
    # Prepared once as a set: shapely only uses GEOS's indexed distance for prepared left operands.
    shapely.prepare(array)
    distance = np.full((count, count), np.inf)
    distance[i, j] = distance[j, i] = shapely.distance(array[i], array[j])
    best = distance[0].copy()
    parent = np.zeros(count, dtype=np.intp)
    best[0] = np.inf
    out = np.zeros(count, dtype=bool)
    out[0] = True
    edges = np.empty(count - 1)
    ends = np.empty((count - 1, 2), dtype=np.intp)
    for k in range(count - 1):
        node = int(np.argmin(best))
        edges[k], ends[k] = best[node], (parent[node], node)
        out[node] = True
        closer = (distance[node] < best) & ~out
        best[closer] = distance[node][closer]
        parent[closer] = node
        best[node] = np.inf
    order = np.argsort(-edges, kind="stable")
    return edges[order], ends[order]


def sparse_edges(count: int, ends: NDArray[np.intp], lengths: NDArray[np.float64]) -> list[float]:
    """Spanning-tree edges from a list of possible ones, shape (m, 2), that connects all pieces; longest first.

    Kruskal's algorithm in plain Python: a word has about fifteen short lists, for which array calls cost more.
    """
    home = list(range(count))
    edges: list[float] = []
    pairs = ends.tolist()
    for k in np.argsort(lengths, kind="stable").tolist():
        a, b = pairs[k]
        while home[a] != a:
            a = home[a]
        while home[b] != b:
            b = home[b]
        if a != b:
            home[a] = b
            edges.append(float(lengths[k]))
    return edges[::-1]


def join_edges(region: BaseGeometry) -> NDArray[np.float64]:
    """Edges of the join curve of a region, longest first; empty when it is one piece."""
    return spanning_edges(polygons_of(region))[0]


def join_offset(region: BaseGeometry) -> float:
    """The smallest outward offset that makes the region one piece: half the longest edge.

    >>> from shapely.geometry import MultiPolygon, box
    >>> join_offset(MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)]))
    0.5
    >>> join_offset(box(0, 0, 1, 1))
    0.0
    """
    edges = join_edges(region)
    return float(edges[0]) / 2 if len(edges) else 0.0


def pieces_at(edges: NDArray[np.float64], radius: float) -> int:
    """Pieces after an outward offset of ``radius``, from the sorted edges."""
    return 1 + int(np.count_nonzero(edges > 2 * radius))


def pair_gaps(
    first: NDArray[np.object_],
    second: NDArray[np.object_],
    shift: NDArray[np.float64],
    rise: NDArray[np.float64] | float = 0.0,
) -> NDArray[np.float64]:
    """Least distances between ``first[k]`` and ``second[k]`` moved right by ``shift[k]`` and up by ``rise[k]``.

    The regions are moved in bulk: one coordinate array, one addition. One by one in Python it took ten times as long.
    """
    coordinates, owner = shapely.get_coordinates(second, return_index=True)
    coordinates += np.column_stack([shift, np.broadcast_to(rise, shift.shape)])[owner]
    moved = shapely.set_coordinates(second.copy(), coordinates)
    gaps: NDArray[np.float64] = shapely.distance(first, moved)
    return gaps
