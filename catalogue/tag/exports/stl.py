"""Binary STL: one closed body, no colours, mm by convention (the format has no unit)."""

from __future__ import annotations

import struct

import numpy as np

from catalogue.tag.exports.mesh import Mesh, union
from catalogue.tag.tag import Tag

HEADER = b"letterhold, millimetres"
"""Must not start with "solid", which marks the text form."""


def stl(tag: Tag) -> bytes:
    """The whole tag with its ring as one body."""
    return stl_of(union(tag.bands))


def stl_of(mesh: Mesh) -> bytes:
    """A mesh as bytes: 84 + 50 for each triangle."""
    corners = mesh.points[mesh.triangles].astype("<f4")
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).astype(np.float64)
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, length, out=np.zeros_like(normals), where=length > 0)
    record = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    record["normal"] = normals + 0.0
    record["corners"] = corners
    return HEADER.ljust(80, b"\0") + struct.pack("<I", len(corners)) + record.tobytes()
