"""Errors that say what is true: whose fault it is, what to do, and an exit status that a script can believe."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import stat
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from conftest import copy_demo_fonts, demo_paths

from catalogue import faults
from catalogue.commands.main import main
from catalogue.gather.scan import Scan, scan_into
from catalogue.store.columns import columns_path

Capture = pytest.CaptureFixture[str]
FAULT = "letterhold: this is a fault in letterhold, not in your input; details in "


@pytest.fixture(scope="module")
def fonts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return copy_demo_fonts(tmp_path_factory.mktemp("fonts"), ("fontpkg_lobster", "fontpkg_anton"))


@pytest.fixture(scope="module")
def catalogue(fonts: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    scan_into(path, Scan([fonts], ("Bo",), 1))
    return path


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder for details of faults."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state" / "letterhold"


def run(capsys: Capture, *arguments: object) -> tuple[int, str, str]:
    capsys.readouterr()
    status = main([str(a) for a in arguments])
    out, err = capsys.readouterr()
    return status, out, err


def process(*arguments: object, **options: Any) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-m", "catalogue.commands.main", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, check=False, timeout=120, **options)


# ── whose fault ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    "error", [ValueError("buffer size must be a multiple"), IndexError("9"), RecursionError(), OSError("no number")]
)
def test_a_librarys_error_is_a_fault_of_the_program(
    capsys: Capture, catalogue: Path, state: Path, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    from catalogue.judge import listing

    def broken(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(listing, "rank", broken)
    status, out, err = run(capsys, "rank", "Bo", "--as-set", "--catalogue", catalogue)
    (file,) = state.iterdir()
    assert (status, out, err) == (3, "", f"{FAULT}{file}\n")
    text = file.read_text(encoding="utf-8")
    assert type(error).__name__ in text and "in broken" in text and "Python 3." in text
    assert stat.S_IMODE(file.stat().st_mode) == 0o600, "names and paths are nobody else's business"


def test_details_that_no_folder_takes_are_printed(
    capsys: Capture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(faults, "state_folder", lambda: tmp_path / "file" / "below")
    monkeypatch.setattr(faults.tempfile, "gettempdir", lambda: str(tmp_path / "file" / "too"))
    assert str(faults.keep_details(KeyError("x"))) == "the lines above"
    assert "KeyError: 'x'" in capsys.readouterr().err


def test_only_the_latest_details_are_kept(state: Path) -> None:
    for _ in range(faults.MOST_KEPT + 3):
        faults.keep_details(ValueError("again"))
    assert len(list(state.iterdir())) == faults.MOST_KEPT


def test_the_systems_own_errors_are_the_users_to_mend(capsys: Capture, catalogue: Path, tmp_path: Path) -> None:
    picture = tmp_path / ("long" * 80 + ".svg")  # ENAMETOOLONG: names have 255 bytes at most (POSIX NAME_MAX on Linux)
    status, _, err = run(capsys, "check", "Bo", "--face", "Anton", "--catalogue", catalogue, "--picture", picture)
    assert status == 2 and err.count("\n") == 1 and "file name too long; check the path" in err


# ── what may be given as a catalogue ────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("command", [("rank", "Bo"), ("inspect", "Anton"), ("health",), ("groups",)])
def test_what_is_no_plain_file_is_refused(capsys: Capture, tmp_path: Path, command: tuple[str, ...]) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", Path("/dev/null"), tmp_path):
        status, _, err = run(capsys, *command, "--catalogue", path)
        assert (status, err) == (2, f"letterhold: {path}: not a plain file; name another file with --catalogue\n")


def test_a_scan_into_a_pipe_is_refused(capsys: Capture, fonts: Path, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    status, _, err = run(capsys, "scan", fonts, "--catalogue", tmp_path / "pipe")
    assert status == 2 and "not a plain file" in err
    assert [p.name for p in tmp_path.iterdir()] == ["pipe"]


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become another user and try")
@pytest.mark.parametrize("log", [False, True])
def test_a_catalogue_in_a_folder_that_may_not_be_written_can_be_ranked_from(
    capsys: Capture, catalogue: Path, tmp_path: Path, log: bool
) -> None:
    """As on a read-only mount: neither SQLite's log nor the columns file can be made there."""
    folder = Path("/tmp") / f"letterhold-test-{os.getpid()}-{log}"  # tmp_path is closed to other users
    folder.mkdir(mode=0o755)
    try:
        own = folder / "c.sqlite"
        with closing(sqlite3.connect(catalogue)) as source:
            source.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        shutil.copy(catalogue, own)
        if log:  # what a scan on another machine left behind, without its shared memory
            db = sqlite3.connect(own)
            db.execute("UPDATE stamp SET value = value + 1")
            db.commit()
            shutil.copy(folder / "c.sqlite-wal", tmp_path / "wal")
            db.close()
            shutil.copy(tmp_path / "wal", folder / "c.sqlite-wal")
        before = sorted(p.name for p in folder.iterdir())
        os.seteuid(65534)
        try:
            status, out, err = run(capsys, "rank", "Bo", "--json", "--verify", "0", "--catalogue", own)
        finally:
            os.seteuid(0)
        assert (status, err, len(json.loads(out))) == (0, "", 2)
        assert sorted(p.name for p in folder.iterdir()) == before
    finally:
        shutil.rmtree(folder)


def test_a_path_too_long_for_the_system_gets_its_row(fonts: Path, tmp_path: Path) -> None:
    """Folders 22 deep with names of 200 letters: 4,096 bytes are the most of a path (Linux, PATH_MAX)."""
    here = os.getcwd()
    try:
        os.chdir(tmp_path)
        for _ in range(22):
            os.mkdir("d" * 200)
            os.chdir("d" * 200)
        Path("deep.ttf").write_bytes((fonts / "Anton-Regular.ttf").read_bytes())
    finally:
        os.chdir(here)
    facts = scan_into(tmp_path / "c.sqlite", Scan([tmp_path, fonts], ("Bo",), 1))
    assert (facts["faces"], facts["failed"]) == (2, 1)
    assert [reason for _, reason in facts["reasons"]] == [
        "its path is too long for this system; move it to a folder nearer the top"
    ]


# ── output ──────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_an_output_that_lacks_a_letter_gets_escapes(catalogue: Path, encoding: str) -> None:
    arguments = ("check", "Zoë", "--face", "Anton", "--catalogue", catalogue)
    more = {**os.environ, "PYTHONIOENCODING": encoding}
    plain = process(*arguments, env=more)
    assert (plain.returncode, plain.stderr) == (0, b"")
    assert "“Zoë”".encode(encoding, "backslashreplace") in plain.stdout
    table = process(*arguments, "--json", env=more)
    assert table.stdout.isascii() and json.loads(table.stdout)["name"] == "Zoë"


def test_the_plain_locale_is_no_obstacle(catalogue: Path) -> None:
    done = process("check", "Zoë", "--face", "Anton", "--catalogue", catalogue, env={**os.environ, "LC_ALL": "C"})
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_reader_that_has_seen_enough_is_no_error(catalogue: Path) -> None:
    command = [sys.executable, "-m", "catalogue.commands.main", "rank", "Bo", "--catalogue", str(catalogue)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None and running.stderr is not None
        running.stdout.close()
        assert running.stderr.read() == b""
    assert running.returncode == 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_output_that_a_full_disk_does_not_take_is_one_line(catalogue: Path) -> None:
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "catalogue.commands.main", "rank", "Bo", "--catalogue", str(catalogue)]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 2 and done.stderr.count(b"\n") == 1 and b"no space left on device" in done.stderr


@pytest.mark.parametrize("form", ["", "--json", "--csv"])
def test_closed_outputs_are_no_fault(catalogue: Path, state: Path, form: str) -> None:
    command = f"{sys.executable} -m catalogue.commands.main rank Bo {form} --catalogue {catalogue} >&- 2>&-"
    assert subprocess.run(["sh", "-c", command], check=False, timeout=120).returncode == 0
    assert not state.exists()


def test_ctrl_c_is_one_line(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "catalogue.commands.main", "demo", "--catalogue", str(tmp_path / "c.sqlite")]
    # A shell starts its background jobs with Ctrl-C ignored; a person's command is not so.
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    ) as running:  # fmt: skip
        time.sleep(2)
        running.send_signal(signal.SIGINT)
        _, err = running.communicate(timeout=60)
    lines = [line for line in err.decode().splitlines() if not line.startswith("scanning the fonts")]
    assert lines == ["letterhold: stopped; what was done is kept, run the same command to go on"]
    assert running.returncode == 2


# ── the font is the one that was scanned ────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def swapped(tmp_path: Path) -> tuple[Path, Path]:
    """A catalogue, and its Lobster overwritten by another font since."""
    folder = copy_demo_fonts(tmp_path, ("fontpkg_lobster",))
    path = tmp_path / "c.sqlite"
    scan_into(path, Scan([folder], ("Bo",), 1))
    font = folder / "Lobster-Regular.ttf"
    other = next(p for p in demo_paths() if p.name == "Anton-Regular.ttf")
    font.write_bytes(other.read_bytes())
    return path, font


@pytest.mark.parametrize(
    "command",
    [
        ("check", "Bo", "--face", "Lobster"), ("licence", "Lobster Regular"), ("inspect", "Lobster"),
        ("compare", "Lobster", "--name", "Bo"), ("tag", "Bo", "--face", "Lobster", "--out", "OUT"),
    ],
)  # fmt: skip
def test_a_font_that_was_overwritten_since_is_refused(
    capsys: Capture, swapped: tuple[Path, Path], tmp_path: Path, command: tuple[str, ...]
) -> None:
    path, font = swapped
    asked = [str(tmp_path / "out") if word == "OUT" else word for word in command]
    status, out, err = run(capsys, *asked, "--catalogue", path)
    assert (status, out) == (2, "")
    assert err == f"letterhold: {font}: changed since the scan; scan its folder again\n"
    assert not (tmp_path / "out").exists()


def test_a_font_that_was_scanned_again_is_drawn_as_it_is_now(
    capsys: Capture, swapped: tuple[Path, Path], tmp_path: Path
) -> None:
    """In one process, as the page is: the outlines of the earlier font under the same path are not taken again."""
    path, font = swapped
    lobster = next(p for p in demo_paths() if p.name == "Lobster-Regular.ttf")
    asked = ("check", "Bo", "--face", str(font), "--catalogue", path, "--json")
    widths = []
    for source in (lobster, next(p for p in demo_paths() if p.name == "Anton-Regular.ttf")):
        font.write_bytes(source.read_bytes())
        scan_into(path, Scan([font], ("Bo",), 1))
        facts = json.loads(run(capsys, *asked)[1])
        widths.append((facts["family"], facts["layers"][0]["area_mm2"]))
    assert widths[0][0] != widths[1][0] and widths[0][1] != widths[1][1]


def test_a_ranking_leaves_out_what_it_cannot_measure_and_says_so(capsys: Capture, swapped: tuple[Path, Path]) -> None:
    path, font = swapped
    status, out, err = run(capsys, "rank", "Bo", "--json", "--catalogue", path)
    assert err == f"letterhold: {font}: changed since the scan; scan its folder again\n"
    assert json.loads(out) == [] and status == 1


def test_a_font_that_was_only_touched_or_is_back_is_taken(capsys: Capture, catalogue: Path, fonts: Path) -> None:
    font = fonts / "Anton-Regular.ttf"
    os.utime(font, (1_000_000_000, 1_000_000_000))
    assert run(capsys, "inspect", "Anton", "--catalogue", catalogue)[0] == 0
    data = font.read_bytes()
    font.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))  # the same size
    assert run(capsys, "inspect", "Anton", "--catalogue", catalogue)[0] == 2
    font.write_bytes(data)
    assert run(capsys, "inspect", "Anton", "--catalogue", catalogue)[0] == 0


def test_a_columns_file_that_is_a_pipe_is_no_trap(capsys: Capture, catalogue: Path) -> None:
    columns_path(catalogue).unlink(missing_ok=True)
    os.mkfifo(columns_path(catalogue))
    assert run(capsys, "rank", "Bo", "--verify", "0", "--catalogue", catalogue)[0] == 0
