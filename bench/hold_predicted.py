"""How near the predicted hold comes to the measured one, over names that use every part of the tables.

    python bench/hold_predicted.py CATALOGUE [FACES]

For each name FACES faces (default 60) are drawn by a fixed seed, ranked and measured in full. Faces that use contextual
alternates are left out: a ranking measures them wherever it shows them, as it does rows near the line of what holds.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from catalogue.judge.check import verify
from catalogue.judge.hold import LEAST_THAT_HOLDS
from catalogue.judge.letters import predictions_weak
from catalogue.judge.listing import NEAR_THE_LINE
from catalogue.judge.process import load_process
from catalogue.judge.ranking import rank
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.columns import load_columns
from catalogue.store.database import Store

NAMES = (
    "Bronwyn", "Marlie", "Ziggy", "O'Malley", "Anna Lee", "Wm.", "Zoë", "Jan-Erik", "D'Arcy", "Šárka", "Łukasz",
    "Fjölnir", "A-1", "4ever",
)  # fmt: skip


def main(arguments: list[str]) -> int:
    count = int(arguments[1]) if len(arguments) > 1 else 60
    random = np.random.default_rng(20261127)
    every: list[tuple[str, str, int, int, bool]] = []
    with Store(Path(arguments[0])) as store:
        columns, faces = load_columns(store), {f.id: f for f in store.faces()}
    for name in NAMES:
        request = Request.of(name, Size("cap-height", 14.0), load_process("nozzle-0.4"), default_stack())
        ranking = rank(columns, request)
        places = random.choice(len(ranking), min(count, len(ranking)), replace=False)
        for place in sorted(places.tolist()):
            row = ranking.row(place, faces[int(ranking.ids[place])])
            if not predictions_weak(row.face):
                found = verify(row, request)
                every.append((name, row.face.title, row.hold.hold, found.hold.hold, ranking.chained))
    for what, chained in (("pairs all in the tables", True), ("a pair that no table has", False)):
        some = [e for e in every if e[4] == chained]
        off = np.array([abs(e[2] - e[3]) for e in some])
        across = [e for e in some if (e[2] >= LEAST_THAT_HOLDS) != (e[3] >= LEAST_THAT_HOLDS)]
        unmeasured = [e for e in across if abs(e[2] - LEAST_THAT_HOLDS) > NEAR_THE_LINE]
        print(
            f"{what}: {len(some)} faces and names; {np.mean(off <= 5):.1%} within 5 points, the worst {off.max()} off"
        )
        print(f"    {len(across)} on the wrong side of {LEAST_THAT_HOLDS}, {len(unmeasured)} of them not near it")
        for name, title, guess, held, _ in sorted(some, key=lambda e: -abs(e[2] - e[3]))[:5]:
            print(f"    {title} {name}: predicted {guess}, measured {held}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
