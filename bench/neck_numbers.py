"""How near the predicted neck comes to that of full geometry, for any name at any offset.

    python bench/neck_numbers.py [NAMES_A_FACE] [--causes] [--worst]

Truth: the default instance of every demo font file, names drawn by a fixed seed from the US Census 1990 lists (half of
them by how common they are, half evenly over all 5,494), base offsets of 0.035, 0.05, 0.075 and 0.11 em (1 mm on
capitals of 20 down to 6 mm). It takes minutes and is kept in the temporary folder. Names that come apart at the offset
have no neck and are left out: the pair table tells them.

A second list, of other names at other offsets, was drawn when the tuning was done and is reported by itself.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

OFFSETS_EM = (0.035, 0.05, 0.075, 0.11)
TOLERANCE_EM = 0.0004
SEED = 8
UNSEEN_SEED, UNSEEN_OFFSETS_EM = 1234, (0.04, 0.055, 0.065, 0.09, 0.105)
AMPLE = 1.8
"""Offsets to the neck above which hold loses nothing: four lines of 0.45 mm at an offset of 1 mm."""
CONTEXTUAL = ("Caveat[", "Lobster-", "LobsterTwo-", "Pacifico-")
"""Faces that draw letters otherwise in a word than in its pairs."""


@dataclass(frozen=True)
class Case:
    """One name in one face: its join offset, and its neck at each of the list's offsets; in em."""

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


def drawn(count: int, files: list[Path], seed: int = SEED) -> list[tuple[Path, str]]:
    """``count`` names for every file, the same ones at every run."""
    share = census()
    every, weights = list(share), list(share.values())
    chance = random.Random(seed)
    return [
        (path, name)
        for path in files
        for name in chance.choices(every, weights, k=count - count // 2) + chance.sample(every, count // 2)
    ]


def measured(path: Path, names_: list[str], offsets_em: Sequence[float] = OFFSETS_EM) -> list[Case]:
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
            for o in offsets_em
        ]
        out.append(Case(str(path), name, join / upem, tuple(widths)))
    return out


def truth(count: int, seed: int, offsets_em: Sequence[float]) -> list[Case]:
    """All cases of a list, measured or from the temporary folder."""
    from scanner.files import find_fonts
    from scanner.installed import demo_folders

    kept = Path(tempfile.gettempdir(), f"letterhold-necks-{seed}-{count}-{max(offsets_em)}.json")
    if kept.exists():
        return [Case(**{**row, "necks": tuple(row["necks"])}) for row in json.loads(kept.read_text())]
    files = [file.path for file in find_fonts(demo_folders())]
    cases = []
    by_file: dict[Path, list[str]] = {}
    for path, name in drawn(count, files, seed):
        by_file.setdefault(path, []).append(name)
    for path, names_ in by_file.items():
        print(f"measuring {path.name}", file=sys.stderr)
        cases += measured(path, names_, offsets_em)
    kept.write_text(json.dumps([asdict(c) for c in cases]))
    return cases


def columns_of(paths: list[str]) -> tuple[Any, list[float]]:
    """The stored tables of faces as a ranking reads them, and the CPU milliseconds a face that its necks took."""
    import numpy as np

    from catalogue.store.columns import FACTS, Columns
    from scanner.measuring import measure
    from scanner.shaping import Shaper
    from scanner.tables import table

    spent = [0.0]

    def timed(function: Callable[..., Any]) -> Callable[..., Any]:
        def run(*arguments: Any) -> Any:
            start = time.process_time()
            result = function(*arguments)
            spent[-1] += time.process_time() - start
            return result

        return run

    for name in ("pair_lenses", "dot_lenses", "letter_necks"):
        setattr(table, name, timed(getattr(table, name)))
    rows = []
    for path in paths:
        spent.append(0.0)
        rows.append(np.frombuffer(measure(Shaper.open(Path(path)), ()).table.to_bytes(), dtype=np.uint16))
    facts = np.full((len(FACTS), len(paths)), np.nan)
    return Columns(np.arange(len(paths)), facts, np.stack(rows, axis=1)), [1000 * s for s in spent[1:]]


def filling(paths: list[str]) -> None:
    """How near the filled pairs come: every pair measured, against those that a scan fills, widths to 0.16 em."""
    import numpy as np

    from scanner.alphabet import lens_measured
    from scanner.measuring import measure
    from scanner.records import unpacked
    from scanner.shaping import Shaper
    from scanner.tables import necks

    usual, off = lens_measured(), []
    for path in paths:
        lenses = []
        for measured in (usual, np.ones_like(usual)):
            necks.lens_measured = lambda measured=measured: measured
            lenses.append(unpacked(measure(Shaper.open(Path(path)), ()).table.lens)[~usual, :3])
        filled, true = lenses
        off.append(np.abs(filled - true)[true < 0.2])
    necks.lens_measured = lens_measured
    error = np.concatenate(off)
    print(
        f"filled pairs of {len(paths)} faces: {np.mean(error <= 0.005):.1%} of the offsets within 0.005 em,"
        f" {np.mean(error <= 0.02):.1%} within 0.02 em"
    )


@dataclass(frozen=True)
class Told:
    """One neck of a case, with the forecast for it; in em."""

    case: Case
    offset: float
    full: float
    predicted: float

    @property
    def error(self) -> float:
        """Positive where the forecast is too wide."""
        return self.predicted - self.full


def foretell(columns: Any, paths: list[str], cases: list[Case], offsets_em: Sequence[float]) -> list[Told]:
    """All necks of a list that there are."""
    import numpy as np

    from catalogue.judge.ranking import necks

    place = {path: k for k, path in enumerate(paths)}
    told = []
    for case in cases:
        for offset, neck in zip(offsets_em, case.necks, strict=True):
            if neck > 0:
                predicted = necks(columns, case.name, np.full(len(paths), offset))[place[case.path]]
                told.append(Told(case, offset, neck, float(predicted)))
    return told


def line(label: str, told: list[Told]) -> None:
    """Print how good the forecasts are."""
    import numpy as np

    e = np.array([t.error for t in told])
    print(
        f"{label:48} {len(e):5} cases, within 0.02 em {np.mean(np.abs(e) <= 0.02):6.1%}, too wide by more than"
        f" 0.03 em {np.mean(e > 0.03):5.1%}, too narrow {np.mean(e < -0.03):5.1%}, median off by"
        f" {np.median(np.abs(e)):.4f}"
    )


def weak(told: list[Told]) -> list[Told]:
    """Those that may cost points of hold."""
    return [t for t in told if t.full < AMPLE * t.offset]


def causes(columns: Any, paths: list[str], told: list[Told]) -> None:
    """What the forecasts that are off by more than 0.02 em hang on, against full geometry of the two-letter words."""
    import numpy as np
    import shapely

    from catalogue.judge import predicted_necks, ranking
    from scanner.lettering import Typesetter
    from scanner.measures.necks import neck, seeds_of
    from scanner.regions import offset, polygons_of
    from scanner.shaping import Shaper

    told_by = predicted_necks.predicted_neck
    parts: list[float] = []

    def apart(gaps: Any, lens: Any, own: Any, at: Any, held: Any) -> Any:
        pairs = len(case.name) - 1
        for keep in (slice(pairs), slice(pairs, None)):
            shown = {k - pairs: v for k, v in held.items()} if keep.start else {}
            parts.append(float(told_by(gaps[keep], lens[keep], own[:0], at, shown)[0]))
        parts.append(float(told_by(gaps[:0], lens[:0], own, at, {})[0]))
        return told_by(gaps, lens, own, at, held)

    setters: dict[str, Typesetter] = {}
    found: Counter[str] = Counter()
    predicted_necks.predicted_neck = apart
    for t in (t for t in told if abs(t.error) > 0.02):
        case = t.case
        setter = setters.setdefault(case.path, Typesetter(Shaper.open(Path(case.path))))
        upem, letters = setter.shaper.upem, setter.set(case.name).letters
        if len(letters) != len(case.name):
            found["ligatures"] += 1
            continue
        words = []
        for two in zip(letters, letters[1:], strict=False):
            ink = [p for letter in two for p in polygons_of(letter.region)]
            base = offset(shapely.union_all(ink), t.offset * upem)
            words.append(neck(base, seeds_of(ink, TOLERANCE_EM * upem), TOLERANCE_EM * upem)[0] / upem)
        at = paths.index(case.path)
        one = type(columns)(columns.ids[at : at + 1], columns._facts[:, at : at + 1], columns._rows[:, at : at + 1])
        parts.clear()
        ranking.necks(one, case.name, np.full(1, t.offset))
        what = ("a pair", "a dot", "a letter")[int(np.argmin(parts))]
        if abs(min(words) - t.full) > 0.02:
            what = "letters further off help"
        found[f"{what}, too {'wide' if t.error > 0 else 'narrow'}"] += 1
    predicted_necks.predicted_neck = told_by
    for what, count in found.most_common():
        print(f"    {what:40} {count:4}, {count / len(told):.1%}")


def main() -> int:
    """Measure, foretell, print."""
    import numpy as np

    count = next((int(word) for word in sys.argv[1:] if word.isdigit()), 10)
    seen, unseen = truth(count, SEED, OFFSETS_EM), truth(count, UNSEEN_SEED, UNSEEN_OFFSETS_EM)
    paths = sorted({case.path for case in seen + unseen})
    columns, spent = columns_of(paths)
    told = foretell(columns, paths, seen, OFFSETS_EM)
    plain = [t for t in told if not any(face in t.case.path for face in CONTEXTUAL)]
    line("all", told)
    line("without four contextual faces", plain)
    for offset in OFFSETS_EM:
        line(f"offset {offset} em, without them", [t for t in plain if t.offset == offset])
    line("without dots, without them", [t for t in plain if not {"i", "j"} & set(t.case.name[1:])])
    line(f"necks below {AMPLE} offsets (four lines at 1 mm)", weak(told))
    off = [t for t in weak(told) if abs(t.error) > 0.02]
    print(f"of those necks {len(off)} are off by more than 0.02 em, {sum(t.error < 0 for t in off)} of them too narrow")
    other = foretell(columns, paths, unseen, UNSEEN_OFFSETS_EM)
    line("other names at other offsets: all", other)
    line(f"other names: necks below {AMPLE} offsets", weak(other))
    print(f"CPU a face for it at scan time: median {np.median(spent):.1f} ms")
    filling(paths[::5])
    if "--causes" in sys.argv:
        for label, some in (("all", told), (f"necks below {AMPLE} offsets", weak(told))):
            print(f"what is off by more than 0.02 em: {label}")
            causes(columns, paths, some)
    if "--worst" in sys.argv:
        told.sort(key=lambda t: t.error)
        for t in told[:25] + told[-15:]:
            print(f"{t.error:+.3f} of {t.full:.3f} at {t.offset}: {t.case.name} in {Path(t.case.path).name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
