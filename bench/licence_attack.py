"""Limits that nobody wrote rules from, in every place, behind every grant: how many end in a yes.

    python bench/licence_attack.py LIMITS.jsonl [--names NAMES.jsonl] [--grants GRANTS.jsonl] [--places N] [--seed 1]

LIMITS and NAMES hold one JSON object a line with ``id``, ``language`` and ``text``; none may ever end in ``yes`` or
``yes-conditions``. GRANTS hold clear grants with ``expected``; each stands alone in a licence field, and the share that
keeps its answer is printed. ``--places N`` draws N places a limit instead of all. Exit status 1 when anything ended in
a false yes.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "bench")]

from licence_cases import GRANTS, NAME_PLACES, TEXT_PLACES, Case, Place, write  # noqa: E402 - the path comes first

from catalogue.licence.verdict import judge_font  # noqa: E402

SELLABLE = ("yes", "yes-conditions")


def read(path: Path) -> list[dict[str, Any]]:
    """The objects of a file of JSON lines."""
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]


def answers(items: list[dict[str, Any]], places: dict[str, Place], most: int, seed: int) -> Iterator[tuple[Any, ...]]:
    """Item, place, grant and verdict, for places and grants drawn by the seed."""
    draw = random.Random(seed)
    for item in items:
        for name in draw.sample(sorted(places), min(most, len(places))):
            grant = draw.choice(sorted(GRANTS))
            case = Case({13: GRANTS[grant]})
            if places[name](case, item["text"], item["language"]):
                yield item, name, grant, verdict_of(case)


def verdict_of(case: Case) -> str:
    """What a case comes to, scanned in a folder of an ordinary name."""
    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder, "fonts")
        return judge_font(write(case, root), 0, root).verdict


def attack(label: str, items: list[dict[str, Any]], places: dict[str, Place], args: argparse.Namespace) -> int:
    """Print how many ended in a yes, by place and language, and each of them."""
    tried, false = 0, []
    for item, place, grant, verdict in answers(items, places, args.places or len(places), args.seed):
        tried += 1
        if verdict in SELLABLE:
            false.append((item, place, grant))
    for item, place, grant in false:
        print(f"  {item['id']:12} {place:30} {grant:7} {item['text'][:90]}")
    by_place, by_language = Counter(f[1] for f in false), Counter(f[0]["language"] for f in false)
    print(f"{label}: {len(false)} of {tried} a false yes; by place {dict(by_place)}; by language {dict(by_language)}")
    return len(false)


def kept(items: list[dict[str, Any]]) -> None:
    """Print how many clear grants keep their answer, and the others."""
    right = 0
    for item in items:
        verdict = verdict_of(Case({13: item["text"]}))
        right += verdict in SELLABLE
        if verdict not in SELLABLE:
            print(f"  {item['id']:12} {verdict:8} {item['text'][:110]}")
    print(f"clear grants kept: {right} of {len(items)}, {right / max(1, len(items)):.1%}")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("limits", type=Path)
    parser.add_argument("--names", type=Path)
    parser.add_argument("--grants", type=Path)
    parser.add_argument("--places", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    false = attack("limits", read(args.limits), TEXT_PLACES, args)
    if args.names:
        false += attack("names", read(args.names), NAME_PLACES, args)
    if args.grants:
        kept(read(args.grants))
    return 1 if false else 0


if __name__ == "__main__":
    raise SystemExit(main())
