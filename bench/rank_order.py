"""Whether the ranking's first 50, measured in full, are the first 50 that full geometry for every face gives.

    python bench/rank_order.py [CATALOGUE [NAMES]]

For each of NAMES (8) given names of the US Census 1990, drawn by a fixed seed: every face of the demo catalogue is
measured in full and put in order; beside it the ranking as `letterhold rank --top 50 --verify 50` makes it.
Prints how many of the true first 50, and of the true first 10, it holds, and how far the predicted hold lies from the
measured one.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

import numpy as np

from bench.neck_numbers import census
from catalogue.folders import demo_catalogue
from catalogue.judge.check import verify
from catalogue.judge.listing import Wanted, first_rows
from catalogue.judge.process import load_process
from catalogue.judge.ranking import rank
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.columns import load_columns
from catalogue.store.database import Store


def main() -> int:
    """Rank both ways and compare."""
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else demo_catalogue()
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 8
    names = random.Random(8).sample(sorted(census()), count)
    kept, kept_ten, off, wide = [], [], [], []
    with Store(path) as store:
        columns = load_columns(store)
        for name in names:
            asked = Request.of(name, Size("cap-height", 14.0), load_process("nozzle-0.4"), default_stack(1.0))
            ranking = rank(columns, asked)
            faces = store.faces_of(ranking.ids)
            told = [ranking.row(k, faces[i]) for k, i in enumerate(ranking.ids.tolist())]
            full = [verify(row, asked) for row in told]
            error = np.array([a.hold.hold - b.hold.hold for a, b in zip(told, full, strict=True)])
            off += np.abs(error).tolist()
            wide += [a.hold.holds and not b.hold.holds for a, b in zip(told, full, strict=True)]
            true = [r.face.id for r in sorted(full, key=lambda r: r.order)]
            found = [r.face.id for r in first_rows(ranking, store, asked, Wanted(50, 50)).rows]
            kept.append(len(set(true[:50]) & set(found)) / min(50, len(true)))
            kept_ten.append(true[:10] == found[:10])
            print(
                f"{name:12} of the true first 50 found {kept[-1]:.0%}, first ten the same: {kept_ten[-1]}", flush=True
            )
    print(
        f"first 50 found {np.mean(kept):.1%}, first ten in the same order in {np.mean(kept_ten):.0%} of {count} names"
    )
    print(f"hold predicted within 5 points {np.mean(np.array(off) <= 5):.1%}, median off by {np.median(off):.0f}")
    print(f"predicted to hold and does not {np.mean(wide):.1%}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
