"""Scan speed: our scan, the straightforward script and the bare library calls over the demo fonts, in CPU time.

    python bench/scan_speed.py [seconds]

Takes the first face of every k-th demo font file, k so that the run lasts about the given time (60 s). Each of the runs
has a process of its own, a warm-up face first. Prints the median CPU milliseconds a face of each, their ratios, and
the peak memory of each process; "plain" leaves out the necks of any name and the numbers of style. CPU time on a shared
machine is approximate; the ratios are the steadier figures, as the runs take turns face by face. Then where the time of
ours goes, stage by stage, and the whole scan command over all demo fonts with one worker and with two, in wall time
(about a minute more).
"""

from __future__ import annotations

import os
import resource
import statistics
import sys
import time
from collections.abc import Callable
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

WORDS = 12
"""Words of the straightforward script; ours does 30 and the pair table."""


def ours() -> Callable[[bytes], object]:
    """`record_face` as the scan calls it."""
    from typing import Any

    from scanner import measuring
    from scanner.alphabet import read_words
    from scanner.face import record_face

    digest: Any = measuring.design_digest
    # Some faces are measured twice here; none may have the measures of the first time.
    measuring.design_digest = lambda *given: digest(*given) + os.urandom(8)
    words = read_words()
    return lambda data: record_face(data, "", 0, "", {}, words)


def ours_plain() -> Callable[[bytes], object]:
    """The same without the necks of any name and without the numbers of style: joins, pairs, strokes, counters."""
    import numpy as np

    from scanner import measuring
    from scanner.alphabet import BESIDE_DOTS, LOWER, UPPER, lens_pairs
    from scanner.measures.features import FEATURES
    from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM
    from scanner.tables import table

    offsets = len(OWN_OFFSETS_EM)
    nothing: dict[str, object] = {
        "pair_lenses": np.full((len(lens_pairs()), len(LENS_WIDTHS_EM)), np.nan),
        "dot_lenses": np.full((2, len(LENS_WIDTHS_EM)), np.nan),
        "letter_necks": (
            np.full((len(UPPER + LOWER), 2, offsets), np.nan),
            np.full((2, len(BESIDE_DOTS), offsets), np.nan),
        ),
        "style_features": np.full(len(FEATURES), np.nan),
    }
    for name, value in nothing.items():
        place = measuring if hasattr(measuring, name) else table
        setattr(place, name, lambda *_, value=value: value)
    return ours()


def straightforward() -> Callable[[bytes], object]:
    """The plain script with the first of the same words."""
    from bench.straightforward import measure_face
    from scanner.alphabet import read_words

    words = list(read_words())[:WORDS]
    return lambda data: measure_face(data, words)


def floor() -> Callable[[bytes], object]:
    """The bare library calls for the same words and pairs."""
    from bench.floor import bare_calls
    from scanner.alphabet import pair_texts, read_words

    words, pairs = read_words(), pair_texts()
    return lambda data: bare_calls(data, words, pairs)


RUNS = {"ours": ours, "ours, plain": ours_plain, "straightforward": straightforward, "floor": floor}


STAGES = {
    "shape_many": "HarfBuzz: pairs, words and letters shaped", "prepare": "outlines drawn, flattened, put together",
    "_outlines": "outlines laid out for distances", "pair_gaps": "gaps of all pairs", "dotted_edges": "gaps of dots",
    "pair_lenses": "necks of pairs", "dot_lenses": "necks of dots", "letter_necks": "necks of letters",
    "letter_widths": "strokes, slits", "inscribed_diameters": "counters", "word_measures": "join curves of the words",
    "style_features": "numbers of style",
}  # fmt: skip


def profile(files: list[str]) -> dict[str, float]:
    """Median CPU milliseconds a face in each of ``STAGES``, in the rest of measuring, and in all of it."""
    from collections import defaultdict
    from typing import Any

    from scanner import measuring
    from scanner.lettering import Typesetter
    from scanner.shaping import Shaper
    from scanner.tables import drawn, letters, table

    spent: dict[str, float] = defaultdict(float)
    inner = [0.0]

    def timed(function: Callable[..., Any], stage: str) -> Callable[..., Any]:
        def run(*arguments: Any) -> Any:
            start = time.process_time()
            inner.append(0.0)
            try:
                return function(*arguments)
            finally:
                whole = time.process_time() - start
                spent[stage] += whole - inner.pop()  # a stage within a stage counts once
                inner[-1] += whole

        return run

    for stage in STAGES:
        place = next(p for p in (measuring, table, letters, drawn, Shaper, Typesetter) if hasattr(p, stage))
        setattr(place, stage, timed(getattr(place, stage), stage))
    run = ours()
    rows = []
    for number, path in enumerate([files[0], *files]):
        spent.clear()
        data = Path(path).read_bytes()
        start = time.process_time()
        run(data)
        whole = time.process_time() - start
        if number:  # the first one warms up
            rows.append({**{s: spent[s] for s in STAGES}, "rest": whole - sum(spent.values()), "all": whole})
    return {stage: 1000 * statistics.median(row[stage] for row in rows) for stage in rows[0]}


def serve(pipe: Connection, which: str) -> None:
    """Measure the fonts that come through the pipe; send back CPU seconds and peak memory in MB."""
    import cv2

    cv2.setNumThreads(1)
    run = RUNS[which]()
    while (path := pipe.recv()) is not None:
        data = Path(path).read_bytes()
        start = time.process_time()
        try:
            run(data)
            spent = time.process_time() - start
        except Exception as error:  # the plain script does not get through every font
            print(f"{which}: {Path(path).name}: {type(error).__name__}", file=sys.stderr)
            spent = float("nan")
        pipe.send((spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024))


def wall_seconds(files: list[str], workers: int) -> float:
    """Wall time of a scan of the files into an empty catalogue."""
    import subprocess
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        start = time.monotonic()
        catalogue = str(Path(folder, "c.sqlite"))
        command = [sys.executable, "-m", "catalogue.commands.main", "scan", *files, "--catalogue", catalogue]
        subprocess.run([*command, "--workers", str(workers)], stdout=subprocess.DEVNULL, check=True)
        return time.monotonic() - start


def main() -> int:
    """Run both and print the comparison."""
    from bench.installed import compiled
    from scanner.files import find_fonts
    from scanner.installed import demo_folders

    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[variable] = "1"
    files = [str(f.path) for f in find_fonts(demo_folders())]
    if not files:
        print("no demo fonts are installed: pip install the fontpkg-* packages first", file=sys.stderr)
        return 1
    context = get_context("spawn")
    pipes = {}
    servers = []
    for which in RUNS:
        pipes[which], other = context.Pipe()
        servers.append(context.Process(target=serve, args=(other, which), daemon=True))
        servers[-1].start()
    taken: dict[str, list[float]] = {which: [] for which in pipes}
    memory = dict.fromkeys(pipes, 0.0)

    def measure(path: str) -> dict[str, float]:
        spent = {}
        for which, pipe in pipes.items():
            pipe.send(path)
            spent[which], memory[which] = pipe.recv()
        return spent

    measure(files[0])  # warm-up: imports and caches
    start = time.monotonic()
    measure(files[len(files) // 2])
    step = max(1, round(len(files) * (time.monotonic() - start) / seconds))
    for path in files[::step]:
        for which, spent in measure(path).items():
            taken[which].append(spent)
    for pipe in pipes.values():
        pipe.send(None)
    for process in servers:
        process.join()
    known = [row for row in zip(*taken.values(), strict=True) if all(spent == spent for spent in row)]
    print(f"{len(known)} faces of {len(files)} files, every {step}th; CPU time, one thread")
    for which, spent in zip(taken, zip(*known, strict=True), strict=True):
        print(f"{which:24} {1000 * statistics.median(spent):7.0f} ms a face, peak memory {memory[which]:5.0f} MB")
    for label, over, under in (
        ("straightforward ÷ ours", 2, 0), ("straightforward ÷ plain", 2, 1), ("ours ÷ floor", 0, 3),
    ):  # fmt: skip
        print(f"{label:24} {statistics.median(row[over] / row[under] for row in known):7.1f}")
    parts = profile(files[::step])
    for stage, milliseconds in sorted(parts.items(), key=lambda item: -item[1]):
        print(f"  {STAGES.get(stage, stage):44} {milliseconds:6.1f} ms  {milliseconds / parts['all']:4.0%}")
    with compiled():
        wall_seconds(files[:1], 1)
        one, two = (wall_seconds(files, workers) for workers in (1, 2))
    print(f"scan command over {len(files)} files, 1 worker {one:.1f} s, 2 workers {two:.1f} s, ratio {one / two:.2f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
