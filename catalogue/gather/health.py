"""Is all well with an installation and a catalogue? Looks, tells, and mends what it is allowed to.

Beside the store the only file that knows the tables: it must look into catalogues that the store would refuse.
``examine`` changes nothing. ``mend`` removes rows only, never a font, and keeps a copy of the catalogue first.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
import zlib
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from catalogue.store.columns import columns_path, width
from catalogue.store.database import APPLICATION_ID, SCHEMA, CatalogueError, plain
from catalogue.wording import count_of
from scanner.files import is_address

LIBRARIES = (
    "uharfbuzz", "numpy", "shapely", "pyclipper", "opencv-python-headless", "fonttools", "brotli",
    "manifold3d", "pillow",
)  # fmt: skip
LEAST_FREE_MB = 500
"""Free space below which a scan of some thousand faces (24 KB each) with its copies becomes tight (our own choice)."""
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is not as it should be."""

    kind: str
    """missing-fonts, changed-fonts, orphan-rows, broken-tables, leftovers, space, damaged or schema."""
    count: int
    text: str
    """One line that ends with what to do."""
    mendable: bool = False
    """``mend`` can see to it."""
    examples: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Health:
    """What was found."""

    versions: dict[str, str]
    catalogue: str
    size_mb: float
    free_mb: float
    files: int
    faces: int
    findings: tuple[Finding, ...]

    @property
    def well(self) -> bool:
        """Nothing was found."""
        return not self.findings


def versions() -> dict[str, str]:
    """The project, Python, SQLite and the libraries that measure; "missing" where one is not installed."""
    found = {"python": sys.version.split()[0], "sqlite": sqlite3.sqlite_version}
    for name in ("letterhold", *LIBRARIES):
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "missing"
    return found


def examine(catalogue: Path) -> Health:
    """Look at a catalogue and what it stands on. Raises CatalogueError when it cannot be opened at all."""
    found = []
    free = shutil.disk_usage(catalogue.parent).free / 1e6
    if free < LEAST_FREE_MB:
        found.append(Finding("space", 1, f"only {free:.0f} MB are free beside the catalogue; make some room"))
    files = faces = 0
    with closing(_open(catalogue, "ro")) as db:
        damage = _damage(db)
        if damage:
            text = f"the catalogue is damaged ({damage}); move it away and scan again"
            found.append(Finding("damaged", 1, text))
        else:
            found += _schema(db)
            if not found or found[-1].kind != "schema":
                files = _count(db, "file")
                faces = _count(db, "face")
                found += [*_fonts(db), *_rows(db), *_tables(db)]
    found += _leftovers(catalogue)
    size = sum(p.stat().st_size for p in _beside(catalogue) if p.exists()) / 1e6
    return Health(versions(), str(catalogue), round(size, 1), round(free), files, faces, tuple(found))


def mend(catalogue: Path) -> list[str]:
    """Remove what ``examine`` calls mendable, after a copy; what was done, a line each. Raises CatalogueError."""
    done = []
    copy = catalogue.with_name(f"{catalogue.name}.before-mending")
    with closing(_open(catalogue, "rw")) as db:
        if _damage(db) or _schema(db):
            raise CatalogueError(f"{catalogue}: cannot be mended; move it away and scan again")
        try:
            with closing(sqlite3.connect(copy)) as target:
                db.backup(target)
            done.append(f"copy of the catalogue: {copy}")
            broken = {face for face, _ in _broken_tables(db)}
            gone = [(name,) for name, *_ in db.execute("SELECT path FROM file") if not _there(name)]
            with db:
                db.execute("PRAGMA foreign_keys = ON")
                db.execute("UPDATE stamp SET value = value + 1")
                db.executemany("DELETE FROM file WHERE path = ?", gone)
                orphans = sum(db.execute(f"DELETE FROM {t} WHERE {w}").rowcount for t, w in _ORPHANS)
                # The whole file goes, so that the next scan measures it anew.
                db.executemany(
                    "DELETE FROM file WHERE id = (SELECT file_id FROM face WHERE id = ?)", [(f,) for f in broken]
                )
                db.execute(f"DELETE FROM file WHERE id IN (SELECT file_id FROM face WHERE {_UNMEASURED})")
        except (sqlite3.Error, OSError) as cause:
            words = plain(cause) if isinstance(cause, sqlite3.Error) else f"{cause.strerror}; check the disk"
            raise CatalogueError(f"{catalogue}: {words}") from cause
    done.append(
        f"rows removed: {len(gone)} of missing fonts, {count_of(orphans, 'orphan')}, {len(broken)} of broken tables"
    )
    for path in _temporary(catalogue):
        path.unlink(missing_ok=True)
        done.append(f"removed {path}")
    return done


_UNMEASURED = "face.reason = '' AND NOT EXISTS (SELECT 1 FROM measure WHERE face_id = face.id)"
_ORPHANS = (
    ("face", "file_id NOT IN (SELECT id FROM file)"),
    ("measure", "face_id NOT IN (SELECT id FROM face)"),
)


def _open(catalogue: Path, mode: str) -> sqlite3.Connection:
    if not catalogue.is_file():
        raise CatalogueError(f"{catalogue}: no catalogue there yet; run 'letterhold scan FOLDER' first")
    try:
        db = sqlite3.connect(f"{catalogue.absolute().as_uri()}?mode={mode}", uri=True, timeout=10)
        (mark,) = db.execute("PRAGMA application_id").fetchone()
    except sqlite3.Error as cause:
        raise CatalogueError(f"{catalogue}: {plain(cause)}") from cause
    if mark != APPLICATION_ID:
        db.close()
        raise CatalogueError(f"{catalogue}: not a letterhold catalogue; name another file with --catalogue")
    return db


def _damage(db: sqlite3.Connection) -> str:
    """The first thing SQLite finds wrong, empty when nothing is."""
    try:
        (told,) = db.execute("PRAGMA integrity_check(1)").fetchone()
    except sqlite3.DatabaseError as error:
        return str(error)
    return "" if told == "ok" else " ".join(str(told).split())[:200]


def _schema(db: sqlite3.Connection) -> list[Finding]:
    (version,) = db.execute("PRAGMA user_version").fetchone()
    if version == SCHEMA:
        return []
    text = f"made by another version (schema {version}, here {SCHEMA}); move it away and scan again"
    return [Finding("schema", 1, text)]


def _count(db: sqlite3.Connection, table: str) -> int:
    return int(db.execute(f"SELECT count(*) FROM {table}").fetchone()[0])


def _fonts(db: sqlite3.Connection) -> list[Finding]:
    missing, changed = [], []
    for path, size, mtime in db.execute("SELECT path, size, mtime_ns FROM file ORDER BY path"):
        if is_address(path):  # a rescan sees to those
            continue
        try:
            now = os.stat(path)
        except OSError:
            if not os.path.lexists(path):
                missing.append(path)
            continue
        if size and (now.st_size, now.st_mtime_ns) != (size, mtime):
            changed.append(path)
    found = []
    if missing:
        fonts = count_of(len(missing), "font")
        text = f"{fonts} missing since the scan; put back what is gone, scan again, or use --repair"
        found.append(Finding("missing-fonts", len(missing), text, True, tuple(missing[:_MOST_NAMED])))
    if changed:
        text = f"{count_of(len(changed), 'font')} changed since the scan; scan the folder again"
        found.append(Finding("changed-fonts", len(changed), text, False, tuple(changed[:_MOST_NAMED])))
    return found


def _there(name: str) -> bool:
    return is_address(name) or os.path.lexists(name)


def _rows(db: sqlite3.Connection) -> list[Finding]:
    orphans = sum(db.execute(f"SELECT count(*) FROM {t} WHERE {w}").fetchone()[0] for t, w in _ORPHANS)
    orphans += db.execute(f"SELECT count(*) FROM face WHERE {_UNMEASURED}").fetchone()[0]
    if not orphans:
        return []
    text = f"{count_of(orphans, 'row')} with no font or face to belong to; use --repair, then scan again"
    return [Finding("orphan-rows", orphans, text, True)]


def _tables(db: sqlite3.Connection) -> list[Finding]:
    broken = list(_broken_tables(db))
    if not broken:
        return []
    text = f"{count_of(len(broken), 'face')} with measures of the wrong length; use --repair, then scan again"
    return [Finding("broken-tables", len(broken), text, True, tuple(name for _, name in broken[:_MOST_NAMED]))]


def _broken_tables(db: sqlite3.Connection) -> Iterator[tuple[int, str]]:
    """Faces whose stored measures do not unpack to the length of this version."""
    size = 2 * width()
    names = "SELECT face_id, data, family || ' ' || style FROM measure JOIN face ON face.id = face_id"
    for face, data, name in db.execute(names):
        try:
            unpacked = len(zlib.decompressobj().decompress(data, size + 1))
        except zlib.error:
            unpacked = -1
        if unpacked != size:
            yield face, name


def _beside(catalogue: Path) -> list[Path]:
    return [catalogue, catalogue.with_name(catalogue.name + "-wal"), columns_path(catalogue)]


def _temporary(catalogue: Path) -> list[Path]:
    """Files that a stopped write left in the catalogue's folder."""
    return sorted(p for p in catalogue.parent.glob(".letterhold-*") if p.is_file() and not p.is_symlink())


def _leftovers(catalogue: Path) -> list[Finding]:
    left = _temporary(catalogue)
    if not left:
        return []
    text = f"{count_of(len(left), 'unfinished file')} beside the catalogue; use --repair to clear up"
    return [Finding("leftovers", len(left), text, True, tuple(map(str, left[:_MOST_NAMED])))]
