"""A scan that is given no folder offers the machine's own; what a system calls its own, and that a person is asked."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest
from conftest import font_bytes, tiny_font

from catalogue.commands import scan as scan_command
from catalogue.commands.main import main
from scanner import usual_folders as usual
from scanner.usual_folders import font_folders

Capture = pytest.CaptureFixture[str]


class Terminal(io.StringIO):
    """What a person types."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine with two fonts in two folders, one of which lies in the other, and no font packages."""
    (tmp_path / "fonts" / "local").mkdir(parents=True)
    (tmp_path / "fonts" / "Tiny.ttf").write_bytes(font_bytes(tiny_font()))
    (tmp_path / "fonts" / "local" / "Tiny.otf").write_bytes(font_bytes(tiny_font(cff=True)))
    folders = [tmp_path / "fonts" / "local", tmp_path / "fonts", tmp_path / "none"]
    monkeypatch.setattr(usual, "font_folders", lambda *_: folders)
    monkeypatch.setattr(usual, "demo_folders", lambda: [])
    return tmp_path


@pytest.mark.parametrize(
    ("platform", "home", "environment", "folders"),
    [
        (  # XDG base directory specification 0.8, defaults; ~/.fonts is in fontconfig's fonts.conf
            "linux", "/home/ada", {},
            ["/home/ada/.fonts", "/home/ada/.local/share/fonts", "/usr/local/share/fonts", "/usr/share/fonts"],
        ),
        (  # the same, its variables; "all paths set in these environment variables must be absolute"
            "linux", "/home/ada", {"XDG_DATA_HOME": "/data", "XDG_DATA_DIRS": "/opt/share:share:/opt/share"},
            ["/home/ada/.fonts", "/data/fonts", "/opt/share/fonts"],
        ),
        (  # Font Book's guide: a user's, the computer's and the system's fonts
            "darwin", "/Users/ada", {}, ["/Users/ada/Library/Fonts", "/Library/Fonts", "/System/Library/Fonts"],
        ),
        (  # FOLDERID_Fonts is %windir%\Fonts; a user's own lie below FOLDERID_LocalAppData
            "win32", "C:\\Users\\Ada", {"SYSTEMROOT": "D:\\WINDOWS", "LOCALAPPDATA": "C:\\Users\\Ada\\AppData\\Local"},
            ["C:\\Users\\Ada\\AppData\\Local\\Microsoft\\Windows\\Fonts", "D:\\WINDOWS\\Fonts"],
        ),
        (  # without the variables, which every session of Windows has
            "win32", "C:\\Users\\Ada", {},
            ["C:\\Users\\Ada\\AppData\\Local\\Microsoft\\Windows\\Fonts", "C:\\Windows\\Fonts"],
        ),
    ],
)  # fmt: skip
def test_each_system_has_its_font_folders(
    platform: str, home: str, environment: dict[str, str], folders: list[str]
) -> None:
    assert [str(f) for f in font_folders(platform, home, environment)] == folders


def test_a_font_counts_once_and_folders_without_fonts_are_left_out(machine: Path) -> None:
    assert usual.usual_folders() == [(machine / "fonts" / "local", 1), (machine / "fonts", 1)]


def test_without_a_terminal_one_line_says_what_to_type(machine: Path, capsys: Capture) -> None:
    assert main(["scan", "--catalogue", str(machine / "c.sqlite")]) == 2
    assert capsys.readouterr() == (
        "",
        "letterhold: no folder given; type 'letterhold scan FOLDER', or 'letterhold scan --usual' for the 2 fonts in"
        " 2 folders of this machine and its font packages\n",
    )
    assert not (machine / "c.sqlite").exists()


@pytest.mark.parametrize(("typed", "status", "files"), [("y\n", 0, 2), ("\n", 2, 0), ("no\n", 2, 0), ("", 2, 0)])
def test_at_a_terminal_the_fonts_are_counted_and_the_person_is_asked(
    machine: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture, typed: str, status: int, files: int
) -> None:
    monkeypatch.setattr(sys, "stdin", Terminal(typed))
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setattr(scan_command, "progress", lambda items, *_: items)
    assert main(["scan", "--workers", "1", "--catalogue", str(machine / "c.sqlite")]) == status
    out, err = capsys.readouterr()
    assert err.startswith(f"      1  {machine / 'fonts' / 'local'}\n      1  {machine / 'fonts'}\n")
    assert "Scan these 2 fonts? Type y and Enter: " in err
    assert out.startswith("2 faces and 0 instances in 2 files") == bool(files)
    assert err.endswith("letterhold: nothing was scanned; give a folder: letterhold scan FOLDER\n") != bool(files)


def test_the_usual_folders_can_be_asked_for(machine: Path, capsys: Capture) -> None:
    assert main(["scan", "--usual", "--workers", "1", "--catalogue", str(machine / "c.sqlite")]) == 0
    assert capsys.readouterr().out.startswith("2 faces and 0 instances in 2 files")


def test_a_machine_without_fonts_says_so(machine: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.setattr(usual, "font_folders", lambda *_: [machine / "none"])
    assert main(["scan", "--usual"]) == 2
    assert capsys.readouterr().err == (
        "letterhold: no fonts are in this machine's usual folders; give a folder: letterhold scan FOLDER\n"
    )
