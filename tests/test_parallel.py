"""Work shared out over processes gives what one process gives."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from conftest import copy_demo_fonts

from catalogue import parallel
from catalogue.commands.main import main
from catalogue.judge.listing import Listing, Wanted, listing
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.parallel import ParallelError, each
from catalogue.store.database import Store


def _own_number(item: int) -> tuple[int, int]:
    return item, os.getpid()


def test_results_come_in_order_and_from_other_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parallel, "FEW", 20)
    here = list(each(_own_number, range(19), 2))
    there = list(each(_own_number, range(40), 2))
    assert [item for item, _ in here + there] == [*range(19), *range(40)]
    assert {process for _, process in here} == {os.getpid()}
    assert os.getpid() not in {process for _, process in there}


def test_a_process_that_ends_early_is_reported(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parallel, "FEW", 1)
    with pytest.raises(ParallelError, match=r"run again with fewer faces$"):
        list(each(os._exit, [9, 9, 9], 2))


@pytest.mark.parametrize("name", ["Marlie", "Ωmega"])  # the second has a letter outside the stored alphabet
def test_a_ranking_is_the_same_by_one_process_or_two(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "fonts").mkdir()
    folder = copy_demo_fonts(tmp_path / "fonts", ("fontpkg_anton", "fontpkg_lobster", "fontpkg_caveat"))
    path = tmp_path / "c.sqlite"
    assert main(["scan", str(folder), "--catalogue", str(path)]) == 0
    next(folder.rglob("Anton*")).unlink()  # one that cannot be measured is reported, and costs no other
    asked = Request.of(name, Size("cap-height", 14.0), load_process("nozzle-0.4"), default_stack(1.0))

    def listed(workers: int) -> Listing:
        with Store(path) as store:
            return listing(store, asked, Wanted(0, 10), workers=workers)

    alone = listed(1)
    monkeypatch.setattr(parallel, "FEW", 1)
    assert listed(2) == alone
    assert len(alone.troubles) == 1 and "Anton" in alone.troubles[0]
    assert alone.rows and all(row.verified for row in alone.rows)
