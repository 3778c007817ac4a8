"""How near the foretold neck comes to that of full geometry, for any name at any offset.

    python bench/neck_numbers.py [NAMES_A_FACE]

Truth: the default instance of every demo font file, names drawn by a fixed seed from the US Census 1990 lists (half of
them by how common they are, half evenly over all 5,494), base offsets of 0.035, 0.05, 0.075 and 0.11 em (1 mm on
capitals of 20 down to 6 mm). It takes minutes and is kept in the temporary folder. Names that come apart at the offset
have no neck and are left out: the pair table tells them.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

OFFSETS_EM = (0.035, 0.05, 0.075, 0.11)
TOLERANCE_EM = 0.0004
SEED = 8
AMPLE = 1.8
"""Offsets to the neck above which hold loses nothing: four lines of 0.45 mm at an offset of 1 mm."""
CONTEXTUAL = ("Caveat[", "Lobster-", "LobsterTwo-", "Pacifico-")
"""Faces that draw letters otherwise in a word than in its pairs."""


@dataclass(frozen=True)
class Case:
    """One name in one face: its join offset, and its neck at each of ``OFFSETS_EM``; in em."""

    path: str
    name: str
    join: float
    necks: tuple[float, ...]


def census() -> dict[str, float]:
    """First names of either sex with how common they are, in per cent."""
    import names

    share: dict[str, float] = {}
    for sex in ("female", "male"):
        for line in Path(names.__file__).with_name(f"dist.{sex}.first").read_text(encoding="ascii").splitlines():
            word, per_cent = line.split()[:2]
            share[word.title()] = share.get(word.title(), 0.0) + float(per_cent)
    return share


def drawn(count: int, files: list[Path]) -> list[tuple[Path, str]]:
    """``count`` names for every file, the same ones at every run."""
    share = census()
    every, weights = list(share), list(share.values())
    chance = random.Random(SEED)
    return [
        (path, name)
        for path in files
        for name in chance.choices(every, weights, k=count - count // 2) + chance.sample(every, count // 2)
    ]


def measured(path: Path, names_: list[str]) -> list[Case]:
    """The truth: the neck as ``check`` measures it."""
    from scanner.lettering import Typesetter
    from scanner.measures.joins import join_offset
    from scanner.measures.necks import neck, seeds_of
    from scanner.regions import offset, polygons_of
    from scanner.shaping import Shaper

    setter = Typesetter(Shaper.open(path))
    upem = setter.shaper.upem
    out = []
    for name in names_:
        if setter.missing(name):
            continue
        lettering = setter.set(name)
        tolerance = TOLERANCE_EM * upem
        seeds = seeds_of([p for letter in lettering.letters for p in polygons_of(letter.region)], tolerance)
        join = join_offset(lettering.region)
        widths = [
            neck(offset(lettering.region, o * upem), seeds, tolerance)[0] / upem if o * upem > join else 0.0
            for o in OFFSETS_EM
        ]
        out.append(Case(str(path), name, join / upem, tuple(widths)))
    return out


def truth(count: int) -> list[Case]:
    """All cases, measured or from the temporary folder."""
    from scanner.files import find_fonts
    from scanner.scan import demo_folders

    kept = Path(tempfile.gettempdir(), f"letterhold-necks-{SEED}-{count}-{max(OFFSETS_EM)}.json")
    if kept.exists():
        return [Case(**{**row, "necks": tuple(row["necks"])}) for row in json.loads(kept.read_text())]
    files = [file.path for file in find_fonts(demo_folders())]
    cases = []
    by_file: dict[Path, list[str]] = {}
    for path, name in drawn(count, files):
        by_file.setdefault(path, []).append(name)
    for path, names_ in by_file.items():
        print(f"measuring {path.name}", file=sys.stderr)
        cases += measured(path, names_)
    kept.write_text(json.dumps([asdict(c) for c in cases]))
    return cases


def columns_of(paths: list[str]) -> tuple[Any, list[float]]:
    """The stored tables of faces as a ranking reads them, and the CPU milliseconds a face that its necks took."""
    import numpy as np

    from catalogue.columns import FACTS, Columns
    from scanner import face
    from scanner.shaping import Shaper

    spent = [0.0]

    def timed(function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*arguments: Any) -> Any:
            start = time.process_time()
            result = function(*arguments)
            spent[-1] += time.process_time() - start
            return result

        return run

    for name in ("_lenses", "_dot_lenses", "_own_necks"):
        setattr(face, name, timed(getattr(face, name)))
    rows = []
    for path in paths:
        spent.append(0.0)
        rows.append(np.frombuffer(face.measure(Shaper.open(Path(path)), ()).table.to_bytes(), dtype=np.uint16))
    facts = np.full((len(FACTS), len(paths)), np.nan)
    return Columns(np.arange(len(paths)), facts, np.stack(rows, axis=1)), [1000 * s for s in spent[1:]]


def filling(paths: list[str]) -> None:
    """How near the filled pairs come: every pair measured, against those that a scan fills, widths to 0.16 em."""
    import numpy as np

    from scanner import face
    from scanner.alphabet import lens_measured
    from scanner.records import unpacked
    from scanner.shaping import Shaper

    usual, off = lens_measured(), []
    for path in paths:
        lenses = []
        for measured in (usual, np.ones_like(usual)):
            face.lens_measured = lambda measured=measured: measured
            lenses.append(unpacked(face.measure(Shaper.open(Path(path)), ()).table.lens)[~usual, :3])
        told, true = lenses
        off.append(np.abs(told - true)[true < 0.2])
    face.lens_measured = lens_measured
    error = np.concatenate(off)
    print(
        f"filled pairs of {len(paths)} faces: {np.mean(error <= 0.005):.1%} of the offsets within 0.005 em,"
        f" {np.mean(error <= 0.02):.1%} within 0.02 em"
    )


def main() -> int:
    """Measure, foretell, print."""
    import numpy as np

    from catalogue.ranking import necks

    cases = truth(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
    paths = sorted({case.path for case in cases})
    columns, spent = columns_of(paths)
    place = {path: k for k, path in enumerate(paths)}
    rows: list[tuple[float, float, float, Case]] = []
    for case in cases:
        for offset, neck in zip(OFFSETS_EM, case.necks, strict=True):
            if neck > 0:
                foretold = necks(columns, case.name, np.full(len(paths), offset))[place[case.path]]
                rows.append((foretold, neck, offset, case))
    told, full, at, who = zip(*rows, strict=True)
    error = np.array(told) - np.array(full)
    offsets = np.array(at)
    contextual = np.array([any(f in case.path for f in CONTEXTUAL) for case in who])
    weak = np.array(full) < AMPLE * offsets

    def line(label: str, rows: Any) -> None:
        e = error[rows]
        print(
            f"{label:42} {len(e):5} cases, within 0.02 em {np.mean(np.abs(e) <= 0.02):6.1%}, too wide by more than"
            f" 0.03 em {np.mean(e > 0.03):5.1%}, too narrow {np.mean(e < -0.03):5.1%}, median off by"
            f" {np.median(np.abs(e)):.4f}"
        )

    line("all", slice(None))
    line("without four contextual faces", ~contextual)
    for offset in OFFSETS_EM:
        line(f"offset {offset} em, without them", ~contextual & (offsets == offset))
    dotted = np.array([bool({"i", "j"} & set(case.name[1:])) for case in who])
    line("without dots, without them", ~contextual & ~dotted)
    line(f"necks below {AMPLE} offsets (four lines at 1 mm)", weak)
    print(f"CPU a face for it at scan time: median {np.median(spent):.1f} ms")
    off = error[weak][np.abs(error[weak]) > 0.02]
    print(f"of those necks {len(off)} are off by more than 0.02 em, {np.sum(off < 0)} of them too narrow")
    filling(paths[::5])
    if "--worst" in sys.argv:
        for k in np.argsort(error)[[*range(15), *range(-25, 0)]]:
            print(f"{error[k]:+.3f} of {full[k]:.3f} at {at[k]}: {who[k].name} in {Path(who[k].path).name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
