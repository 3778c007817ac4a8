"""The self-check: what it finds in a catalogue that was hurt on purpose, and that it removes nothing unasked."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path

import pytest
from conftest import TINY, font_bytes, rectangle, tiny_font
from hostile import good_font

from catalogue.commands.main import main
from catalogue.gather import health
from catalogue.gather.health import examine, mend
from catalogue.gather.scan import Scan, scan_into
from catalogue.store.database import CatalogueError


@pytest.fixture
def catalogue(tmp_path: Path) -> Path:
    """Four small fonts, scanned."""
    folder = tmp_path / "fonts"
    folder.mkdir()
    for number in range(4):
        (folder / f"{number}.ttf").write_bytes(good_font() + bytes(number))
    target = tmp_path / "data" / "c.sqlite"
    scan_into(target, Scan([folder], ("Al",), 1))
    return target


def change(path: Path, *orders: str) -> None:
    """Hurt a catalogue by SQL."""
    db = sqlite3.connect(path)
    with db:
        for order in orders:
            db.execute(order)
    db.close()


def kinds(path: Path) -> dict[str, int]:
    return {f.kind: f.count for f in examine(path).findings}


def test_a_sound_catalogue_is_well(catalogue: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = examine(catalogue)
    assert found.well and (found.files, found.faces) == (4, 4)
    assert {"python", "sqlite", "uharfbuzz", "shapely"} <= set(found.versions)
    assert main(["health", "--catalogue", str(catalogue)]) == 0
    assert capsys.readouterr().out.endswith("all is well\n")


def test_what_is_missing_or_changed_is_reported_and_kept(catalogue: Path, tmp_path: Path) -> None:
    (tmp_path / "fonts" / "0.ttf").unlink()
    (tmp_path / "fonts" / "1.ttf").write_bytes(good_font() + b"more")
    before = catalogue.read_bytes()
    assert kinds(catalogue) == {"missing-fonts": 1, "changed-fonts": 1}
    assert main(["health", "--catalogue", str(catalogue)]) == 1
    assert catalogue.read_bytes() == before


def test_repair_does_not_delete_without_asking(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fonts" / "0.ttf").unlink()
    assert main(["health", "--catalogue", str(catalogue), "--repair"]) == 1
    assert "add --yes" in capsys.readouterr().err
    assert kinds(catalogue) == {"missing-fonts": 1}
    assert main(["health", "--catalogue", str(catalogue), "--repair", "--yes", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["well"] and facts["files"] == 3
    with sqlite3.connect(catalogue.with_name("c.sqlite.before-mending")) as copy:
        assert copy.execute("SELECT count(*) FROM file").fetchone() == (4,)
    copy.close()


def test_rows_that_do_not_belong_together(catalogue: Path, tmp_path: Path) -> None:
    change(
        catalogue, "PRAGMA foreign_keys = OFF", "DELETE FROM file WHERE id = 1",
        "DELETE FROM measure WHERE face_id = 2", "UPDATE measure SET data = x'00' WHERE face_id = 3",
    )  # fmt: skip
    assert kinds(catalogue) == {"damaged": 3}
    mend(catalogue)
    assert kinds(catalogue) == {}
    facts = scan_into(catalogue, Scan([tmp_path / "fonts"], ("Al",), 1))
    assert (facts["faces"], facts["skipped_unchanged"]) == (4, 1)  # what was removed is measured again
    assert examine(catalogue).well


def test_unfinished_files_are_found(catalogue: Path) -> None:
    (catalogue.parent / ".letterhold-abc").write_bytes(b"half")
    assert kinds(catalogue) == {"leftovers": 1}
    mend(catalogue)
    assert not (catalogue.parent / ".letterhold-abc").exists()


def test_little_room_is_reported(catalogue: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(health, "LEAST_FREE_MB", 10**12)
    assert kinds(catalogue) == {"space": 1}


def test_a_damaged_catalogue_is_reported_and_left_alone(catalogue: Path) -> None:
    data = bytearray(catalogue.read_bytes())
    for at in range(4096, len(data), 4096):
        data[at : at + 512] = b"\xaa" * 512
    catalogue.write_bytes(data)
    assert set(kinds(catalogue)) == {"damaged"}
    with pytest.raises(CatalogueError, match="nothing in it can be read; move it away and scan again"):
        mend(catalogue)
    assert catalogue.read_bytes() == bytes(data)


def two_faced_font() -> bytes:
    """Outlines twice: HarfBuzz takes those of ``glyf``, where l is 300 units wide, FreeType those of ``CFF``, 100."""
    font, other = tiny_font(cff=True), tiny_font(glyphs=TINY | {"l": [rectangle(100, 0, 400, 700)]})
    for table in ("glyf", "loca"):
        font[table] = other[table]
    return font_bytes(font)


def test_a_face_that_a_second_engine_draws_differently_is_reported(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["health", "--fonts", "--catalogue", str(catalogue)]) == 0
    assert capsys.readouterr().out.endswith("all is well\n")
    (tmp_path / "fonts" / "1.ttf").write_bytes(two_faced_font())
    scan_into(catalogue, Scan([tmp_path / "fonts"], ("Al",), 1))
    assert main(["health", "--fonts", "--catalogue", str(catalogue)]) == 1
    out = capsys.readouterr().out
    assert "found      1 face drawn differently by a second engine; get the font again from its source" in out
    assert "Tiny Regular: l by 6" in out, "0.21 against 0.07 em²: two thirds"


def test_another_version_and_no_catalogue(catalogue: Path, tmp_path: Path) -> None:
    change(catalogue, "PRAGMA user_version = 1")
    assert set(kinds(catalogue)) == {"schema"}
    with pytest.raises(CatalogueError, match="no catalogue there yet"):
        examine(tmp_path / "none.sqlite")
    (tmp_path / "text.sqlite").write_text("no database at all, but long enough to be looked at" * 40)
    with pytest.raises(CatalogueError, match="not a letterhold catalogue"):
        examine(tmp_path / "text.sqlite")
