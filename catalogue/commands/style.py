"""The commands of style: groups, what looks alike, chosen faces side by side."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from catalogue.draw.compare import Strip
    from catalogue.store.database import Face

Add = Callable[[str, Callable[[argparse.Namespace], int], str, str], argparse.ArgumentParser]

SHEET_NAME = "Marlie"
MOST_ON_SHEET = 24
"""Families of a group on a contact sheet."""


def add_commands(add: Add) -> None:
    """Register the commands of this module."""
    from catalogue.commands.main import _count, _judging

    groups = add("groups", _groups, "style groups, each with what speaks for it", "groups --picture groups.png")
    groups.add_argument("--refit", action="store_true", help="fit the groups to this catalogue's own faces")
    groups.add_argument("--shipped", action="store_true", help="go back to the groups that come with the tool")
    groups.add_argument("--picture", type=Path, metavar="OUT", help="write a contact sheet, .svg or .png")
    groups.add_argument("--name", default=SHEET_NAME, metavar="NAME", help=f"name on the sheet (default {SHEET_NAME})")
    groups.add_argument("--json", action="store_true", help="print JSON")

    like = add("like", _like, "faces that look like one", 'like "Lobster Regular"')
    like.add_argument("face", metavar="FACE", help="catalogue number, 'Family Style' or path#index")
    like.add_argument("--top", type=_count, default=10, metavar="N", help="rows to show (default 10, 0: all)")
    like.add_argument("--json", action="store_true", help="print JSON")

    compare = add(
        "compare",
        _compare,
        "chosen faces on one millimetre scale and baseline, measures beside",
        'compare "Lobster Regular" "Anton Regular" --name Marlie --picture both.svg',
    )
    compare.add_argument("faces", nargs="+", metavar="FACE", help="catalogue numbers, 'Family Style' or path#index")
    compare.add_argument("--name", required=True, metavar="NAME", help="the name to set in each")
    _judging(compare)
    compare.add_argument("--picture", type=Path, metavar="OUT", help="write the drawing, .svg or .png")
    compare.add_argument("--json", action="store_true", help="print JSON")


def _picture_path(path: Path | None) -> None:
    """Raise before the work is done when a picture could not be written."""
    from catalogue.commands.main import UsageError

    if path and not path.absolute().parent.is_dir():
        raise UsageError(f"{path.parent}: no such folder; make it first or name another")
    if path and path.suffix.lower() not in (".svg", ".png"):
        raise UsageError(f"{path}: a picture is .svg or .png; give the file one of these endings")


# ── groups ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def _groups(options: argparse.Namespace) -> int:
    from catalogue.commands.main import UsageError, _open
    from catalogue.style.grouping import refit, regroup
    from catalogue.style.groups import NOT_GROUPED, summary
    from catalogue.wording import count_of
    from scanner.measures.features import FEATURES

    _picture_path(options.picture)
    if options.refit and options.shipped:
        raise UsageError("--refit and --shipped exclude each other; give one of them")
    if options.refit or options.shipped:
        _open(options).close()  # an error when there is no catalogue, where writing would make one
    with _open(options, create=options.refit or options.shipped) as store:
        if options.refit:
            refit(store)
        if options.shipped:
            store.put_groups_model("")
            regroup(store)
        _, vectors = store.features(len(FEATURES))
        faces = store.faces()
    if not faces:
        raise UsageError("no face in the catalogue; run 'letterhold scan FOLDER' first")
    groups = summary([f.group for f in faces], vectors)
    left = [f for f in faces if f.group in ("", NOT_GROUPED)]
    if options.picture:
        from catalogue.draw.compare import sheet_scene
        from catalogue.draw.picture import write_picture

        rows = [
            (f"{g.group}: {g.label} {g.label_support:.0%}", _families([faces[k] for k in g.members])) for g in groups
        ]
        for reason in dict.fromkeys(_kind(f) for f in left):
            rows.append((f"{NOT_GROUPED}: {reason}", _families([f for f in left if _kind(f) == reason])))
        write_picture(sheet_scene([(title, _set(some, options.name)) for title, some in rows]), options.picture)
    if options.json:
        out = [
            {
                "group": g.group, "label": g.label, "label_support": round(g.label_support, 3),
                "faces": [faces[k].id for k in g.members], "members": [_member(faces[k]) for k in g.members],
            }
            for g in groups
        ]  # fmt: skip
        if left:
            out.append({
                "group": NOT_GROUPED, "label": NOT_GROUPED, "label_support": None, "faces": [f.id for f in left],
                "members": [_member(f) for f in left],
            })  # fmt: skip
        print(json.dumps(out, indent=1, ensure_ascii=False))
        return 0
    for g in groups:
        families = _families([faces[k] for k in g.members])
        many = f"{count_of(len(g.members), 'face')} of {count_of(len(families), 'family', 'families')}"
        print(f"{g.group:<14} {g.label} {g.label_support:.0%}  ({many})")
        print(f"    {_listed([f.family for f in families])}")
    if left:
        print(f"{NOT_GROUPED:<14} ({count_of(len(left), 'face')})")
        for reason in dict.fromkeys(_kind(f) for f in left):
            print(f"    {reason}: {_listed([f.family for f in _families([f for f in left if _kind(f) == reason])])}")
    if options.picture:
        print(f"picture: {options.picture}")
    return 0


def _kind(face: Face) -> str:
    """The reason without its number, so that faces of one kind stand together."""
    return face.group_support.split(":")[0] or "not decided yet; scan again"


def _member(face: Face) -> dict[str, Any]:
    return {"face": face.id, "family": face.family, "style": face.style, "support": face.group_support}


def _listed(names: list[str], most: int = 16) -> str:
    return ", ".join(names[:most]) + (f" and {len(names) - most} more" if len(names) > most else "")


def _families(faces: list[Face]) -> list[Face]:
    """The regular face of each family, by name."""
    from catalogue.style.groups import leading

    leaders = leading([f.family for f in faces], [f.style for f in faces], [True] * len(faces))
    return sorted((faces[k] for k in sorted(set(leaders))), key=lambda f: f.family.casefold())


def _set(faces: list[Face], name: str) -> list[tuple[str, Any]]:
    """A name in each face with capitals one unit high, for the contact sheet; faces that cannot are left out."""
    from shapely.affinity import scale

    from catalogue.judge.check import typesetter

    step = max(1, -(-len(faces) // MOST_ON_SHEET))
    out = []
    for face in faces[::step]:
        try:
            lettering = typesetter(face).set(name)
        except ValueError:  # gone since the scan: the sheet shows the others
            continue
        if lettering.letters and face.cap_height_em > 0:
            unit = 1 / (face.cap_height_em * lettering.upem)
            out.append((face.family, scale(lettering.region, unit, unit, origin=(0, 0))))
    return out


# ── like ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def _like(options: argparse.Namespace) -> int:
    from catalogue.commands.main import UsageError, _open
    from catalogue.style.grouping import neighbours

    with _open(options) as store:
        face = store.find(options.face)
        found = neighbours(store, face, options.top or sys.maxsize)
    if not found:
        raise UsageError(f"{face.title} has nothing to be compared with; scan more fonts")
    if options.json:
        print(json.dumps(found, indent=1, ensure_ascii=False))
        return 0
    print(f"like {face.title} ({face.group}); 0 is the same drawing, 1 is another style")
    print("of two figures the first is the listed face's")
    for row in found:
        title = f"{row['family']} {row['style']}"
        print(f"{row['distance']:5.2f}  {title[:34]:<34} {row['group']}")
        print(f"       alike in: {', '.join(row['alike']) or 'nothing that stands out'}")
        print(f"       it has: {', '.join(row['differs']) or 'nothing that is much different'}")
    return 0


# ── compare ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _compare(options: argparse.Namespace) -> int:
    from catalogue.commands.main import _one_line, _open, _size
    from catalogue.draw.compare import compare_scene, strip_of, table
    from catalogue.judge.check import check_face
    from catalogue.judge.process import load_process
    from catalogue.judge.stack import default_stack
    from catalogue.wording import sell

    _picture_path(options.picture)
    _one_line(options.name)
    process = load_process(options.process)
    size, stack = _size(options), default_stack(options.offset)
    with _open(options) as store:
        faces = [store.find(text) for text in options.faces]
    strips: list[Strip] = []
    for face in faces:
        result = check_face(face, options.name, size, process, stack, options.language)
        strips.append(strip_of(result, face, sell(face.sell).answer))
    if options.picture:
        from catalogue.draw.picture import write_picture

        write_picture(compare_scene(strips), options.picture)
    if options.json:
        out = [s.check.as_json() | {"group": s.group, "sell": f.sell} for s, f in zip(strips, faces, strict=True)]
        print(json.dumps(out, indent=1, ensure_ascii=False))
        return 0
    for line in table(strips):
        print(line)
    if options.picture:
        print(f"picture: {options.picture}")
    return 0
