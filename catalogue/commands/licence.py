"""``letterhold licence``: evidence and sell verdict of a font, a folder or the whole catalogue."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.commands.options import as_json, open_store, print_json, progress
from catalogue.errors import UsageError
from catalogue.licence.check_record import check_record
from catalogue.licence.ledger import COLUMNS, ledger_csv, row_of
from catalogue.licence.looked import Looked, now
from catalogue.licence.shop_record import write_record
from catalogue.licence.verdict import explain, judge_font
from catalogue.permission import MAY_BE_SOLD
from catalogue.store.database import CatalogueError
from catalogue.store.font_cache import font_with_notices
from catalogue.wording import count_of
from scanner.evidence import family_and_style
from scanner.face import tidy
from scanner.files import SUFFIXES, FileError, face_count, find_fonts, read_font


@dataclass(frozen=True, slots=True)
class _Font:
    """The font a person means."""

    path: Path
    face_index: int
    shown: str
    """As it is named in the answer."""


def add_arguments(licence: argparse.ArgumentParser) -> None:
    """The options of ``licence``."""
    licence.add_argument("what", nargs="?", metavar="PATH_OR_FACE")
    licence.add_argument("--record", type=Path, metavar="OUT.zip", help="write the record for the shop")
    licence.add_argument("--shop", default="", metavar="NAME", help="who looks, for the record")
    licence.add_argument("--got-from", default="", metavar="TEXT", help="where you got the font, for the record")
    licence.add_argument("--note", default="", metavar="TEXT", help="an order or a use, for the record")
    licence.add_argument(
        "--licence-from",
        type=Path,
        metavar="FILE",
        help="a licence text you got with the font; it counts like one beside it",
    )
    licence.add_argument(
        "--verify",
        type=Path,
        metavar="RECORD.zip",
        help="check a record again: its files and, with a font, what it says today",
    )
    licence.add_argument("--csv", action="store_true", help="one CSV row a face (for a folder)")
    licence.add_argument("--ledger", type=Path, metavar="OUT.csv", help="write the verdicts of the whole catalogue")
    as_json(licence)


def run(options: argparse.Namespace) -> int:
    """Print the verdict; write the record or the ledger where asked."""
    if options.ledger:
        return _ledger(options)
    if options.verify:
        return _verify(options)
    if not options.what:
        raise UsageError("name a font, a folder or a face, as in: letterhold licence ~/fonts/Some.ttf")
    if Path(options.what).is_dir():
        return _folder(Path(options.what), options)
    font = _font(options)
    verdict = judge_font(font.path, font.face_index, None, given=options.licence_from)
    if options.record:
        looked = Looked(now(), options.note, options.shop, options.got_from)
        write_record(font.path, font.face_index, verdict, options.record, looked)
    if options.json:
        print_json({"path": font.shown, "face": font.face_index} | verdict.as_json())
    else:
        print(explain(verdict, font.shown))
        if options.record:
            print(f"record: {options.record}")
    return 0 if verdict.verdict in MAY_BE_SOLD else 1


def _verify(options: argparse.Namespace) -> int:
    """Say what changed since a record was written."""
    font = _font(options) if options.what else None
    found = check_record(options.verify, font.path if font else None, font.face_index if font else None)
    if options.json:
        print_json({"record": str(options.verify), "changed": found})
    elif found:
        print("\n".join(["Changed since the record was written:", *(f"- {line}" for line in found)]))
    else:
        looked = "; the font says the same today" if font else "; name the font to read it again"
        print(f"Unchanged: every file is the one that was written{looked}.")
    return 1 if found else 0


def _font(options: argparse.Namespace) -> _Font:
    """A file by its path, else a face of the catalogue."""
    head, _, tail = options.what.rpartition("#")
    path = Path(head or options.what)
    if path.is_file():
        try:
            face_count(read_font(path))
        except FileError as error:
            raise UsageError(f"{path}: {error}") from error
        return _Font(path, int(tail) if head and tail.isdecimal() else 0, str(path))
    with open_store(options) as store:
        try:
            face = store.find(options.what)
        except CatalogueError as error:
            if path.suffix.lower() not in SUFFIXES:
                raise
            raise UsageError(f"{path}: no such file, nor in the catalogue; check the spelling") from error
    return _Font(font_with_notices(face), face.face_index, face.path)


def _folder(folder: Path, options: argparse.Namespace) -> int:
    rows = list(_rows(folder))
    if not rows:
        raise UsageError(f"{folder}: no font could be read there; give a folder that holds fonts")
    if options.json:
        print_json([dict(zip(COLUMNS, row, strict=True)) for row in rows])
    else:
        sys.stdout.write(ledger_csv(rows))
    return 0 if all(row[-1] in MAY_BE_SOLD for row in rows) else 1


def _rows(folder: Path) -> Iterator[tuple[str, ...]]:
    """A row under ``COLUMNS`` for each face of a folder; fonts that cannot be read are reported."""
    files = list(find_fonts([folder]))
    for file in progress(files, len(files), "reading"):
        try:
            for index in range(face_count(read_font(file.path))):
                family, style = map(tidy, family_and_style(file.path, index))
                if not family:
                    raise FileError("it names no family; get the font again from its source")
                verdict = judge_font(file.path, index, folder)
                yield str(file.path), str(index), family, style, verdict.spdx or "", verdict.verdict
        except FileError as error:
            print(f"letterhold: {file.path}: {error}", file=sys.stderr)


def _ledger(options: argparse.Namespace) -> int:
    with open_store(options) as store:
        faces = [face for face in store.faces() if not face.instance]
    write_file(options.ledger, ledger_csv(map(row_of, faces)).encode())
    print(f"{count_of(len(faces), 'face')} written to {options.ledger}")
    return 0
