"""Fonts of an address (``s3://bucket/fonts``): listed and copied here; the only importer of ``fsspec``.

Everything that reads a font, or looks beside it for its licence, works on files. So what lies in a store is copied
first: some fonts at a time, with the files beside them that may speak of a licence, in folders like those of the store.
Copies are measured as any other file, and the records then bear the addresses. What a file may take is decided by the
listing, before anything is fetched; a name that is no plain path is refused. A scan of a folder reads nothing above it.
For one font alone (its address, or a later command's question for its notices) the folders above are looked at as on a
disk: on through such names of a usual layout as ``fonts`` and ``ttf``, up to and with the first that has another.
"""

from __future__ import annotations

import errno
import hashlib
import io
import json
import os
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from scanner.evidence import (
    LICENCE_FOLDERS,
    MAX_CLIMB,
    MAX_LISTED,
    MAX_TAIL,
    MAX_TEXT,
    folders_up,
    package_key,
    speaks_of_licence,
)  # fmt: skip
from scanner.files import MOST_ENTRIES, SUFFIXES, Beside, FontFile, Source, batches, shown_path
from scanner.reasons import MOST_BYTES, FileError, Reason
from scanner.records import FileRecord
from scanner.workers.scratch import Scratch
from scanner.workers.supervisor import Judge, scan_files

BATCH = 16
"""Fonts a worker process that are copied at a time: at most 1 GiB each on the disk, some MB of ordinary fonts."""

FETCHING = 8
"""Files fetched at once: a store answers in some hundredths of a second, however small the file."""

TRIES = 3
"""Times a store is asked before it counts as away; common practice, no source."""

_MOST_NOTES = 256
"""Files beside a font that are copied; the evidence reads the first 64 that say something."""

_TAGS = ("ETag", "etag", "md5Hash", "content_md5", "checksum")
_TIMES = ("mtime", "LastModified", "last_modified", "Last-Modified", "modified", "updated", "created")

Tree = Mapping[str, Sequence[tuple[str, int]]]
"""Names and sizes (-1: not told) of the files in each folder, by the folder's address."""


# ── listing ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def list_fonts(address: str) -> tuple[str, list[FontFile]]:
    """The address as the records bear it, and the fonts under it in order of their names.

    The time of a font is a number made of the store's checksum of it, or else of its time: it changes when they do. A
    store that tells neither is read again each time. Raises FileError.
    """
    fs, key = _opened(address)
    root = str(fs.unstrip_protocol(key)).rstrip("/")
    if not _rest(root):
        raise FileError(f"{address}: names no folder of the store; add one, as in s3://bucket/fonts")
    found = _asked(address, lambda: fs.find(key, detail=True))
    if key in found:  # the address of one file
        return root, [near(root)]
    if not found and not _asked(address, lambda: fs.exists(key)):
        raise FileError(f"{address}: nothing is there; check the spelling or give another address")
    if len(found) > MOST_ENTRIES:
        raise FileError(f"{address}: more than {MOST_ENTRIES} entries; scan its folders one by one")
    tree: dict[str, list[tuple[str, int]]] = {}
    fonts = []
    for name, facts in sorted(found.items()):
        url = str(fs.unstrip_protocol(name))
        if facts.get("type", "file") != "file" or not url.startswith(f"{root}/"):
            continue
        folder, _, base = url.rpartition("/")
        tree.setdefault(folder, []).append((base, _size(facts)))
        if os.path.splitext(base)[1].lower() in SUFFIXES:
            fonts.append((url, facts))
    beside = _by_folder(root, tree)
    return root, [_font(fs, url, facts, root, beside(url.rpartition("/")[0])) for url, facts in fonts]


def near(url: str, notices: bool = True) -> FontFile:
    """One font of a store, with what lies beside it and, as ``evidence.folders_up`` says, above. Raises FileError."""
    fs, key = _opened(url)
    facts = _asked(url, lambda: fs.info(key))
    if not notices:
        return _font(fs, url, facts, url, ())
    folder = url.rpartition("/")[0]
    tree: dict[str, list[tuple[str, int]]] = {}
    for here in _folders_up(folder, ""):
        above = here != folder
        tree[here], folders = _entries(fs, here, above)
        for name in folders & set(LICENCE_FOLDERS):
            tree[f"{here}/{name}"], _ = _entries(fs, f"{here}/{name}", above)
    return _font(fs, url, facts, url, _by_folder("", tree)(folder))


def _entries(fs: Any, folder: str, may_be_shut: bool = False) -> tuple[list[tuple[str, int]], set[str]]:
    """Names and sizes of a folder's files, and the names of its folders; none of one that is shut, if it may be."""

    def listed() -> Any:
        try:
            return fs.ls(folder, detail=True)
        except PermissionError:
            if may_be_shut:  # rights often end at the fonts' own folder
                return []
            raise

    files, folders = [], set()
    for facts in _asked(folder, listed)[:MAX_LISTED]:
        name = str(facts["name"]).rstrip("/").rpartition("/")[2]
        if facts.get("type", "file") == "file":
            files.append((name, _size(facts)))
        else:
            folders.add(name)
    return sorted(files), folders


def _folders_up(folder: str, root: str) -> list[str]:
    """As ``evidence.folders_up``, for addresses."""
    before = folder.removesuffix(_rest(folder))
    found = folders_up(f"/{_rest(folder)}", f"/{_rest(root)}" if root else "")
    return [before + place.lstrip("/") for place in found if place != "/"]


def _by_folder(root: str, tree: Tree) -> Any:
    """For a font's folder: what counts in it and above it."""

    @cache
    def one(folder: str) -> Beside:
        here = tree.get(folder, ())[:MAX_LISTED]
        notes = [(name, size) for name, size in here if speaks_of_licence(name)]
        for place in LICENCE_FOLDERS:
            more = tree.get(f"{folder}/{place}", ())
            notes += [(f"{place}/{name}", size) for name, size in more if speaks_of_licence(name, True)]
        fonts = tuple(name for name, _ in here if os.path.splitext(name)[1].lower() in SUFFIXES)
        return Beside(folder, tuple(notes[:_MOST_NOTES]), fonts)

    packages: dict[str, list[tuple[str, str, int]]] = {}
    for place, files in tree.items():
        parent, _, info = place.rpartition("/")
        if info.endswith(".dist-info"):
            packages.setdefault(parent, []).extend((info, n, size) for n, size in files if n == "METADATA")

    def package_of(folder: str) -> Beside | None:
        """The metadata of an installed Python package that the folder belongs to."""
        for _ in range(MAX_CLIMB + 1):
            parent, _, name = folder.rpartition("/")
            of_it = [r for r in packages.get(parent, ()) if package_key(r[0]) == name.lower()]
            if of_it:
                return Beside(parent, tuple((f"{info}/{n}", size) for info, n, size in of_it), ())
            folder = parent
        return None

    @cache
    def all_of(folder: str) -> tuple[Beside, ...]:
        climbed = [one(f) for f in _folders_up(folder, root)]
        package = package_of(folder)
        return (*climbed, package) if package else tuple(climbed)

    return all_of


def _font(fs: Any, url: str, facts: Mapping[str, Any], root: str, beside: tuple[Beside, ...]) -> FontFile:
    if _size(facts) < 0:  # some listings give none; the single file's facts do
        facts = {**facts, **_asked(url, lambda: fs.info(url))}
    source = Source(shown_path(url), root, beside)
    return FontFile(Path(_rest(url)), _size(facts), _mark(facts), source)


def _size(facts: Mapping[str, Any]) -> int:
    """A file's size as the store tells it, -1 where it tells none."""
    size = facts.get("size")
    return -1 if size is None else int(size)


def _mark(facts: Mapping[str, Any]) -> int:
    told = next((facts[k] for k in (*_TAGS, *_TIMES) if facts.get(k)), None)
    if told is None:
        return time.time_ns()
    return int.from_bytes(hashlib.sha256(str(told).encode()).digest()[:8]) >> 1


# ── fetching ────────────────────────────────────────────────────────────────────────────────────────────────────────


def mirror(
    files: Sequence[FontFile], folder: Path, known: Mapping[str, bytes] = MappingProxyType({})
) -> tuple[list[FontFile], list[tuple[FontFile, Reason]]]:
    """Copy fonts and what lies beside them into ``folder``; the copies, and what could not be copied and why.

    ``known`` holds the bytes of fonts, by address, that need not be fetched. Raises FileError when the store is away,
    OSError when the disk is full.
    """
    notes: dict[str, int] = {}
    names: dict[str, None] = {}
    for file in files:
        for beside in file.source.beside if file.source else ():
            notes |= {f"{beside.folder}/{name}": size for name, size in beside.notes}
            names |= dict.fromkeys(f"{beside.folder}/{name}" for name in beside.fonts)
    for url in names:  # what the fonts beside are called tells whose licence a text is
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
    """The same parts where the store tells no size; of a text beyond the bytes of the largest font only the start."""
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
    fs, key = _opened(url)
    most = (MOST_BYTES if size < 0 else size) + 1  # a size below 0: the store tells none

    def read() -> bytes | Reason:
        try:
            return bytes(fs.cat_file(key, start=start, end=most if end is None else end))
        except FileNotFoundError:
            return Reason.GONE
        except PermissionError:
            return Reason.SHUT

    data = _asked(url, read)
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
            return Reason.PATH  # a store may have "a" beside "a/b"
        raise
    return path


def copied_to(folder: Path, url: str) -> Path:
    """Where the copy of an address lies below a folder."""
    return folder / url.partition("://")[0] / _rest(url)


def _rest(url: str) -> str:
    return url.partition("://")[2].lstrip("/")


def _plain(url: str) -> bool:
    parts = _rest(url).split("/")
    return not any(p in ("", ".", "..") or "\0" in p or "\\" in p for p in parts) and shown_path(url) == url


# ── scanning ────────────────────────────────────────────────────────────────────────────────────────────────────────


def scan_anywhere(
    files: Iterable[FontFile],
    words: Sequence[str],
    workers: int = 0,
    every_instance: bool = False,
    judge: Judge | None = None,
    roots: Sequence[Path] = (),
) -> Iterator[FileRecord]:
    """As ``scan_files``; fonts of a store are copied to a temporary folder first, batch by batch."""
    files = list(files)
    here = [f for f in files if f.source is None]
    if here:
        yield from scan_files(here, words, workers, every_instance, judge, roots)
    for batch in batches([f for f in files if f.source is not None], BATCH * (workers or os.cpu_count() or 1)):
        with Scratch() as folder:
            copies, refused = mirror(batch, folder)
            yield from (FileRecord(f.name, f.size, f.mtime_ns, "", (), str(reason)) for f, reason in refused)
            names = {str(f.path): f for f in copies}
            tops = dict.fromkeys(copied_to(folder, f.source.root) for f in copies if f.source)
            for record in scan_files(copies, words, workers, every_instance, judge, tuple(tops)):
                yield _addressed(record, names[record.path], str(folder))


def _addressed(record: FileRecord, file: FontFile, folder: str) -> FileRecord:
    """A copy's record as that of the font in its store."""
    scheme = file.name.partition("://")[0]
    before = file.name.removesuffix(_rest(file.name))
    told = json.dumps(record.verdicts, ensure_ascii=False).replace(f"{folder}/{scheme}/", before)
    verdicts = {int(index): verdict for index, verdict in json.loads(told).items()}
    faces = tuple(replace(face, path=file.name) for face in record.faces)
    return replace(record, path=file.name, faces=faces, verdicts=verdicts)


# ── other files ─────────────────────────────────────────────────────────────────────────────────────────────────────


def names_in(address: str) -> list[str]:
    """Names of the files of one folder, sorted; none where there is no folder yet. Raises FileError."""
    fs, key = _opened(address)
    return [n for n, _ in _entries(fs, key)[0]] if _asked(address, lambda: fs.isdir(key)) else []


class Ranges(io.RawIOBase):
    """A file of our own in a store, of which only what is read is fetched. Whatever is asked of it raises FileError."""

    def __init__(self, address: str) -> None:
        self._address, (self._fs, self._key) = address, _opened(address)
        self._size = int(_asked(address, lambda: self._fs.info(self._key)["size"]))
        self._at = 0

    def readable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is."""
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET, /) -> int:
        """Go to a byte, counted from the start, from here or from the end."""
        self._at = (0, self._at, self._size)[whence] + offset
        return self._at

    def read(self, size: int = -1, /) -> bytes:
        """So many bytes, or all that are left."""
        start, end = self._at, self._size if size < 0 else min(self._size, self._at + size)
        if start >= end:
            return b""
        self._at = end
        return bytes(_asked(self._address, lambda: self._fs.cat_file(self._key, start=start, end=end)))


def write_whole(address: str, data: bytes) -> None:
    """Write a file of our own. Raises FileError.

    In an object store, as S3, it appears whole or not at all; on a file server a stop may leave a part of it.
    """
    fs, key = _opened(address)
    _asked(address, lambda: fs.pipe_file(key, data))


# ── the library ─────────────────────────────────────────────────────────────────────────────────────────────────────


def check_address(address: str) -> None:
    """Raise FileError for a chained address and for one that bears a password."""
    if "::" in address:
        raise FileError(f"{address}: chained addresses are not read; unpack the fonts and give their folder")
    if ":" in address.partition("://")[2].partition("/")[0].rpartition("@")[0]:
        raise FileError(
            f"{address.partition('://')[0]}://…: a password in the address would be kept with it; leave it out here and"
            " set it where the store's own tools look for it"
        )


def _opened(address: str) -> tuple[Any, str]:
    """The store of an address and its name there. Raises FileError."""
    check_address(address)
    try:
        import fsspec
    except ImportError as cause:
        reason = f"{address}: to read a store takes the extra `cluster`; pip install 'letterhold[cluster]'"
        raise FileError(reason) from cause
    try:
        fs, key = fsspec.url_to_fs(address, use_listings_cache=False)
    except ImportError as cause:
        raise FileError(f"{address}: {_line(cause)}; do so on every machine that scans") from cause
    except Exception as cause:  # every store's library raises its own
        raise FileError(f"{address}: cannot be used ({_line(cause)}); check the spelling") from cause
    return fs, str(key)


def _asked(address: str, ask: Any) -> Any:
    """What a store answers. Raises FileError when it is away."""
    for attempt in range(TRIES):
        try:
            return ask()
        except FileNotFoundError as cause:
            raise FileError(f"{address}: nothing is there; check the spelling or give another address") from cause
        except Exception as cause:  # every store's library raises its own
            if attempt == TRIES - 1:
                raise FileError(
                    f"{address}: the store does not give it ({_line(cause)}); check the network and your rights, then"
                    " run the same command again: what was done is kept"
                ) from cause
            time.sleep(0.2 * 4**attempt)
    raise AssertionError


def _line(error: BaseException) -> str:
    return " ".join(str(error).split())[:160] or type(error).__name__
