"""HTML for the sheets: every text is escaped here, once. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape


class Html(str):
    """Markup made by us; a plain string is text and gets escaped."""

    __slots__ = ()


def text(value: object) -> Html:
    """Escaped, unless it is markup already.

    >>> text("a < b"), text(Html("<i>c</i>"))
    ('a &lt; b', '<i>c</i>')
    """
    return value if isinstance(value, Html) else Html(escape(str(value)))


def tag(name: str, *inside: object, **attributes: object) -> Html:
    """One element; ``class_`` stands for class, other underscores for hyphens.

    >>> tag("p", "1 < 2", class_="note")
    '<p class="note">1 &lt; 2</p>'
    """
    written = "".join(f' {k.rstrip("_").replace("_", "-")}="{escape(str(v))}"' for k, v in attributes.items())
    return Html(f"<{name}{written}>{''.join(text(i) for i in inside)}</{name}>")


def join(parts: Iterable[object], between: str = "") -> Html:
    """Parts one after the other."""
    return Html(between.join(text(p) for p in parts))


def table(
    caption: str,
    head: Sequence[object],
    rows: Iterable[Sequence[object]],
    figures: Sequence[int] = (),
    stacked: bool = False,
) -> Html:
    """A ruled table; the first cell of a row is its heading, columns in ``figures`` are set right-aligned.

    A cell may be markup, such as a word beside a number. ``stacked``: on a narrow sheet the cells of a row stand under
    each other, for tables with long words.
    """

    def kind(column: int) -> dict[str, str]:
        return {"class_": "figure"} if column in figures else {}

    top = tag("thead", tag("tr", *(tag("th", h, scope="col", **kind(k)) for k, h in enumerate(head))))
    body = []
    for row in rows:
        cells = [
            tag("th", c, scope="row") if k == 0 else tag("td", c, data_label=head[k], **kind(k))
            for k, c in enumerate(row)
        ]
        body.append(tag("tr", *cells))
    made = tag("table", tag("caption", caption), top, tag("tbody", *body), class_="stack" if stacked else "ruled")
    return tag("div", made, class_="rolls", tabindex="0", role="region", aria_label=caption)


def facts(pairs: Iterable[tuple[str, object]]) -> Html:
    """Names and values, as in a drawing's title block."""
    return tag("dl", *(tag("div", tag("dt", name), tag("dd", value)) for name, value in pairs), class_="facts")


def listed(items: Iterable[object], ordered: bool = False) -> Html:
    """A list."""
    return tag("ol" if ordered else "ul", *(tag("li", i) for i in items))
