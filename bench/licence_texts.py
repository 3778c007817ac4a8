"""Writes `fonts_licenses/texts/*.toml`: fingerprints of published licence texts, never the texts.

    python bench/licence_texts.py FOLDER

FOLDER holds one JSON file a licence with its `licenseText`, as the npm package `spdx-license-list` ships them in its
`licenses/` (`npm pack spdx-license-list`, unpack). Parts that stand alone in fonts (a notice, a disclaimer) are cut out
of the same texts by their first and last words. Wordings that are not on the list are read from files that are given
behind FOLDER as NAME=FILE, such as a copyright file of a Debian package.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
import textwrap
import tomllib
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.licence.texts import SLOT, fingerprint, packed
from catalogue.licence.words import words_of

PARTS = Path(__file__).with_name("licence_texts.toml")
OUT = Path(__file__).resolve().parent.parent / "fonts_licenses" / "texts"
PLACEHOLDER = re.compile(r"<[^<>\n:/@]{2,60}>|\[(?:yyyy|year|name of copyright owner|fullname)\]")
MARK = "slotslotslot"


@dataclass(frozen=True)
class Cut:
    """One text to write."""

    name: str
    source: str
    spdx: str
    role: str
    first: str
    last: str


def cuts() -> list[Cut]:
    """What the list asks for."""
    rows = tomllib.loads(PARTS.read_text("utf-8"))["text"]
    return [
        Cut(r["name"], r["source"], r["spdx"], r.get("role", "grant"), r.get("first", ""), r.get("last", ""))
        for r in rows
    ]


def prints_of(text: str, first: str = "", last: str = "") -> tuple[tuple[int, ...], str]:
    """Fingerprints and digest of a text, or of the part between its first and last words.

    :raises ValueError: when the part is not there.
    """
    words = words_of(PLACEHOLDER.sub(f" {MARK} ", text))
    low = list(words.low)
    start = _place(low, first, 0) if first else 0
    stop = _place(low, last, start) + len(words_of(last).low) if last else len(low)
    kept = low[start:stop]
    prints = tuple(SLOT if w == MARK else p for w, p in zip(kept, fingerprint(words)[start:stop], strict=True))
    joined = tuple(p for at, p in enumerate(prints) if p != SLOT or at == 0 or prints[at - 1] != SLOT)
    said = " ".join(w for w in kept if w != MARK)
    return joined, hashlib.sha256(said.encode()).hexdigest()


def _place(low: list[str], wanted: str, start: int) -> int:
    want = list(words_of(wanted).low)
    for at in range(start, len(low)):
        if low[at : at + len(want)] == want:
            return at
    raise ValueError(f"not in the text: {wanted}")


def entry(cut: Cut, text: str, address: str) -> str:
    """A text as TOML."""
    prints, digest = prints_of(text, cut.first, cut.last)
    lines = "\n".join(textwrap.wrap(packed(prints), 116))
    return (
        f'[[text]]\nname = "{cut.name}"\nspdx = "{cut.spdx}"\nrole = "{cut.role}"\nwords = {len(prints)}\n'
        f'address = "{address}"\ndigest = "{digest}"\nprints = """\n{lines}"""\n'
    )


def main() -> None:
    """Writes one file a source."""
    folder, given = Path(sys.argv[1]), dict(a.split("=", 1) for a in sys.argv[2:])
    rows: dict[str, list[str]] = {}
    for cut in cuts():
        if cut.source.startswith("@"):
            path = given.get(cut.source[1:])
            if path is None:
                print(f"{cut.name}: left as it is; give {cut.source[1:]}=FILE to write it again")
                continue
            text, address = Path(path).read_text("utf-8", "replace"), ""
        else:
            text = json.loads((folder / f"{cut.source}.json").read_text("utf-8"))["licenseText"]
            address = f"https://spdx.org/licenses/{cut.source}.html"
        try:
            rows.setdefault(cut.source.strip("@"), []).append(entry(cut, text, address))
        except ValueError as error:
            raise SystemExit(f"{cut.name}: {error}") from error
    OUT.mkdir(exist_ok=True)
    head = "# Fingerprints, sixteen bits a word; written by bench/licence_texts.py from the published text.\n"
    for source, entries in rows.items():
        (OUT / f"{source.lower()}.toml").write_text(head + "\n".join(entries), "utf-8")
    print(f"{sum(map(len, rows.values()))} texts in {len(rows)} files")


if __name__ == "__main__":
    main()
