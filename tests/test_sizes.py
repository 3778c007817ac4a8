"""Sizing: who can be sized as asked, and that nobody else's rank depends on those who cannot."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from conftest import copy_demo_fonts
from hypothesis import given
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.judge.process import load_process
from catalogue.judge.ranking import Ranking, rank
from catalogue.judge.request import SIZE_KINDS, Request, Size
from catalogue.judge.sizes import LEAST_HEIGHT_EM, MOST_HEIGHT_EM, faces_em_mm, unsized_line
from catalogue.judge.stack import default_stack
from catalogue.store.columns import FACTS, Columns, width
from scanner.reasons import FontError
from scanner.records import ABSENT, STEP_EM

PROCESS = load_process("nozzle-0.4")
MEASURES = (
    "em_mm", "pieces", "join_offset_mm", "neck_mm", "thinnest_stroke_mm", "thin_share", "smallest_counter_mm", "hold",
    "holds",
)  # fmt: skip

facts = st.sampled_from([np.nan, np.inf, -np.inf, 0.0, -0.7, 0.0003, 0.03, 1e-300, 1e300, 0.05, 0.35, 0.5, 0.7, 6.5])
"""Heights as broken, mathematical and ordinary fonts state them."""

tables = st.sampled_from(["absent", "zero", "largest", "noise", "small", "some"])
faces = st.lists(st.tuples(st.tuples(*[facts] * len(FACTS)), tables, st.integers(0, 99)), min_size=1, max_size=5)
names = st.sampled_from(["Marlie", "Ij", "Zoë Jj", "O'Malley", "i", "42", "İŞ Þæ"])


def stored(kind: str, seed: int) -> np.ndarray:
    """One face's table: all absent, all zero, the largest values, any values, letters of 0.1 em, or part of them."""
    rng = np.random.default_rng(seed)
    noise = rng.integers(0, ABSENT + 1, width()).astype(np.uint16)
    small = rng.integers(0, int(0.1 / STEP_EM), width()).astype(np.uint16)
    return {
        "absent": np.full(width(), ABSENT, np.uint16), "zero": np.zeros(width(), np.uint16),
        "largest": np.full(width(), ABSENT - 1, np.uint16), "noise": noise, "small": small,
        "some": np.where(rng.random(width()) < 0.2, ABSENT, small),
    }[kind].astype(np.uint16)  # fmt: skip


def columns_of(some: list[tuple[tuple[float, ...], str, int]], ids: list[int]) -> Columns:
    rows = np.stack([stored(kind, seed) for _, kind, seed in some], axis=1)
    return Columns(np.array(ids, np.int64), np.array([f for f, _, _ in some]).T.reshape(len(FACTS), -1), rows)


def request(name: str, size: Size, base: float) -> Request:
    return Request.of(name, size, PROCESS, default_stack(base))


def lines(ranking: Ranking, ids: set[int]) -> list[tuple[object, ...]]:
    """What the ranking says of these faces, in its order, as text: NaN equals nothing. Nine figures, since sums over
    an array go in another order when it is wider."""
    return [
        (number, *(f"{getattr(ranking, m)[k]:.9g}" for m in MEASURES))
        for k, number in enumerate(ranking.ids.tolist())
        if number in ids
    ]


@given(faces, faces, names, st.sampled_from(SIZE_KINDS), st.sampled_from([1.0, 1e-9, 0.0]))
def test_a_face_is_ranked_as_it_is_without_the_others(
    some: list[tuple[tuple[float, ...], str, int]],
    others: list[tuple[tuple[float, ...], str, int]],
    name: str,
    kind: str,
    base: float,
) -> None:
    asked = request(name, Size(kind, 14.0), base)
    own = list(range(len(some)))
    alone = rank(columns_of(some, own), asked)
    every = rank(columns_of(some + others, list(range(len(some + others)))), asked)
    assert lines(every, set(own)) == lines(alone, set(own))
    assert set(alone.unsized.tolist()) == set(every.unsized.tolist()) & set(own)


@given(faces, names, st.sampled_from(SIZE_KINDS))
def test_every_face_is_ranked_unsized_or_lacks_a_letter(
    some: list[tuple[tuple[float, ...], str, int]], name: str, kind: str
) -> None:
    ranking = rank(columns_of(some, list(range(len(some)))), request(name, Size(kind, 14.0), 1.0))
    assert len(ranking) + len(ranking.unsized) + ranking.left_out == len(some)
    assert np.isfinite(ranking.em_mm).all() and (ranking.em_mm > 0).all()
    assert np.isfinite(ranking.join_offset_mm).all()


@pytest.mark.parametrize(
    ("height", "sized"),
    [
        (0.7, True),
        (0.0, False),  # DejaVu Sans Display, which has no letters
        (0.03, False),  # the x-height cmex10 gives: the thickness of a rule
        (LEAST_HEIGHT_EM, True),
        (MOST_HEIGHT_EM * 1.01, False),  # beyond stored lengths
        (np.nan, False),  # not measured
        (-0.7, False),  # no height
    ],
)
def test_heights_that_are_none_size_no_face(height: float, sized: bool) -> None:
    columns = columns_of([((height, height, *[0.0] * (len(FACTS) - 2)), "small", 0)], [0])
    for kind in ("cap-height", "x-height"):
        em = faces_em_mm(columns, np.empty((0, 1)), Size(kind, 14.0), 1.0)
        assert np.isfinite(em).tolist() == [sized]


def test_a_width_within_the_offsets_is_refused() -> None:
    columns = columns_of([((0.7, 0.5, *[0.0] * (len(FACTS) - 2)), "small", 0)], [0])
    with pytest.raises(FontError, match="a width of 2 mm leaves nothing between the offsets; make it wider"):
        rank(columns, request("Marlie", Size("width", 2.0), 1.0))


def test_unsized_faces_are_counted_and_named() -> None:
    titles = ("A Regular", "B Bold", "C Regular", "D Light")
    assert unsized_line(titles, "x-height") == (
        "4 faces (A Regular, B Bold, C Regular and 1 more) have no small letters to size by;"
        " use --cap-height or --width"
    )
    assert unsized_line((), "width") == ""


def test_fonts_without_capitals_do_not_stop_a_ranking(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """cmex10 maps letters to pieces of brackets: its capitals have no height (a fact of the font)."""
    folder = copy_demo_fonts(tmp_path, ("fontpkg_anton",))
    shutil.copy(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "cmex10.ttf", folder)
    catalogue = ["--catalogue", str(tmp_path / "c.sqlite")]
    assert main(["scan", str(folder), "--workers", "1", *catalogue]) == 0
    capsys.readouterr()
    main(["rank", "Marlie", *catalogue, "--json"])
    assert [row["family"] for row in json.loads(capsys.readouterr().out)] == ["Anton"]
    main(["rank", "Marlie", *catalogue])
    assert "1 face (cmex10 Regular) has no capitals to size by; use --x-height or --width" in capsys.readouterr().out
    assert main(["check", "Marlie", "--face", "cmex10 Regular", *catalogue]) == 2
    assert "cmex10 Regular has no capitals to size by" in capsys.readouterr().err
