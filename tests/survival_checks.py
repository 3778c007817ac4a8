"""A scan under attack against the same scan undisturbed: what the tests and ``bench/survival.py`` both run."""

from __future__ import annotations

import hashlib
import io
import logging
import os
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from conftest import demo_sample
from fontTools import subset
from fontTools.ttLib import TTFont
from hostile import mutants

from scanner.files import find_fonts
from scanner.reasons import Reason
from scanner.records import FileRecord
from scanner.workers.steps import Settings
from scanner.workers.supervisor import scan_files

ROOT = Path(__file__).resolve().parent.parent
LETTERS = "Ho"
WORDS = ("o",)
EVERY_SECONDS = 0.05
QUICK_SECONDS = 0.15
"""Computing above which a font is left out of the attack: with two workers and a kill every 50 ms, a worker lives a
tenth of a second on average, so longer work would never end. How many are left out is told."""

LIMITS = {Reason.COMPUTING, Reason.WAITING, Reason.MEMORY, Reason.CRASH}


def pause() -> float:
    """Seconds from kill to kill: 50 ms, on a machine busy with other work as much longer as it is slower."""
    return EVERY_SECONDS * max(1.0, os.getloadavg()[0] / (os.cpu_count() or 1))


def small_fonts(most: int = 24) -> list[bytes]:
    """Demo fonts cut down to a few letters: some kilobytes, measured in some hundredths of a second."""
    logging.getLogger("fontTools").setLevel(logging.ERROR)
    small = []
    for path in demo_sample()[:most]:
        font = TTFont(path, lazy=True)
        options = subset.Options(layout_features=["kern", "liga", "calt"], notdef_outline=True)
        cutter = subset.Subsetter(options)
        cutter.populate(text=LETTERS)
        cutter.subset(font)
        out = io.BytesIO()
        font.save(out)
        font.close()
        small.append(out.getvalue())
    return small


def write_mutants(folder: Path, count: int, seed: int) -> None:
    """Every base once as it is, then ``count`` mutants."""
    bases = small_fonts()
    for number, data in enumerate([*bases, *mutants(bases, count, seed)]):
        place = folder / f"{number // 1000:03d}"
        place.mkdir(exist_ok=True)
        kind = "good" if number < len(bases) else "mutant"
        (place / f"{kind}-{number:06d}.ttf").write_bytes(data)


def fingerprint(record: FileRecord) -> str:
    """A digest of all that a record says, save how long it took."""
    told: list[Any] = [record.path, record.size, record.digest, record.reason, sorted(record.verdicts.items())]
    for face in record.faces:
        told += [getattr(face, f.name) for f in fields(face) if f.name not in ("measures", "seconds")]
        if face.measures is not None:
            told += [getattr(face.measures, f.name) for f in fields(face.measures) if f.name != "table"]
            told.append(face.measures.table.to_bytes())
    return hashlib.sha256(repr(told).encode("utf-8", "backslashreplace")).hexdigest()


@dataclass(frozen=True)
class Outcome:
    """What a scan gave."""

    prints: dict[str, str]
    """Fingerprint of each file's record."""
    rows: int
    """Records that came, files told twice included."""
    measured: int
    reasons: dict[str, int]
    slow: frozenset[str] = frozenset()
    """Files that took more computing than ``QUICK_SECONDS``, or were stopped for it."""
    kills: int = 0
    parent_mb: float = 0.0
    worker_mb: float = 0.0


def children(pid: int) -> list[int]:
    """Direct child processes (Linux /proc)."""
    try:
        return [int(p) for p in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]
    except (OSError, ValueError):
        return []


def descendants(pid: int) -> list[int]:
    """Child processes and theirs."""
    found = []
    waiting = [pid]
    while waiting:
        for child in children(waiting.pop()):
            found.append(child)
            waiting.append(child)
    return found


def lives(pid: int) -> bool:
    """Whether a process runs: one that waits to be reaped does not."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] not in "ZX"
    except OSError:
        return False


def peak_mb(pid: int) -> float:
    """Peak resident memory of a process so far, in MB; 0 when it is gone."""
    try:
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024
    except OSError:
        pass
    return 0.0


class Watcher(threading.Thread):
    """Every 50 ms (``pause``) looks at the workers of this scan; with ``kill`` it ends a random one."""

    def __init__(self, seed: int, kill: bool) -> None:
        super().__init__(daemon=True)
        self.kills = 0
        self.worker_mb = 0.0
        self._random = random.Random(seed)
        self._kill = kill
        self._over = threading.Event()

    def run(self) -> None:
        """Until ``stop``."""
        while not self._over.wait(pause()):
            # A child may spawn from any thread of ours: look through all.
            servers = [c for t in os.listdir("/proc/self/task") for c in _thread_children(t)]
            workers = [w for s in servers for w in children(s)]
            self.worker_mb = max([self.worker_mb, *map(peak_mb, workers)])
            if self._kill and workers:
                try:
                    os.kill(self._random.choice(workers), signal.SIGKILL)
                    self.kills += 1
                except ProcessLookupError:
                    pass

    def stop(self) -> None:
        """No more kills after this returns."""
        self._over.set()
        self.join()


def _thread_children(thread: str) -> list[int]:
    try:
        return [int(p) for p in Path(f"/proc/self/task/{thread}/children").read_text().split()]
    except (OSError, ValueError):
        return []


def scanned(
    folder: Path, kill: bool, seed: int = 1, workers: int = 2, left_out: frozenset[str] = frozenset()
) -> Outcome:
    """Scan a folder, undisturbed or with a random worker killed every 50 ms."""
    files = [f for f in find_fonts([folder]) if str(f.path) not in left_out]
    slow = set()
    watcher = Watcher(seed, kill)
    watcher.start()
    prints: dict[str, str] = {}
    reasons: dict[str, int] = {}
    rows = measured = 0
    try:
        for record in scan_files(files, Settings(WORDS), workers):
            rows += 1
            prints[record.path] = fingerprint(record)
            measured += any(f.measures is not None for f in record.faces)
            told = {record.reason, *(f.reason for f in record.faces)}
            if told & LIMITS or sum(f.seconds for f in record.faces) > QUICK_SECONDS:
                slow.add(record.path)
            for reason in [r for r in [record.reason, *(f.reason for f in record.faces)] if r]:
                reasons[reason] = reasons.get(reason, 0) + 1
    finally:
        watcher.stop()
    return Outcome(
        prints, rows, measured, reasons, frozenset(slow), watcher.kills, peak_mb(os.getpid()), watcher.worker_mb
    )


# ── the whole command, killed ───────────────────────────────────────────────────────────────────────────────────────


def scan_command(folder: Path, catalogue: Path, words: Path, *more: str) -> list[str]:
    """The command line of a scan."""
    return [
        sys.executable, "-m", "catalogue.commands.main", "scan", str(folder), "--catalogue", str(catalogue),
        "--workers", "2", "--words", str(words), "--json", *more,
    ]  # fmt: skip


def start_scan(folder: Path, catalogue: Path, words: Path, **options: Any) -> subprocess.Popen[bytes]:
    """The scan as a process of its own."""
    environment = os.environ | {"PYTHONPATH": f"{ROOT}:{os.environ.get('PYTHONPATH', '')}"}
    options = {"preexec_fn": _interruptible} | options
    return subprocess.Popen(
        scan_command(folder, catalogue, words), env=environment, cwd=folder.parent, stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options,
    )  # fmt: skip


def _interruptible() -> None:
    """A shell starts its background jobs, and with them these tests, with Ctrl-C ignored; a person's scan is not so."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def contents(catalogue: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of a catalogue, keyed by what a face is and not by its number, without the time it took."""
    db = sqlite3.connect(f"file:{catalogue}?mode=ro", uri=True)
    try:
        db.row_factory = sqlite3.Row
        told: dict[str, list[tuple[Any, ...]]] = {}
        files = {row["id"]: row["path"] for row in db.execute("SELECT id, path FROM file")}
        faces = {
            row["id"]: (files[row["file_id"]], row["face_index"], row["instance"])
            for row in db.execute("SELECT * FROM face")
        }
        for table, key in (("file", "path"), ("face", "id"), ("measure", "face_id")):
            rows = []
            for row in db.execute(f"SELECT * FROM {table}"):
                name = row[key] if table == "file" else faces[row[key]]
                left_out = {"id", "file_id", "face_id", "seconds"}
                rows.append((name, *(row[k] for k in row.keys() if k not in left_out)))  # noqa: SIM118
            told[table] = sorted(rows, key=repr)
        return told
    finally:
        db.close()


def rows_done(catalogue: Path) -> set[str]:
    """Paths of the files whose rows are in the catalogue."""
    if not catalogue.exists():
        return set()
    db = sqlite3.connect(catalogue)
    try:
        return {path for (path,) in db.execute("SELECT path FROM file")}
    except sqlite3.OperationalError:  # made, but still empty
        return set()
    finally:
        db.close()


@dataclass
class Kills:
    """What came of killing the parent again and again."""

    kills: int = 0
    rounds: int = 0
    orphans: int = 0
    lost: int = 0
    """Rows that were there before a kill and are not after the next start."""
    different: int = 0
    """Rounds whose catalogue differs from the undisturbed one."""


def kill_parent_often(folder: Path, work: Path, kills: int, seed: int, longest: float = 4.0) -> Kills:
    """``kill -9`` of the scanning process at random moments; when it gets through, compare and start a new round."""
    rng = random.Random(seed)
    words = work / "words.txt"
    words.write_text("\n".join(WORDS))
    quiet = work / "quiet.sqlite"
    undisturbed = start_scan(folder, quiet, words)
    _, err = undisturbed.communicate()
    assert undisturbed.returncode == 0, err
    wanted = contents(quiet)
    told = Kills()
    while told.kills < kills or told.rounds == 0:
        told.rounds += 1
        catalogue = work / f"round-{told.rounds}.sqlite"
        before: set[str] = set()
        while True:
            process = start_scan(folder, catalogue, words)
            if told.kills < kills:
                try:
                    process.wait(rng.uniform(0.1, longest))
                except subprocess.TimeoutExpired:
                    family = descendants(process.pid)
                    process.kill()
                    process.communicate()
                    told.kills += 1
                    told.orphans += _survivors(family)
                    now = rows_done(catalogue)
                    told.lost += len(before - now)
                    before = now
                    continue
            _, err = process.communicate()
            assert process.returncode == 0, err
            break
        told.different += contents(catalogue) != wanted
    return told


def _survivors(family: Sequence[int], patience: float = 5.0) -> int:
    end = time.monotonic() + patience
    while any(map(lives, family)) and time.monotonic() < end:
        time.sleep(0.02)
    return sum(map(lives, family))
