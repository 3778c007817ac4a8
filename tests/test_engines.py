"""Every engine gives the same records and reasons: forked workers, spawned ones, and none of them by load."""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from conftest import demo_sample, font_bytes, tiny_font
from hostile import good_font, hostile_fonts
from survival_checks import descendants, fingerprint, lives

import scanner
from scanner.files import FileError, find_fonts, read_font
from scanner.reasons import Reason
from scanner.records import FileRecord
from scanner.workers.job import Job
from scanner.workers.limits import Limits
from scanner.workers.start import worker_environment
from scanner.workers.steps import Settings
from scanner.workers.supervisor import scan_files

WORDS = ("Al", "lif")
LIMIT = Limits(cpu_seconds=1.0, wall_seconds=60.0)


@pytest.fixture(params=["", "portable"], ids=["forked", "spawned"])
def engine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both engines; where no process can be forked there is one."""
    monkeypatch.setenv("LETTERHOLD_ENGINE", request.param)
    if not request.param and not hasattr(os, "fork"):
        pytest.skip("no fork here")
    return str(request.param)


def scan(folder: Path, settings: Settings, workers: int = 1, limits: Limits | None = None) -> list[FileRecord]:
    return sorted(scan_files(find_fonts([folder]), settings, workers, limits), key=lambda r: r.path)


def compute(seconds: float) -> dict[str, Any]:
    end = time.process_time() + seconds
    while time.process_time() < end:
        pass
    return {"verdict": "yes", "reasons": []}


def computes_most_of_the_limit(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    return compute(0.8 * LIMIT.cpu_seconds)


def computes_half_as_much_again(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    return compute(1.5 * LIMIT.cpu_seconds)


def computes_three_times_the_limit(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    return compute(3.0 * LIMIT.cpu_seconds)


def crashes(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    return {"verdict": str(ctypes.string_at(0))}


def ends_from_outside_once(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    """As the system ends a process for want of memory; the mark beside the font is made before, by the test."""
    mark = path.with_name("mark")
    if mark.exists():
        mark.unlink()
        os.kill(os.getpid(), signal.SIGKILL)
    return {"verdict": "yes", "reasons": []}


# ── computing ───────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("judge", "verdict"),
    [
        (computes_most_of_the_limit, "yes"),
        (computes_half_as_much_again, "yes"),  # near the limit: the second try has double the time
        (computes_three_times_the_limit, "unknown"),
        (crashes, "unknown"),
    ],
    ids=lambda value: getattr(value, "__name__", value),
)
def test_what_is_near_the_limit_is_tried_again_once(engine: str, tmp_path: Path, judge: Any, verdict: str) -> None:
    (tmp_path / "one.ttf").write_bytes(good_font())
    (record,) = scan(tmp_path, Settings(WORDS, judge=judge), limits=LIMIT)
    assert record.faces[0].reason == ""  # a step that breaks its limit costs that step only
    assert record.verdicts[0]["verdict"] == verdict


def test_more_computing_is_given_once_and_whatever_the_worker_did_before(tmp_path: Path) -> None:
    (tmp_path / "one.ttf").write_bytes(good_font())
    (file,) = find_fonts([tmp_path])
    for fresh in (True, False):
        job = Job(file)
        assert job.task(5.0).cpu_seconds == 5.0
        assert job.ended(Reason.COMPUTING, fresh) is None
        assert job.task(5.0).cpu_seconds == 10.0
        record = job.ended(Reason.COMPUTING, fresh=True)  # the second try is always in a worker of its own
        assert record is not None and record.reason == Reason.COMPUTING


def test_an_end_from_outside_is_no_fault_of_the_font(engine: str, tmp_path: Path) -> None:
    (tmp_path / "one.ttf").write_bytes(good_font())
    (tmp_path / "mark").touch()
    (record,) = scan(tmp_path, Settings(WORDS, judge=ends_from_outside_once))
    assert (record.faces[0].reason, record.verdicts[0]["verdict"]) == ("", "yes")
    assert not (tmp_path / "mark").exists()


def test_the_start_of_a_worker_is_no_font_s_waiting(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A spawned worker loads its libraries, on a busy machine for longer than a font may take."""
    (tmp_path / "sitecustomize.py").write_text("import time; time.sleep(4)")
    environment = worker_environment()
    slow = environment | {"PYTHONPATH": os.pathsep.join([str(tmp_path), environment["PYTHONPATH"]])}
    monkeypatch.setenv("LETTERHOLD_ENGINE", "portable")
    monkeypatch.setattr("scanner.workers.spawned.worker_environment", lambda: slow)
    (tmp_path / "one.ttf").write_bytes(good_font())
    (record,) = scan(tmp_path, Settings(WORDS), limits=Limits(wall_seconds=3.0))
    assert (record.reason, record.faces[0].reason) == ("", "")


# ── the same records ────────────────────────────────────────────────────────────────────────────────────────────────


def test_both_engines_give_the_same_records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number, font in enumerate(demo_sample()[:3]):
        (tmp_path / f"{number}.ttf").write_bytes(font.read_bytes())
    for font in hostile_fonts()[::9]:
        (tmp_path / font.name).write_bytes(font.data)
    prints = []
    for name in ("", "portable"):
        monkeypatch.setenv("LETTERHOLD_ENGINE", name)
        records = scan(tmp_path, Settings(WORDS), 2, Limits(cpu_seconds=2.5))
        prints.append({r.path: fingerprint(r) for r in records})
    assert prints[0] == prints[1]


def test_a_worker_ends_with_its_supervisor(engine: str, tmp_path: Path) -> None:
    """Killed without a chance to tidy up, in the middle of a step."""
    (tmp_path / "one.ttf").write_bytes(good_font())
    script = (
        f"import sys; sys.path[:0] = [{str(Path(scanner.__file__).parent.parent)!r}, {str(Path(__file__).parent)!r}]\n"
        "from pathlib import Path\nfrom scanner.files import find_fonts\nfrom test_engines import compute_long\n"
        "from scanner.workers.steps import Settings\nfrom scanner.workers.supervisor import scan_files\n"
        f"list(scan_files(find_fonts([Path({str(tmp_path)!r})]), Settings(('Al',), judge=compute_long), 1))\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", script])
    deadline = time.monotonic() + 60
    while not (tmp_path / "begun").exists() and time.monotonic() < deadline:
        time.sleep(0.05)
    workers = descendants(parent.pid)
    parent.kill()
    parent.wait()
    while any(map(lives, workers)) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert workers and not [pid for pid in workers if lives(pid)]


def compute_long(path: Path, face_index: int, root: Path | None) -> dict[str, Any]:
    path.with_name("begun").mkdir()
    return compute(1000.0)


# ── paths ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_font_whose_path_is_too_long_gets_its_row(tmp_path: Path) -> None:
    """POSIX: a path has at most PATH_MAX bytes (4,096 on Linux), yet folders may lie deeper."""
    here = os.getcwd()
    depth = 0
    try:
        os.chdir(tmp_path)
        Path("near.ttf").write_bytes(good_font())
        while depth < 21:
            os.mkdir("d" * 220)
            os.chdir("d" * 220)
            depth += 1
        Path("far.ttf").write_bytes(font_bytes(tiny_font(cff=True)))
        records = scan(tmp_path, Settings(WORDS))
        assert [(Path(r.path).name, r.reason) for r in records] == [("far.ttf", Reason.LONG), ("near.ttf", "")]
        with pytest.raises(FileError, match="too long"):
            read_font(Path(records[0].path))
    finally:
        Path("far.ttf").unlink(missing_ok=True)
        for _ in range(depth):
            os.chdir("..")
            os.rmdir("d" * 220)
        os.chdir(here)
