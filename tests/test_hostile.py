"""Nothing lost and nobody in: hostile fonts, hostile folders, kills. Sources: published faults of font engines in kind.

The kinds of fonts follow what bit a naive scanner over the public test corpora of font engines (shared experience,
measured): bombs, loops, lies about sizes, noise in every table. The formats are OpenType 1.9, W3C WOFF 1.0 and WOFF2.
"""

from __future__ import annotations

import ast
import ctypes
import itertools
import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conftest import PORTABLE, font_bytes, forked_only, tiny_font
from hostile import GOOD, Hostile, good_font, hostile_fonts
from survival_checks import (
    contents,
    descendants,
    kill_parent_often,
    lives,
    peak_mb,
    rows_done,
    scan_command,
    scanned,
    start_scan,
    write_mutants,
)

import scanner
from catalogue.gather.scan import Scan, judge_face, scan_into
from catalogue.store.database import CatalogueError, Store
from scanner.files import FileError, FontFile, find_fonts, read_font
from scanner.reasons import Reason
from scanner.records import FaceRecord, FileRecord
from scanner.workers.limits import Limits
from scanner.workers.steps import Settings, scan_steps
from scanner.workers.supervisor import scan_files

WORDS = ("Al", "lif")
LISTED = {str(reason) for reason in Reason}
FEW_SECONDS = Limits(cpu_seconds=2.5)


def told(record: FileRecord) -> tuple[str, ...]:
    """The outcome of each face, or of the file."""
    return tuple(face.reason or GOOD for face in record.faces) or (record.reason,)


def font_file(path: Path) -> FontFile:
    info = path.lstat()
    return FontFile(path, info.st_size, info.st_mtime_ns)


def open_to_all(folder: Path) -> None:
    """Let another user reach a temporary folder."""
    for place in [folder, *folder.parents]:
        if place != Path("/"):
            place.chmod(place.stat().st_mode | 0o055)


# ── the closed list ─────────────────────────────────────────────────────────────────────────────────────────────────


def test_every_reason_is_one_line_that_says_what_to_do() -> None:
    for reason in Reason:
        what, _, advice = reason.partition("; ")
        assert what and advice and "\n" not in reason, reason
        assert "unknown" not in reason.casefold()
    assert len(LISTED) == len(Reason)


def test_what_the_scanner_raises_bears_a_listed_reason() -> None:
    # find_fonts and what reads a store speak to the person at the command line (what goes into a row is a Reason); all
    # else goes into a row.
    for path in Path(scanner.__file__).parent.rglob("*.py"):
        if path.name in ("remote.py", "listing.py", "stores.py"):
            continue
        for function in (n for n in ast.walk(ast.parse(path.read_text())) if isinstance(n, ast.FunctionDef)):
            if function.name in ("find_fonts", "_walk"):
                continue
            for node in ast.walk(function):
                called = isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("FontError", "FileError")
                if called and isinstance(node, ast.Call):
                    text = ast.unparse(node.args[0])
                    assert "Reason." in text or "_why_" in text, f"{path.name}:{node.lineno}"


# ── hostile fonts ───────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[FileRecord]]:
    """All hostile fonts and, among them, sound ones, scanned by two workers."""
    folder = tmp_path_factory.mktemp("hostile")
    for number, font in enumerate(hostile_fonts()):
        (folder / font.name).write_bytes(font.data)
        if number % 10 == 0:
            (folder / f"sound-{number}.ttf").write_bytes(good_font() + bytes(number))
    found: dict[str, list[FileRecord]] = {}
    settings = Settings(WORDS, judge=judge_face, roots=(folder,))
    for record in scan_files(find_fonts([folder]), settings, 2, FEW_SECONDS):
        found.setdefault(Path(record.path).name, []).append(record)
    return found


def test_there_are_enough_of_them() -> None:
    assert len(hostile_fonts()) >= 60
    assert len({h.name for h in hostile_fonts()}) == len(hostile_fonts())


@pytest.mark.parametrize("font", hostile_fonts(), ids=lambda font: font.name)
def test_a_hostile_font_gets_its_row(outcomes: dict[str, list[FileRecord]], font: Hostile) -> None:
    records = outcomes[font.name]
    assert len(records) == 1
    assert told(records[0]) == tuple(map(str, font.outcomes))
    keys = [(face.face_index, face.instance) for face in records[0].faces]
    assert len(keys) == len(set(keys))
    for face in records[0].faces:
        assert (face.measures is None) == bool(face.reason)
        for text in (face.family, face.style, face.version, face.instance):
            text.encode("utf-8")  # no lone surrogate
            assert len(text) <= 200 and text.isprintable()


def test_no_sound_font_is_lost_among_them(outcomes: dict[str, list[FileRecord]]) -> None:
    sound = {name: records for name, records in outcomes.items() if name.startswith("sound")}
    assert len(sound) == -(-len(hostile_fonts()) // 10)
    assert {told(r) for records in sound.values() for r in records} == {(GOOD,)}


def test_every_reason_of_the_hostile_fonts_is_listed(outcomes: dict[str, list[FileRecord]]) -> None:
    reasons = {text for records in outcomes.values() for r in records for text in told(r)} - {GOOD}
    assert reasons <= LISTED
    assert len(reasons) > 12  # the traps reach many of them


def test_they_all_go_into_one_catalogue(outcomes: dict[str, list[FileRecord]], tmp_path: Path) -> None:
    """Lone surrogates, names twice and numbers that are none would each stop the store."""
    with Store(tmp_path / "c.sqlite", create=True) as store:
        for record in (r for records in outcomes.values() for r in records):
            store.put(record, "test", record.verdicts)
        assert store.counts()["files"] == len(outcomes)
        assert {reason for _, reason in store.failed()} <= LISTED


# ── limits ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def spin(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    """A judge that never ends."""
    while True:
        pass


def sleep(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    """A judge that waits for ever."""
    time.sleep(1000)
    return {}


def devour(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    """A judge that takes two gigabytes."""
    return {"verdict": "yes", "size": len(bytearray(2 << 30))}


def crash(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    """A judge that reads where nothing is."""
    ctypes.string_at(0)
    return {}


@pytest.mark.parametrize("judge", [spin, sleep, devour, crash], ids=lambda judge: judge.__name__)
def test_a_step_that_breaks_its_limit_costs_that_step_only(tmp_path: Path, judge: Any) -> None:
    (tmp_path / "one.ttf").write_bytes(good_font())
    (tmp_path / "two.ttf").write_bytes(font_bytes(tiny_font(cff=True)))
    limits = Limits(cpu_seconds=1.0, wall_seconds=10.0)
    records = list(scan_files(find_fonts([tmp_path]), Settings(WORDS, judge=judge), 1, limits))
    assert [told(r) for r in records] == [(GOOD,), (GOOD,)]
    assert [r.verdicts[0]["verdict"] for r in records] == ["unknown", "unknown"]


def test_a_worker_is_held_to_its_memory(tmp_path: Path) -> None:
    (tmp_path / "one.ttf").write_bytes(good_font())
    limits = Limits(memory_bytes=150 << 20)  # less than the libraries alone have mapped
    (record,) = scan_files(find_fonts([tmp_path]), Settings(WORDS), 1, limits)
    assert set(told(record)) <= {Reason.MEMORY, Reason.CRASH}


# ── hostile folders ─────────────────────────────────────────────────────────────────────────────────────────────────


def scan_folder(folder: Path) -> dict[str, tuple[str, ...]]:
    """Outcome by file name."""
    records = list(scan_files(find_fonts([folder]), Settings(WORDS), 2, FEW_SECONDS))
    names = [os.path.relpath(r.path, folder) for r in records]
    assert len(names) == len(set(names)) == len(list(find_fonts([folder])))
    return dict(zip(names, map(told, records)))


def test_entries_that_are_no_plain_files(tmp_path: Path) -> None:
    (tmp_path / "good.ttf").write_bytes(good_font())
    os.mkfifo(tmp_path / "pipe.ttf")
    (tmp_path / "endless.ttf").symlink_to("/dev/zero")
    (tmp_path / "nowhere.ttf").symlink_to("not-there")
    (tmp_path / "loop.ttf").symlink_to("loop.ttf")
    (tmp_path / "folder.ttf").mkdir()
    (tmp_path / "folder.ttf" / "within.ttf").write_bytes(good_font())
    server = socket.socket(socket.AF_UNIX)
    server.bind(str(tmp_path / "socket.ttf"))
    found = scan_folder(tmp_path)
    server.close()
    assert found == {
        "good.ttf": (GOOD,), "folder.ttf/within.ttf": (GOOD,), "pipe.ttf": (Reason.NOT_PLAIN,),
        "endless.ttf": (Reason.NOT_PLAIN,), "socket.ttf": (Reason.NOT_PLAIN,), "nowhere.ttf": (Reason.DANGLING,),
        "loop.ttf": (Reason.DANGLING,),
    }  # fmt: skip


def test_links_to_folders_and_files_give_no_font_twice(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "good.ttf").write_bytes(good_font())
    (tmp_path / "a" / "up").symlink_to(tmp_path)
    (tmp_path / "b").symlink_to("a")
    (tmp_path / "z-link.ttf").symlink_to("a/good.ttf")
    os.link(tmp_path / "a" / "good.ttf", tmp_path / "z-hard.ttf")
    assert list(scan_folder(tmp_path).values()) == [(GOOD,)]


def test_folders_a_thousand_deep(tmp_path: Path) -> None:
    folders = list(itertools.accumulate(["d"] * 1500, os.path.join, initial=str(tmp_path)))[1:]
    folders = [folder for folder in folders if len(folder) < 4000]  # what the system takes as a path
    assert len(folders) > 1000
    for folder in folders:
        os.mkdir(folder)
    Path(folders[-1], "x.ttf").write_bytes(good_font())
    try:
        assert [f.path.name for f in find_fonts([tmp_path])] == ["x.ttf"]
    finally:  # pytest clears what earlier runs left by recursion, which breaks on folders as deep as these
        os.unlink(os.path.join(folders[-1], "x.ttf"))
        for folder in reversed(folders):
            os.rmdir(folder)


def test_a_sparse_file_of_8_gb_is_not_read(tmp_path: Path) -> None:
    with (tmp_path / "huge.ttf").open("wb") as file:
        file.write(good_font())
        file.truncate(8 << 30)
    assert scan_folder(tmp_path) == {"huge.ttf": (Reason.LARGE,)}


def test_names_that_are_no_text_are_told(tmp_path: Path) -> None:
    os.close(os.open(os.fsencode(tmp_path) + b"/caf\xe9.ttf", os.O_CREAT | os.O_WRONLY))
    (tmp_path / "two\nlines\x1b[2J.ttf").write_bytes(good_font())
    catalogue = tmp_path / "c.sqlite"
    for _ in range(2):  # the second scan finds everything known
        facts = scan_into(catalogue, Scan([tmp_path], WORDS, 1))
    assert [(Path(p).name, r) for p, r in facts["reasons"]] == [("caf\\udce9.ttf", Reason.PATH)]
    assert (facts["files"], facts["faces"], facts["skipped_unchanged"]) == (2, 1, 2)


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user and try")
def test_what_may_not_be_read_gets_its_reason(tmp_path: Path) -> None:
    (tmp_path / "shut.ttf").write_bytes(good_font())
    (tmp_path / "shut.ttf").chmod(0)
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "good.ttf").write_bytes(good_font())
    (tmp_path / "folder").chmod(0)
    (tmp_path / "open.ttf").write_bytes(good_font())
    open_to_all(tmp_path)
    found: dict[str, str] = {}
    os.seteuid(65534)  # nobody
    try:
        for file in find_fonts([tmp_path]):
            try:
                read_font(file.path)
            except FileError as error:
                found[file.path.name] = str(error)
            else:
                found[file.path.name] = GOOD
    finally:
        os.seteuid(0)
    assert found == {"shut.ttf": Reason.SHUT, "folder": Reason.FOLDER, "open.ttf": GOOD}


def test_a_folder_that_cannot_be_listed_is_not_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shut").mkdir()
    (tmp_path / "good.ttf").write_bytes(good_font())
    real = os.scandir

    def refuse(path: str) -> Any:
        if str(path).endswith("shut"):
            raise PermissionError(13, "Permission denied", path)
        return real(path)

    monkeypatch.setattr(os, "scandir", refuse)
    assert scan_folder(tmp_path) == {"good.ttf": (GOOD,), "shut": (Reason.FOLDER,)}


def test_files_that_vanish_or_turn_into_something_else_during_the_scan(tmp_path: Path) -> None:
    files = []
    for name in ("stays", "vanishes", "becomes-a-pipe", "becomes-a-folder", "becomes-empty", "becomes-other"):
        (tmp_path / f"{name}.ttf").write_bytes(good_font())
        files.append(font_file(tmp_path / f"{name}.ttf"))
    for name in ("vanishes", "becomes-a-pipe", "becomes-a-folder"):
        (tmp_path / f"{name}.ttf").unlink()
    os.mkfifo(tmp_path / "becomes-a-pipe.ttf")
    (tmp_path / "becomes-a-folder.ttf").mkdir()
    (tmp_path / "becomes-empty.ttf").write_bytes(b"")
    (tmp_path / "becomes-other.ttf").write_bytes(font_bytes(tiny_font(cff=True)))
    found = {Path(r.path).stem: told(r) for r in scan_files(files, Settings(WORDS), 2)}
    assert found == {
        "stays": (GOOD,), "vanishes": (Reason.GONE,), "becomes-a-pipe": (Reason.NOT_PLAIN,),
        "becomes-a-folder": (Reason.FOLDER,), "becomes-empty": (Reason.EMPTY,), "becomes-other": (GOOD,),
    }  # fmt: skip


def test_a_file_that_grows_while_it_is_read_is_not_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "growing.ttf"
    path.write_bytes(good_font())
    real = os.fdopen

    def grow(handle: int, mode: str) -> Any:
        file = real(handle, mode)
        size = os.fstat(handle).st_size
        with path.open("ab") as more:
            more.write(bytes(100_000 - size))
        return file

    monkeypatch.setattr(os, "fdopen", grow)
    read_font(path)  # it grew before the first look at it
    monkeypatch.setattr(os, "fdopen", real)
    looks: list[os.stat_result] = []
    look = os.fstat

    def touched(handle: int) -> os.stat_result:
        if looks:
            os.utime(path, ns=(1, 1))
        looks.append(look(handle))
        return looks[-1]

    monkeypatch.setattr(os, "fstat", touched)
    with pytest.raises(FileError, match=str(Reason.CHANGING)):
        read_font(path)


def test_what_changed_during_the_scan_is_scanned_again(tmp_path: Path) -> None:
    path = tmp_path / "font.ttf"
    path.write_bytes(good_font())
    catalogue = tmp_path / "c.sqlite"
    scan_into(catalogue, Scan([tmp_path], WORDS, 1))
    path.write_bytes(b"")
    assert scan_into(catalogue, Scan([tmp_path], WORDS, 1))["reasons"] == [(str(path), Reason.EMPTY)]
    path.write_bytes(good_font())
    facts = scan_into(catalogue, Scan([tmp_path], WORDS, 1))
    assert (facts["faces"], facts["failed"]) == (1, 0)


# ── kills ───────────────────────────────────────────────────────────────────────────────────────────────────────────


@forked_only
def test_workers_killed_at_any_moment_change_nothing(tmp_path: Path) -> None:
    """300 mutants here; 20,000 and more by ``bench/survival.py``."""
    write_mutants(tmp_path, 300, seed=7)
    quiet = scanned(tmp_path, kill=False)
    assert quiet.rows == len(quiet.prints) == len(list(tmp_path.rglob("*.ttf")))
    killed = scanned(tmp_path, kill=True, left_out=quiet.slow)
    assert len(quiet.slow) < quiet.rows / 3
    assert killed.kills > 20
    assert killed.prints == {path: told for path, told in quiet.prints.items() if path not in quiet.slow}
    assert killed.rows == len(killed.prints)
    assert set(quiet.reasons) <= LISTED
    assert quiet.measured > 150
    assert killed.worker_mb < 1024


def test_the_parent_killed_and_started_again_ends_at_the_same_catalogue(tmp_path: Path) -> None:
    """5 kills here; 100 by ``bench/survival.py``."""
    folder = tmp_path / "fonts"
    folder.mkdir()
    write_mutants(folder, 40, seed=3)
    done = kill_parent_often(folder, tmp_path, kills=5, seed=11)
    assert (done.kills, done.different, done.lost, done.orphans) == (5, 0, 0, 0)


@pytest.fixture
def running(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[bytes], Path, Path]]:
    """A scan that has stored its first rows, its folder and its catalogue."""
    folder = tmp_path / "fonts"
    folder.mkdir()
    write_mutants(folder, 250, seed=5)
    (tmp_path / "words.txt").write_text("Ho\noo\nHoo\noHo\n")
    catalogue = tmp_path / "c.sqlite"
    process = start_scan(folder, catalogue, tmp_path / "words.txt")
    end = time.monotonic() + 120
    while len(rows_done(catalogue)) < 5 and time.monotonic() < end and process.poll() is None:
        time.sleep(0.05)
    assert process.poll() is None
    yield process, folder, catalogue
    if process.poll() is None:
        process.kill()
    process.communicate()


def test_ctrl_c_stops_cleanly_and_keeps_what_is_done(running: tuple[subprocess.Popen[bytes], Path, Path]) -> None:
    process, _, catalogue = running
    family = descendants(process.pid)
    assert len(family) >= (2 if PORTABLE else 3)  # two workers, and the fork server where there is one
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode == 2
    assert err.decode().startswith("letterhold: stopped; what was done is kept")
    assert len(err.decode().splitlines()) == 1
    assert not any(map(lives, family))
    assert len(rows_done(catalogue)) >= 5
    with closing(sqlite3.connect(catalogue)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_killed_fork_server_is_replaced(running: tuple[subprocess.Popen[bytes], Path, Path]) -> None:
    process, folder, catalogue = running
    for server in descendants(process.pid)[:1]:
        os.kill(server, signal.SIGKILL)
    _, err = process.communicate(timeout=300)
    assert (process.returncode, err) == (0, b"")
    assert len(rows_done(catalogue)) == len(list(folder.rglob("*.ttf")))


def test_a_second_scan_waits_for_nobody_and_says_so(running: tuple[subprocess.Popen[bytes], Path, Path]) -> None:
    process, folder, catalogue = running
    with pytest.raises(CatalogueError, match=r"another scan is writing it; wait until that one is done$"):
        scan_into(catalogue, Scan([folder], WORDS, 1))
    assert process.poll() is None


def test_the_page_may_read_while_a_scan_writes(running: tuple[subprocess.Popen[bytes], Path, Path]) -> None:
    process, folder, catalogue = running
    seen = []
    with Store(catalogue) as store:  # held open all the time, as a page does
        while process.poll() is None:
            seen.append(store.counts()["files"])
            assert all(Path(face.path).is_relative_to(folder) for face in store.faces(measured_only=False))
            time.sleep(0.2)
            if len(seen) > 20 and seen[-1] > seen[0]:
                break
    assert seen == sorted(seen)
    assert peak_mb(process.pid) < 200 or process.poll() is not None


# ── disks ───────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def three_fonts(tmp_path: Path) -> Path:
    folder = tmp_path / "fonts"
    folder.mkdir()
    for number in range(3):
        (folder / f"{number}.ttf").write_bytes(good_font() + bytes(number))
    return folder


def command(folder: Path, catalogue: Path, words: Path, **options: Any) -> tuple[int, str]:
    """Exit status and error output of a scan in a process of its own."""
    words.write_text("Al\n")
    process = start_scan(folder, catalogue, words, **options)
    _, err = process.communicate(timeout=120)
    return process.returncode, err.decode()


def test_a_full_disk_is_told_in_one_line_and_loses_nothing_done(three_fonts: Path, tmp_path: Path) -> None:
    import resource

    catalogue = tmp_path / "c.sqlite"

    def small_disk() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, 60_000))

    status, err = command(three_fonts, catalogue, tmp_path / "w", preexec_fn=small_disk)
    assert status == 2
    assert err.startswith(f"letterhold: {catalogue}: the disk") and err.count("\n") == 1
    assert "Traceback" not in err
    status, err = command(three_fonts, catalogue, tmp_path / "w")
    assert (status, err) == (0, "")
    fresh = tmp_path / "fresh.sqlite"
    assert command(three_fonts, fresh, tmp_path / "w") == (0, "")
    assert contents(catalogue) == contents(fresh)


def test_a_full_disk_below_sqlite_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = sqlite3.connect
    Store(tmp_path / "c.sqlite", create=True).close()

    def small(*arguments: Any, **options: Any) -> sqlite3.Connection:
        db = real(*arguments, **options)
        db.execute("PRAGMA max_page_count = 1")  # SQLite takes the present size when that is more
        return db

    monkeypatch.setattr(sqlite3, "connect", small)
    large = FileRecord("/x.ttf", 1, 1, "", (), "x" * 100_000)
    with (
        Store(tmp_path / "c.sqlite", create=True) as store,
        pytest.raises(CatalogueError, match=r"the disk is full, what was done is kept; free some space"),
    ):
        store.put(large, "test")


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user and try")
def test_a_catalogue_that_may_not_be_written(three_fonts: Path, tmp_path: Path) -> None:
    folder = tmp_path / "shelf"
    folder.mkdir()
    catalogue = folder / "c.sqlite"
    scan_into(catalogue, Scan([three_fonts], WORDS, 1))
    (three_fonts / "new.ttf").write_bytes(good_font() + bytes(9))
    open_to_all(three_fonts)
    os.seteuid(65534)
    try:
        with pytest.raises(CatalogueError, match=r"(cannot|may not) be written.*; name another file with --catalogue$"):
            scan_into(catalogue, Scan([three_fonts], WORDS, 1))
    finally:
        os.seteuid(0)


def test_a_catalogue_is_made_whole_or_not_at_all(tmp_path: Path) -> None:
    """Whoever is stopped while the tables are made leaves an empty file, which the next scan takes."""
    path = tmp_path / "c.sqlite"
    db = sqlite3.connect(path)
    db.execute("PRAGMA journal_mode = WAL")
    db.close()
    with Store(path, create=True) as store:
        assert store.counts()["files"] == 0


# ── small print ─────────────────────────────────────────────────────────────────────────────────────────────────────


def test_nothing_is_imported_from_the_folder_one_works_in(three_fonts: Path, tmp_path: Path) -> None:
    """A folder of fonts may hold a ``numpy.py``."""
    for name in ("numpy", "scanner", "cv2", "ctypes"):
        (three_fonts / f"{name}.py").write_text(f"open({str(tmp_path / 'ran')!r}, 'w')\nraise SystemExit(1)\n")
    script = (
        f"import sys; sys.path.insert(0, {str(Path(__file__).parent.parent)!r})\n"
        f"import os; os.chdir({str(three_fonts)!r})\n"
        "from pathlib import Path\nfrom scanner.files import find_fonts\n"
        "from scanner.workers.steps import Settings\nfrom scanner.workers.supervisor import scan_files\n"
        "print(len([r for r in scan_files(find_fonts([Path('.')]), Settings(('Al',)), 1) if r.faces[0].measures]))\n"
    )
    done = subprocess.run([sys.executable, "-P", "-c", script], capture_output=True, text=True, timeout=120)
    assert (done.stdout.strip(), done.stderr) == ("3", "")
    assert not (tmp_path / "ran").exists()


def test_the_callers_main_program_is_not_run_again(three_fonts: Path, tmp_path: Path) -> None:
    """A page or a script without a guard may call the scan."""
    script = tmp_path / "page.py"
    script.write_text(
        f"import sys; sys.path.insert(0, {str(Path(__file__).parent.parent)!r})\n"
        "print('started')\n"
        "from pathlib import Path\nfrom scanner.files import find_fonts\n"
        "from scanner.workers.steps import Settings\nfrom scanner.workers.supervisor import scan_files\n"
        f"print(len(list(scan_files(find_fonts([Path({str(three_fonts)!r})]), Settings(('Al',)), 2))))\n"
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=120)
    assert done.stdout.split() == ["started", "3"]


def test_a_scan_from_a_thread_that_is_given_up_leaves_no_process(three_fonts: Path) -> None:
    before = set(descendants(os.getpid()))

    def begin() -> None:
        records = scan_files(find_fonts([three_fonts]), Settings(WORDS), 2)
        next(records)
        records.close()

    thread = threading.Thread(target=begin)
    thread.start()
    thread.join()
    assert not [p for p in set(descendants(os.getpid())) - before if lives(p)]


def test_the_plain_loop_and_the_isolated_one_say_the_same(tmp_path: Path) -> None:
    (tmp_path / "one.ttf").write_bytes(good_font())
    (file,) = find_fonts([tmp_path])
    plain = [s for s in scan_steps(file, Settings(WORDS)) if isinstance(s, FaceRecord)]
    (record,) = scan_files([file], Settings(WORDS), 1)
    assert [f.measures.table.to_bytes() for f in plain if f.measures] == [
        f.measures.table.to_bytes() for f in record.faces if f.measures
    ]


def test_the_command_prints_paths_without_control_characters(tmp_path: Path) -> None:
    folder = tmp_path / "fonts"
    folder.mkdir()
    (folder / "bad\x1b]0;x\x07\n.ttf").write_bytes(b"none")
    (tmp_path / "w").write_text("Al\n")
    arguments = [a for a in scan_command(folder, tmp_path / "c.sqlite", tmp_path / "w") if a != "--json"]
    done = subprocess.run(arguments, capture_output=True, text=True, timeout=120, cwd=Path(__file__).parent.parent)
    assert done.returncode == 0
    assert "\x1b" not in done.stdout and "\x07" not in done.stdout
    assert json.dumps(str(Reason.NO_FONT))[1:-1] in done.stdout
