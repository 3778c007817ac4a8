"""Regions painted into a raster: the only way from outlines to pixels in the measures."""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

Rings = tuple[NDArray[np.float64], NDArray[np.intp]]
"""Ring coordinates (n, 2) and the ring of each."""

_SHIFT = 4
"""Binary places of a pixel in OpenCV's polygon coordinates."""


def outline_of(regions: NDArray[np.object_]) -> tuple[Rings, NDArray[np.intp]]:
    """All ring coordinates with the ring of each, and the region of each ring."""
    polygons, region = shapely.get_parts(regions, return_index=True)
    rings, polygon = shapely.get_rings(polygons, return_index=True)
    return shapely.get_coordinates(rings, return_index=True), region[polygon]


def painted(
    size: tuple[int, int], outline: Rings, owner: NDArray[np.intp], scale: float, origins: NDArray[np.float64]
) -> NDArray[np.uint8]:
    """Regions filled into a raster of so many rows and columns, row 0 at the bottom, pixel centres at whole numbers.

    ``scale`` in pixels a unit; ``origins`` (regions, 2) where each region's origin stands. One call paints all regions,
    as they lie apart.
    """
    sheet = np.zeros(size, dtype=np.uint8)
    coordinates, ring = outline
    pixels = np.rint((coordinates * scale + origins[owner[ring]]) * (1 << _SHIFT)).astype(np.int32)
    cuts = np.flatnonzero(ring[1:] != ring[:-1]) + 1
    cv2.fillPoly(sheet, np.split(pixels, cuts), (1,), lineType=cv2.LINE_8, shift=_SHIFT)
    return sheet
