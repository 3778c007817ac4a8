"""Every demo face × 40 names: fit, ring and every export, judged by other libraries and by a simulated print.

Prints how many names hold, what does not and why, every fault found, and the 50th and 95th percentile of the CPU time
of the fit with its ring, of all exports, and of both. Run:

    python bench/tag_numbers.py [--catalogue FILE] [--faces N] [--names N] [--workers N] [--families] [--ring SIDE]
        [--behind plate|bar] [--by-hand LIST] [--offset MM] [--formats LIST] [--log FILE]

``--families`` takes one face a family, ``--faces`` and ``--names`` a part spread evenly over all. ``--by-hand``
takes changes at single places before a wider outline, as ``tag`` does, and ``--offset`` fixes the base's, and tracking
at none, so that they are needed; how often each was taken is printed. Needs the extras ``demo`` and ``test``.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TypeVar

import numpy as np

from catalogue.gather.scan import Scan, scan_into
from catalogue.store.database import Face, Store
from catalogue.tag.exports.files import FORMATS, formats_of

T = TypeVar("T")
ROOT = Path(__file__).parents[1]

NAMES = (
    "Marlie", "Anne-Marie", "Zoë", "Đặng", "Bo", "Ida", "Finn", "Greta", "Hanna", "Jörg", "Kai", "Łukasz", "Željko",
    "Þóra", "Ștefan", "Nguyễn", "Quỳnh", "Fjodor", "Anna Lee", "Li Wei", "Mia\nNoah", "O’Brien", "J & K", "Ğülşen",
    "WILLIAM", "Ottilie", "Jiří", "Ylva", "Xaver", "Tuva-Lill", "Émilie", "Bjørn", "Phượng", "Ines", "Raffaella", "Ty",
    "Dr. Pim", "Åse", "محمد", "राहुल",
)  # fmt: skip
"""Given names with what is hard: accents, also two on a letter, dots, hyphens, words, lines, joined scripts."""

PROCESSES = ("nozzle-0.4", "nozzle-0.4", "nozzle-0.25", "nozzle-0.6")
"""Taken in turn by face and name."""

CAP_HEIGHTS_MM = (14.0, 14.0, 10.0, 18.0, 8.0)


@dataclass
class Outcome:
    """What became of one name in one face."""

    face: str
    name: str
    process: str
    cap_height_mm: float
    verdict: str = ""
    """held, missed, lacks, no ring or failed."""
    words: str = ""
    faults: list[str] = field(default_factory=list)
    by_hand: list[str] = field(default_factory=list)
    """What was changed at single places."""
    fit_s: float = 0.0
    export_s: float = 0.0


@dataclass(frozen=True)
class Asked:
    """What all names are made with."""

    ring: str
    backing: str
    by_hand: str
    offset_mm: float | None
    formats: tuple[str, ...]


def one_face(face: Face, names: tuple[str, ...], wish: Asked) -> list[Outcome]:
    """All names in one face, one after the other."""
    return [one_name(face, name, wish) for name in names]


def one_name(face: Face, name: str, wish: Asked) -> Outcome:
    sys.path[:0] = [str(ROOT / "tests")]
    from tag_checks import faults

    from catalogue.judge.check import typesetter
    from catalogue.judge.process import load_process
    from catalogue.judge.request import Request, Size
    from catalogue.judge.stack import default_stack
    from catalogue.tag.exports.facts import JobFacts
    from catalogue.tag.exports.files import tag_files
    from catalogue.tag.levers import Levers, by_hand_of
    from catalogue.tag.making import fit_face
    from catalogue.tag.ring import RingError, RingWish
    from catalogue.tag.tag import Look, make_tag

    at = NAMES.index(name) + face.id
    process, cap_mm = load_process(PROCESSES[at % len(PROCESSES)]), CAP_HEIGHTS_MM[at % len(CAP_HEIGHTS_MM)]
    done = Outcome(face.title, name, process.name, cap_mm)
    try:
        missing = typesetter(face).missing(name)
        if missing:
            done.verdict, done.words = "lacks", " ".join(missing)
            return done
        start = time.process_time()
        request = Request.of(name, Size("cap-height", cap_mm), process, default_stack())
        levers = Levers(
            tracking_em=None if wish.offset_mm is None else 0.0, base_offset_mm=wish.offset_mm,
            size_fixed=at % 2 == 0, weight_free=True, backing=wish.backing,
            by_hand=by_hand_of(wish.by_hand), by_hand_first=True,
        )  # fmt: skip
        solved = fit_face(face, request, levers)
        if not solved.holds:
            done.verdict, done.words = "missed", "; ".join(solved.misses)
            return done
        done.by_hand = [change.lever for change in solved.changes if change.said]
        tag = make_tag(solved, face.title, Look(RingWish(wish.ring)))
        fitted = time.process_time()
        files = tag_files(JobFacts(tag), wish.formats)
        done.fit_s, done.export_s = fitted - start, time.process_time() - fitted
        done.verdict, done.faults = "held", faults(tag, files)
    except RingError as error:
        done.verdict, done.words = "no ring", str(error)
    except Exception as error:
        done.verdict, done.words = "failed", repr(error)
    return done


def spread(items: Sequence[T], count: int | None) -> list[T]:
    """At most ``count`` items, in an order that one seed always gives."""
    if not count or count >= len(items):
        return list(items)
    kept = sorted(random.Random(5).sample(range(len(items)), count))
    return [items[k] for k in kept]


def outcomes(faces: list[Face], work: Callable[[Face], list[Outcome]], workers: int) -> Iterator[Outcome]:
    with ProcessPoolExecutor(workers) as pool:
        for found in pool.map(work, faces):
            yield from found


def percentiles(label: str, seconds: list[float]) -> None:
    if seconds:
        half, most = np.percentile(seconds, [50, 95]) * 1000
        print(f"{label:<22} p50 {half:6.0f} ms   p95 {most:6.0f} ms   most {max(seconds) * 1000:6.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--catalogue", type=Path)
    parser.add_argument("--faces", type=int)
    parser.add_argument("--names", type=int)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--families", action="store_true")
    parser.add_argument("--ring", default="end")
    parser.add_argument("--behind", choices=("plate", "bar"), default="")
    parser.add_argument("--by-hand", default="none")
    parser.add_argument("--offset", type=float, metavar="MM")
    parser.add_argument("--formats", default=",".join(FORMATS))
    parser.add_argument("--log", type=Path, help="write a JSON line a case")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        target = options.catalogue
        if target is None:
            from scanner.alphabet import read_words
            from scanner.installed import demo_folders

            target = Path(folder) / "demo.sqlite"
            scan_into(target, Scan(demo_folders(), read_words(None)))
        with Store(target) as store:
            faces = store.faces()
        if options.families:
            faces = list({f.family: f for f in reversed(faces)}.values())[::-1]
        faces, names = spread(faces, options.faces), tuple(spread(NAMES, options.names))
        done: list[Outcome] = []
        formats = formats_of(options.formats)
        wish = Asked(options.ring, options.behind, options.by_hand, options.offset, formats)
        work = partial(one_face, names=names, wish=wish)
        for one in outcomes(faces, work, options.workers):
            done.append(one)
            if options.log:
                with options.log.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(one.__dict__, ensure_ascii=False) + "\n")
    print(f"{len(faces)} faces × {len(names)} names: {len(done)}")
    for verdict, count in Counter(o.verdict for o in done).most_common():
        print(f"  {verdict:<8} {count}")
    for o in done:
        if o.verdict in ("failed", "no ring") or o.faults:
            case = f"{o.face}, {o.name!r}, {o.process}, {o.cap_height_mm:g} mm"
            print(f"  {o.verdict}: {case}: {o.words} {o.faults or ''}")
    for fault, count in Counter(f for o in done for f in o.faults).most_common():
        print(f"  fault × {count}: {fault}")
    held = [o for o in done if o.verdict == "held"]
    for lever, count in Counter(kind for o in held for kind in set(o.by_hand)).most_common():
        print(f"  {lever:<8} changed in {count}")
    percentiles("fit and ring", [o.fit_s for o in held])
    percentiles("all exports", [o.export_s for o in held])
    percentiles("both", [o.fit_s + o.export_s for o in held])
    failed = sum(o.verdict == "failed" for o in done)
    print(f"with a fault: {sum(bool(o.faults) for o in held)} of {len(held)} that hold; failed: {failed}")


if __name__ == "__main__":
    main()
