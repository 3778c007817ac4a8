"""The answer of a record as text, as a page for a browser and as a PDF page, for whoever asks for proof. Pure."""

from __future__ import annotations

import datetime
import html
from dataclasses import dataclass

from catalogue.licence.answer import Verdict
from catalogue.licence.explain import Section, explain, sections
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

KEEP = (
    "Places are given from the font's folder: ../ is the folder above it.",
    "Keep the font file with this record: its SHA-256 shows later that it is the same one.",
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
            *KEEP,
            "",
        ]
    )


def as_html(page: Page) -> str:
    """The answer as one page of HTML without scripts or outside files; it prints well, too."""
    first, *rest = sections(page.verdict)
    answer, *facts = first.lines
    rows = [_split(line) for line in facts] + head_lines(page)
    inside = Section("In this record", tuple(map(_shown, (*CONTENTS, *page.kept))))
    proof = Section("What its publisher says of goods", tuple(proof_lines(page.verdict)))
    *told, caution = rest
    closing = "<br>".join(map(_h, (*caution.lines, *KEEP)))
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"<title>Licence record: {_h(page.title)}</title><style>{_STYLE}</style></head><body>"
        f"<p class=kind>Licence record</p><h1>{_h(page.title)}</h1>"
        f'<p class="answer {page.verdict.verdict}">{_h(answer)}</p>'
        f"<table>{''.join(f'<tr><th>{_h(name)}</th><td>{_h(said)}</td></tr>' for name, said in rows)}</table>"
        f"{''.join(map(_part, (*told, proof, inside)))}<p class=caution>{closing}</p></body></html>\n"
    )


def _split(line: str) -> tuple[str, str]:
    name, _, said = line.partition(": ")
    return name, said


def _shown(line: str) -> str:
    return ", ".join(part.strip() for part in line.split("\n"))


def _part(section: Section) -> str:
    """A heading and its list; a quote stands below its line."""
    if not section.lines:
        return ""
    quotes = section.quotes or ("",) * len(section.lines)
    items = (
        f"<li>{_h(line)}{f'<blockquote>{_h(quote)}</blockquote>' if quote else ''}</li>"
        for line, quote in zip(section.lines, quotes, strict=True)
    )
    listed = ' class="numbered"' if section.quotes else ""
    return f"<h2>{_h(section.title)}</h2><ul{listed}>{''.join(items)}</ul>"


_STYLE = (
    "body{font:16px/1.5 sans-serif;color:#222;max-width:46rem;margin:2rem auto;padding:0 1rem}"
    "h1{margin:0 0 1rem;font-size:1.7rem;overflow-wrap:anywhere}.kind{margin:0;color:#666}"
    "h2{font-size:1.05rem;margin:1.8rem 0 .4rem;border-bottom:1px solid #ccc}"
    ".answer{font-size:1.15rem;font-weight:bold;padding:.6rem .9rem;border-left:6px solid #888;background:#f3f3f3}"
    ".yes,.yes-conditions{border-color:#2f7d4f}.no{border-color:#b3362b}.ask,.unknown{border-color:#c58a13}"
    "table{border-collapse:collapse;width:100%}th,td{padding:.25rem 0;vertical-align:top;border-bottom:1px solid #eee}"
    "th{text-align:left;font-weight:normal;color:#666;width:13rem;padding-right:1rem}"
    "td,li{overflow-wrap:anywhere}ul{padding-left:1.2rem;margin:.4rem 0}li{margin:.3rem 0}"
    ".numbered{list-style:none;padding:0}blockquote{margin:.2rem 0 .6rem 1.6rem;color:#444;font-style:italic}"
    ".caution{margin-top:2rem;color:#666}@media print{body{margin:0;font-size:11pt}li,tr{break-inside:avoid}}"
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
    sheet.set_margin(18)
    sheet.add_page()

    def put(text: str, size: int = 10, style: str = "", indent: int = 0) -> None:
        sheet.set_font("helvetica", style, size)
        sheet.set_x(sheet.l_margin + indent)
        wrap = "WORD" if " " in text else "CHAR"
        sheet.multi_cell(0, size * 0.5, _western(text) or " ", new_x="LMARGIN", new_y="NEXT", wrapmode=wrap, align="L")

    def heading(text: str) -> None:
        sheet.ln(3)
        put(text, 11, "B")

    first, *rest = sections(page.verdict)
    *told, caution = rest
    put(f"Licence record: {page.title}", 16, "B")
    sheet.ln(2)
    put(first.lines[0], 12, "B")
    sheet.ln(2)
    for name, words in (*map(_split, first.lines[1:]), *head_lines(page)):
        put(f"{name}: {words}")
    proof = Section("What its publisher says of goods", tuple(proof_lines(page.verdict)))
    inside = Section("In this record", tuple(map(_shown, (*CONTENTS, *page.kept))))
    for section in (*told, proof, inside):
        if section.lines:
            heading(section.title)
        for number, line in enumerate(section.lines):
            put(line if section.quotes else f"- {line}")
            if section.quotes:
                put(f'"{section.quotes[number]}"', 10, "I", 6)
    sheet.ln(3)
    put(caution.lines[0])
    for line in KEEP:
        put(line)
    return bytes(sheet.output())


def _western(text: str) -> str:
    return text.replace("\u2026", "...").replace("\u2013", "-").encode("latin-1", "replace").decode("latin-1")
