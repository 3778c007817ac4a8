"""Ranking a name: the columns beside the catalogue, and the same law whatever the number of faces."""

from __future__ import annotations

import shutil
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from conftest import copy_demo_fonts
from hypothesis import example, given
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.judge.hold import LEAST_THAT_HOLDS, MOST_WITHOUT_HOLD, Sizes, SizesOfMany, judge, losses
from catalogue.judge.letters import CONTEXTUAL_FROM
from catalogue.judge.listing import NEAR_THE_LINE, Wanted, listing
from catalogue.judge.process import load_process
from catalogue.judge.ranking import Ranking, rank
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.columns import columns_path, load_columns
from catalogue.store.database import Store

PROCESS = load_process("nozzle-0.4")
SIZE = Size("cap-height", 14.0)


def asked(name: str) -> Request:
    return Request.of(name, SIZE, PROCESS, default_stack(1.0))


def ranked(path: Path, name: str = "Marlie") -> Ranking:
    with Store(path) as store:
        return rank(load_columns(store), asked(name))


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two faces whose words are made of their pairs, and two that draw letters otherwise in a word."""
    folder = copy_demo_fonts(
        tmp_path_factory.mktemp("fonts"), ("fontpkg_anton", "fontpkg_great_vibes", "fontpkg_lobster", "fontpkg_caveat")
    )
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    assert main(["scan", str(folder), "--catalogue", str(path), "--workers", "2"]) == 0
    return path


@pytest.fixture
def own(catalogue: Path, tmp_path: Path) -> Path:
    """A copy of the catalogue that a test may change."""
    import sqlite3

    copy = tmp_path / "own.sqlite"
    with closing(sqlite3.connect(catalogue)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)
    return copy


def test_the_columns_file_is_made_once_and_again_after_a_change(own: Path) -> None:
    before = ranked(own)
    made = columns_path(own).stat().st_ino
    assert ranked(own).ids.tolist() == before.ids.tolist() and columns_path(own).stat().st_ino == made
    with Store(own, create=True) as store:
        gone = store.faces()[0]
        store.drop([gone.path])
    after = ranked(own)
    assert columns_path(own).stat().st_ino != made
    assert gone.id in before.ids and gone.id not in after.ids and len(after) > 0


@pytest.mark.parametrize("content", [b"", b"LHCOLS", b"\0" * 4096])
def test_a_spoilt_columns_file_is_made_again(own: Path, content: bytes) -> None:
    right = ranked(own)
    columns_path(own).write_bytes(content)
    assert ranked(own).hold.tolist() == right.hold.tolist()


def test_without_a_place_for_the_file_the_columns_are_held_in_memory(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import tempfile

    def full(*_: object, **__: object) -> tuple[int, str]:
        raise OSError(28, "No space left on device")

    right = ranked(own)
    columns_path(own).unlink()
    monkeypatch.setattr(tempfile, "mkstemp", full)
    assert ranked(own).hold.tolist() == right.hold.tolist()
    assert not columns_path(own).exists()


def test_columns_of_another_catalogue_under_this_name_are_not_taken(own: Path, tmp_path: Path) -> None:
    ranked(own)
    other = tmp_path / "other.sqlite"
    with Store(other, create=True) as store:
        assert store.faces() == []
    shutil.move(columns_path(own), columns_path(other))
    assert len(ranked(other)) == 0


def test_one_face_is_judged_as_in_the_crowd(own: Path) -> None:
    with Store(own) as store:
        ranking = rank(load_columns(store), asked("Bellamy"))
        faces = store.faces_of(ranking.ids)
    for k, face_id in enumerate(ranking.ids.tolist()):
        row = ranking.row(k, faces[face_id])
        assert (row.hold.hold, row.hold.holds) == (ranking.hold[k], ranking.holds[k])


def test_asking_for_some_faces_keeps_their_numbers(own: Path) -> None:
    with Store(own) as store:
        columns = load_columns(store)
        whole = rank(columns, asked("Marlie"))
        some = rank(columns, asked("Marlie"), among=whole.ids[::2])
    assert some.ids.tolist() == whole.ids[::2].tolist()
    assert some.join_offset_mm.tolist() == whole.join_offset_mm[::2].tolist()


def test_measured_rows_stand_first_and_in_order(own: Path) -> None:
    with Store(own) as store:
        found = listing(store, asked("Marlie"), Wanted(top=0, verify=1))
    assert found.rows[0].verified
    # What pairs predict badly, or near the line of what holds, is never shown as a prediction, unless nothing is to be
    # measured at all.
    assert all(r.verified for r in found.rows if r.face.contextual > CONTEXTUAL_FROM)
    assert all(r.verified for r in found.rows if abs(r.hold.hold - LEAST_THAT_HOLDS) <= NEAR_THE_LINE)
    with Store(own) as store:
        assert not any(r.verified for r in listing(store, asked("Marlie"), Wanted(top=0, verify=0)).rows)
    assert [r.order for r in found.rows] == sorted(r.order for r in found.rows)
    assert len(found.rows) == found.total


LENGTHS = st.floats(0, 4) | st.just(float("nan"))
FACES = st.lists(
    st.tuples(st.floats(0, 3), LENGTHS, LENGTHS, LENGTHS), min_size=1, max_size=6
)  # join offset, neck, stroke, counter


@given(FACES, st.floats(0, 2))
@example([(0.0, 1.0, 1.0, 1.0)], 5e-324)
def test_points_lost_and_hold_make_a_hundred(faces: list[tuple[float, ...]], base: float) -> None:
    lost = losses(SizesOfMany(*np.array(faces).T, base), PROCESS)
    total = lost.points.sum(axis=0) + lost.hold
    assert ((total > 99 - 1e-6) & (total < 100 + 1e-6)).all()  # hold is cut down to a whole number
    assert ((lost.hold >= 0) & (lost.hold <= np.where(lost.holds, 100, MOST_WITHOUT_HOLD))).all()


@given(FACES)
def test_the_crowd_does_not_change_a_judgement(faces: list[tuple[float, ...]]) -> None:
    crowd = losses(SizesOfMany(*np.array(faces).T, 1.0), PROCESS)
    for k, (join, *rest) in enumerate(faces):
        neck, stroke, counter = (None if np.isnan(v) else v for v in rest)
        alone = judge(Sizes(join, neck, stroke, 0.0, counter, 1.0), PROCESS)
        assert (alone.hold, alone.holds) == (crowd.hold[k], crowd.holds[k])


def test_faces_that_draw_letters_otherwise_in_a_word_are_known(catalogue: Path) -> None:
    # Facts of the fonts: the calt feature of Caveat and Lobster exchanges letters inside words; Anton has none.
    with Store(catalogue) as store:
        shares = {f.family: f.contextual for f in store.faces() if not f.instance}
    assert shares["Anton"] == 0
    assert min(shares["Caveat"], shares["Lobster"]) > CONTEXTUAL_FROM
