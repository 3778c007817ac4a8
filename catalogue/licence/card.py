"""What to print on the card or in the listing, as it can be printed. Pure."""

from __future__ import annotations

from catalogue.licence.expressions import terms_of
from catalogue.licence.verdict import Verdict
from catalogue.permission import MAY_BE_SOLD
from catalogue.text import clean

_TITLES = ("name 16 ", "name 1 ", "name 4 ")
_AUTHORS = ("name 9 ", "name 8 ")
_SOURCES = ("name 12 ", "name 11 ")


def card(verdict: Verdict, title: str = "", source: str = "") -> str:
    """The text of the card; for a credit the title, author, source, licence and that the letters were changed.

    Creative Commons Attribution 4.0, section 3(a)(1), names these five.
    """
    if verdict.verdict not in MAY_BE_SOLD:
        return "Nothing to print while the answer is not a yes.\n"
    if not verdict.must_accompany:
        return "Nothing has to go with the goods, by what was found.\n"
    notice = _first(verdict, ("name 0", "CFF Copyright"))
    author = _first(verdict, _AUTHORS) or notice
    record = next(iter(terms_of(verdict.spdx).records), None)
    lines = [f"Letters: {title or _first(verdict, _TITLES) or 'the font named in this record'}"]
    lines += [f"Author: {author}"] if author else []
    where = source or _first(verdict, _SOURCES)
    lines += [f"Source: {where}"] if where else []
    lines += [f"Licence: {verdict.spdx}" + (f", {record.url}" if record and record.url else "")]
    lines += ["The letters were thickened and joined for this object."]
    asked = ["Print on the card or in the listing:", *(f"- {item}" for item in verdict.must_accompany)]
    credit = [f"Author, in the font's words: {notice}"] if notice else []
    return "\n".join([*asked, "", "As it can be printed:", *lines, *credit]) + "\n"


def _first(verdict: Verdict, starts: tuple[str, ...]) -> str:
    for start in starts:
        for item in verdict.evidence:
            if item.locator.startswith(start) and item.quote:
                return clean(item.quote, 300)
    return ""
