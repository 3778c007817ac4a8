"""``letterhold inspect``: what the catalogue knows of one face."""

from __future__ import annotations

import argparse
import math
from typing import Any

from catalogue.commands.options import FACE_HELP, as_json, open_store, print_json
from catalogue.judge.sizes import sized_by
from catalogue.store.database import Store
from catalogue.store.face import Face
from catalogue.store.font_cache import demand_as_scanned
from catalogue.style.grouping import neighbours
from catalogue.wording import count_of, sell


def add_arguments(inspect: argparse.ArgumentParser) -> None:
    """The options of ``inspect``."""
    inspect.add_argument("face", metavar="FACE", help=FACE_HELP)
    as_json(inspect)


def run(options: argparse.Namespace) -> int:
    """Print the facts of the face."""
    with open_store(options) as store:
        face = store.find(options.face)
        demand_as_scanned(face)
        facts = _facts(store, face)
    if options.json:
        print_json(facts)
    else:
        _print(face, facts)
    return 0


def _facts(store: Store, face: Face) -> dict[str, Any]:
    """The facts under their contract keys; lengths in em, numbers that were not measured None."""
    joins = sorted(w["join_edges_em"][0] / 2 if w["join_edges_em"] else 0.0 for w in store.words(face.id))
    facts: dict[str, Any] = {
        "face": face.id, "family": face.family, "style": face.style, "path": face.path,
        "face_index": face.face_index, "instance": face.instance, "version": face.version,
        "letters": face.letters, "missing_letters": face.missing, "upem": face.upem,
        "cap_height_em": face.cap_height_em, "x_height_em": face.x_height_em, "slant_deg": face.slant_deg,
        "median_stroke_em": face.median_stroke_em, "thinnest_stroke_em": face.thinnest_stroke_em,
        "smallest_counter_em": face.smallest_counter_em, "joining": face.joining,
        "advances_variation": face.advances_variation,
        "median_join_offset_em": joins[len(joins) // 2] if joins else None,
        "worst_join_offset_em": joins[-1] if joins else None,
        "spdx": face.spdx, "sell": face.sell, "group": face.group, "group_support": face.group_support,
        "neighbours": neighbours(store, face, 5),
        "reasons": store.verdict(face.id).get("reasons", []),
    }  # fmt: skip
    return {key: _rounded(value) for key, value in facts.items()}


def _rounded(value: Any) -> Any:
    if not isinstance(value, float):
        return value
    return round(value, 4) if math.isfinite(value) else None


def _print(face: Face, facts: dict[str, Any]) -> None:
    print(f"{face.title} (number {face.id})")
    print(f"  file          {face.path}" + (f"#{face.face_index}" if face.face_index else ""))
    lacks = f", lacks {face.missing[:40]}" if face.missing else ""
    print(f"  letters       {count_of(face.letters, 'character')}{lacks}")
    slant = f", slant {face.slant_deg:.0f}°" if math.isfinite(face.slant_deg) else ""
    print(f"  height        {sized_by(face)} {_em(face.cap_height_em)}, small letters {_em(face.x_height_em)}{slant}")
    print(f"  strokes       median {_em(face.median_stroke_em)}, thinnest {_em(face.thinnest_stroke_em)}")
    if math.isfinite(face.joining):
        print(f"  joined pairs  {face.joining:.0%} of small-letter pairs touch")
    if facts["worst_join_offset_em"] is not None:
        median, worst = facts["median_join_offset_em"], facts["worst_join_offset_em"]
        print(f"  join offset   {median:.3f} em at the median test word, {worst:.3f} em at the worst")
    print(f"  style group   {face.group or 'not decided; scan again'}: {face.group_support}")
    if facts["neighbours"]:
        print(f"  looks like    {', '.join(n['family'] for n in facts['neighbours'])}")
    print(f"  may be sold   {sell(face.sell).answer}" + (f" ({face.spdx})" if face.spdx else ""))
    for reason in facts["reasons"][:4]:
        print(f"                {reason}")


def _em(value: float) -> str:
    return f"{value:.3f} em" if math.isfinite(value) else "not known"
