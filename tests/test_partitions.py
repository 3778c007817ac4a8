"""Partitions that were merged are the catalogue that an ordinary scan makes, field by field."""

from __future__ import annotations

import os
import random
import sqlite3
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from conftest import demo_sample, font_bytes, tiny_font, tiny_variable_font

from catalogue.commands.main import main
from catalogue.gather.partitions import known_in, merge_parts, write_part
from catalogue.gather.scan import Scan, scan_into, scan_to_parts
from catalogue.store.database import CatalogueError
from scanner.alphabet import read_words
from scanner.files import find_fonts
from scanner.reasons import FileError
from scanner.records import FileRecord
from scanner.workers.steps import Settings
from scanner.workers.supervisor import scan_files

pytest.importorskip("pyarrow")

WORDS = ("Ai", "fil")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Real fonts, a variable one, one without measures and files that are none."""
    root = tmp_path / "fonts"
    root.mkdir()
    for path in demo_sample()[:2]:
        (root / path.name).write_bytes(path.read_bytes())
    (root / "variable.ttf").write_bytes(font_bytes(tiny_variable_font()))
    (root / "broken.otf").write_bytes(b"\0\1\0\0 no font at all")
    (root / "empty.ttf").write_bytes(b"")
    (root / "OFL.txt").write_text("This Font Software is licensed under the SIL Open Font License, Version 1.1.")
    return root


def contents(catalogue: Path) -> list[tuple[Any, ...]]:
    """Every field of every row, save the numbers of rows and the seconds that measuring took."""
    db = sqlite3.connect(catalogue)
    columns = [r[1] for r in db.execute("PRAGMA table_info(face)") if r[1] not in ("id", "file_id", "seconds")]
    files = db.execute("SELECT path, size, mtime_ns, digest, settings, reason FROM file ORDER BY path").fetchall()
    faces = db.execute(
        f"SELECT file.path, {', '.join(f'face.{c}' for c in columns)}, data FROM face JOIN file ON file.id = file_id"
        " LEFT JOIN measure ON face_id = face.id ORDER BY file.path, face_index, instance"
    ).fetchall()
    db.close()
    return files + faces


def test_merged_partitions_are_the_ordinary_catalogue(folder: Path, tmp_path: Path) -> None:
    words = read_words()
    plain = scan_into(tmp_path / "plain.sqlite", Scan([folder], words, workers=1))
    scan_to_parts(str(tmp_path / "parts"), Scan([folder], words, workers=2))
    merged = merge_parts(str(tmp_path / "parts"), tmp_path / "merged.sqlite")
    rows = contents(tmp_path / "plain.sqlite")
    assert contents(tmp_path / "merged.sqlite") == rows
    assert len(rows) == plain["files"] + 3, "two real fonts and the variable one"
    assert {k: merged[k] for k in ("files", "faces", "instances", "failed")} == {
        k: plain[k] for k in ("files", "faces", "instances", "failed")
    }


def test_a_scan_after_merging_finds_nothing_to_do(folder: Path, tmp_path: Path) -> None:
    scan_to_parts(str(tmp_path / "parts"), Scan([folder], WORDS, workers=1))
    merge_parts(str(tmp_path / "parts"), tmp_path / "c.sqlite")
    assert scan_into(tmp_path / "c.sqlite", Scan([folder], WORDS, workers=1))["skipped_unchanged"] == 5
    again = merge_parts(str(tmp_path / "parts"), tmp_path / "c.sqlite")
    assert (again["merged"], again["files"]) == (0, 5)


def test_a_scan_into_partitions_that_was_stopped_goes_on(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from catalogue.gather import scan as scanning

    def stop_at_once(items: Any, total: int, label: str) -> Iterator[Any]:
        for k, item in enumerate(items):
            if k == 2:
                raise KeyboardInterrupt
            yield item

    monkeypatch.setattr(scanning, "PART", 2)
    parts = str(tmp_path / "parts")
    with pytest.raises(KeyboardInterrupt):
        scan_to_parts(parts, Scan([folder], WORDS, workers=1), progress=stop_at_once)
    done = len(known_in(parts))
    assert 0 < done < 5
    assert scan_to_parts(parts, Scan([folder], WORDS, workers=1))["skipped_unchanged"] == done
    assert len(known_in(parts)) == 5
    scan_into(tmp_path / "plain.sqlite", Scan([folder], WORDS, workers=1))
    merge_parts(parts, tmp_path / "merged.sqlite")
    assert contents(tmp_path / "merged.sqlite") == contents(tmp_path / "plain.sqlite")


def test_of_two_records_of_a_file_the_later_one_counts_and_a_face_keeps_its_number(
    folder: Path, tmp_path: Path
) -> None:
    parts, catalogue = str(tmp_path / "parts"), tmp_path / "c.sqlite"
    scan_to_parts(parts, Scan([folder], WORDS, workers=1))
    merge_parts(parts, catalogue)
    db = sqlite3.connect(catalogue)
    before = db.execute("SELECT id, advances_variation FROM face WHERE family LIKE '%' ORDER BY id").fetchall()
    (folder / "variable.ttf").write_bytes(font_bytes(tiny_font(advance=700)))
    scan_to_parts(parts, Scan([folder], WORDS, workers=1))
    assert merge_parts(parts, catalogue)["merged"] == 1
    assert merge_parts(parts, tmp_path / "anew.sqlite")["merged"] == 5
    scan_into(tmp_path / "plain.sqlite", Scan([folder], WORDS, workers=1))
    assert contents(catalogue) == contents(tmp_path / "anew.sqlite") == contents(tmp_path / "plain.sqlite")
    after = {row[0] for row in db.execute("SELECT id FROM face")}
    assert len(after & {row[0] for row in before}) == 3, "two real faces and the default one of the changed file"
    db.close()


def test_partitions_of_several_machines_lie_in_a_store(folder: Path, tmp_path: Path) -> None:
    fsspec = pytest.importorskip("fsspec")
    fsspec.filesystem("memory").store.clear()
    fonts = sorted(p for p in folder.iterdir() if p.suffix != ".txt")
    for some in (fonts[:2], fonts[2:]):
        scan_to_parts("memory://share/parts", Scan(some, WORDS, workers=1))
    assert merge_parts("memory://share/parts", tmp_path / "merged.sqlite")["partitions"] == 2
    scan_into(tmp_path / "plain.sqlite", Scan(fonts, WORDS, workers=1))
    assert contents(tmp_path / "merged.sqlite") == contents(tmp_path / "plain.sqlite")


def test_of_partitions_in_a_store_only_the_columns_asked_for_are_fetched(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    memory = pytest.importorskip("fsspec").filesystem("memory")
    memory.store.clear()
    parts = "memory://share/parts"
    long = {"verdict": "unknown", "evidence": random.Random(1).randbytes(200_000).hex()}  # takes no packing
    (record,) = scan_files(find_fonts([folder / "variable.ttf"]), Settings(WORDS), 1)
    write_part([replace(record, verdicts={0: long})], "settings", parts)
    reading, fetched = type(memory).cat_file, []

    def noted(self: Any, *given: Any, **more: Any) -> bytes:
        fetched.append(reading(self, *given, **more))
        return bytes(fetched[-1])

    monkeypatch.setattr(type(memory), "cat_file", noted)
    assert known_in(parts) == {record.path: (record.size, record.mtime_ns, "settings")}
    (size,) = (facts["size"] for facts in memory.ls("/share/parts", detail=True))
    footer = 64 * 1024  # what Arrow reads of the end at once
    assert size > 200_000
    assert sum(map(len, fetched)) < footer + 4096
    assert len(fetched) <= 5, "one question for the end, and one a column"
    assert merge_parts(parts, tmp_path / "c.sqlite")["merged"] == 1


def test_a_store_that_goes_away_is_no_broken_partition(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    memory = pytest.importorskip("fsspec").filesystem("memory")
    memory.store.clear()
    parts = "memory://share/parts"
    scan_to_parts(parts, Scan([folder / "variable.ttf"], WORDS, workers=1))

    def away(*_: Any, **more: Any) -> bytes:
        raise ConnectionError("no route to host")

    with monkeypatch.context() as now:
        now.setattr(type(memory), "cat_file", away)
        with pytest.raises(FileError, match=r"\.parquet: the store does not give it \(no route to host\); check"):
            merge_parts(parts, tmp_path / "c.sqlite")
    memory.pipe("/share/parts/2.parquet", b"PAR1 nothing at all PAR1")
    with pytest.raises(CatalogueError, match=r"2\.parquet: cannot be read as a partition; remove it and scan again$"):
        merge_parts(parts, tmp_path / "c.sqlite")


def test_the_commands(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    parts, catalogue = tmp_path / "parts", tmp_path / "c.sqlite"
    assert main(["scan", str(folder), "--parts", str(parts), "--workers", "1"]) == 0
    assert capsys.readouterr().out.endswith(f"next: letterhold merge {parts}\n")
    assert main(["merge", str(parts), "--catalogue", str(catalogue)]) == 0
    assert capsys.readouterr().out.startswith("5 files of 1 partition merged, ")
    assert main(["scan", str(folder), "--parts", str(parts), "--catalogue", str(catalogue)]) == 2
    assert "leave --catalogue out" in capsys.readouterr().err


def test_a_file_address_of_partitions_is_the_path_it_names(folder: Path, tmp_path: Path) -> None:
    parts = tmp_path / "some parts"
    address = f"file://{tmp_path}/some%20parts"
    assert main(["scan", str(folder / "variable.ttf"), "--parts", address, "--workers", "1"]) == 0
    assert len(list(parts.iterdir())) == 1
    assert main(["merge", address, "--catalogue", str(tmp_path / "c.sqlite")]) == 0


def test_what_is_no_partition_of_this_version_is_one_line(folder: Path, tmp_path: Path) -> None:
    import pyarrow
    import pyarrow.parquet

    parts = tmp_path / "parts"
    with pytest.raises(CatalogueError, match=r"no partitions there; write some with 'letterhold scan FOLDER --parts"):
        merge_parts(str(parts), tmp_path / "c.sqlite")
    parts.mkdir()
    (parts / "1.parquet").write_bytes(b"PAR1 nothing at all PAR1")
    with pytest.raises(CatalogueError, match=r"1\.parquet: cannot be read as a partition; remove it and scan again$"):
        merge_parts(str(parts), tmp_path / "c.sqlite")
    pyarrow.parquet.write_table(pyarrow.table({"path": ["a"]}), parts / "1.parquet")
    with pytest.raises(CatalogueError, match=r"made by another version \(schema none, here \d+\); remove it"):
        merge_parts(str(parts), tmp_path / "c.sqlite")


@pytest.mark.parametrize("name", ["RULES", "RULES_VERSION"])
def test_a_partition_measured_under_other_rules_is_refused(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    from catalogue.store import rules

    parts = str(tmp_path / "parts")
    with monkeypatch.context() as then:
        then.setattr(rules, name, "0")
        scan_to_parts(parts, Scan([folder / "variable.ttf"], WORDS, workers=1))
    line = r"\.parquet: measured under other rules \(version .*, here .*\); remove it and scan again$"
    with pytest.raises(CatalogueError, match=line):
        merge_parts(parts, tmp_path / "c.sqlite")
    with pytest.raises(CatalogueError, match=line):
        scan_to_parts(parts, Scan([folder / "variable.ttf"], WORDS, workers=1))


def test_a_partition_older_than_what_the_catalogue_has_of_a_file_changes_nothing(folder: Path, tmp_path: Path) -> None:
    parts, catalogue, font = str(tmp_path / "parts"), tmp_path / "c.sqlite", folder / "variable.ttf"
    os.utime(font, (1_000_000_000, 1_000_000_000))
    scan_to_parts(parts, Scan([font], WORDS, workers=1))
    font.write_bytes(font_bytes(tiny_font(advance=700)))
    scan_into(catalogue, Scan([font], WORDS, workers=1))
    before = contents(catalogue)
    assert merge_parts(parts, catalogue)["merged"] == 0
    assert contents(catalogue) == before
    os.utime(font, (1_000_000_001, 1_000_000_001))
    scan_into(tmp_path / "older.sqlite", Scan([font], ("Ai",), workers=1))
    assert merge_parts(parts, tmp_path / "older.sqlite")["merged"] == 1, "of other settings times are not compared"


def test_a_malformed_digest_is_not_merged(tmp_path: Path) -> None:
    parts = str(tmp_path / "parts")
    write_part([FileRecord("s3://shop/a.ttf", 1, 1, "../../outside", (), "")], "settings", parts)
    with pytest.raises(CatalogueError, match=r"\.parquet: holds a malformed digest; remove it and scan again$"):
        merge_parts(parts, tmp_path / "c.sqlite")


def test_without_the_extra_the_line_says_what_to_install(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(CatalogueError, match=r"^partitions need the extra `cluster`; pip install 'letterhold"):
        scan_to_parts(str(tmp_path / "parts"), Scan([folder], WORDS, workers=1))
