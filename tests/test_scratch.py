"""Temporary folders of processes that died are cleared, and nothing else is.

That a lock ends with its process, killed or not, is flock(2); the processes here are real ones.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import font_bytes, tiny_font

from scanner.workers.listing import list_fonts
from scanner.workers.remote import scan_anywhere
from scanner.workers.scratch import Scratch, clear_left
from scanner.workers.steps import Settings

MAKER = """
import sys
from pathlib import Path
from scanner.workers.scratch import Scratch
one = Scratch(Path(sys.argv[1]))
(one.path / "font.ttf").write_bytes(b"a copy")
print(one.path, flush=True)
sys.stdin.read()
"""


@pytest.fixture
def maker(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], Path]]:
    """A process that holds a folder, and the folder."""
    process = subprocess.Popen(
        [sys.executable, "-c", MAKER, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    yield process, Path(process.stdout.readline().strip())
    process.kill()
    process.communicate()


def cleared(home: Path) -> None:
    """As at the start of another process."""
    clear_left.cache_clear()
    clear_left(home)


def test_the_folder_of_a_killed_process_goes_at_the_next_start(
    maker: tuple[subprocess.Popen[str], Path], tmp_path: Path
) -> None:
    process, folder = maker
    cleared(tmp_path)
    assert (folder / "font.ttf").exists(), "its process lives"
    process.kill()
    process.wait()
    assert folder.exists(), "nothing of its own clears up after a kill"
    clear_left.cache_clear()
    with Scratch(tmp_path) as mine:
        assert not folder.exists() and mine.exists()
    assert not mine.exists()


def test_what_is_not_surely_ours_stays(maker: tuple[subprocess.Popen[str], Path], tmp_path: Path) -> None:
    process, folder = maker
    process.kill()
    process.wait()
    elsewhere = tmp_path / "elsewhere"
    folder.rename(elsewhere)  # free lock and all, but under a name of somebody's
    (tmp_path / ".letterhold-abcdefgh").symlink_to(elsewhere)  # a link with our name
    (tmp_path / "letterhold-notes_of").mkdir()  # a name that happens to be like ours, without the file
    (tmp_path / ".letterhold-stu12345").write_text("a file")
    before = sorted(p.name for p in tmp_path.iterdir())
    cleared(tmp_path)
    assert sorted(p.name for p in tmp_path.iterdir()) == before
    assert (elsewhere / "font.ttf").exists()


def test_a_scan_of_a_store_clears_up_first(
    maker: tuple[subprocess.Popen[str], Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The copies that a machine had fetched when it died are gone once it scans again."""
    pytest.importorskip("fsspec")
    process, left = maker
    process.kill()
    process.wait()
    (tmp_path / "store").mkdir()
    (tmp_path / "store" / "a.ttf").write_bytes(font_bytes(tiny_font()))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    clear_left.cache_clear()
    (record,) = scan_anywhere(list_fonts(f"local://{tmp_path}/store")[1], Settings(("Al",)), 1)
    assert record.faces and not left.exists()
    assert [p.name for p in tmp_path.iterdir()] == ["store"]
