"""Lines of a technical drawing: dimensions, rulers, centre marks, words. SVG in millimetres, y down. Pure."""

from __future__ import annotations

from catalogue.page.markup import Html, tag, text


def ground(width: float, height: float) -> Html:
    """Paper behind a drawing."""
    return tag("rect", width=f"{width:.2f}", height=f"{height:.2f}", class_="ground")


def dimension(x: float, y: float, length: float, em: float, label: str) -> list[Html]:
    """A width: a line with ends and its value below."""
    return [
        line(x, y, x + length, y, "measure", 0.07 * em),
        *(line(x + e, y - 0.9 * em, x + e, y + 0.4 * em, "measure", 0.06 * em) for e in (0, length)),
        *(
            line(x + e - 0.3 * em, y + 0.3 * em, x + e + 0.3 * em, y - 0.3 * em, "measure", 0.12 * em)
            for e in (0, length)
        ),
        words(x + length / 2, y + 1.15 * em, label, em, "ink", "middle"),
    ]


def upright(x: float, y: float, length: float, em: float, label: str) -> list[Html]:
    """A height: a line with ends, its value along it."""
    return [
        line(x, y, x, y + length, "measure", 0.07 * em),
        *(line(x - 0.4 * em, y + e, x + 0.9 * em, y + e, "measure", 0.06 * em) for e in (0, length)),
        *(
            line(x - 0.3 * em, y + e + 0.3 * em, x + 0.3 * em, y + e - 0.3 * em, "measure", 0.12 * em)
            for e in (0, length)
        ),
        tag(
            "text", label, class_="ink", font_size=f"{em:.2f}", text_anchor="middle",
            transform=f"translate({x - 0.5 * em:.2f} {y + length / 2:.2f}) rotate(-90)",
        ),
    ]  # fmt: skip


def ruler(x: float, y: float, length: float, em: float) -> list[Html]:
    """A millimetre ruler, a number every ten."""
    out = [line(x, y, x + int(length), y, "measure", 0.06 * em)]
    for mm in range(int(length) + 1):
        tall = 0.8 if mm % 10 == 0 else 0.55 if mm % 5 == 0 else 0.3
        out.append(line(x + mm, y, x + mm, y - tall * em, "measure" if mm % 5 == 0 else "grid", 0.05 * em))
        if mm % 10 == 0:
            out.append(words(x + mm, y + 0.95 * em, f"{mm} mm" if mm == 0 else str(mm), 0.75 * em, "ink", "middle"))
    return out


def cross(x: float, y: float, size: float) -> Html:
    """Centre marks of a hole."""
    return Html(
        line(x - size, y, x + size, y, "measure", size / 12) + line(x, y - size, x, y + size, "measure", size / 12)
    )


def line(x0: float, y0: float, x1: float, y1: float, kind: str, width: float) -> Html:
    """A straight line of a width in mm."""
    return tag("line", x1=f"{x0:.2f}", y1=f"{y0:.2f}", x2=f"{x1:.2f}", y2=f"{y1:.2f}", class_=kind,
               stroke_width=f"{width:.3f}")  # fmt: skip


def circle(x: float, y: float, radius: float, kind: str, width: float) -> Html:
    """A circle; ``width`` of its line, 0 for none."""
    return tag("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius:.2f}", class_=kind, stroke_width=f"{width:.3f}")


def words(x: float, y: float, said: str, size: float, kind: str, anchor: str = "start") -> Html:
    """Words of a size in mm."""
    return tag("text", text(said), x=f"{x:.2f}", y=f"{y:.2f}", font_size=f"{size:.2f}", class_=kind, text_anchor=anchor)
