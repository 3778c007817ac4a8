"""Fonts of an address, copied here and scanned as files; the records then bear the addresses.

Everything that reads a font, or looks next to it for its licence, works on files. So what lies in a store is copied
first: some fonts at a time, with the files next to them that may speak of a licence, in folders like those of the
store. A name that is no plain path is refused.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

from scanner.evidence import MAX_TAIL, MAX_TEXT
from scanner.files import FontFile, batches, shown_path
from scanner.reasons import MOST_BYTES, Reason
from scanner.records import FileRecord
from scanner.workers.scratch import Scratch
from scanner.workers.steps import Settings
from scanner.workers.stores import asked, opened, rest
from scanner.workers.supervisor import scan_files

BATCH = 16
"""Fonts a worker process that are copied at a time: at most 1 GiB each on the disk, some MB of ordinary fonts."""

FETCHING = 8
"""Files fetched at once: a store answers in some hundredths of a second, however small the file."""


def mirror(
    files: Sequence[FontFile], folder: Path, known: Mapping[str, bytes] = MappingProxyType({})
) -> tuple[list[FontFile], list[tuple[FontFile, Reason]]]:
    """Copy fonts and what lies next to them into ``folder``; the copies, and what could not be copied and why.

    ``known`` holds the bytes of fonts, by address, that need not be fetched. Raises FileError when the store is away,
    OSError when the disk is full.
    """
    notes: dict[str, int] = {}
    names: dict[str, None] = {}
    for file in files:
        for beside in file.source.beside if file.source else ():
            notes |= {f"{beside.folder}/{name}": size for name, size in beside.notes}
            names |= dict.fromkeys(f"{beside.folder}/{name}" for name in beside.fonts)
    for url in names:  # what the fonts there are called says whose licence a text is
        _place(folder, url, b"")
    with ThreadPoolExecutor(FETCHING) as pool:
        for url, text in zip(notes, pool.map(_text, notes, notes.values())):
            if isinstance(text, bytes):
                _place(folder, url, text)
        kept, refused = [], []
        for few in batches(files, FETCHING):  # some at a time, for a font may have 64 MB
            for file, data in zip(few, pool.map(lambda f: known.get(f.name) or _bytes(f), few)):
                path = _place(folder, file.name, data) if isinstance(data, bytes) else data
                if isinstance(path, Reason):
                    refused.append((file, path))
                else:
                    kept.append(replace(file, path=path))
    return kept, refused


def _bytes(file: FontFile) -> bytes | Reason:
    """A font's bytes, if they are as many as the listing says."""
    if file.size > MOST_BYTES:
        return Reason.LARGE
    return _read(file.name, file.size) if _plain(file.name) else Reason.PATH


def _text(url: str, size: int) -> bytes | Reason:
    """The parts of a text that the evidence looks at: its start, and the end of a long one."""
    if not _plain(url):
        return Reason.PATH
    if size < 0:
        return _text_of_any_size(url)
    if size <= MAX_TEXT:
        return _read(url, size)
    head, tail = _read(url, size, 0, MAX_TEXT), _read(url, size, max(MAX_TEXT, size - MAX_TAIL), size)
    return head + tail if isinstance(head, bytes) and isinstance(tail, bytes) else Reason.UNREAD


def _text_of_any_size(url: str) -> bytes | Reason:
    """These parts where the store gives no size; of a text beyond the bytes of the largest font only the start."""
    head = _read(url, -1, 0, MAX_TEXT + 1)
    if isinstance(head, Reason) or len(head) <= MAX_TEXT:
        return head
    whole = _read(url, -1)
    rest = whole[MAX_TEXT:] if isinstance(whole, bytes) else b""
    return head[:MAX_TEXT] + rest[-MAX_TAIL:]


def _read(url: str, size: int, start: int = 0, end: int | None = None) -> bytes | Reason:
    """Bytes from ``start`` to ``end``, or all; one more is asked for, so that a file that has grown is noticed."""
    if size == 0:
        return b""
    fs, key = opened(url)
    most = (MOST_BYTES if size < 0 else size) + 1  # a size below 0: the store gives none

    def read() -> bytes | Reason:
        try:
            return bytes(fs.cat_file(key, start=start, end=most if end is None else end))
        except FileNotFoundError:
            return Reason.GONE
        except PermissionError:
            return Reason.SHUT

    data = asked(url, read)
    if isinstance(data, Reason):
        return data
    if size < 0:
        return Reason.LARGE if len(data) > MOST_BYTES else data
    return data if len(data) == (size if end is None else end - start) else Reason.CHANGING


def _place(folder: Path, url: str, data: bytes) -> Path | Reason:
    """Write one copy at its place below ``folder``; never outside it."""
    if not _plain(url):
        return Reason.PATH
    path = copied_to(folder, url)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except OSError as error:
        if error.errno in (errno.ENAMETOOLONG, errno.ENOTDIR, errno.EISDIR, errno.EEXIST, errno.EINVAL):
            return Reason.PATH  # a store may have "a" next to "a/b"
        raise
    return path


def copied_to(folder: Path, url: str) -> Path:
    """Where the copy of an address lies below a folder."""
    return folder / url.partition("://")[0] / rest(url)


def _plain(url: str) -> bool:
    parts = rest(url).split("/")
    return not any(p in ("", ".", "..") or "\0" in p or "\\" in p for p in parts) and shown_path(url) == url


# ── scanning ────────────────────────────────────────────────────────────────────────────────────────────────────────


def scan_anywhere(files: Iterable[FontFile], settings: Settings, workers: int = 0) -> Iterator[FileRecord]:
    """As ``scan_files``; fonts of a store are copied to a temporary folder first, batch by batch."""
    files = list(files)
    here = [f for f in files if f.source is None]
    if here:
        yield from scan_files(here, settings, workers)
    for batch in batches([f for f in files if f.source is not None], BATCH * (workers or os.cpu_count() or 1)):
        with Scratch() as folder:
            copies, refused = mirror(batch, folder)
            yield from (FileRecord(f.name, f.size, f.mtime_ns, "", (), str(reason)) for f, reason in refused)
            names = {str(f.path): f for f in copies}
            tops = dict.fromkeys(copied_to(folder, f.source.root) for f in copies if f.source)
            for record in scan_files(copies, replace(settings, roots=tuple(tops)), workers):
                yield _addressed(record, names[record.path], str(folder))


def _addressed(record: FileRecord, file: FontFile, folder: str) -> FileRecord:
    """A copy's record as that of the font in its store."""
    scheme = file.name.partition("://")[0]
    before = file.name.removesuffix(rest(file.name))
    text = json.dumps(record.verdicts, ensure_ascii=False).replace(f"{folder}/{scheme}/", before)
    verdicts = {int(index): verdict for index, verdict in json.loads(text).items()}
    faces = tuple(replace(face, path=file.name) for face in record.faces)
    return replace(record, path=file.name, faces=faces, verdicts=verdicts)
