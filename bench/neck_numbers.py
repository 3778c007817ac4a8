"""How near the foretold neck comes to that of full geometry, for any name at any offset.

    python bench/neck_numbers.py [NAMES_A_FACE]

Truth: the default instance of every demo font file, names drawn by a fixed seed from the US Census 1990 lists (half of
them by how common they are, half evenly over all 5,494), base offsets of 0.03, 0.05, 0.08 and 0.12 em (1 mm on capitals
of 23 down to 6 mm). It takes minutes and is kept in the temporary folder. Names that come apart at the offset have no
neck and are left out: the pair table tells them.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
from dataclasses import asdict, dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

OFFSETS_EM = (0.03, 0.05, 0.08, 0.12)
TOLERANCE_EM = 0.0004
SEED = 8


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

    kept = Path(tempfile.gettempdir(), f"letterhold-necks-{SEED}-{count}.json")
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


if __name__ == "__main__":
    print(len(truth(int(sys.argv[1]) if len(sys.argv) > 1 else 10)))
