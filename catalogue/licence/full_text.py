"""The full text of a licence of which a font only gives the name: from a package on this machine, else its address."""

from __future__ import annotations

import site
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from catalogue.licence.expressions import terms_of
from catalogue.licence.judge import families_of
from catalogue.licence.texts import load_texts, texts_in
from catalogue.licence.words import words_of

COMMON = Path("/usr/share/common-licenses")
MOST_LOOKED = 20  # licence files of packages that are looked through
MOST_BYTES = 128 * 1024


@dataclass(frozen=True)
class FullText:
    """A licence's text, or where to find it."""

    spdx: str
    data: bytes | None
    """The text as a package on this machine ships it; None when there is none."""
    found_as: str
    """The file's name and its package, for people; "" when there is none."""
    address: str
    digest: str
    """SHA-256 of the published text's words in lower case, one blank between them."""


@lru_cache(maxsize=64)
def full_texts(expression: str) -> tuple[FullText, ...]:
    """One text for each licence family of an expression that has a published text."""
    out: list[FullText] = []
    for family in sorted(families_of(expression)) if expression else ():
        ids = {spdx for spdx in _ids(expression) if any(r.family == family for r in terms_of(spdx).records)}
        known = next((t for t in load_texts() if t.spdx in ids and t.role == "grant" and t.address), None)
        if known is not None:
            path = _on_this_machine(known.spdx)
            data = path.read_bytes() if path else None
            shown = f"{path.parent.name}/{path.name}" if path else ""
            out.append(FullText(known.spdx, data, shown, known.address, known.digest))
    return tuple(out)


def _ids(expression: str) -> list[str]:
    plain = expression.replace("(", " ").replace(")", " ").split()
    return [word for word in plain if word not in ("AND", "OR", "WITH")]


@lru_cache(maxsize=64)
def _on_this_machine(spdx: str) -> Path | None:
    """A file that holds the whole published text of a licence and nothing that stands in no table."""
    kind = spdx.split("-")[0].lower()
    common = [path for path in sorted(COMMON.glob("*")) if path.name.split("-")[0].lower() == kind]
    packages = (Path(folder) for folder in site.getsitepackages())
    places = common + [path for folder in packages for path in sorted(folder.glob("fontpkg_*/LICENSE"))]
    for path in places[:MOST_LOOKED]:
        try:
            if not path.is_file() or path.stat().st_size > MOST_BYTES:
                continue
            found = texts_in(words_of(path.read_text("utf-8", "replace")))
        except OSError:
            continue
        if any(f.whole and f.text.spdx == spdx and f.text.role == "grant" and len(f.text.prints) > 60 for f in found):
            return path
    return None
