"""The same letters in several files are one line of a ranking, with the files and their licences under it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from conftest import TINY, font_bytes, tiny_font
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.judge.designs import one_each
from catalogue.permission import Permission
from catalogue.store.columns import FACTS, Columns, load_columns, width
from catalogue.store.database import Store

Capture = pytest.CaptureFixture[str]

OPEN = "This Font Software is licensed under the SIL Open Font License, Version 1.1."
"""Name 13 of fonts under the OFL, as SIL's OFL FAQ gives it."""


def licensed(font: TTFont) -> TTFont:
    font["name"].setName(OPEN, 13, 3, 1, 0x409)
    font["name"].setName("https://openfontlicense.org", 14, 3, 1, 0x409)
    return font


def doubled() -> TTFont:
    """The same design on an em of 2000 units."""
    twice = {name: [[(2 * x, 2 * y) for x, y in c] for c in contours] for name, contours in TINY.items()}
    return tiny_font(upem=2000, glyphs=twice, advance=1000)


def moved() -> TTFont:
    """The stem of the l one unit, 0.001 em, wider: ten steps of a stored length."""
    return tiny_font(glyphs=TINY | {"l": [[(100, 0), (100, 700), (201, 700), (201, 0)]]})


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One design as TrueType without a licence, as CFF under the OFL, as WOFF2 and on another em; and a near one."""
    folder = tmp_path_factory.mktemp("fonts")
    (folder / "a.ttf").write_bytes(font_bytes(tiny_font()))
    for name, font in (("b", licensed(tiny_font(cff=True))), ("d", doubled()), ("e", moved())):
        (folder / name).mkdir()  # a licence counts for the folder's own fonts
        (folder / name / f"{name}.ttf").write_bytes(font_bytes(font))
    (folder / "c").mkdir()
    (folder / "c" / "c.woff2").write_bytes(font_bytes(tiny_font(), "woff2"))
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    assert main(["scan", str(folder), "--catalogue", str(path), "--workers", "1"]) == 0
    return path


def ranked(capsys: Capture, catalogue: Path, *options: str) -> list[dict[str, object]]:
    capsys.readouterr()
    main(["rank", "fil", "--catalogue", str(catalogue), "--json", *options])
    return list(json.loads(capsys.readouterr().out))


@pytest.mark.parametrize(
    "options",
    [("--as-set", "--verify", "0"), ("--as-set",), ("--order", "plain", "--verify", "0")],
    ids=["predicted", "measured", "as made"],
)
def test_files_of_one_design_are_one_line_the_best_licensed_first(
    capsys: Capture, catalogue: Path, options: tuple[str, ...]
) -> None:
    rows = ranked(capsys, catalogue, *options)
    files = sorted(([(Path(f["path"]).name, f["sell"]) for f in r["files"]] for r in rows), key=len)
    assert files == [
        [("e.ttf", "unknown")],
        [("b.ttf", "yes"), ("a.ttf", "unknown"), ("c.woff2", "unknown"), ("d.ttf", "unknown")],
    ]
    assert all(r["face"] == r["files"][0]["face"] and r["sell"] == r["files"][0]["sell"] for r in rows)


def test_only_files_that_were_asked_for_stand_under_a_design(capsys: Capture, catalogue: Path) -> None:
    (row,) = ranked(capsys, catalogue, "--as-set", "--sell")
    assert [Path(f["path"]).name for f in row["files"]] == ["b.ttf"]


def test_the_table_names_the_other_files_with_their_licences(capsys: Capture, catalogue: Path) -> None:
    main(["rank", "fil", "--as-set", "--catalogue", str(catalogue), "--verify", "0"])
    assert "the same letters: a.ttf (unknown), c.woff2 (unknown), d.ttf (unknown)\n" in capsys.readouterr().out


def test_another_verdict_makes_another_file_stand_for_the_design(catalogue: Path, tmp_path: Path) -> None:
    copy = tmp_path / "c.sqlite"
    copy.write_bytes(catalogue.read_bytes())
    with Store(copy, create=True) as store:
        before = one_each(load_columns(store))
        best = next(f for f in store.faces() if f.path.endswith("b.ttf"))
        store.judge(best.path, {0: {"verdict": "no"}})
        after = one_each(load_columns(store))
    assert best.id in before and best.id not in after and len(before) == len(after) == 2


# ── a law ───────────────────────────────────────────────────────────────────────────────────────────────────────────

face = st.tuples(st.integers(0, 4), st.integers(0, len(Permission) - 1), st.booleans())


@given(st.lists(face, max_size=12))
def test_each_design_asked_for_has_one_face_and_none_is_better_licensed(
    faces: list[tuple[int, int, bool]],
) -> None:
    facts = np.zeros((len(FACTS), len(faces)))
    facts[FACTS.index("design")] = [d for d, _, _ in faces]
    facts[FACTS.index("sale_order")] = [s for _, s, _ in faces]
    columns = Columns(np.arange(len(faces)), facts, np.empty((width(), len(faces)), np.uint16))
    among = np.array([k for k, (_, _, asked) in enumerate(faces) if asked], dtype=np.int64)
    chosen = one_each(columns, among).tolist()
    assert sorted(faces[k][0] for k in chosen) == sorted({d for d, _, asked in faces if asked})
    assert all(faces[k][2] for k in chosen)
    least = {faces[k][0]: faces[k][1] for k in chosen}
    assert all(least[d] <= s for d, s, asked in faces if asked)
