"""Paths in, catalogue out: what is new or changed is measured and judged, everything else stays as it is."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from catalogue.folders import default_catalogue
from catalogue.gather.order import families_first
from catalogue.gather.partitions import known_in, write_part
from catalogue.parallel import Progress, in_silence
from catalogue.store.database import Store
from catalogue.store.lock import only_scan
from catalogue.store.rows import FileState
from catalogue.store.rules import settings_mark
from catalogue.style.grouping import regroup
from scanner.evidence import forget_folders
from scanner.files import FileError, FontFile, batches, find_fonts, read_font, shown_path
from scanner.records import FileRecord
from scanner.workers.listing import list_fonts
from scanner.workers.remote import scan_anywhere
from scanner.workers.steps import Settings

PART = 64
"""Files a partition holds where no cluster makes the batches."""


@dataclass(frozen=True, slots=True)
class Scan:
    """What is to be read, and how."""

    paths: Sequence[Path | str]
    """Folders and font files; one given as text is the address of a store, as ``s3://bucket/fonts``."""
    words: Sequence[str]
    """Test words."""
    workers: int = 0
    """Processes; 0: one a core."""
    every_instance: bool = False
    """Every named instance, not only the weights."""
    cluster: str = ""
    """Address of a Dask scheduler whose workers measure; empty: this machine."""

    @property
    def settings(self) -> str:
        """A mark of everything except the font that a record depends on."""
        return settings_mark(self.words, self.every_instance)


def scan_into(catalogue: Path | None, scan: Scan, progress: Progress = in_silence) -> dict[str, Any]:
    """Scan into a catalogue; returns the counts under their contract keys. Unchanged files are skipped.

    With a cluster its workers measure; the catalogue is written here.
    """
    start = time.monotonic()
    given = _given(scan.paths)
    files, roots = given.files, given.roots
    settings = scan.settings
    target = catalogue or default_catalogue()
    with only_scan(target), Store(target, create=True) as store:
        known = store.known()
        found = {f.name for f in files}
        gone = {p for p in known if p not in found and given.holds(p)}
        here = [f for f in files if f.source is None]  # to know a moved font again takes its bytes
        for old, file in moved_files(here, known, gone, store.digests()):
            store.move(old, str(file.path), file.size, file.mtime_ns)
            store.judge(
                str(file.path), _verdicts(str(file.path), store.indices(str(file.path)), _root(file.path, roots))
            )
            gone.discard(old)
        store.drop(gone)
        known = store.known()
        todo = families_first(f for f in files if known.get(f.name) != (f.size, f.mtime_ns, settings))
        for record in progress(_records(scan, todo, roots), len(todo), "scanning"):
            store.put(record, settings, record.verdicts)
        regroup(store)
        counts = store.counts()
        reasons = [(p, r) for p, r in store.failed() if given.holds(p)]
    return {
        **counts, "skipped_unchanged": len(files) - len(todo), "seconds": round(time.monotonic() - start, 2),
        "catalogue": str(target), "reasons": reasons,
    }  # fmt: skip


def scan_to_parts(parts: str, scan: Scan, progress: Progress = in_silence) -> dict[str, Any]:
    """Scan into partitions, to be merged into a catalogue later; returns the counts under their contract keys.

    ``parts`` is a folder or an address; with a cluster its workers write there. What lies there already in the same
    state is skipped.
    """
    start = time.monotonic()
    given = _given(scan.paths)
    settings = scan.settings
    keep = partial(write_part, settings=settings, parts=parts)
    known = known_in(parts)
    todo = [f for f in given.files if known.get(f.name) != (f.size, f.mtime_ns, settings)]
    done = list(progress(_records(scan, todo, given.roots, keep), len(todo), "scanning"))
    faces = [f for r in done for f in r.faces if not f.reason]
    reasons = [(r.path, r.reason) for r in done if r.reason]
    reasons += [(f"{f.path}#{f.face_index}", f.reason) for r in done for f in r.faces if f.reason]
    whole = sum(not f.instance for f in faces)
    return {
        "files": len(done), "faces": whole, "instances": len(faces) - whole,
        "failed": len(reasons), "skipped_unchanged": len(given.files) - len(todo),
        "seconds": round(time.monotonic() - start, 2), "parts": parts, "reasons": sorted(reasons),
    }  # fmt: skip


def _records(
    scan: Scan,
    todo: Sequence[FontFile],
    roots: Sequence[Path],
    keep: Callable[[Sequence[FileRecord]], list[FileRecord]] | None = None,
) -> Iterable[FileRecord]:
    """Measured and judged files as they are done; with ``keep`` what it leaves of each batch of them."""
    settings = Settings(tuple(scan.words), scan.every_instance, judge_face, tuple(roots))
    if scan.cluster:
        from scanner.workers.cluster import scan_on_cluster

        return scan_on_cluster(scan.cluster, todo, settings, keep)
    records = scan_anywhere(todo, settings, scan.workers)
    return records if keep is None else (stub for batch in batches(records, PART) for stub in keep(batch))


@dataclass(frozen=True, slots=True)
class _Given:
    """What was asked to be scanned."""

    files: list[FontFile]
    roots: list[Path]
    tops: frozenset[str]
    """Roots and addresses as the catalogue writes them."""
    below: tuple[str, ...]
    """How names under them begin."""

    def holds(self, name: str) -> bool:
        """Whether a path or address of the catalogue lies under those that were given."""
        return name in self.tops or name.startswith(self.below)


def _given(paths: Sequence[Path | str]) -> _Given:
    """The fonts under paths and addresses, each once. Raises FileError when there are none."""
    forget_folders()  # the files next to the fonts may have changed since an earlier scan
    folders = [p for p in paths if isinstance(p, Path)]
    stores = [list_fonts(address) for address in paths if isinstance(address, str)]
    found = [*find_fonts(folders), *(f for _, fonts in stores for f in fonts)]
    files = list({f.name: f for f in found}.values())
    if not files:
        raise FileError(f"{paths[0]}: no font files there; give a folder that holds .ttf, .otf or .woff2 files")
    roots = [p.absolute() for p in folders]
    tops = frozenset([*map(shown_path, roots), *(top for top, _ in stores)])
    return _Given(files, roots, tops, tuple(f"{top.rstrip('/')}/" for top in tops))


def moved_files(
    files: Sequence[FontFile], known: Mapping[str, FileState], gone: set[str], digests: dict[str, str]
) -> list[tuple[str, FontFile]]:
    """New files whose bytes are those of a file that is gone: old path and new file. Only equal sizes are read."""
    sizes = {known[p].size for p in gone}
    left = {digests[p]: p for p in gone if digests.get(p)}
    moved = []
    for file in files:
        if not left or shown_path(file.path) in known or file.size not in sizes:
            continue
        try:
            old = left.pop(hashlib.sha256(read_font(file.path)).hexdigest(), None)
        except FileError:
            continue
        if old is not None:
            moved.append((old, file))
    return moved


def _root(path: Path, roots: Sequence[Path]) -> Path | None:
    """The scanned folder a file lies in: licence files are looked for up to there."""
    return next((r for r in roots if path.is_relative_to(r)), None)


def judge_face(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    """Licence verdict of one face in its JSON form; what the workers of a scan call."""
    from catalogue.licence.verdict import judge_font

    return judge_font(path, face_index, root).as_json()


def _verdicts(path: str, indices: Iterable[int], root: Path | None) -> dict[int, dict[str, Any]]:
    return {k: judge_face(Path(path), k, root) for k in indices}
