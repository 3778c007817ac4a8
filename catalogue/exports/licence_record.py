"""The licence record: one zip file that a shop keeps, to show later what was found and when.

Inside: `answer.txt` (the verdict in plain words, the date, every quote), `card.txt` (what to print, when credit is
due), `evidence.json`, `names.csv` (the font's whole name table), `checksums.txt` (SHA-256 of the font and of each file
quoted) and `licences/` (those files, byte for byte). Only `answer.txt` holds the date, and all times in the zip are
fixed, so two records differ only where something changed.
"""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
import json
import re
import zipfile
from dataclasses import dataclass
from pathlib import Path

from catalogue.text import clean, csv_cell
from catalogue.verdict import CAUTION, Verdict, explain
from catalogue.writing import write_file
from scanner.evidence import family_and_style, read_names

MAX_KEPT = 4 * 1024 * 1024  # bytes of a licence file that is kept whole; a longer one is kept by its SHA-256 only
_IN_THE_FONT = ("font", "name", "cff", "os2")  # sources whose locator is no path
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time a zip can hold (PKWARE APPNOTE 4.4.6)


@dataclass(frozen=True)
class Kept:
    """A file that evidence quotes."""

    name: str
    """Its name in the zip."""
    found_as: str
    """Its path when it was read."""
    digest: str
    """SHA-256, hexadecimal."""
    data: bytes | None
    """None when it is too long to keep."""


def write_record(
    font: Path, face_index: int, verdict: Verdict, out: Path, date: datetime.date, shop_note: str = ""
) -> None:
    """Writes the record of one face to `out`, whole or not at all.

    :raises ValueError: when `font` or the folder of `out` cannot be used; the message says what to do.
    """
    try:
        digest = _sha256(font)
    except OSError as error:
        raise ValueError(f"cannot read {font}: {error.strerror}; give a font file that you may read") from error
    files = _quoted_files(verdict)
    sums = [(kept.digest, kept.name) for kept in files if kept.data is not None]
    parts = {
        "answer.txt": _answer(font, face_index, digest, verdict, date, shop_note, files).encode(),
        "card.txt": card(verdict).encode(),
        "evidence.json": _json(font, face_index, digest, verdict, sums),
        "names.csv": _names(font, face_index),
        "checksums.txt": "".join(f"{s}  {n}\n" for s, n in [(digest, clean(font.name)), *sums]).encode(),
    } | {kept.name: kept.data for kept in files if kept.data is not None}
    write_file(out, _zipped(parts))


def card(verdict: Verdict) -> str:
    """What to print on the card or in the listing."""
    if not verdict.must_accompany:
        return "Nothing has to go with the goods, by what was found.\n"
    quotes = [e.quote for e in verdict.evidence if e.locator.startswith(("name 0", "CFF Copyright")) and e.quote]
    lines = ["Print on the card or in the listing:", *(f"- {item}" for item in verdict.must_accompany)]
    lines += ["", f"Licence: {verdict.spdx}", *(f"Author, in the font's words: {quote}" for quote in quotes[:1])]
    return "\n".join(lines) + "\n"


def _answer(
    font: Path,
    face_index: int,
    digest: str,
    verdict: Verdict,
    date: datetime.date,
    shop_note: str,
    files: list[Kept],
) -> str:
    family, style = family_and_style(font, face_index)
    head = [
        "Licence record",
        f"Font: {clean(f'{family} {style}'.strip()) or '(it names no family)'}",
        f"Font file: {clean(font.name)} (face {face_index})",
        f"SHA-256 of the font file: {digest}",
        f"Looked at on {date.isoformat()}, rules version {verdict.rules_version}",
    ]
    note = [f"Note of the shop: {clean(shop_note, 1000)}"] if shop_note else []
    told = explain(verdict, places={kept.found_as: kept.name for kept in files})
    quoted = [
        f"- {kept.name}: a copy of {clean(kept.found_as, 400)}\n  SHA-256 {kept.digest}"
        if kept.data is not None
        else f"- not kept, for it is too long: {clean(kept.found_as, 400)}\n  SHA-256 {kept.digest}"
        for kept in files
    ]
    return "\n".join(
        [
            *head,
            *note,
            "",
            told,
            "",
            "In this record",
            "- card.txt: what to print on the card or in the listing",
            "- names.csv: everything the font says of itself, with its original bytes",
            "- evidence.json: the same findings for a program",
            "- checksums.txt: SHA-256 of the font file and of the files quoted",
            *quoted,
            "Keep the font file beside this record: its SHA-256 shows later that it is the same one.",
            "",
        ]
    )


def _json(font: Path, face_index: int, digest: str, verdict: Verdict, sums: list[tuple[str, str]]) -> bytes:
    facts = {
        "file": clean(font.name),
        "face": face_index,
        "sha256": digest,
        **verdict.as_json(),
        "files": [{"name": name, "sha256": sha} for sha, name in sums],
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


def _quoted_files(verdict: Verdict) -> list[Kept]:
    """Files that evidence quotes, each once, in the order of the evidence."""
    out: list[Kept] = []
    beside = [e.locator for e in verdict.evidence if e.source not in _IN_THE_FONT]
    paths = dict.fromkeys(re.sub(r" \(Files: .*$", "", locator) for locator in beside)
    for number, place in enumerate(paths, 1):
        path = Path(place)
        name = re.sub(r"[^A-Za-z0-9._-]", "_", path.name)[:80]
        ending = "" if path.suffix else ".txt"  # LICENSE and copyright open with a click then
        try:
            if path.is_file():
                data = path.read_bytes() if path.stat().st_size <= MAX_KEPT else None
                out.append(Kept(f"licences/{number:02d}-{name}{ending}", place, _sha256(path), data))
        except OSError:
            continue  # the file went away since it was read; its quote stays in the evidence
    return out


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
