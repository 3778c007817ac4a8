"""What a scan survives, in figures: mutants under kills, the parent killed, the price of isolation, memory, entries.

    python bench/survival.py [--mutants 20000] [--kills 100] [--overhead 60] [--entries 100000] [--seed 1]

Every part prints one line and is left out with 0. Exit status 1 when a scan under attack differs from the undisturbed
one, leaves an orphan or loses a row. The same seed makes the same mutants. Needs Linux (/proc) and the demo fonts.

- mutants: demo fonts cut to a few letters, damaged at random, scanned once undisturbed and once while a random worker
  gets SIGKILL every 50 ms (on a machine busy with other work, 50 ms times its load per core).
- kills: ``kill -9`` of the scanning command at random moments, then the same command again; whole catalogues compared.
- overhead: real fonts by the plain loop and by one isolated worker, each in its own process, in turns; CPU time.
- entries: a folder of so many entries, one in ten with a font's ending.
"""

from __future__ import annotations

import argparse
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]


def mutants(work: Path, count: int, seed: int) -> bool:
    """Quiet and killed scan of the same mutants."""
    from survival_checks import scanned, write_mutants

    folder = work / "mutants"
    folder.mkdir()
    write_mutants(folder, count, seed)
    start = time.monotonic()
    quiet = scanned(folder, kill=False)
    middle = time.monotonic()
    print(
        f"mutants: {quiet.rows} files, {quiet.measured} measured, {len(quiet.reasons)} kinds of reasons,"
        f" {middle - start:.0f} s; parent {quiet.parent_mb:.0f} MB, worker {quiet.worker_mb:.0f} MB", flush=True,
    )  # fmt: skip
    killed = scanned(folder, kill=True, seed=seed, left_out=quiet.slow)
    wanted = {path: told for path, told in quiet.prints.items() if path not in quiet.slow}
    same = killed.prints == wanted and killed.rows == len(wanted) and quiet.rows == len(quiet.prints)
    different = sum(killed.prints.get(path) != told for path, told in wanted.items())
    print(
        f"         under {killed.kills} kills: {killed.rows} rows, {different} different, {len(quiet.slow)} left out,"
        f" {time.monotonic() - middle:.0f} s; parent {killed.parent_mb:.0f} MB", flush=True,
    )  # fmt: skip
    for reason, number in sorted(quiet.reasons.items(), key=lambda item: -item[1]):
        print(f"         {number:6} {reason}")
    return same


def parent_kills(work: Path, count: int, seed: int) -> bool:
    """The command killed and started again."""
    from survival_checks import kill_parent_often, write_mutants

    folder = work / "fonts"
    folder.mkdir()
    write_mutants(folder, 200, seed)
    start = time.monotonic()
    told = kill_parent_often(folder, work, count, seed)
    print(
        f"parent killed {told.kills} times in {told.rounds} rounds: {told.different} catalogues differ,"
        f" {told.lost} rows lost, {told.orphans} orphans, {time.monotonic() - start:.0f} s", flush=True,
    )  # fmt: skip
    return not (told.different or told.lost or told.orphans)


def overhead(count: int) -> bool:
    """Ratio of CPU times, isolated to plain, median of three turns."""
    ratios = []
    for _ in range(3):
        plain, isolated = (
            float(
                subprocess.run(
                    [sys.executable, __file__, "--inner", kind, "--overhead", str(count)],
                    check=True, capture_output=True, text=True,
                ).stdout
            )
            for kind in ("plain", "isolated")
        )  # fmt: skip
        ratios.append(isolated / plain)
    shown = ", ".join(f"{r:.3f}" for r in ratios)
    print(f"isolation, {count} real fonts: {statistics.median(ratios) - 1:+.1%} CPU time (ratios {shown})", flush=True)
    return statistics.median(ratios) <= 1.05


def inner(kind: str, count: int) -> int:
    """CPU seconds of one way to scan, libraries loaded and all."""
    from conftest import demo_paths
    from survival_checks import children

    from catalogue.gather.scan import judge_face
    from scanner.alphabet import read_words
    from scanner.files import FontFile
    from scanner.workers.steps import Settings, scan_steps
    from scanner.workers.supervisor import scan_files

    paths = demo_paths()
    chosen = paths[:: max(1, len(paths) // count)][:count]
    files = [FontFile(p, p.stat().st_size, p.stat().st_mtime_ns) for p in chosen]
    os.environ |= {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    start = time.process_time()
    if kind == "plain":
        import cv2

        cv2.setNumThreads(1)
        settings = Settings(read_words(), judge=judge_face)
        for file in files:
            for _ in scan_steps(file, settings):
                pass
        print(time.process_time() - start)
        return 0
    spent = 0.0
    for _ in scan_files(files, Settings(read_words(), judge=judge_face), 1):
        servers = children(os.getpid())
        spent = sum(map(_cpu_seconds, [*servers, *(w for s in servers for w in children(s))]))
    print(spent + time.process_time() - start)
    return 0


def _cpu_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def entries(work: Path, count: int) -> bool:
    """A folder with many entries, scanned by the command in a process of its own."""
    from survival_checks import scan_command

    folder = work / "entries"
    for k in range(count):
        if k % 1000 == 0:
            (place := folder / f"{k // 1000:04d}").mkdir(parents=True)
        (place / (f"{k}.ttf" if k % 10 == 0 else f"{k}.txt")).write_bytes(b"no font")
    start = time.monotonic()
    words = work / "few.txt"
    words.write_text("o\n")
    done = subprocess.run(
        scan_command(folder, work / "entries.sqlite", words), env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True,
    )  # fmt: skip
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    rows = done.stdout.count(".ttf")
    print(f"{count} entries: {rows} rows with a reason, {time.monotonic() - start:.0f} s, parent {peak:.0f} MB at most")
    return rows == -(-count // 10)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the parts that were asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--mutants", type=int, default=20_000)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--overhead", type=int, default=60)
    parser.add_argument("--entries", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--inner", help=argparse.SUPPRESS)
    options = parser.parse_args(arguments)
    if options.inner:
        return inner(options.inner, options.overhead)
    good = True
    with tempfile.TemporaryDirectory(prefix="letterhold-survival-") as place:
        work = Path(place)
        if options.overhead:
            good &= overhead(options.overhead)
        if options.kills:
            good &= parent_kills(work, options.kills, options.seed)
        if options.entries:
            good &= entries(work, options.entries)
        if options.mutants:
            good &= mutants(work, options.mutants, options.seed)
    return 0 if good else 1


if __name__ == "__main__":
    raise SystemExit(main())
