"""The files a tag is handed over as: all there, whole, and with every letter in them."""

from __future__ import annotations

import hashlib
import json
import re
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
from PIL import Image
from shapely import affinity, union_all
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from soaking import ink

FORMATS = ("svg", "dxf", "stl", "3mf", "png")


def file_faults(files: dict[str, str], folder: Path, record_promised: bool = True) -> Iterator[tuple[str, str]]:
    """Promised and missing, made and not promised, or not what its ending says."""
    there = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    promised = {str(Path(path).resolve().relative_to(folder.resolve())) for path in files.values()}
    for name in sorted(promised - there):
        yield "file promised and missing", name
    for name in sorted(there - promised):
        yield "file made and not promised", name
    for ending in FORMATS:
        if not any(name.endswith(f".{ending}") for name in there):
            yield "file promised and missing", f"nothing of format {ending}"
    if record_promised and "licence.zip" not in there:
        yield "file promised and missing", "licence.zip"
    for name in sorted(there & promised):
        try:
            _whole(folder / name)
        except Exception as reason:
            yield "damaged file", f"{Path(name).suffix}: {type(reason).__name__}: {reason}"


def digests(folder: Path) -> dict[str, str]:
    """File name to what is in it, for two runs to be compared."""
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*")) if path.is_file()
    }  # fmt: skip


def lost_ink(font: Any, name: str, folder: Path, row: dict[str, Any], em_mm: float) -> Iterator[tuple[str, str]]:
    """Every letter of a one-line, one-direction name leaves its ink in the top layer.

    The letters are shaped here, tracked and laid upon the drawing by their left upper corner. A letter of which less
    than 60 % is found there, whether the whole is as wide and high as expected or not, is lost. Tolerances from
    experience.
    """
    drawn = union_all(svg_regions(folder / "layer-top.svg"))
    expected = [
        (letter, affinity.scale(region, em_mm, -em_mm, origin=(0, 0)))
        for letter, region in ink.letters(font, name, row["tracking_em"])
    ]
    whole = union_all([region for _, region in expected])
    if whole.is_empty:
        return
    if drawn.is_empty:
        yield "letter lost", "tag: the top layer is empty"
        return
    grown = row["offsets_mm"]["top"] if row["offsets_mm"] else 0
    area = float(drawn.area / whole.area)
    if area < 0.85 and row["tracking_em"] == 0:
        yield "letter lost", f"tag: {area:.0%} of the ink expected"
    if " " in name:
        return
    left, top = drawn.bounds[0] + grown - whole.bounds[0], drawn.bounds[1] + grown - whole.bounds[1]
    near = drawn.buffer(0.15)
    for letter, region in expected:
        moved = affinity.translate(region, left, top)
        if region.area > 0 and moved.intersection(near).area < 0.6 * region.area:
            yield "letter lost", f"tag: U+{ord(letter[0]):04X} not found in the top layer"
            return


def svg_regions(path: Path) -> list[BaseGeometry]:
    """The even-odd regions of an SVG of straight paths, in its own units."""
    regions: list[BaseGeometry] = []
    for node in ElementTree.parse(path).iter("{http://www.w3.org/2000/svg}path"):
        region: BaseGeometry = Polygon()
        for part in re.findall(r"M([^MZ]+)Z?", node.get("d", "")):
            points = np.array(re.findall(r"-?\d+\.?\d*", part), dtype=float).reshape(-1, 2)
            if len(points) > 2:
                region = region.symmetric_difference(Polygon(points).buffer(0))
        regions.append(region)
    return regions


def picture_faults(path: Path) -> Iterator[tuple[str, str]]:
    """A picture or archive a command was asked to write."""
    if not path.exists():
        yield "file promised and missing", f"picture {path.suffix}"
        return
    try:
        _whole(path)
    except Exception as reason:
        yield "damaged file", f"{path.suffix}: {type(reason).__name__}: {reason}"


def _whole(path: Path) -> None:
    """Raises where the file is not what its ending says."""
    data = path.read_bytes()
    if not data:
        raise ValueError("empty")
    match path.suffix:
        case ".svg":
            if b"nan" in data or b"inf" in data.lower().replace(b"infin", b""):
                _finite_svg(data.decode())
            ElementTree.fromstring(data)
        case ".stl":
            (count,) = struct.unpack_from("<I", data, 80)
            if count == 0 or len(data) != 84 + 50 * count:
                raise ValueError(f"{count} facets in {len(data)} bytes")
            facets = np.frombuffer(data, offset=84, dtype=np.dtype([("f", "<f4", 12), ("a", "<u2")]))["f"]
            if not np.isfinite(facets).all():
                raise ValueError("a coordinate is not a number")
        case ".dxf":
            if not data.rstrip().endswith(b"EOF") or re.search(rb"^\s*-?(nan|inf)\s*$", data, re.M | re.I):
                raise ValueError("no EOF, or a coordinate is not a number")
        case ".png":
            with Image.open(path) as picture:
                picture.load()
        case ".3mf" | ".zip":
            _whole_archive(path)
        case ".json":
            json.loads(data)
        case ".html":
            if b"</html>" not in data:
                raise ValueError("cut short")


def _finite_svg(text: str) -> None:
    for value in re.findall(r'(?:d|x|y|width|height|viewBox|transform)="([^"]*)"', text):
        if re.search(r"\b(nan|inf)\b", value, re.I):
            raise ValueError(f"a coordinate is not a number: {value[:40]}")


def _whole_archive(path: Path) -> None:
    with zipfile.ZipFile(path) as archive:
        bad = archive.testzip()
        if bad:
            raise ValueError(f"{bad} is damaged")
        names = set(archive.namelist())
        if path.suffix == ".3mf":
            model = archive.read("3D/3dmodel.model")
            if b"<triangle " not in model or re.search(rb'="-?(nan|inf)', model, re.I):
                raise ValueError("no triangles, or a coordinate is not a number")
            ElementTree.fromstring(model)
        elif "evidence.json" not in names:
            raise ValueError("a licence record without its evidence")
