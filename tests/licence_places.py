"""Places of a font in which a sentence can stand, for statements that must never end in a yes wherever they stand.

The sentences lie in `data/licence_limits.jsonl` and `data/licence_limit_names.jsonl`, written by a hand that did not
see the tables; our own wording, common practice, no source. The fonts and makers are invented.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from catalogue.licence.verdict import Verdict, judge
from scanner.evidence import Evidence

DATA = Path(__file__).parent / "data"
GRANTS = (
    "This font is licensed under the SIL Open Font License, Version 1.1.",
    "Licensed under the Apache License, Version 2.0.",
    "MIT License",
    "CC0 1.0 Universal",
)
PLAIN = {
    1: "Brindlewick", 2: "Regular", 3: "1.002;TNHW;Brindlewick-Regular", 4: "Brindlewick Regular",
    5: "Version 1.002", 6: "Brindlewick-Regular", 0: "Copyright (c) 2019 Tannhollow Type.", 8: "Tannhollow Type",
    9: "Maren Oldquist",
}  # fmt: skip
FIELDS = {
    "licence behind": (13, "{grant} {text}"), "licence before": (13, "{text} {grant}"), "licence alone": (13, "{text}"),
    "licence, new paragraph": (13, "{grant}\r\n\r\n{text}"), "licence in brackets": (13, "{grant} ({text})"),
    "licence, middle": (13, "{grant} {text} This license is available with a FAQ at: https://openfontlicense.org"),
    "licence address": (14, "{text}"), "behind an address": (14, "https://quillmoor.example/licence {text}"),
    "copyright": (0, "Copyright (c) 2019 Tannhollow Type. {text}"), "sample": (19, "{text}"),
    "trade mark": (7, "Brindlewick is a trademark of Tannhollow Type. {text}"),
    "maker": (8, "Tannhollow Type, {text}"), "designer": (9, "Maren Oldquist. {text}"),
    "description": (10, "A friendly rounded hand. {text}"), "version": (5, "Version 1.002; {text}"),
    "maker's address": (11, "https://tannhollow.example {text}"),
    "unique": (3, "1.002;TNHW;Brindlewick-Regular;{text}"),
}  # fmt: skip
"""Name ids and what stands there; every other field says nothing but the font's name."""
NAMES = {
    "family": (1, "Brindlewick {text}"), "style": (2, "{text}"), "typographic family": (16, "Brindlewick {text}"),
    "typographic style": (17, "Regular {text}"), "full name": (4, "Brindlewick {text}"),
}  # fmt: skip
BESIDE = {
    "text beside": ("text-file", "Brindlewick, a hand by Maren Oldquist.\n\n{text}\n\nHave fun!\n"),
    "bare text beside": ("text-file", "{text}"), "licence file": ("licence-file", "{grant}\n\n{text}\n"),
    "shortcut": ("data-file", "[InternetShortcut]\r\nURL=https://tannhollow.example\r\nComment={text}\r\n"),
    "CFF notice": ("cff", "{text}"), "meta": ("meta", "{text}"),
}  # fmt: skip
PATHS = {"file": ("file-name", "Brindlewick-{text}"), "folder": ("archive-name", "{text}")}


def sentences() -> list[dict[str, str]]:
    """Sentences that limit what may be done."""
    return _rows("licence_limits.jsonl")


def near_grants() -> list[dict[str, str]]:
    """Sentences that are clear grants but for a word or two, which limit."""
    return _rows("licence_near_grants.jsonl")


def names() -> list[dict[str, str]]:
    """The same in a word or two, as they stand in names."""
    return _rows("licence_limit_names.jsonl")


def grants() -> list[dict[str, str]]:
    """Clear grants, with the answer they must come to."""
    return _rows("licence_grants.jsonl")


def _rows(name: str) -> list[dict[str, str]]:
    return [json.loads(line) for line in (DATA / name).read_text("utf-8").splitlines()]


def font(fields: dict[int, str], *more: Evidence) -> Verdict:
    """The verdict on a font with these name records, and on what lies beside it."""
    records = (PLAIN | fields).items()
    return judge((*(Evidence("name", f"name {i} (platform 3, language 0x0409)", t) for i, t in records), *more))


def placed(text: str, grant: str) -> Iterator[tuple[str, Verdict]]:
    """The verdicts on one sentence in each place of a font under a genuine grant."""
    for place, (number, form) in FIELDS.items():
        said = form.format(text=text, grant=grant)
        yield place, font({13: grant} | {number: said})
    for place, (source, form) in BESIDE.items():
        locator = "CFF Notice" if source == "cff" else "meta appl" if source == "meta" else "/f/beside"
        yield place, font({13: grant}, Evidence(source, locator, form.format(text=text, grant=grant)))


def named(text: str, grant: str) -> Iterator[tuple[str, Verdict]]:
    """The verdicts on a word in each name of a font under a genuine grant."""
    for place, (number, form) in NAMES.items():
        yield place, font({13: grant} | {number: form.format(text=text)})
    for place, (source, form) in PATHS.items():
        yield place, font({13: grant}, Evidence(source, "a name", form.format(text=text)))
