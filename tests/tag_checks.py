"""What others say about a finished tag: libraries that read its files, and a print simulated in pixels.

Used by the tests for a sample and by ``bench/tag_numbers.py`` for every face. Each check returns the faults it
found as short sentences, none when all is well.
"""

from __future__ import annotations

import io
import tempfile
from pathlib import Path

import ezdxf
import lib3mf
import numpy as np
import shapely
import trimesh
from lxml import etree
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry
from skimage.measure import label
from skimage.morphology import isotropic_erosion

from catalogue.tag.colours import hex_of
from catalogue.tag.ring_places import HOLE_MM, OUTER_MM
from catalogue.tag.tag import Tag
from scanner.regions import polygons_of

PX_MM = 0.05
"""A pixel of the simulated print: a ninth of a 0.45 mm line."""


def paint(
    region: BaseGeometry, frame: tuple[float, float, float, float] | None = None
) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Pixels whose centre lies in the region, and the place of pixel (0, 0) in mm, x first.

    Even-odd: every edge flips all pixels to the right of where it crosses a row.
    """
    low, high = np.array(frame or region.bounds).reshape(2, 2) + np.array([[-2], [2]]) * PX_MM
    columns, rows = (np.ceil((high - low) / PX_MM).astype(int) + 1).tolist()
    flips = np.zeros((rows, columns + 1), dtype=np.int32)
    for polygon in polygons_of(region):
        for ring in (polygon.exterior, *polygon.interiors):
            points = (np.asarray(ring.coords) - low) / PX_MM
            at, end = points[:-1], points[1:]
            first = np.ceil(np.minimum(at[:, 1], end[:, 1])).astype(int)
            count = np.ceil(np.maximum(at[:, 1], end[:, 1])).astype(int) - first
            edge = np.repeat(np.arange(len(at)), count)
            row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
            slope = (end[edge, 0] - at[edge, 0]) / (end[edge, 1] - at[edge, 1])
            np.add.at(flips, (row, np.ceil(at[edge, 0] + (row - at[edge, 1]) * slope).astype(int)), 1)
    assert not (flips.sum(axis=1) % 2).any()
    return np.cumsum(flips, axis=1)[:, :-1] % 2 == 1, low


def print_faults(tag: Tag) -> list[str]:
    """The outline on the bed, painted and shrunk as far as two lines allow: letters and ring stay on one piece.

    The pixels' centres miss the outline by up to half a pixel on either side, so a pixel less is taken off.
    """
    found = []
    need_mm = 2 * tag.process.line_width_mm
    picture, origin = paint(tag.outline)
    left = label(isotropic_erosion(picture, (need_mm / 2 - PX_MM) / PX_MM), connectivity=2)
    angle = np.pi / 4 * np.arange(8)
    wall_mm = (OUTER_MM + HOLE_MM) / 4
    ring = np.array([tag.ring.x_mm, tag.ring.y_mm]) + wall_mm * np.column_stack([np.cos(angle), np.sin(angle)])
    at = np.rint((np.concatenate([tag.seeds, ring]) - origin) / PX_MM).astype(int)
    on = left[at[:, 1], at[:, 0]]
    if len(set(on[: len(tag.seeds)].tolist())) != 1 or not on[0]:
        found.append("print: letters come apart when shrunk by a line")
    elif set(on.tolist()) != {int(on[0])}:
        found.append("print: the ring comes off when shrunk by a line")
    # A tip thinner than a pixel may show as a pixel of its own; a piece is at least a line wide.
    pieces = np.bincount(label(picture, connectivity=2).ravel())[1:] * PX_MM**2
    if (pieces > tag.process.line_width_mm**2).sum() != 1:
        found.append("print: more than one piece on the bed")
    for below, above in zip(tag.bands, tag.bands[1:], strict=False):
        frame = shapely.union_all([shapely.box(*below.region.bounds), shapely.box(*above.region.bounds)]).bounds
        over = paint(above.region, frame)[0] & ~paint(below.region, frame)[0]
        # A single row of pixels is their own roughness; four in a square are an overhang.
        if (over[1:, 1:] & over[1:, :-1] & over[:-1, 1:] & over[:-1, :-1]).any():
            found.append(f"print: {above.name} hangs over {below.name}")
    return found


def stl_faults(tag: Tag, data: bytes) -> list[str]:
    """Read back by trimesh, equal coordinates merged: one closed body of the right size and volume."""
    body = trimesh.load(io.BytesIO(data), file_type="stl")
    found = []
    if not (body.is_watertight and body.is_winding_consistent):
        found.append("STL: not closed")
    if body.body_count != 1:
        found.append(f"STL: {body.body_count} bodies")
    if abs(body.volume / tag.volume_mm3 - 1) > 1e-5:  # coordinates in single precision
        found.append(f"STL: volume {body.volume:.4f} for {tag.volume_mm3:.4f}")
    if np.abs(body.extents - tag.size_mm).max() > 1e-4:
        found.append(f"STL: size {body.extents} for {tag.size_mm}")
    return found


def threemf_faults(tag: Tag, data: bytes) -> list[str]:
    """Read strictly by lib3mf: no warning, millimetres, colours; each body closed with equal coordinates merged."""
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "tag.3mf"
        path.write_bytes(data)
        try:
            reader.ReadFromFile(str(path))
        except lib3mf.ELib3MFException as error:
            return [f"3MF: refused ({error})"]
    found = [f"3MF: {reader.GetWarning(k)}" for k in range(reader.GetWarningCount())]
    if model.GetUnit() != lib3mf.ModelUnit.MilliMeter:
        found.append("3MF: not in millimetres")
    objects = model.GetMeshObjects()
    volumes, names = 0.0, []
    while objects.MoveNext():
        body = objects.GetCurrentMeshObject()
        names.append(body.GetName())
        if not body.IsManifoldAndOriented():
            found.append(f"3MF: {body.GetName()} not manifold")
        points = np.array([p.Coordinates[:] for p in body.GetVertices()])
        triangles = np.array([t.Indices[:] for t in body.GetTriangleIndices()])
        merged = trimesh.Trimesh(points, triangles, process=True)
        if not (merged.is_watertight and merged.is_winding_consistent):
            found.append(f"3MF: {body.GetName()} not closed")
        volumes += merged.volume
    if names != [b.name for b in tag.bands]:
        found.append(f"3MF: bodies {names}")
    if abs(volumes / tag.volume_mm3 - 1) > 1e-5:
        found.append(f"3MF: volume {volumes:.4f} for {tag.volume_mm3:.4f}")
    groups = model.GetBaseMaterialGroups()
    colours = {}
    while groups.MoveNext():
        group = groups.GetCurrentBaseMaterialGroup()
        for number in group.GetAllPropertyIDs():
            colour = group.GetDisplayColor(number)
            colours[group.GetName(number)] = f"#{colour.Red:02x}{colour.Green:02x}{colour.Blue:02x}"
    if colours != {b.colour: hex_of(b.colour) for b in tag.bands}:
        found.append(f"3MF: colours {colours}")
    return found


def dxf_faults(tag: Tag, data: bytes) -> list[str]:
    """Audited by ezdxf: no error, millimetres, a closed line for each outline."""
    document = ezdxf.read(io.StringIO(data.decode()))
    found = [f"DXF: {e.message}" for e in document.audit().errors]
    if document.units != 4:
        found.append("DXF: not in millimetres")
    lines = sum(1 + len(p.interiors) for part in tag.layers for p in polygons_of(part.region))
    if len(document.modelspace().query("LWPOLYLINE")) != lines:
        found.append("DXF: outlines missing")
    return found


def svg_faults(tag: Tag, data: bytes) -> list[str]:
    """Parsed as XML: millimetres, and the width of the tag with its margin."""
    root = etree.fromstring(data)
    wide = float(root.get("viewBox").split()[2])
    if root.get("width") != f"{wide:.3f}mm" or abs(wide - 4 - tag.size_mm[0]) > 1e-3:
        return [f"SVG: width {root.get('width')}"]
    return []


def faults(tag: Tag, files: dict[str, bytes]) -> list[str]:
    """All of them, for the files that are there, by their names."""
    found = print_faults(tag)
    for name, check in (
        ("tag.stl", stl_faults), ("tag.3mf", threemf_faults), ("tag.dxf", dxf_faults), ("all.svg", svg_faults)
    ):  # fmt: skip
        if name in files:
            found += check(tag, files[name])
    return found
