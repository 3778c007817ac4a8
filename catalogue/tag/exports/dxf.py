"""DXF R2010 in mm: one layer a part of the stack, closed polylines."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from catalogue.tag.colours import hex_of
from catalogue.tag.tag import Tag


@dataclass(frozen=True, slots=True)
class _Text:
    """Ready lines of a DXF file, in the place of a tag."""

    text: str
    code: int = 10

    def dxfstr(self) -> str:
        return self.text


def dxf(tag: Tag) -> bytes:
    """The tag's outlines; the same tag gives the same bytes."""
    import ezdxf
    from ezdxf.entities.lwpolyline import LWPolylinePoints

    class Outline(LWPolylinePoints):  # type: ignore[misc]
        """Points written in one piece: one tag a number takes two thirds of the whole export."""

        def dxftags(self) -> Iterator[_Text]:
            yield _Text(" 10\n%s\n 20\n%s\n" * len(self.values) % tuple(self.values[:, :2].ravel().tolist()))

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no dates, no random ids
    try:
        document = ezdxf.new("R2010", units=4)  # 4: millimetres; without it ezdxf says metres
        document.units = 4
        document.header["$MEASUREMENT"] = 1
        space = document.modelspace()
        for part in tag.layers:
            colour = int(hex_of(part.colour)[1:], 16)
            name = part.layer.upper()
            layer = document.layers.add(name, true_color=colour)
            layer.description = f"{part.bottom_mm:.3f} to {part.top_mm:.3f} mm, {part.colour}"
            for polygon in part.region.geoms:
                for ring in (polygon.exterior, *polygon.interiors):
                    points = shapely.get_coordinates(ring)[:-1]
                    line = space.add_lwpolyline([], close=True, dxfattribs={"layer": name})
                    line.lwpoints = Outline()
                    line.lwpoints.set(np.pad(points, ((0, 0), (0, 3))))  # two widths and a bulge a point
        for kind in sorted(document.entitydb.dxf_types_in_use()):
            document.classes.add_class(kind)  # the library adds them from a set: another order in another process
        out = io.StringIO()
        document.write(out)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return out.getvalue().encode(document.output_encoding, errors="dxfreplace")
