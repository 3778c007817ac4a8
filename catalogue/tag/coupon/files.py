"""All files of a coupon by name, as bytes; nothing on disk."""

from __future__ import annotations

from catalogue.draw.picture import svg
from catalogue.tag.coupon.coupon import Coupon
from catalogue.tag.coupon.picture import coupon_scene
from catalogue.tag.coupon.sheet import html
from catalogue.tag.exports.mesh import union
from catalogue.tag.exports.stl import stl_of
from catalogue.tag.exports.threemf import Placed, plate_threemf

FILES = ("coupon.3mf", "coupon.stl", "coupon.svg", "coupon.html")


def coupon_files(coupon: Coupon) -> dict[str, bytes]:
    """Bodies for the printer, the drawing to scale, and the sheet that says what to look at."""
    drawing = svg(coupon_scene(coupon))
    bodies = plate_threemf([Placed(coupon)], coupon.name), stl_of(union(coupon.bands))
    return dict(zip(FILES, (*bodies, drawing.encode(), html(coupon, drawing).encode()), strict=True))
