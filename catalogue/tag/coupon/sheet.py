"""The coupon's sheet as one HTML page: how to print it, what to look at, where to enter what came out."""

from __future__ import annotations

from html import escape

from catalogue.tag.cautions import CAUTIONS
from catalogue.tag.coupon.coupon import Coupon
from catalogue.tag.coupon.sizes import size_text
from catalogue.tag.printing import PRINT_MODEL

LOOK = (
    ("walls", "A wall came out when it stands over its whole length, is solid, and stays on under a fingernail."),
    ("gaps", "Hold the coupon against a lamp. A gap came out when light passes over most of its length."),
    ("holes", "A hole came out when light passes through it."),
)  # fmt: skip
"""What counts as printed well."""

NECKS = (
    "Bend each tab once with two fingers, and keep your eyes away from it. A tag's necks are two lines wide at least,"
    " {two:.2f} mm here: if one as wide as that snaps at once, print slower or warmer before you change anything else."
)
MEASURE = (
    "With a caliper, measure the wall marked {widest}. Half of what it is off is how far outlines stray; a ring hole of"
    " {hole:.2f} mm that came out smaller strays the same way."
)


def html(coupon: Coupon, drawing: str) -> str:
    """The page: self-contained, ``drawing`` (SVG) in it, no script."""
    process, sizes = coupon.process, coupon.sizes
    width, depth, height = coupon.size_mm
    steps = {"walls": sizes.walls_mm, "gaps": sizes.gaps_mm, "holes": sizes.holes_mm}
    return "\n".join([
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        f"<title>{escape(coupon.name)}</title><style>{_STYLE}</style></head><body>",
        "<h1>A coupon for your printer</h1>",
        f"<p>Made for {escape(process.name)}: {width:.0f} × {depth:.0f} × {height:g} mm, {coupon.mass_g:.1f} g, about"
        f" {coupon.print_minutes:.0f} minutes.</p>",
        drawing,
        "<h2>Print</h2>",
        f"<p>Lay it flat, in one colour, layers of {process.layer_height_mm:g} mm, solid, with the filament and the"
        " settings you use for tags. Numbers are millimetres.</p>",
        "<h2>Look, and tick what came out</h2>",
        *(f"<p>{escape(text)}</p>{_boxes(kind, steps[kind])}" for kind, text in LOOK),
        f"<p>{escape(NECKS.format(two=2 * process.line_width_mm))}</p>",
        f"<p>{escape(measure_text(coupon))}</p>",
        "<h2>Enter it</h2>",
        "<p>On the page under <i>My printer</i>, or as a command with the sizes that came out, for example:</p>",
        f"<pre>{escape(example(coupon))}</pre>",
        "<h2>Mind</h2>", "<ul>", *(f"<li>{escape(c)}</li>" for c in CAUTIONS), "</ul>",
        f"<p class=small>Minutes: {escape(PRINT_MODEL)}. Sizes of the steps: common practice, no published source.</p>",
        "</body></html>\n",
    ])  # fmt: skip


def measure_text(coupon: Coupon) -> str:
    """What to measure, in words."""
    from catalogue.tag.ring_places import HOLE_MM

    return MEASURE.format(widest=size_text(coupon.sizes.walls_mm[-1]), hole=HOLE_MM)


def example(coupon: Coupon) -> str:
    """The command that saves what came out of an ordinary print."""
    process, sizes = coupon.process, coupon.sizes
    lists = (
        ("walls", sizes.walls_mm, process.least_wall_mm), ("gaps", sizes.gaps_mm, process.least_gap_mm),
        ("holes", sizes.holes_mm, process.opening_mm),
    )  # fmt: skip
    parts = [f"--{kind} {','.join(f'{mm:g}' for mm in steps if mm >= least)}" for kind, steps, least in lists]
    return f"letterhold process save my-printer --like {process.name} {' '.join(parts)}"


def _boxes(kind: str, steps: tuple[float, ...]) -> str:
    cells = "".join(f"<td>{size_text(mm)}<br>☐</td>" for mm in steps)
    return f"<table><tr><th>{kind}</th>{cells}</tr></table>"


_STYLE = (
    "body{font:15px/1.45 Georgia,serif;color:#22313f;background:#fbfaf6;max-width:48rem;margin:2rem auto;padding:0 1em}"
    "h1{font-size:2rem;margin:0}h2{font-size:1rem;border-top:1px solid #22313f;padding-top:.4rem;margin:1.4rem 0 .3rem}"
    "svg{width:100%;height:auto}pre{white-space:pre-wrap}table{border-collapse:collapse;margin:.2rem 0 .8rem}"
    "th,td{text-align:center;padding:.15rem .7rem;border-bottom:1px solid #c9cdd1}th{font-weight:normal}"
    ".small{font-size:.85em}@media print{body{margin:0}}"
)
