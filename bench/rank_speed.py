"""Times of everything but the scan itself, over catalogues made of the demo catalogue's rows, repeated.

    python bench/rank_speed.py [FACES [MANY]]

Prints for FACES (4,000): the whole `letterhold rank` command without measuring, the ranking alone after start-up, the
first ranking after a scan (which makes the columns file), a rescan of as many unchanged files, size a face; for MANY
(100,000; 0 leaves it out) the ranking alone; then measuring 50 faces in full, `letterhold check` and `--help`.
Beside each time its ratio to the floor of the same run: an interpreter with numpy, sqlite3, argparse and json.
"""

from __future__ import annotations

import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench.installed import compiled
from bench.repeated import repeat_rows, unchanged_files
from catalogue.folders import demo_catalogue
from catalogue.judge.listing import Wanted, first_rows
from catalogue.judge.process import load_process
from catalogue.judge.ranking import rank
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.columns import columns_path, load_columns
from catalogue.store.database import Store

ASKED = Request.of("Marlie", Size("cap-height", 14.0), load_process("nozzle-0.4"), default_stack(1.0))


def seconds(command: list[str], runs: int = 7) -> float:
    """Median wall time of a command that may end with status 0 or 1; a first run, not counted, compiles its modules."""
    times = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        done = subprocess.run(command, stdout=subprocess.DEVNULL, check=False)
        times.append(time.perf_counter() - start)
        assert done.returncode in (0, 1), done
    return statistics.median(times[1:])


def median_of(work: Callable[[], object], runs: int = 7) -> float:
    """Median wall time of a call."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def letterhold(*arguments: object) -> list[str]:
    """A command line."""
    return [sys.executable, "-m", "catalogue.commands.main", *map(str, arguments)]


def main() -> None:
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    many = int(sys.argv[2]) if len(sys.argv) > 2 else 100_000
    source = demo_catalogue()
    if not source.exists():
        subprocess.run(letterhold("demo"), stdout=subprocess.DEVNULL, check=False)
    floor = seconds([sys.executable, "-c", "import numpy, sqlite3, argparse, json"])

    def show(what: str, took: float) -> None:
        print(f"{what:58} {took:7.3f} s {took / floor:6.1f} x the floor", flush=True)

    show("floor: an interpreter with numpy, sqlite3, argparse, json", floor)
    show("letterhold --help", seconds(letterhold("--help")))
    with tempfile.TemporaryDirectory() as folder:
        one = Path(folder, "many.sqlite")
        with sqlite3.connect(source) as demo, sqlite3.connect(one) as copy:
            demo.backup(copy)
        count = repeat_rows(one, wanted)
        with Store(one) as store:
            face = store.faces()[0]
            show(f"first ranking after a scan of {count} faces", median_of(lambda: load_columns(store), 1))
            columns = load_columns(store)
            show(f"ranking {count} faces, started up", median_of(lambda: rank(columns, ASKED)))
            ranking = rank(columns, ASKED)
            step = slice(None, None, max(1, len(ranking) // 50))
            from catalogue.judge.check import check_face

            faces = list(store.faces_of(ranking.ids[step][:50]).values())

            def measure() -> None:
                for chosen in faces:
                    check_face(chosen, ASKED)

            show(f"measuring {len(faces)} faces in full", median_of(measure, 3))
            show(
                "the same through the ranking's first rows",
                median_of(lambda: first_rows(ranking, store, ASKED, Wanted(50, 50)), 1),
            )
        show(
            f"letterhold rank over {count} faces, nothing measured",
            seconds(letterhold("rank", "Marlie", "--verify", 0, "--catalogue", one)),
        )
        show("letterhold check", seconds(letterhold("check", "Marlie", "--face", face.id, "--catalogue", one)))
        fonts = Path(folder, "fonts")
        fonts.mkdir()
        again = Path(folder, "again.sqlite")
        shutil.copy(one, again)
        unchanged_files(again, fonts, wanted)
        show(f"rescan of {wanted} unchanged files", seconds(letterhold("scan", fonts, "--catalogue", again), 3))
        size = (one.stat().st_size + columns_path(one).stat().st_size) / count / 1024
        print(f"catalogue with its columns: {size:.0f} KB a face")
        if many:
            big = Path(folder, "big.sqlite")
            shutil.copy(one, big)
            count = repeat_rows(big, many)
            with Store(big) as store:
                columns = load_columns(store)
                show(f"ranking {count} faces, started up", median_of(lambda: rank(columns, ASKED)))


if __name__ == "__main__":
    with compiled():
        main()
