"""``letterhold groups``: the style groups of the catalogue, as a list or as a wall of names."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from catalogue.commands.options import as_json, open_store, picture_path, picture_to, print_json
from catalogue.draw.compare import sheet_scene
from catalogue.draw.picture import write_picture
from catalogue.errors import LetterholdError, UsageError
from catalogue.judge.check import typesetter
from catalogue.store.database import Face
from catalogue.style.grouping import styles_of
from catalogue.style.groups import Decision, Group, summary, supported
from catalogue.style.words import NOT_GROUPED
from catalogue.wording import count_of
from scanner.names import check_name

SHEET_NAME = "Marlie"
MOST_ON_SHEET = 12
"""Families of a group on the wall: two lines of it."""
MOST_LISTED = 16
"""Families of a group in the list."""


@dataclass(frozen=True, slots=True)
class Styled:
    """A face with its style."""

    face: Face
    style: Decision


def add_arguments(groups: argparse.ArgumentParser) -> None:
    """The options of ``groups``."""
    picture_to(groups, "the wall: each group as a row of names, most typical first")
    groups.add_argument("--name", default=SHEET_NAME, metavar="NAME", help=f"name on the wall (default {SHEET_NAME})")
    as_json(groups)


def run(options: argparse.Namespace) -> int:
    """Print the groups, or draw them."""
    picture_path(options.picture)
    check_name(options.name)
    with open_store(options) as store:
        styles = styles_of(store)
        faces = [Styled(face, styles[face.id]) for face in store.faces() if face.id in styles]
    if not faces:
        raise UsageError("no face in the catalogue; run 'letterhold scan FOLDER' first")
    groups = summary([f.style for f in faces])
    left = [f for f in faces if f.style.group == NOT_GROUPED]
    if options.picture:
        write_picture(sheet_scene(list(_wall(groups, faces, options.name))), options.picture)
    if options.json:
        print_json(_as_json(groups, faces, left))
        return 0
    _print(groups, faces, left)
    if options.picture:
        print(f"picture: {options.picture}")
    return 0


def _as_json(groups: list[Group], faces: list[Styled], left: list[Styled]) -> list[dict[str, Any]]:
    rows = [_group_row(g.group, g.meaning, _mean(g, faces), [faces[k] for k in g.members]) for g in groups]
    return [*rows, _group_row(NOT_GROUPED, NOT_GROUPED, None, left)] if left else rows


def _mean(group: Group, faces: list[Styled]) -> float:
    """Mean probability of a group over its members."""
    return round(sum(faces[k].style.probability for k in group.members) / len(group.members), 3)


def _group_row(group: str, label: str, support: float | None, faces: list[Styled]) -> dict[str, Any]:
    members = [
        {
            "face": f.face.id, "family": f.face.family, "style": f.face.style, "support": supported(f.style),
            "traits": list(f.style.traits),
        }
        for f in faces
    ]  # fmt: skip
    return {
        "group": group, "label": label, "label_support": support, "faces": [f.face.id for f in faces],
        "members": members,
    }  # fmt: skip


def _print(groups: list[Group], faces: list[Styled], left: list[Styled]) -> None:
    for g in groups:
        members = [faces[k] for k in g.members]
        print(f"{g.group:<15} {g.meaning}  ({_many(members)})")
        print(f"    {_listed([f.face.family for f in _families(members)])}")
    if left:
        print(f"{NOT_GROUPED:<15} ({count_of(len(left), 'face')})")
    for reason, some in _by_reason(left):
        print(f"    {reason}: {_listed(sorted({f.face.family for f in some}, key=str.casefold))}")


def _many(members: list[Styled]) -> str:
    families = len({f.face.family.casefold() for f in members})
    return f"{count_of(len(members), 'face')} of {count_of(families, 'family', 'families')}"


def _by_reason(left: list[Styled]) -> Iterator[tuple[str, list[Styled]]]:
    """Faces without a group by the reason without its number, so that those of one kind stand together."""

    def kind(styled: Styled) -> str:
        return styled.style.support.split(":")[0]

    for reason in dict.fromkeys(map(kind, left)):
        yield reason, [f for f in left if kind(f) == reason]


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
    return ", ".join(names[:MOST_LISTED]) + more


def _families(members: Sequence[Styled]) -> list[Styled]:
    """The first face of each family, in the order given."""
    return list({f.face.family.casefold(): f for f in reversed(members)}.values())[::-1]


# ── wall ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def _wall(groups: list[Group], faces: list[Styled], name: str) -> Iterator[tuple[str, list[tuple[str, BaseGeometry]]]]:
    """A title and the name set in each family, group by group, most typical first."""
    for g in groups:
        members = [faces[k] for k in g.members]
        yield f"{g.group}: {g.meaning} ({_many(members)})", list(_set(_families(members), name))


def _set(faces: Sequence[Styled], name: str) -> Iterator[tuple[str, BaseGeometry]]:
    """A name in the first faces that can set it, with capitals one unit high."""
    shown = 0
    for face in (f.face for f in faces):
        try:
            lettering = typesetter(face).set(name)
        except LetterholdError:  # gone since the scan: the wall shows the others
            continue
        if lettering.letters and not lettering.missing and face.cap_height_em > 0:
            unit = 1 / (face.cap_height_em * lettering.upem)
            yield face.family, scale(lettering.region, unit, unit, origin=(0, 0))
            shown += 1
        if shown == MOST_ON_SHEET:
            return
