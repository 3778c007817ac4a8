"""Catalogues of any size for the benches: rows of real faces repeated, and rows of files that have not changed."""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.store.database import Store
from catalogue.store.rows import FileRows
from catalogue.store.salvage import Salvage

COPY = " copy "


def repeat_rows(path: Path, wanted: int) -> int:
    """Repeat faces and measures, each in its own file, until there are ``wanted`` faces; returns their number.

    A copy's instance bears a number that only grows: no key comes twice, however often this is called.
    """
    with Salvage(path) as source:
        files = [rows for rows in source.files() if rows.faces]
    with Store(path, create=True) as store:
        faces = store.faces()
        groups = {(f.digest, f.face_index, f.instance): (f.group, f.group_support) for f in faces}
        own = [(k, face) for k, rows in enumerate(files) for face in rows.faces if not _is_copy(face)]
        copies: dict[int, list[dict[str, Any]]] = defaultdict(list)
        for number in range(len(faces), wanted):
            k, face = own[number % len(own)]
            copies[k].append(face | {"id": None, "instance": f"{face['instance']}{COPY}{number}"})
        for k, more in copies.items():
            store.put_rows([replace(files[k], faces=(*files[k].faces, *more))])
        faces = store.faces()
        store.put_groups({f.id: groups[f.digest, f.face_index, f.instance.split(COPY)[0]] for f in faces})
    return len(faces)


def _is_copy(face: dict[str, Any]) -> bool:
    return bool(face["reason"]) or COPY in face["instance"]


def unchanged_files(catalogue: Path, folder: Path, wanted: int) -> None:
    """Write small files into a folder, and rows that say that they were scanned as they are."""
    with Store(catalogue, create=True) as store:
        settings = next(state.settings for state in store.known().values() if state.settings)

        def rows() -> Iterator[FileRows]:
            for number in range(wanted):
                file = folder / f"{number:06}.ttf"
                file.write_bytes(b"\0")
                state = {"size": 1, "mtime_ns": file.stat().st_mtime_ns, "settings": settings}
                yield FileRows({"path": str(file), "digest": "", "reason": "", **state}, ())

        store.put_rows(rows())
