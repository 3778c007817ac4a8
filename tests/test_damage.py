"""A catalogue that was hurt: bytes changed at random, cut short, values edited. What is printed is what a sound one
prints, or one line with exit status 2; never a traceback, never another answer."""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from conftest import copy_demo_fonts
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.gather.health import examine
from catalogue.gather.scan import Scan, scan_into
from catalogue.store.columns import columns_path, width

pytestmark = pytest.mark.usefixtures("own_state")

COMMANDS = (
    ("rank", "Bo", "--verify", "0", "--json"),
    ("rank", "Bo", "--verify", "0", "--json", "--sell"),
    ("inspect", "Anton Regular", "--json"),
    ("like", "Anton Regular", "--json"),
    ("groups", "--json"),
)


@pytest.fixture(scope="module")
def own_state(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Should there be a fault, its details go where the test's other files are."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        yield


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three demo fonts, scanned; SQLite's log is in the file."""
    folder = tmp_path_factory.mktemp("fonts")
    copy_demo_fonts(folder, ("fontpkg_lobster", "fontpkg_anton", "fontpkg_abel"))
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    scan_into(path, Scan([folder], ("Bo", "Al"), 1))
    assert run(path, "rank", "Bo", "--verify", "0")[0] == 0  # makes the columns file
    with contextlib.closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture
def own(sound: Path, tmp_path: Path) -> Path:
    """A copy that a test may hurt."""
    return copied(sound, tmp_path)


def copied(catalogue: Path, folder: Path) -> Path:
    for path in (catalogue, columns_path(catalogue)):
        shutil.copy(path, folder / path.name)
    return folder / catalogue.name


def run(catalogue: Path, *arguments: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main([*arguments, "--catalogue", str(catalogue)])
    return status, out.getvalue(), err.getvalue()


def judged(catalogue: Path, right: dict[tuple[str, ...], str]) -> list[str]:
    """What is wrong with the answers of a hurt catalogue."""
    wrong = []
    for command, answer in right.items():
        status, out, err = run(catalogue, *command)
        if status == 2:
            if err.count("\n") != 1 or not err.startswith("letterhold: "):
                wrong.append(f"{command}: {err}")
        elif (status, out) != (0, answer):
            wrong.append(f"{command}: status {status}, {err or out[:300]}")
    return wrong


@pytest.fixture(scope="module")
def right(sound: Path) -> dict[tuple[str, ...], str]:
    """The answers of the sound catalogue."""
    answers = {command: run(sound, *command) for command in COMMANDS}
    assert all(status == 0 for status, _, _ in answers.values())
    return {command: out for command, (_, out, _) in answers.items()}


@given(seed=st.integers(0, 2**32), count=st.sampled_from([1, 1, 2, 8, 64, 512]), columns=st.booleans())
@settings(max_examples=int(os.environ.get("LETTERHOLD_DAMAGES", "40")), suppress_health_check=list(HealthCheck))
def test_bytes_changed_at_random(
    sound: Path, right: dict[tuple[str, ...], str], tmp_path_factory: pytest.TempPathFactory,
    seed: int, count: int, columns: bool,
) -> None:  # fmt: skip
    folder = tmp_path_factory.mktemp("hurt")
    own = copied(sound, folder)
    chance = random.Random(seed)
    path = columns_path(own) if columns else own
    data = bytearray(path.read_bytes())
    for _ in range(count):
        data[chance.randrange(len(data))] = chance.randrange(256)
    path.write_bytes(data)
    assert judged(own, right) == []
    shutil.rmtree(folder)


@given(share=st.floats(0, 1, exclude_max=True), columns=st.booleans())
@settings(max_examples=20, suppress_health_check=list(HealthCheck))
def test_cut_short(
    sound: Path, right: dict[tuple[str, ...], str], tmp_path_factory: pytest.TempPathFactory, share: float,
    columns: bool,
) -> None:  # fmt: skip
    folder = tmp_path_factory.mktemp("hurt")
    own = copied(sound, folder)
    path = columns_path(own) if columns else own
    os.truncate(path, int(path.stat().st_size * share))
    assert judged(own, right) == []
    shutil.rmtree(folder)


@pytest.mark.parametrize(
    "edit",
    [
        "UPDATE face SET cap_height_em = cap_height_em * 2 WHERE id = 1",
        "UPDATE face SET sell = 'yes', style_group = 'heavy' WHERE id = 2",
        "UPDATE face SET words = '[' WHERE id = 1",
        "UPDATE face SET coordinates = 'no JSON'",
        'UPDATE face SET verdict = \'{"verdict": "yes"}\'',
        "UPDATE face SET style_features = zeroblob(length(style_features)) WHERE id = 1",
        "UPDATE face SET family = x'ff00fe' WHERE id = 1",
        "UPDATE face SET letters = 'many'",
        "UPDATE file SET path = '/elsewhere.ttf' WHERE id = 1",
        "UPDATE file SET digest = ''",
        "UPDATE measure SET data = zeroblob(100) WHERE face_id = 1",
        "DELETE FROM measure WHERE face_id = 1",
        "DELETE FROM face WHERE id = 1",
        "DELETE FROM stamp",
        "UPDATE stamp SET value = 'x'",
        "INSERT INTO groups_model VALUES ('{}', 0)",
        "DROP TABLE measure",
    ],
)
def test_values_edited(own: Path, right: dict[tuple[str, ...], str], edit: str) -> None:
    with contextlib.closing(sqlite3.connect(own)) as db, db:
        db.execute(edit)
    assert judged(own, right) == []


def test_a_value_edited_under_a_whole_head_is_not_believed(own: Path, right: dict[tuple[str, ...], str]) -> None:
    """Every hundredth byte of the stored rows is another one; head and length stay."""
    path = columns_path(own)
    data = bytearray(path.read_bytes())
    for at in range(len(data) - 2 * width() * 3, len(data), 100):
        data[at] ^= 0x55
    path.write_bytes(data)
    assert judged(own, right) == []
    assert path.read_bytes() != bytes(data), "made again from the catalogue"


def hurt_measure(path: Path) -> None:
    with contextlib.closing(sqlite3.connect(path)) as db, db:
        db.execute("UPDATE measure SET data = zeroblob(100) WHERE face_id = 1")


def hurt_page(path: Path) -> None:
    """One page of 4,096 bytes, the last whose loss costs some files and not all."""
    whole = path.read_bytes()
    for start in range(len(whole) - 4096, 4096, -4096):
        path.write_bytes(whole[:start] + random.Random(1).randbytes(4096) + whole[start + 4096 :])
        if any(f.kind == "damaged" and f.count < 3 and f.examples for f in examine(path).findings):
            return


def test_the_line_says_what_to_do(own: Path) -> None:
    hurt_measure(own)
    columns_path(own).unlink()
    line = f"letterhold: {own}: the catalogue is damaged; run 'letterhold health --repair' with it, then scan again\n"
    assert run(own, "rank", "Bo") == (2, "", line)


def _unnumbered(row: dict[str, Any]) -> dict[str, Any]:
    """A row without the numbers of faces: a file that is scanned again gets new ones."""
    return row | {"face": 0, "files": [f | {"face": 0} for f in row["files"]]}


@pytest.mark.parametrize("hurt", [hurt_measure, hurt_page])
def test_repair_keeps_what_is_sound_and_a_scan_brings_back_the_rest(
    own: Path, right: dict[tuple[str, ...], str], hurt: Callable[[Path], None]
) -> None:
    fonts = Path(json.loads(right[COMMANDS[0]])[0]["path"]).parent
    hurt(own)
    columns_path(own).unlink()
    assert judged(own, right) == []
    assert [f.kind for f in examine(own).findings] == ["damaged"]
    status, out, err = run(own, "health", "--repair", "--yes")
    assert (status, err) == (0, "") and "all is well" in out
    facts = scan_into(own, Scan([fonts], ("Bo", "Al"), 1))
    assert facts["files"] == 3 and 0 < facts["skipped_unchanged"] < 3
    rows, before = (json.loads(text) for text in (run(own, *COMMANDS[0])[1], right[COMMANDS[0]]))
    assert list(map(_unnumbered, rows)) == list(map(_unnumbered, before))
    assert sum(r["face"] == b["face"] for r, b in zip(rows, before)) >= facts["skipped_unchanged"], "numbers are kept"
