"""Whatever a catalogue holds of some faces (nothing, NaN, infinity, zero, a negative or a huge number), what is said of
the others stays as it is without those faces; and what is said of the odd ones is no fault of the program."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import copy_demo_fonts
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.gather.scan import Scan, scan_into
from catalogue.store.database import Store
from catalogue.store.rows import FileRows
from catalogue.store.salvage import Salvage
from catalogue.store.schema import SCALARS
from catalogue.style.grouping import regroup
from scanner.measures.features import FEATURES

PACKAGES = ("fontpkg_lobster", "fontpkg_anton", "fontpkg_abel", "fontpkg_arvo", "fontpkg_pacifico")
ODD = "Anton"
"""The family whose values are made odd."""

odd = st.sampled_from([None, math.nan, math.inf, -math.inf, 0.0, -0.0, -1.0, 1e-300, 1e300, 5e-324])
features = st.lists(st.tuples(st.integers(0, len(FEATURES) - 1), odd), max_size=8)
changes = st.fixed_dictionaries(
    {},
    optional={
        **{name: odd for name in SCALARS if name != "upem"},
        "words": st.sampled_from(["[]", None]), "style_features": st.one_of(st.none(), features),
        "missing": st.sampled_from(["", "abcdefghijklmnopqrstuvwxyz", "Bo", None]),
        "letters": st.sampled_from([0, -1, 10**9]),
    },
)  # fmt: skip


@pytest.fixture(scope="module")
def rows(tmp_path_factory: pytest.TempPathFactory) -> list[FileRows]:
    """Five faces as a scan writes them."""
    folder = copy_demo_fonts(tmp_path_factory.mktemp("fonts"), PACKAGES)
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    scan_into(path, Scan([folder], ("Bo", "Al"), 1))
    with Salvage(path) as source:
        return list(source.files())


@pytest.fixture(scope="module", autouse=True)
def own_state(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_STATE_HOME", str(tmp_path_factory.mktemp("state")))
        yield


def written(path: Path, rows: list[FileRows]) -> Path:
    with Store(path, create=True) as store:
        store.put_rows(rows)
        regroup(store)
    return path


def with_odd(rows: list[FileRows], change: dict[str, Any]) -> list[FileRows]:
    """The rows with the changed values in the odd family's face."""
    change = dict(change)
    if change.get("style_features") is not None:
        vector = np.frombuffer(face_of(rows)["style_features"], np.float32).copy()
        for place, value in change["style_features"]:
            with np.errstate(over="ignore"):
                vector[place] = np.nan if value is None else value
        change["style_features"] = vector.tobytes()
    return [replace(r, faces=tuple(f | change if f["family"] == ODD else f for f in r.faces)) for r in rows]


def face_of(rows: list[FileRows]) -> dict[str, Any]:
    return next(f for r in rows for f in r.faces if f["family"] == ODD)


def run(catalogue: Path, *arguments: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main([*arguments, "--catalogue", str(catalogue)])
    return status, out.getvalue(), err.getvalue()


def said(catalogue: Path) -> dict[str, Any]:
    """What is said of all faces but the odd one."""
    found: dict[str, Any] = {}
    status, out, err = run(catalogue, "groups", "--json")
    assert (status, err) == (0, "")
    found["groups"] = sorted(
        (member["family"], group["group"], member["support"])
        for group in json.loads(out)
        for member in group["members"]
        if member["family"] != ODD
    )
    status, out, err = run(catalogue, "like", "Lobster Regular", "--top", "0", "--json")
    assert (status, err) == (0, "")
    found["like"] = [row for row in json.loads(out) if row["family"] != ODD]
    status, out, err = run(catalogue, "compare", "Lobster", "Abel", "--name", "Bo", "--json")
    assert (status, err) == (0, "")
    found["compare"] = json.loads(out)
    ledger = catalogue.with_suffix(".csv")
    assert run(catalogue, "licence", "--ledger", str(ledger))[0] == 0
    lines = csv.DictReader(io.StringIO(ledger.read_text(encoding="utf-8-sig")))
    found["ledger"] = [line for line in lines if line["family"] != ODD]
    status, out, err = run(catalogue, "rank", "Bo", "--top", "0", "--verify", "0", "--json")
    assert status in (0, 1)
    found["rank"] = [row for row in json.loads(out) if row["family"] != ODD]
    return found


@pytest.fixture(scope="module")
def without(rows: list[FileRows], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What is said of the others where the odd face is not in the catalogue."""
    others = [r for r in rows if all(f["family"] != ODD for f in r.faces)]
    return said(written(tmp_path_factory.mktemp("others") / "c.sqlite", others))


@given(change=changes)
@settings(max_examples=40, suppress_health_check=list(HealthCheck))
def test_odd_values_change_nothing_for_the_others(
    rows: list[FileRows], without: dict[str, Any], tmp_path_factory: pytest.TempPathFactory, change: dict[str, Any]
) -> None:
    path = written(tmp_path_factory.mktemp("odd") / "c.sqlite", with_odd(rows, change))
    assert said(path) == without
    assert all(len(part) >= 2 for part in without.values())


@given(change=changes)
@settings(max_examples=40, suppress_health_check=list(HealthCheck))
def test_what_is_said_of_the_odd_face_is_no_fault(
    rows: list[FileRows], tmp_path_factory: pytest.TempPathFactory, change: dict[str, Any]
) -> None:
    path = written(tmp_path_factory.mktemp("odd") / "c.sqlite", with_odd(rows, change))
    for command in (("inspect", ODD), ("like", ODD), ("check", "Bo", "--face", ODD), ("compare", ODD, "--name", "Bo")):
        for form in ((), ("--json",)):
            status, out, err = run(path, *command, *form)
            assert status in (0, 1, 2), err
            assert (status == 2) == bool(err) and err.count("\n") <= 1
            if form and out:
                json.loads(out, parse_constant=lambda text: pytest.fail(f"{text} is no JSON"))
