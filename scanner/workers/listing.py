"""Fonts of an address, listed with what lies next to and above each that may speak of its licence.

What a file may take is decided by the listing, before anything is fetched. A scan of a folder reads nothing above it.
For one font alone (its address, or a later command's question for its notices) the folders above are looked at as on a
disk: on through such names of a usual layout as ``fonts`` and ``ttf``, up to and with the first that has another.
"""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from scanner.evidence import (
    LICENCE_FOLDERS,
    MAX_CLIMB,
    MAX_LISTED,
    folders_up,
    package_key,
    speaks_of_licence,
)  # fmt: skip
from scanner.files import MOST_ENTRIES, SUFFIXES, Beside, FontFile, Source, shown_path
from scanner.reasons import FileError
from scanner.workers.stores import asked, entries, opened, rest, size_of

_MOST_NOTES = 256
"""Files next to a font that are copied; the evidence reads the first 64 that say something."""

_TAGS = ("ETag", "etag", "md5Hash", "content_md5", "checksum")
_TIMES = ("mtime", "LastModified", "last_modified", "Last-Modified", "modified", "updated", "created")

Tree = Mapping[str, Sequence[tuple[str, int]]]
"""Names and sizes (-1: unknown) of the files in each folder, by the folder's address."""


def list_fonts(address: str) -> tuple[str, list[FontFile]]:
    """The address as the records bear it, and the fonts under it in order of their names.

    The time of a font is a number made of the store's checksum of it, or else of its time: it changes when they do. A
    store that gives neither is read again each time. Raises FileError.
    """
    fs, key = opened(address)
    root = str(fs.unstrip_protocol(key)).rstrip("/")
    if not rest(root):
        raise FileError(f"{address}: names no folder of the store; add one, as in s3://bucket/fonts")
    found = asked(address, lambda: fs.find(key, detail=True))
    if key in found:  # the address of one file
        return root, [near(root)]
    if not found and not asked(address, lambda: fs.exists(key)):
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
        tree.setdefault(folder, []).append((base, size_of(facts)))
        if os.path.splitext(base)[1].lower() in SUFFIXES:
            fonts.append((url, facts))
    beside = _by_folder(root, tree)
    return root, [_font(fs, url, facts, root, beside(url.rpartition("/")[0])) for url, facts in fonts]


def near(url: str, notices: bool = True) -> FontFile:
    """One font of a store, with what lies next to it and, as ``evidence.folders_up`` says, above. Raises FileError."""
    fs, key = opened(url)
    facts = asked(url, lambda: fs.info(key))
    if not notices:
        return _font(fs, url, facts, url, ())
    folder = url.rpartition("/")[0]
    tree: dict[str, list[tuple[str, int]]] = {}
    for here in _folders_up(folder, ""):
        above = here != folder
        tree[here], folders = entries(fs, here, above)
        for name in folders & set(LICENCE_FOLDERS):
            tree[f"{here}/{name}"], _ = entries(fs, f"{here}/{name}", above)
    return _font(fs, url, facts, url, _by_folder("", tree)(folder))


def _folders_up(folder: str, root: str) -> list[str]:
    """As ``evidence.folders_up``, for addresses."""
    before = folder.removesuffix(rest(folder))
    found = folders_up(f"/{rest(folder)}", f"/{rest(root)}" if root else "")
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
    if size_of(facts) < 0:  # some listings give none; the single file's facts do
        facts = {**facts, **asked(url, lambda: fs.info(url))}
    source = Source(shown_path(url), root, beside)
    return FontFile(Path(rest(url)), size_of(facts), _mark(facts), source)


def _mark(facts: Mapping[str, Any]) -> int:
    mark = next((facts[k] for k in (*_TAGS, *_TIMES) if facts.get(k)), None)
    if mark is None:
        return time.time_ns()
    return int.from_bytes(hashlib.sha256(str(mark).encode()).digest()[:8]) >> 1
