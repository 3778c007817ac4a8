"""Is all well with an installation and a catalogue? ``examine`` looks and changes nothing; ``mend`` builds the
catalogue again from what is sound, without rows of missing fonts, and keeps a copy of the old one. No font is touched.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from contextlib import suppress
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from catalogue.errors import CatalogueError
from catalogue.gather.engines import disagreements
from catalogue.parallel import Progress, in_silence
from catalogue.store.columns import columns_path
from catalogue.store.database import Store
from catalogue.store.rows import FileRows
from catalogue.store.salvage import Salvage
from catalogue.store.schema import SCHEMA
from catalogue.style.grouping import regroup
from catalogue.wording import count_of
from scanner.files import batches, is_address

LIBRARIES = (
    "uharfbuzz", "numpy", "shapely", "pyclipper", "opencv-python-headless", "fonttools", "brotli",
    "manifold3d", "pillow", "freetype-py",
)  # fmt: skip
LEAST_FREE_MB = 500
"""Free space below which a scan of some thousand faces (24 KB each) with its copies becomes tight (our own choice)."""
_MOST_NAMED = 5
_AT_ONCE = 64
"""Files written in one transaction."""
_UNFINISHED = ".letterhold-"
"""How the names of unfinished files begin."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that is not as it should be."""

    kind: str
    """missing-fonts, changed-fonts, damaged, leftovers, space, engines or schema."""
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
    """Look at a catalogue and what it stands on. Raises CatalogueError when it is not there or not ours."""
    files: list[FileRows] = []
    with Salvage(catalogue) as source:
        version = source.version()
        if version == SCHEMA:
            files = list(map(_light, source.files()))
            found = [*_fonts(files), *_damage(source)]
        else:
            text = f"made by another version (schema {version}, here {SCHEMA}); move it away and scan again"
            found = [Finding("schema", 1, text)]
    free = shutil.disk_usage(catalogue.absolute().parent).free / 1e6
    size = sum(p.stat().st_size for p in _parts(catalogue) if p.exists()) / 1e6
    return Health(
        versions(), str(catalogue), round(size, 1), round(free), len(files) + len(source.lost),
        sum(len(rows.faces) for rows in files), (*_space(free), *found, *_leftovers(catalogue)),
    )  # fmt: skip


def compare_engines(catalogue: Path, progress: Progress = in_silence) -> list[Finding]:
    """Whether a second engine draws every face as it was measured. Raises CatalogueError as ``Store``."""
    with Store(catalogue) as store:
        faces = store.faces()
    found = list(disagreements(faces, progress))
    if not found:
        return []
    text = (
        f"{count_of(len(found), 'face')} drawn differently by a second engine; get the font again from its source, and"
        " trust no verdict or tag of it"
    )
    return [Finding("engines", len(found), text, False, tuple(f"{d.face}: {d.what}" for d in found[:_MOST_NAMED]))]


def mend(catalogue: Path) -> list[str]:
    """Build the catalogue again from what is sound and belongs to a font that is there, after a copy; remove unfinished
    files. Returns what was done, a line each. Raises CatalogueError when nothing can be read or written.
    """
    copy = catalogue.with_name(f"{catalogue.name}.before-mending")
    fresh = catalogue.with_name(f"{_UNFINISHED}mending-{catalogue.name}")
    try:
        line = _rebuild(catalogue, fresh)
        _copy(catalogue, copy)
        # The log belongs to the old file; SQLite would take it for the new one's.
        for part in _parts(catalogue)[1:]:
            part.unlink(missing_ok=True)
        os.replace(fresh, catalogue)
        done = [f"copy of the catalogue: {copy}", line]
        for path in _temporary(catalogue):
            path.unlink(missing_ok=True)
            done.append(f"removed {path}")
    except OSError as cause:
        raise CatalogueError(f"{catalogue}: {(cause.strerror or str(cause)).lower()}; check the disk") from cause
    finally:
        for part in _parts(fresh):
            with suppress(OSError):
                part.unlink(missing_ok=True)
    return done


# ── mending ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _rebuild(catalogue: Path, fresh: Path) -> str:
    """Write a new catalogue with all that is sound; returns what was left out, in words."""
    fresh.unlink(missing_ok=True)
    gone = kept = 0
    with Salvage(catalogue) as source, Store(fresh, create=True) as target:
        if source.version() != SCHEMA:
            raise CatalogueError(f"{catalogue}: cannot be mended; move it away and scan again")
        for batch in batches(source.files(), _AT_ONCE):
            there = [rows for rows in batch if _there(rows.file["path"])]
            target.put_rows(there)
            kept += len(there)
            gone += len(batch) - len(there)
        lost = len(source.lost)
        if not kept + gone and (lost or source.broken_structure()):
            raise CatalogueError(f"{catalogue}: nothing in it can be read; move it away and scan again")
        with suppress(CatalogueError):  # where the model is damaged the shipped one holds
            target.put_groups_model(source.groups_model())
        regroup(target)
        target.finish()
    return f"rows removed: {count_of(gone, 'missing font')}, {count_of(lost, 'damaged file')}; scan again for those"


def _copy(catalogue: Path, copy: Path) -> None:
    """The file as it is, and its log: of a damaged catalogue SQLite makes no copy."""
    for part in _parts(catalogue)[:2]:
        if part.exists():
            shutil.copyfile(part, copy.with_name(part.name.replace(catalogue.name, copy.name, 1)))


def _there(name: str) -> bool:
    return is_address(name) or os.path.lexists(name)


# ── looking ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _light(rows: FileRows) -> FileRows:
    """What is looked at later; the measures would fill the memory."""
    return FileRows(rows.file, tuple({"id": face["id"]} for face in rows.faces))


def _space(free_mb: float) -> list[Finding]:
    if free_mb >= LEAST_FREE_MB:
        return []
    return [Finding("space", 1, f"only {free_mb:.0f} MB are free next to the catalogue; make some room")]


def _fonts(files: list[FileRows]) -> list[Finding]:
    missing, changed = [], []
    for file in sorted((rows.file for rows in files), key=lambda file: str(file["path"])):
        path = file["path"]
        if is_address(path):  # a scan sees to those
            continue
        try:
            now = os.stat(path)
        except OSError:
            if not os.path.lexists(path):
                missing.append(path)
            continue
        if file["size"] and (now.st_size, now.st_mtime_ns) != (file["size"], file["mtime_ns"]):
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


def _damage(source: Salvage) -> list[Finding]:
    """Rows that fail their checksums, or a structure that SQLite finds broken."""
    lost = source.lost
    if lost:
        text = f"the rows of {count_of(len(lost), 'file')} are damaged; use --repair, then scan again"
        return [Finding("damaged", len(lost), text, True, tuple(lost[:_MOST_NAMED]))]
    if source.broken_structure() or not source.counts_agree():
        return [Finding("damaged", 1, "the catalogue is damaged; use --repair, then scan again", True)]
    return []


def _parts(catalogue: Path) -> list[Path]:
    """The catalogue, its log and what SQLite shares between programs, and its columns."""
    others = [catalogue.with_name(catalogue.name + ending) for ending in ("-wal", "-shm")]
    return [catalogue, *others, columns_path(catalogue)]


def _temporary(catalogue: Path) -> list[Path]:
    """Files that a stopped write left in the catalogue's folder."""
    return sorted(p for p in catalogue.parent.glob(f"{_UNFINISHED}*") if p.is_file() and not p.is_symlink())


def _leftovers(catalogue: Path) -> list[Finding]:
    left = _temporary(catalogue)
    if not left:
        return []
    text = f"{count_of(len(left), 'unfinished file')} next to the catalogue; use --repair to clear up"
    return [Finding("leftovers", len(left), text, True, tuple(map(str, left[:_MOST_NAMED])))]
