"""The licence record: one zip file that a shop keeps, to show later what was found and when.

Inside: `answer.txt`, `answer.html` and `answer.pdf` (the verdict in plain words, the day, where the font was got from,
every quote), `card.txt` (what to print, when credit is due), `evidence.json`, `names.csv` (the whole name table),
`licences/` (the files quoted, byte for byte, and the licence's full text where the font gives only its name),
`checksums.txt` (SHA-256 of the font and of each of these, as `sha256sum --check` reads it) and `seal.txt` (SHA-256 of
`checksums.txt`). Only the answer, and so its digests, changes with the day, and all times in the zip are fixed: two
records differ only where something changed. No file says where the fonts lie on the shop's disk, for a shop gives the
record away.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import re
import zipfile
from dataclasses import dataclass, replace
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.errors import LetterholdError
from catalogue.licence.card import card
from catalogue.licence.full_text import full_texts
from catalogue.licence.looked import Looked, got_from
from catalogue.licence.pages import Page, as_html, as_pdf, as_text
from catalogue.licence.verdict import CAUTION, Verdict
from catalogue.permission import MAY_BE_SOLD
from catalogue.text import clean, csv_cell
from scanner.evidence import family_and_style, read_names

MAX_KEPT = 4 * 1024 * 1024  # bytes of a licence file that is kept whole; a longer one is kept by its SHA-256 only
_IN_THE_FONT = ("font", "name", "cff", "os2", "meta")  # sources whose locator is no path
_SHARED = 3  # parts of a path that font and file must share (as in `/home/jo`) to be told one from the other
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time a zip can hold (PKWARE APPNOTE 4.4.6)


@dataclass(frozen=True)
class Kept:
    """A file that evidence quotes."""

    name: str
    """Its name in the zip."""
    found_as: str
    """Its path when it was read; it does not go into the record."""
    place: str
    """The same from the font's folder, as `OFL.txt` or `../OFL.txt`."""
    digest: str
    """SHA-256, hexadecimal."""
    data: bytes | None
    """None when it is too long to keep."""


def write_record(font: Path, face_index: int, verdict: Verdict, out: Path, looked: Looked) -> None:
    """Writes the record of one face to `out`, whole or not at all.

    :raises ValueError: when `font` or the folder of `out` cannot be used; the message says what to do.
    """
    write_file(out, record_bytes(font, face_index, verdict, looked))


def record_bytes(font: Path, face_index: int, verdict: Verdict, looked: Looked) -> bytes:
    """The record of one face as the bytes of a zip.

    :raises ValueError: when `font` cannot be read; the message says what to do.
    """
    try:
        digest = _sha256(font)
    except OSError as error:
        raise LetterholdError(f"cannot read {font}: {error.strerror}; give a font file that you may read") from error
    files = _quoted_files(verdict, font)
    verdict = _without_paths(verdict, files, font)
    family, style = family_and_style(font, face_index)
    title = clean(f"{family} {style}".strip())
    texts = [] if any(kept.data for kept in files) else _texts(verdict)
    page = Page(
        title=title or "(it names no family)",
        file=clean(font.name),
        face_index=face_index,
        digest=digest,
        looked=looked,
        got_from=tuple(got_from(font, looked)),
        verdict=verdict,
        kept=tuple(_told(kept) for kept in files) + tuple(line for _, _, line in texts),
    )
    parts = {
        "answer.txt": as_text(page).encode(),
        "answer.html": as_html(page).encode(),
        "answer.pdf": as_pdf(page),
        "card.txt": card(verdict, title).encode(),
        "evidence.json": _json(page, files),
        "names.csv": _names(font, face_index),
    }
    parts |= {kept.name: kept.data for kept in files if kept.data is not None}
    parts |= {name: data for name, data, _ in texts if data is not None}
    sums = [(digest, clean(font.name)), *((hashlib.sha256(data).hexdigest(), name) for name, data in parts.items())]
    checksums = "".join(f"{s}  {n}\n" for s, n in sums).encode()
    seal = f"{hashlib.sha256(checksums).hexdigest()}  checksums.txt\n".encode()
    return _zipped(parts | {"checksums.txt": checksums, "seal.txt": seal})


def _told(kept: Kept) -> str:
    if kept.data is None:
        return f"not kept, for it is too long: {clean(kept.place, 400)}\n  SHA-256 {kept.digest}"
    return f"{kept.name}: a copy of {clean(kept.place, 400)}\n  SHA-256 {kept.digest}"


def _texts(verdict: Verdict) -> list[tuple[str, bytes | None, str]]:
    """Name in the zip, bytes and line of each licence's full text, or of its address when it is not on this machine."""
    out: list[tuple[str, bytes | None, str]] = []
    for text in full_texts(verdict.spdx) if verdict.verdict in MAY_BE_SOLD else ():
        name = f"licences/full-text-{text.spdx}.txt"
        if text.data is not None:
            digest = hashlib.sha256(text.data).hexdigest()
            out.append(
                (name, text.data, f"{name}: the licence's full text, as {text.found_as} has it\n  SHA-256 {digest}")
            )
        else:
            line = f"the full text of {text.spdx} is published at {text.address}\n  SHA-256 of its words {text.digest}"
            out.append((name, None, line))
    return out


def _json(page: Page, files: list[Kept]) -> bytes:
    facts = {
        "file": page.file,
        "face": page.face_index,
        "sha256": page.digest,
        "got_from": list(page.got_from),
        **page.verdict.as_json(),
        "files": [
            {"name": kept.name if kept.data is not None else "", "place": clean(kept.place, 400), "sha256": kept.digest}
            for kept in files
        ],
        "caution": CAUTION,
    }
    return (json.dumps(facts, ensure_ascii=False, indent=1) + "\n").encode()


def _names(font: Path, face_index: int) -> bytes:
    """The name table as CSV: shown text cleaned, the original bytes in hexadecimal beside it."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["name_id", "platform", "encoding", "language", "text", "bytes_hex"])
    for platform, encoding, language, name_id, raw, text in read_names(font, face_index):
        cells = [name_id, platform, encoding, f"0x{language:04x}", clean(text, 2000)]
        table.writerow([csv_cell(cell) for cell in cells] + [raw.hex()])
    return out.getvalue().encode()


def _quoted_paths(verdict: Verdict) -> tuple[str, ...]:
    """Paths of the files that evidence quotes, each once, in the order of the evidence."""
    beside = [e.locator for e in verdict.evidence if e.source not in _IN_THE_FONT]
    return tuple(dict.fromkeys(locator.partition(" (Files: ")[0] for locator in beside))


def _quoted_files(verdict: Verdict, font: Path) -> list[Kept]:
    out: list[Kept] = []
    for number, found_as in enumerate(_quoted_paths(verdict), 1):
        path = Path(found_as)
        name = re.sub(r"[^A-Za-z0-9._-]", "_", path.name)[:80]
        ending = "" if path.suffix else ".txt"  # LICENSE and copyright open with a click then
        try:
            if path.is_file():
                data = path.read_bytes() if path.stat().st_size <= MAX_KEPT else None
                kept = f"licences/{number:02d}-{name}{ending}"
                out.append(Kept(kept, found_as, _place(found_as, font), _sha256(path), data))
        except OSError:
            continue  # the file went away since it was read; its quote stays in the evidence
    return out


def _place(path: str, font: Path) -> str:
    """A path as seen from the font's folder; its name alone where that would name folders of somebody's."""
    folder, full = os.path.dirname(os.path.abspath(font)), os.path.abspath(path)
    shared = os.path.commonpath([folder, full])
    return os.path.relpath(full, folder) if len(Path(shared).parts) >= _SHARED else os.path.basename(full)


def _without_paths(verdict: Verdict, files: list[Kept], font: Path) -> Verdict:
    """The verdict with each path told as the copy in the record, else as a place seen from the font's folder."""
    shown = {path: _place(path, font) for path in _quoted_paths(verdict)}
    shown |= {kept.found_as: kept.name for kept in files if kept.data is not None}
    longest = sorted(filter(os.path.isabs, shown), key=len, reverse=True)  # a path may begin like another one

    def told(text: str) -> str:
        for path in longest:
            text = text.replace(path, shown[path])
        return text

    return replace(
        verdict,
        evidence=tuple(
            e if e.source in _IN_THE_FONT else replace(e, locator=told(e.locator)) for e in verdict.evidence
        ),
        conflicts=tuple(map(told, verdict.conflicts)),
        reasons=tuple(map(told, verdict.reasons)),
    )


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _zipped(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, data in parts.items():
            entry = zipfile.ZipInfo(name, _EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            entry.create_system = 3  # the same bytes on every system
            archive.writestr(entry, data)
    return out.getvalue()
