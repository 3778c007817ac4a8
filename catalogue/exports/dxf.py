"""DXF R2010 in mm: one layer a part of the stack, closed polylines."""

from __future__ import annotations

import io

import numpy as np
import shapely

from catalogue.tag import Tag, hex_of


def dxf(tag: Tag) -> bytes:
    """The tag's outlines; the same tag gives the same bytes."""
    import ezdxf

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
                    # x, y, two widths and a bulge a point, all at once: one by one takes as long as all the rest.
                    line.lwpoints.set(np.pad(points, ((0, 0), (0, 3))))
        out = io.StringIO()
        document.write(out)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
    return out.getvalue().encode(document.output_encoding, errors="dxfreplace")
