"""A record checked again later: whether its files are the ones that were written, and what the font says today."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Any

from catalogue.errors import LetterholdError
from catalogue.licence.verdict import judge_font

MOST_BYTES = 64 * 1024 * 1024  # unpacked, of one file in a record


def check_record(record: Path, font: Path | None = None, face_index: int | None = None) -> list[str]:
    """What changed since a record was written, a line each; [] when nothing did.

    With a font it is read again and compared with what the record says of it.

    :raises ValueError: when the file is no record; the message says what to do.
    """
    parts = _parts(record)
    found = _altered(parts)
    if font is not None:
        found += _compared(parts, font, face_index)
    return found


def _parts(record: Path) -> dict[str, bytes]:
    try:
        with zipfile.ZipFile(record) as archive:
            if any(entry.file_size > MOST_BYTES for entry in archive.infolist()):
                raise LetterholdError(f"{record}: a file in it is larger than any record's; give the record itself")
            parts = {name: archive.read(name) for name in archive.namelist()}
    except (OSError, zipfile.BadZipFile, RuntimeError) as error:
        raise LetterholdError(f"{record}: it cannot be read as a record; give the zip that --record wrote") from error
    if "checksums.txt" not in parts or "evidence.json" not in parts:
        raise LetterholdError(f"{record}: it is no licence record; give the zip that --record wrote")
    return parts


def _sums(parts: dict[str, bytes]) -> list[tuple[str, str]]:
    """Digest and name of each line of `checksums.txt`."""
    lines = parts["checksums.txt"].decode("utf-8", "replace").splitlines()
    return [(digest, name) for digest, _, name in (line.partition("  ") for line in lines) if name]


def _altered(parts: dict[str, bytes]) -> list[str]:
    seal = parts.get("seal.txt", b"").decode("utf-8", "replace").split(" ")[0].strip()
    out = []
    if seal != hashlib.sha256(parts["checksums.txt"]).hexdigest():
        out.append("seal.txt does not fit checksums.txt: the record was changed after it was written")
    listed = {name: digest for digest, name in _sums(parts)[1:]}
    for name, digest in listed.items():
        if name not in parts:
            out.append(f"{name} is missing from the record")
        elif hashlib.sha256(parts[name]).hexdigest() != digest:
            out.append(f"{name} was changed after the record was written")
    extra = sorted(set(parts) - set(listed) - {"checksums.txt", "seal.txt"})
    return out + [f"{name} was added to the record" for name in extra]


def _compared(parts: dict[str, bytes], font: Path, face_index: int | None) -> list[str]:
    facts: dict[str, Any] = json.loads(parts["evidence.json"])
    try:
        digest = hashlib.sha256(font.read_bytes()).hexdigest()
    except OSError as error:
        raise LetterholdError(f"cannot read {font}: {error.strerror}; give the font file of the record") from error
    now = judge_font(font, int(facts.get("face", 0)) if face_index is None else face_index)
    out = (
        []
        if digest == facts.get("sha256")
        else [f"{font.name} is not the font file of the record: its SHA-256 differs"]
    )
    for key, word, today in (
        ("verdict", "answer", now.verdict),
        ("spdx", "licence", now.spdx),
        ("rules_version", "rules", now.rules_version),
    ):
        if facts.get(key) != today:
            out.append(f"{word}: {facts.get(key) or 'none'} in the record, {today or 'none'} today")
    then = {entry["quote"] for entry in facts.get("evidence", ()) if entry.get("claim")}
    told = {item.quote for item in now.evidence if item.claim}
    out += [f'no longer found: "{quote}"' for quote in sorted(then - told)]
    return out + [f'found today and not in the record: "{quote}"' for quote in sorted(told - then)]
