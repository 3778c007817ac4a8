"""Time of a whole `letterhold rank` command over 4,000 faces: start-up, reading the store and ranking, no verify.

The demo catalogue's rows are repeated until there are 4,000. Prints the time of the command, of an idle interpreter
that imports numpy (the floor), and their ratio. Run: python bench/rank_speed.py [FACES]
"""

from __future__ import annotations

import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from catalogue.scanning import scan_into
from catalogue.store import default_catalogue
from scanner.alphabet import read_words
from scanner.scan import demo_folders


def repeat_rows(path: Path, wanted: int) -> int:
    """Repeat files, faces and measures until there are ``wanted`` faces; returns their number."""
    db = sqlite3.connect(path)
    columns = [r[1] for r in db.execute("PRAGMA table_info(face)") if r[1] not in ("id", "instance")]
    faces = db.execute(f"SELECT id, instance, {', '.join(columns)} FROM face WHERE reason = ''").fetchall()
    count = len(faces)
    with db:
        round_ = 0
        while count < wanted:
            round_ += 1
            for face_id, instance, *rest in faces[: wanted - count]:
                marks = ", ".join("?" * (len(rest) + 1))
                done = db.execute(
                    f"INSERT INTO face (instance, {', '.join(columns)}) VALUES ({marks})",
                    (f"{instance} copy {round_}", *rest),
                )
                db.execute(
                    "INSERT INTO measure SELECT ?, data FROM measure WHERE face_id = ?", (done.lastrowid, face_id)
                )
                count += 1
    db.close()
    return count


def seconds(command: list[str], runs: int = 7) -> float:
    """Median wall time of a command that may end with status 0 or 1."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        done = subprocess.run(command, stdout=subprocess.DEVNULL, check=False)
        times.append(time.perf_counter() - start)
        assert done.returncode in (0, 1), done
    return statistics.median(times)


def main() -> None:
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    source = default_catalogue().with_name("demo.sqlite")
    if not source.exists():
        scan_into(source, demo_folders(), read_words(None))
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder, "many.sqlite")
        db = sqlite3.connect(source)
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.close()
        shutil.copy(source, copy)
        count = repeat_rows(copy, wanted)
        command = [
            sys.executable, "-m", "catalogue.cli", "rank", "Marlie", "--verify", "0", "--catalogue", str(copy),
        ]  # fmt: skip
        whole = seconds(command)
        floor = seconds([sys.executable, "-c", "import numpy, sqlite3, argparse, json"])
        size = copy.stat().st_size / count / 1024
    print(f"rank over {count} faces: {whole:.2f} s; numpy import alone {floor:.2f} s; ratio {whole / floor:.1f}")
    print(f"catalogue: {size:.0f} KB a face")


if __name__ == "__main__":
    main()
