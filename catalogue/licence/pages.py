"""The answer of a record as text, as a page for a browser and as a PDF page, for whoever asks for proof. Pure."""

from __future__ import annotations

import datetime
import html
from dataclasses import dataclass

from catalogue.licence.answer import Verdict
from catalogue.licence.explain import explain
from catalogue.licence.expressions import terms_of
from catalogue.licence.looked import Looked
from catalogue.permission import MAY_BE_SOLD
from catalogue.text import clean

CONTENTS = (
    "answer.txt, answer.html, answer.pdf: this answer, for a printer and for a browser",
    "card.txt: what to print on the card or in the listing",
    "names.csv: everything the font says of itself, with its original bytes",
    "evidence.json: the same findings for a program",
    "checksums.txt: SHA-256 of the font file and of every other file in this record",
    "seal.txt: SHA-256 of checksums.txt; it stands for the whole record",
)


@dataclass(frozen=True)
class Page:
    """What a record says on its pages."""

    title: str
    file: str
    face_index: int
    digest: str
    """SHA-256 of the font file, hexadecimal."""
    looked: Looked
    got_from: tuple[str, ...]
    verdict: Verdict
    kept: tuple[str, ...]
    """A line for each licence file in the record, or for what is not in it and why."""


def head_lines(page: Page) -> list[tuple[str, str]]:
    """Facts at the top: what was looked at, when, by whom, and where it was got from."""
    rows = [
        ("Font", page.title),
        ("Font file", f"{page.file} (face {page.face_index})"),
        ("SHA-256 of the font file", page.digest),
        ("Looked at on", f"{page.looked.day()}, rules version {page.verdict.rules_version}"),
    ]
    rows += [("Looked at by", clean(page.looked.shop, 200))] if page.looked.shop else []
    rows += [("Got from", line) for line in page.got_from]
    return rows + ([("Note of the shop", clean(page.looked.note, 1000))] if page.looked.note else [])


def proof_lines(verdict: Verdict) -> list[str]:
    """What the licence's own publishers say of goods, with its address; only for a yes."""
    if verdict.verdict not in MAY_BE_SOLD:
        return []
    records = terms_of(verdict.spdx).records if verdict.spdx else ()
    out = [f"{r.title}: {r.proof} {r.proof_url}" for r in records if r.proof]
    return out + [f"{r.title}: published at {r.url} ({r.source})" for r in records if r.url and not r.proof]


def as_text(page: Page) -> str:
    """The answer as plain text."""
    proof = proof_lines(page.verdict)
    return "\n".join(
        [
            "Licence record",
            *(f"{name}: {said}" for name, said in head_lines(page)),
            "",
            explain(page.verdict),
            *(["", "What its publisher says of goods", *(f"- {line}" for line in proof)] if proof else []),
            "",
            "In this record",
            *(f"- {line}" for line in (*CONTENTS, *page.kept)),
            "Places are given from the font's folder: ../ is the folder above it.",
            "Keep the font file with this record: its SHA-256 shows later that it is the same one.",
            "",
        ]
    )


def as_html(page: Page) -> str:
    """The answer as one page of HTML without scripts or outside files."""
    rows = "".join(f"<tr><th>{_h(name)}</th><td>{_h(said)}</td></tr>" for name, said in head_lines(page))
    answer, *rest = explain(page.verdict).split("\n", 1)
    proof = "".join(f"<li>{_h(line)}</li>" for line in proof_lines(page.verdict))
    inside = "".join(f"<li>{_h(line)}</li>" for line in (*CONTENTS, *page.kept))
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Licence record: '
        f"{_h(page.title)}</title><style>{_STYLE}</style></head><body><h1>Licence record: {_h(page.title)}</h1>"
        f"<p><strong>{_h(answer)}</strong></p>"
        f"<table>{rows}</table><pre>{_h(rest[0] if rest else '')}</pre>"
        + (f"<h2>What its publisher says of goods</h2><ul>{proof}</ul>" if proof else "")
        + f"<h2>In this record</h2><ul>{inside}</ul></body></html>\n"
    )


_STYLE = (
    "body{font:16px/1.5 sans-serif;max-width:48rem;margin:2rem auto;padding:0 1rem}"
    "th{text-align:left;vertical-align:top;padding-right:1rem}td{overflow-wrap:anywhere}pre{white-space:pre-wrap}"
)


def _h(text: str) -> str:
    return html.escape(text)


def as_pdf(page: Page) -> bytes:
    """The answer as PDF; letters outside of Western Europe's are replaced, the other two files have them."""
    from fpdf import FPDF  # loaded only when a record is written

    sheet = FPDF(format="A4")
    day = page.looked.when
    moment = day if isinstance(day, datetime.datetime) else datetime.datetime(day.year, day.month, day.day)
    sheet.set_creation_date(moment if moment.tzinfo else moment.replace(tzinfo=datetime.UTC))
    sheet.set_title(_western(f"Licence record: {page.title}"))
    sheet.set_auto_page_break(True, margin=15)
    sheet.add_page()
    sheet.set_font("helvetica", "B", 15)
    sheet.multi_cell(0, 8, _western(f"Licence record: {page.title}"), new_x="LMARGIN", new_y="NEXT")
    sheet.set_font("helvetica", "", 10)
    for line in as_text(page).split("\n")[1:]:
        sheet.multi_cell(
            0, 5, _western(line) or " ", new_x="LMARGIN", new_y="NEXT", wrapmode="CHAR" if " " not in line else "WORD"
        )
    return bytes(sheet.output())


def _western(text: str) -> str:
    return text.replace("\u2026", "...").replace("\u2013", "-").encode("latin-1", "replace").decode("latin-1")
