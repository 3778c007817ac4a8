"""What became of a batch of orders, as a table with a picture a row. Reads the pictures of finished tags."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path

from catalogue.page.markup import Html, join, table, tag
from catalogue.text import clean
from catalogue.wording import count_of

MOST_PICTURED = 60
HEAD = ("order", "name", "tag", "verdict", "letters", "size, mass, or why not", "note")


def results_table(rows: Sequence[Mapping[str, str]], folder: Path) -> Html:
    """A row an order; ``folder`` holds the folders of the tags."""
    lines = []
    for number, r in enumerate(rows):
        ok = r["done"] == "yes"
        name = clean(r["name"].replace("\\n", " / "), 60)
        verdict = tag("span", f"made, hold {r['hold']}", class_="good") if ok else tag("span", "not made", class_="bad")
        picture: object = ""
        if ok and number < MOST_PICTURED:
            picture = _picture(folder / Path(r["folder"]).name / "all.svg", f"{name} in {r['face']}")
        pieces = count_of(int(r["quantity"]), "piece") if r["quantity"].isdecimal() else ""
        outcome = f"{r['size_mm']} mm, {r['mass_g']} g, {pieces}" if ok else clean(r["reason"], 240)
        lines.append((clean(r["order"], 30), name, picture, verdict, clean(r["face"], 60), outcome,
                      clean(r["note"], 120)))  # fmt: skip
    note = tag(
        "p", "The download holds results.csv, contact.png and plate drawings, and a folder an order with 3MF, SVG, job"
        " sheet and licence record.", class_="note",
    )  # fmt: skip
    return join([table("Every order", HEAD, lines, stacked=True), note])


def _picture(path: Path, words: str) -> Html:
    """A drawing as an image of its own: what a name may hold cannot reach the page."""
    try:
        data = base64.b64encode(path.read_bytes()).decode()
    except OSError:
        return Html("")
    return Html(f'<img src="data:image/svg+xml;base64,{data}" alt="{escape(words)}">')
