"""Thin strokes: what an opening takes from the demo faces, by corners and by hairlines, against a raster of its own.

For each face and name at capitals of 14 mm: the share of ink below the least wall as judged (``judge.strokes``), the
share that an opening with discs takes in a raster (scikit-image, which knows nothing of polygons), the thinnest stroke
of both, and the predicted one. Needs the extra ``test`` and a scanned catalogue:

    python bench/stroke_numbers.py CATALOGUE [NAME...]
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.check import typesetter
from catalogue.judge.hold import THIN_SHARE
from catalogue.judge.process import load_process
from catalogue.judge.ranking import rank
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.judge.strokes import guessed_thinnest, thin_share, thinnest_stroke
from catalogue.store.columns import load_columns
from catalogue.store.database import Face, Store
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.strokes import letter_widths

PX_MM = 0.04
CAP_MM = 14.0
PROCESS = load_process("nozzle-0.4")


def raster_thickness(letters: list[object]) -> tuple[NDArray[np.float64], float]:
    """Width of the largest disc through each pixel of ink, and the area of a pixel, by distance transforms."""
    import cv2
    import shapely

    found = []
    for letter in letters:
        x0, y0, x1, y1 = letter.bounds  # type: ignore[attr-defined]
        size = (int((y1 - y0) / PX_MM) + 8, int((x1 - x0) / PX_MM) + 8)
        sheet = np.zeros(size, np.uint8)
        parts = shapely.get_parts(letter)
        rings = [r for p in parts for r in (p.exterior, *p.interiors)]
        points = [np.rint(((shapely.get_coordinates(r) - (x0, y0)) / PX_MM + 4) * 16).astype(np.int32) for r in rings]
        cv2.fillPoly(sheet, points, (1,), cv2.LINE_8, 4)
        near = cv2.distanceTransform(sheet, cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
        thick = np.zeros_like(near)
        for radius in np.unique(np.round(near[near > 0])):
            core = (near >= radius).astype(np.uint8)
            reach = cv2.distanceTransform(1 - core, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) < radius
            thick[(reach > 0) & (sheet > 0)] = radius
        found.append(2 * thick[sheet > 0] * PX_MM)
    return np.concatenate(found), PX_MM**2


def main(arguments: list[str]) -> int:
    from shapely.affinity import scale

    catalogue, *names = arguments
    names = names or ["Bronwyn", "Marlie"]
    rows: list[tuple[str, float, float, float, float, float]] = []
    narrow: list[tuple[float, str]] = []
    with Store(Path(catalogue)) as store:
        columns, faces = load_columns(store), {f.id: f for f in store.faces()}
    for name in names:
        ranking = rank(columns, Request.of(name, Size("cap-height", CAP_MM), PROCESS, default_stack()))
        for place, number in enumerate(ranking.ids.tolist()):
            face: Face = faces[number]
            lettering = typesetter(face).set(name)
            unit = CAP_MM / face.cap_height_em / lettering.upem
            letters = [scale(letter.region, unit, unit, origin=(0, 0)) for letter in lettering.letters]
            guess = guessed_thinnest(letter_widths(letters, CAP_MM / face.cap_height_em, channels=False)[0])
            if guess is None:
                continue
            thick, _ = raster_thickness(letters)
            rows.append(
                (
                    f"{face.title} {name}", thin_share(letters, PROCESS.least_wall_mm),
                    float((thick < PROCESS.least_wall_mm).mean()), thinnest_stroke(letters, guess) or 0.0,
                    float(np.quantile(thick, THIN_SHARE)), float(ranking.thinnest_stroke_mm[place]),
                )
            )  # fmt: skip
            holes = [h for letter in letters for h in holes_of(letter)]
            em = CAP_MM / face.cap_height_em
            narrow += [(across / em, face.title) for across in inscribed_diameters(holes, 0.005).tolist()]
    report(rows, narrow)
    return 0


def report(rows: list[tuple[str, float, float, float, float, float]], narrow: list[tuple[float, str]]) -> None:
    """What the numbers say."""
    numbers = np.array([r[1:] for r in rows])
    ours, disc, thin, raster, predicted = numbers.T
    print(f"{len(rows)} faces and names at capitals of {CAP_MM:g} mm, {PROCESS.name}")
    print("share of ink below the least wall, faces:")
    limits = (0.0, 0.001, 0.005, 0.01, 0.015, 0.02, 0.03, 0.05, 0.1, 1.0)
    for low, high in zip(limits, limits[1:]):
        print(f"    {low:6.1%} to {high:6.1%}: {int(((ours >= low) & (ours < high)).sum())}")
    agree = np.mean(abs(ours - disc) < 0.01)
    print(f"within 1 % of the ink of the raster's opening with discs, which rounds corners: {agree:.0%}")
    print(f"the same side of {THIN_SHARE:.1%} and the least wall: {np.mean((ours > THIN_SHARE) == (thin < 0.8)):.1%}")
    near = thin < 1.4
    print(f"thinnest stroke, {near.sum()} below 1.4 mm:")
    for what, other in (("predicted", predicted), ("raster's", raster)):
        off = (other - thin)[near]
        print(f"    {what}: median {np.median(off):+.2f} mm off, 95 % within {np.percentile(abs(off), 95):.2f} mm")
    for k in np.argsort(-abs(predicted - thin) * near)[:5]:
        print(f"    {rows[k][0]}: {thin[k]:.2f} mm, predicted {predicted[k]:.2f}")
    print("narrowest holes of letters, em:", ", ".join(f"{w:.4f} {title}" for w, title in sorted(narrow)[:6]))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
