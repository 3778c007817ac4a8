"""The fit as it is predicted against the fit itself, over every face of a catalogue and names with all that is hard.

    python bench/made_numbers.py CATALOGUE [--faces N] [--names N] [--keep FILE] [--part PART] [--worst N]

Each name is fitted in each face in full, at sizes and on printers taken in turn, every second time with the size fixed,
and compared with what ``judge.made`` says of all faces at once. Families fall into three parts by a hash of their name:
``written`` from, ``read`` and ``unseen``; only the last counts, for nobody looked at it. ``--keep`` keeps the fits, a
tenth of a second each, for the next run.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import LetterholdError
from catalogue.judge.kin import Kin
from catalogue.judge.made import Made, made_of
from catalogue.judge.process import load_process
from catalogue.judge.ranking import can_predict
from catalogue.judge.reach import CHANGES, Reach
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.columns import load_columns
from catalogue.store.database import Face, Store
from catalogue.tag.levers import Levers
from catalogue.tag.making import fit_face

NAMES = (
    "Marlie", "Anne-Marie", "Zoë", "Bo", "Ida", "Finn", "Greta", "Hanna", "Jörg", "Kai", "Łukasz", "Željko", "Þóra",
    "Fjodor", "Anna Lee", "Li Wei", "Mia\nNoah", "O'Brien", "J & K", "WILLIAM", "Ottilie", "Ylva", "Xaver", "Tuva-Lill",
    "Émilie", "Bjørn", "Ines", "Raffaella", "Ty", "Åse", "Bronwyn", "Ziggy", "Maximilian", "Lou", "Eva", "Theo", "Ruby",
    "Quentin", "Isolde", "Wanda",
)  # fmt: skip
"""Given names with what is hard: accents, dots, hyphens, words, lines, capitals, short and long."""

PROCESSES = ("nozzle-0.4", "nozzle-0.4", "nozzle-0.25", "nozzle-0.6")
CAP_HEIGHTS_MM = (14.0, 14.0, 10.0, 18.0, 8.0)
AMPLE_HOLD = 70
PARTS = ("written", "read", "unseen")


@dataclass(frozen=True, slots=True)
class Case:
    """A name at a size on a printer."""

    name: str
    process: str
    cap_height_mm: float
    size_fixed: bool

    @property
    def request(self) -> Request:
        size = Size("cap-height", self.cap_height_mm)
        return Request.of(self.name, size, load_process(self.process), default_stack())


def part_of(family: str) -> str:
    """The part that a family belongs to."""
    return PARTS[hashlib.sha256(family.encode()).digest()[0] % len(PARTS)]


def case_of(face: Face, name: str) -> Case:
    """Size, printer and freedom of the size, in turn."""
    at = NAMES.index(name) + face.id
    process, height = PROCESSES[at % len(PROCESSES)], CAP_HEIGHTS_MM[at % len(CAP_HEIGHTS_MM)]
    return Case(name, process, height, at % 2 == 0)


def fitted(face: Face, case: Case) -> dict[str, Any] | None:
    """What the fit makes of a name in a face; None where it cannot be set."""
    try:
        solved = fit_face(face, case.request, Levers(size_fixed=case.size_fixed, weight_free=True))
    except LetterholdError:
        return None
    setting, measured = solved.setting, solved.measured
    return {
        "holds": solved.holds, "hold": solved.hold.hold, "em_mm": setting.em_mm, "space_mm": setting.space_mm,
        "tracking_em": setting.tracking_em, "thicken_mm": setting.thicken_mm, "offset_mm": setting.base_offset_mm,
        "weight": setting.weight, "neck_mm": measured.neck_mm, "spare_mm": measured.spare_mm,
        "thinnest_mm": measured.thinnest_stroke_mm, "closed": measured.closed, "openings": measured.openings,
        "misses": list(solved.misses),
    }  # fmt: skip


def spread(items: list[Any], count: int | None) -> list[Any]:
    """At most ``count`` items, in an order that one seed always gives."""
    if not count or count >= len(items):
        return items
    return [items[k] for k in sorted(random.Random(7).sample(range(len(items)), count))]


def kept(path: Path | None) -> dict[str, Any]:
    """Fits of an earlier run."""
    if path is None or not path.exists():
        return {}
    return {key: value for line in path.read_text().splitlines() for key, value in json.loads(line).items()}


def fits(
    faces: list[Face], names: list[str], keep: Path | None, only_kept: bool = False
) -> dict[tuple[int, str], dict[str, Any]]:
    """The fit of every name in every face that has its letters."""
    earlier, found = kept(keep), {}
    for name in names:
        for face in faces:
            if set(name) & set(face.missing):
                continue
            key = f"{face.title}#{face.id}|{name}"
            if key not in earlier and only_kept:
                continue
            if key not in earlier:
                earlier[key] = fitted(face, case_of(face, name))
                if keep:
                    with keep.open("a") as file:
                        file.write(json.dumps({key: earlier[key]}) + "\n")
            if earlier[key] is not None:
                found[face.id, name] = earlier[key]
    return found


def predicted(store: Store, faces: list[Face], names: list[str]) -> dict[tuple[int, str], dict[str, Any]]:
    """What is predicted for the same names, faces and cases."""
    columns, kin = load_columns(store), Kin.of(store.faces())
    place = {number: k for k, number in enumerate(columns.ids.tolist())}
    cases: dict[Case, list[Face]] = defaultdict(list)
    for name in names:
        for face in faces:
            cases[case_of(face, name)].append(face)
    found = {}
    for case, asked in cases.items():
        changes = frozenset(CHANGES) - ({"size"} if case.size_fixed else set())
        made = made_of(columns, case.request, Reach(changes), kin)
        for face in asked:
            k = place[face.id]
            if made.able[k]:
                found[face.id, case.name] = row_of(made, k)
    return found


def row_of(made: Made, k: int) -> dict[str, Any]:
    """One face of a prediction under the keys of a fit."""
    at = made.settings
    return {
        "holds": bool(made.holds[k]), "hold": int(made.hold[k]), "em_mm": float(at.em_mm[k]),
        "space_mm": float(at.space_mm[k]), "tracking_em": float(at.tracking_em[k]),
        "thicken_mm": float(at.thicken_mm[k]), "offset_mm": float(at.base_offset_mm[k]),
        "neck_mm": float(made.neck_mm[k]), "thinnest_mm": float(made.thinnest_stroke_mm[k]),
        "closed": float(made.closed[k]), "start_em_mm": float(made.start_em_mm[k]),
    }  # fmt: skip


def compare(pairs: list[tuple[str, dict[str, Any], dict[str, Any]]], worst: int) -> None:
    """Prints how near predictions come; ``pairs`` hold a label, the prediction and the fit."""

    def off(key: str) -> NDArray[np.float64]:
        return np.array([abs(p[key] - f[key]) for _, p, f in pairs])

    hold, ample = off("hold"), [(p, f) for _, p, f in pairs if p["hold"] >= AMPLE_HOLD]
    wrong = np.array([p["holds"] != f["holds"] for _, p, f in pairs])
    print(f"  {len(pairs)} fits, {sum(f['holds'] for _, _, f in pairs)} of which hold")
    print(f"  hold within 5 points: {np.mean(hold <= 5):.1%}, worst {hold.max():.0f}")
    print(f"  holds or not is right: {1 - wrong.mean():.1%}")
    print(f"  thickening within 0.05 mm: {np.mean(off('thicken_mm') <= 0.0501):.1%}")
    print(f"  offset within 0.1 mm: {np.mean(off('offset_mm') <= 0.1001):.1%}")
    print(f"  tracking within 0.01 em: {np.mean(off('tracking_em') <= 0.0101):.1%}")
    print(f"  size within 2 %: {np.mean([abs(p['em_mm'] / f['em_mm'] - 1) <= 0.02 for _, p, f in pairs]):.1%}")
    right = np.mean([f["hold"] >= AMPLE_HOLD for _, f in ample]) if ample else float("nan")
    print(f"  predicted ample ({AMPLE_HOLD} and more): {len(ample)}, {right:.1%} of which are")
    for k in np.argsort(-hold)[:worst].tolist():
        label, p, f = pairs[k]
        print(f"    {label}\n      {short(p)}\n      {short(f)}")


def short(row: dict[str, Any]) -> str:
    """One line."""
    return "  ".join(f"{k} {v:.3g}" for k, v in row.items() if isinstance(v, int | float))


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("catalogue", type=Path)
    parser.add_argument("--faces", type=int)
    parser.add_argument("--names", type=int)
    parser.add_argument("--keep", type=Path, help="file of fits, read and added to")
    parser.add_argument("--only-kept", action="store_true", help="fit nothing anew")
    parser.add_argument("--part", choices=PARTS, default="unseen")
    parser.add_argument("--worst", type=int, default=0, help="cases to list")
    options = parser.parse_args()
    with Store(options.catalogue) as store:
        every = {f.id: f for f in store.faces()}
        faces = spread(list(every.values()), options.faces)
        names = spread([n for n in NAMES if can_predict(n.replace("\n", " "))], options.names)
        guesses = predicted(store, faces, names)
    made = fits(faces, names, options.keep, options.only_kept)
    both = [
        (f"{every[i].title} | {name!r} {case_of(every[i], name)}", guesses[i, name], made[i, name])
        for i, name in made.keys() & guesses.keys()
        if part_of(every[i].family) == options.part
    ]
    print(f"families of the part {options.part!r}, fits at their own sizes and printers:")
    compare(sorted(both, key=lambda b: b[0]), options.worst)


if __name__ == "__main__":
    main()
