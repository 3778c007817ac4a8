"""How many places a plain closing fills, and how many of them are told as slits, over the demo's faces.

    python bench/slit_numbers.py [CATALOGUE]

A plain closing (all that half the least gap fills, from half a square of the gap on) takes the tip of every fork of a
letter for a slit; the rule of ``catalogue.judge.slits`` leaves the channels. Prints both counts for each name, and
the faces with slits, to be looked at with ``letterhold check NAME --face FACE --picture OUT.png``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import shapely
from shapely.affinity import scale

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.folders import demo_catalogue
from catalogue.judge.check import typesetter
from catalogue.judge.process import load_process
from catalogue.judge.slits import slits
from catalogue.store.database import Store
from scanner.regions import offset, polygons_of

NAMES = ("Marlie", "Fiona & Emma")
CAP_HEIGHT_MM = 14.0


def main() -> None:
    """Print the counts."""
    catalogue = Path(sys.argv[1]) if len(sys.argv) > 1 else demo_catalogue()
    process = load_process("nozzle-0.4")
    gap, line = process.least_gap_mm, process.line_width_mm
    with Store(catalogue) as store:
        faces = list(store.faces())
    for name in NAMES:
        filled = told = set_in = 0
        titles = []
        for face in faces:
            lettering = typesetter(face).set(name)
            if lettering.missing or not face.cap_height_em > 0:
                continue
            unit = CAP_HEIGHT_MM / (face.cap_height_em * lettering.upem)
            region = scale(lettering.region, unit, unit, origin=(0, 0))
            solid = shapely.union_all([shapely.Polygon(p.exterior) for p in polygons_of(region)])
            closed = offset(offset(solid, gap / 2), -gap / 2)
            filled += sum(p.area > gap**2 / 2 for p in polygons_of(shapely.difference(closed, solid)))
            found = slits(region, gap, line)
            told += len(found)
            set_in += 1
            titles += [face.title] if found else []
        print(f"“{name}” in {set_in} faces at {CAP_HEIGHT_MM:g} mm: a closing fills {filled} places, {told} are slits")
        print(f"  in {', '.join(titles) or 'none'}")


if __name__ == "__main__":
    main()
