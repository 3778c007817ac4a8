"""How cost grows with the number of faces, printed as a table and drawn as bench/pictures/growth.png.

    python bench/growth.py --get FOLDER [--files 250,500,1000,1500,0] [--repeat 4000,20000,100000]

Downloads the Debian packages of `growth_packages.txt` into FOLDER (those not there yet; about 1 GB unpacked) with
`apt-get download` and scans them with two workers, package by package in the order of a digest of their names, into
one catalogue. It stops at each number of font files (0: all) and measures: computing a face of the files added, the
writer's time and records, bytes a face, a ranking, a rescan of all so far. Then the rows are repeated and the same is
measured, save the scan, at each of --repeat faces; the unchanged files of those rescans are small stand-ins.

The writer: from a record's arrival until the next is asked for, as in any scan; and for records as they come from a
cluster, unpacking (pickle) included. Partitions: rows of Parquet, written by a worker, merged by the same one writer.
All times are CPU times of one process, so that other work on the machine shows little.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import pickle
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from bench.licence_numbers import Package, fetch
from bench.rank_speed import ASKED
from bench.repeated import repeat_rows, unchanged_files
from catalogue.gather.scan import Scan, scan_into
from catalogue.judge.ranking import rank
from catalogue.store.columns import columns_path, load_columns
from catalogue.store.database import Store
from scanner.alphabet import read_words
from scanner.files import find_fonts
from scanner.records import FileRecord

LIST = Path(__file__).with_name("growth_packages.txt")
PICTURE = Path(__file__).with_name("pictures") / "growth.png"
KEPT = 200
"""Records kept for the writer's runs."""
BLUE, RED = "#0072B2", "#D55E00"
"""Of Okabe and Ito's palette, told apart by colour-blind readers; shapes differ as well."""


@dataclass
class Point:
    """What was measured at one size of the catalogue; None where it was not."""

    faces: int
    repeated: bool
    scan_ms: float | None = None
    """A face, median over the faces added."""
    mean_ms: float | None = None
    writer_ms: float | None = None
    """The writer's time a face."""
    bytes_a_face: float | None = None
    rank_ms: float | None = None
    rescan_s: float | None = None
    rescan_files: int = 0


@dataclass
class Watch:
    """Passes records on and notes what they took."""

    spent: list[float] = field(default_factory=list)
    writing: float = 0.0
    records: list[FileRecord] = field(default_factory=list)

    def __call__(self, items: Iterable[Any], total: int, label: str) -> Iterator[Any]:
        for record in items:
            self.spent += [f.seconds for f in record.faces if f.measures is not None]
            if len(self.records) < KEPT and any(f.measures for f in record.faces):
                self.records.append(record)
            start = time.process_time()
            yield record
            self.writing += time.process_time() - start


def packages() -> list[Package]:
    """The packages of the list, in an order that has nothing to do with their names."""
    lines = (line.split() for line in LIST.read_text("utf-8").splitlines() if not line.startswith("#"))
    found = [Package("deb", name, version, "") for name, version in lines]
    return sorted(found, key=lambda p: hashlib.sha256(p.name.encode()).hexdigest())


def parts(folders: list[Path], sizes: list[int]) -> Iterator[list[Path]]:
    """Folders in turn, parted where the sum of their font files reaches each size; 0 takes what is left."""
    count, part = 0, []
    wanted = iter(sizes)
    goal = next(wanted)
    for folder in folders:
        part.append(folder)
        count += len(list(find_fonts([folder])))
        if goal and count >= goal:
            yield part
            part = []
            goal = next(wanted, -1)
            if goal < 0:
                return
    if part:
        yield part


def size_of(catalogue: Path) -> int:
    """Bytes of a catalogue without what SQLite keeps for the moment."""
    db = sqlite3.connect(catalogue)
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    return catalogue.stat().st_size


def ranked(catalogue: Path) -> tuple[int, float]:
    """Faces, and milliseconds of one ranking after start-up."""
    with Store(catalogue) as store:
        columns = load_columns(store)
        took = []
        for _ in range(7):
            start = time.process_time()
            rank(columns, ASKED)
            took.append(time.process_time() - start)
    return len(columns), 1000 * statistics.median(took)


def scanned(catalogue: Path, folders: list[Path], sizes: list[int]) -> tuple[list[Point], list[FileRecord]]:
    """Points of the real faces, and some of their records."""
    words = read_words()
    points, records, so_far = [], [], []
    for part in parts(folders, sizes):
        watch = Watch()
        scan_into(catalogue, Scan(part, words, workers=2), progress=watch)
        so_far += part
        start = time.process_time()
        again = scan_into(catalogue, Scan(so_far, words, workers=2))
        rescan = time.process_time() - start
        count, took = ranked(catalogue)
        points.append(Point(
            count, False, 1000 * statistics.median(watch.spent), 1000 * statistics.mean(watch.spent),
            1000 * watch.writing / len(watch.spent), size_of(catalogue) / count, took, rescan, again["files"],
        ))  # fmt: skip
        records += watch.records
        print(row(points[-1]), flush=True)
    return points, records


def repeated(catalogue: Path, records: list[FileRecord], sizes: list[int], folder: Path) -> Iterator[Point]:
    """Points of the repeated faces."""
    for wanted in sizes:
        count = repeat_rows(catalogue, wanted)
        point = Point(count, True, bytes_a_face=size_of(catalogue) / count)
        _, point.rank_ms = ranked(catalogue)
        columns_path(catalogue).unlink()
        with Store(catalogue, create=True) as store:
            start = time.process_time()
            for record in records[:KEPT]:
                store.put(replace(record, path=f"/again/{wanted}{record.path}"), "bench", record.verdicts)
            faces = sum(f.measures is not None for r in records[:KEPT] for f in r.faces)
            point.writer_ms = 1000 * (time.process_time() - start) / faces
            store.drop(f"/again/{wanted}{r.path}" for r in records)
        point.rescan_s, point.rescan_files = rescanned(catalogue, wanted, folder), wanted
        print(row(point), flush=True)
        yield point


def rescanned(catalogue: Path, wanted: int, folder: Path) -> float:
    """Seconds of a scan of so many unchanged files; their rows are taken out again."""
    fonts = folder / f"unchanged{wanted}"
    fonts.mkdir()
    unchanged_files(catalogue, fonts, wanted)
    start = time.process_time()
    facts = scan_into(catalogue, Scan([fonts], read_words()))
    took = time.process_time() - start
    assert facts["skipped_unchanged"] == wanted, facts
    with Store(catalogue, create=True) as store:
        store.drop(map(str, fonts.iterdir()))
    shutil.rmtree(fonts)
    return took


HEAD = "faces              scan ms   writer ms    faces/s  KB a face   rank ms  rescan s (files)"


def row(p: Point) -> str:
    """One line of the table."""

    def shown(value: float | None, digits: int, width: int) -> str:
        return f"{'-' if value is None else f'{value:.{digits}f}':>{width}}"

    rate = 1000 / p.writer_ms if p.writer_ms else None
    kb = p.bytes_a_face / 1024 if p.bytes_a_face else None
    return (
        f"{p.faces:>7} {'repeated' if p.repeated else 'real':<9}{shown(p.scan_ms, 0, 9)}{shown(p.writer_ms, 2, 12)}"
        f"{shown(rate, 0, 11)}{shown(kb, 1, 11)}{shown(p.rank_ms, 1, 10)}{shown(p.rescan_s, 2, 10)} ({p.rescan_files})"
    )


def writer(records: list[FileRecord], scan_ms: float, folder: Path) -> None:
    """Print what the one writer takes of records from elsewhere, one by one and as partitions."""
    from catalogue.gather.partitions import merge_parts, write_part

    faces = sum(f.measures is not None for r in records for f in r.faces)
    loads = [pickle.dumps(r) for r in records]
    with Store(folder / "one.sqlite", create=True) as store:
        start = time.process_time()
        for load in loads:
            record = pickle.loads(load)
            store.put(record, "bench", record.verdicts)
        one = (time.process_time() - start) / faces
    place = folder / "parts"
    start = time.process_time()
    for at in range(0, len(records), 16):
        write_part(records[at : at + 16], "bench", str(place))
    made = (time.process_time() - start) / faces
    size = sum(p.stat().st_size for p in place.iterdir()) / faces / 1024
    start = time.process_time()
    merge_parts(str(place), folder / "merged.sqlite")
    merged = (time.process_time() - start) / faces
    sent = sum(map(len, loads)) / faces / 1024
    print(f"a record sent by a worker {sent:.0f} KB a face; as Parquet {size:.1f} KB")
    print(f"writer, records unpacked and put one file at a time  {1 / one:7.0f} faces a second")
    print(f"partitions: written by a worker                      {1 / made:7.0f} faces a second")
    print(f"partitions: merged into a catalogue, groups included {1 / merged:7.0f} faces a second")
    print(f"a worker measures {1000 / scan_ms:.1f} faces a second")
    print(f"so one writer keeps up with {scan_ms / 1000 / one:.0f} workers, merging with {scan_ms / 1000 / merged:.0f}")


def drawn(points: list[Point]) -> None:
    """The picture."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot
    from matplotlib.ticker import FuncFormatter, NullFormatter

    panels = (
        ("scan: CPU a face, median (ms)", lambda p: p.scan_ms, False),
        ("writer: faces a CPU second", lambda p: 1000 / p.writer_ms if p.writer_ms else None, False),
        ("catalogue: KB a face", lambda p: p.bytes_a_face / 1024 if p.bytes_a_face else None, False),
        ("rank a name, started up: CPU (ms)", lambda p: p.rank_ms, True),
        ("rescan of unchanged files: CPU (s)", lambda p: p.rescan_s, True),
    )
    ends = (0.7 * points[0].faces, 1.4 * points[-1].faces)
    figure, axes = pyplot.subplots(2, 3, figsize=(11, 6.4), layout="constrained")
    for axis, (title, value, logarithmic) in zip(axes.flat, panels, strict=False):
        for is_repeated, colour, mark, label in ((False, BLUE, "o", "real faces"), (True, RED, "s", "rows repeated")):
            found = [(p.faces, value(p)) for p in points if p.repeated == is_repeated and value(p) is not None]
            if found:
                axis.plot(
                    *zip(*found, strict=True), marker=mark, color=colour, label=label, linewidth=1.8, markersize=6
                )
        axis.set_title(title, fontsize=11, loc="left")
        axis.set_xlabel("faces in the catalogue")
        axis.set_xscale("log")
        axis.set_xlim(ends)
        axis.xaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:,.0f}"))
        axis.xaxis.set_minor_formatter(NullFormatter())
        if logarithmic:
            axis.set_yscale("log")
            axis.yaxis.set_major_formatter(FuncFormatter(lambda y, _: f"{y:g}"))
            axis.yaxis.set_minor_formatter(NullFormatter())
            last = points[-1]
            axis.plot(
                ends, [value(last) * x / last.faces for x in ends], color="0.6", linestyle=":", linewidth=1.2,
                label="in proportion to the last",
            )  # fmt: skip
        else:
            axis.set_ylim(0, 1.15 * axis.dataLim.y1)
        axis.grid(alpha=0.25)
        for side in ("top", "right"):
            axis.spines[side].set_visible(False)
    corner = axes.flat[-1]
    corner.axis("off")
    labels = {label: line for axis in axes.flat for line, label in zip(*axis.get_legend_handles_labels(), strict=True)}
    corner.legend(labels.values(), labels.keys(), loc="upper left", frameon=False, fontsize=11)
    figure.savefig(PICTURE, dpi=110)


def main() -> int:
    """Scan, repeat, print, draw."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--get", type=Path, required=True, metavar="FOLDER", help="where the packages lie or will lie")
    parser.add_argument("--files", default="250,500,1000,1500,0", help="font files at which to stop and measure")
    parser.add_argument("--repeat", default="4000,20000,100000", help="faces to repeat the rows to; empty: none")
    options = parser.parse_args()
    for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[variable] = "1"
    wanted = packages()
    fetch(options.get, wanted)
    folders = [options.get / "debs" / p.name for p in wanted if (options.get / "debs" / p.name).is_dir()]
    with tempfile.TemporaryDirectory(prefix="letterhold-") as place:
        catalogue = Path(place, "growth.sqlite")
        print(HEAD)
        points, records = scanned(catalogue, folders, [int(n) for n in options.files.split(",")])
        sizes = [int(n) for n in options.repeat.split(",") if n]
        real = points[-1]
        points += repeated(catalogue, records, sizes, Path(place))
        writer(records, real.mean_ms or 0.0, Path(place))
    drawn(points)
    print(f"drawn: {PICTURE}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
