"""``letterhold groups``: the style groups of the catalogue, each with what speaks for it."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from catalogue.commands.options import as_json, catalogue_of, open_store, picture_path, picture_to, print_json
from catalogue.draw.compare import sheet_scene
from catalogue.draw.picture import write_picture
from catalogue.errors import LetterholdError, UsageError
from catalogue.judge.check import typesetter
from catalogue.store.database import Face, Store
from catalogue.style.grouping import refit, regroup
from catalogue.style.groups import NOT_GROUPED, Group, leading, summary
from catalogue.wording import count_of
from scanner.measures.features import FEATURES
from scanner.names import check_name

SHEET_NAME = "Marlie"
MOST_ON_SHEET = 24
"""Families of a group on a contact sheet."""
MOST_LISTED = 16
"""Families of a group in the list."""


def add_arguments(groups: argparse.ArgumentParser) -> None:
    """The options of ``groups``."""
    groups.add_argument("--refit", action="store_true", help="fit the groups to this catalogue's own faces")
    groups.add_argument("--shipped", action="store_true", help="go back to the groups that come with the tool")
    picture_to(groups, "a contact sheet")
    groups.add_argument("--name", default=SHEET_NAME, metavar="NAME", help=f"name on the sheet (default {SHEET_NAME})")
    as_json(groups)


def run(options: argparse.Namespace) -> int:
    """Fit again where asked, then print the groups."""
    picture_path(options.picture)
    check_name(options.name)
    if options.refit and options.shipped:
        raise UsageError("--refit and --shipped exclude each other; give one of them")
    if options.refit or options.shipped:
        _decide_again(options)
    with open_store(options) as store:
        _, vectors = store.features(len(FEATURES))
        faces = store.faces()
    if not faces:
        raise UsageError("no face in the catalogue; run 'letterhold scan FOLDER' first")
    groups = summary([f.group for f in faces], vectors)
    left = [f for f in faces if f.group in ("", NOT_GROUPED)]
    if options.picture:
        write_picture(sheet_scene(list(_sheet(groups, faces, left, options.name))), options.picture)
    if options.json:
        print_json(_as_json(groups, faces, left))
        return 0
    _print(groups, faces, left)
    if options.picture:
        print(f"picture: {options.picture}")
    return 0


def _decide_again(options: argparse.Namespace) -> None:
    open_store(options).close()  # an error when there is no catalogue, where writing would make one
    with Store(catalogue_of(options), create=True) as store:
        if options.refit:
            refit(store)
        else:
            store.put_groups_model("")
            regroup(store)


def _as_json(groups: list[Group], faces: list[Face], left: list[Face]) -> list[dict[str, Any]]:
    rows = [_group_row(g.group, g.label, round(g.label_support, 3), [faces[k] for k in g.members]) for g in groups]
    return [*rows, _group_row(NOT_GROUPED, NOT_GROUPED, None, left)] if left else rows


def _group_row(group: str, label: str, support: float | None, faces: list[Face]) -> dict[str, Any]:
    members = [{"face": f.id, "family": f.family, "style": f.style, "support": f.group_support} for f in faces]
    return {
        "group": group, "label": label, "label_support": support, "faces": [f.id for f in faces], "members": members,
    }  # fmt: skip


def _print(groups: list[Group], faces: list[Face], left: list[Face]) -> None:
    for g in groups:
        families = _families([faces[k] for k in g.members])
        many = f"{count_of(len(g.members), 'face')} of {count_of(len(families), 'family', 'families')}"
        print(f"{g.group:<14} {g.label} {g.label_support:.0%}  ({many})")
        print(f"    {_listed([f.family for f in families])}")
    if left:
        print(f"{NOT_GROUPED:<14} ({count_of(len(left), 'face')})")
    for reason, some in _by_reason(left):
        print(f"    {reason}: {_listed([f.family for f in _families(some)])}")


def _by_reason(left: list[Face]) -> Iterator[tuple[str, list[Face]]]:
    """Faces without a group by the reason without its number, so that those of one kind stand together."""

    def kind(face: Face) -> str:
        return face.group_support.split(":")[0] or "not decided yet; scan again"

    for reason in dict.fromkeys(map(kind, left)):
        yield reason, [f for f in left if kind(f) == reason]


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - MOST_LISTED} more" if len(names) > MOST_LISTED else ""
    return ", ".join(names[:MOST_LISTED]) + more


def _families(faces: list[Face]) -> list[Face]:
    """The regular face of each family, by name."""
    leaders = leading([f.family for f in faces], [f.style for f in faces], [True] * len(faces))
    return sorted((faces[k] for k in sorted(set(leaders))), key=lambda f: f.family.casefold())


# ── contact sheet ───────────────────────────────────────────────────────────────────────────────────────────────────


def _sheet(
    groups: list[Group], faces: list[Face], left: list[Face], name: str
) -> Iterator[tuple[str, list[tuple[str, BaseGeometry]]]]:
    """A title and the name set in each family, group by group."""
    for g in groups:
        yield f"{g.group}: {g.label} {g.label_support:.0%}", list(_set(_families([faces[k] for k in g.members]), name))
    for reason, some in _by_reason(left):
        yield f"{NOT_GROUPED}: {reason}", list(_set(_families(some), name))


def _set(faces: list[Face], name: str) -> Iterator[tuple[str, BaseGeometry]]:
    """A name in each face with capitals one unit high; faces that cannot set it are left out."""
    step = max(1, -(-len(faces) // MOST_ON_SHEET))
    for face in faces[::step]:
        try:
            lettering = typesetter(face).set(name)
        except LetterholdError:  # gone since the scan: the sheet shows the others
            continue
        if lettering.letters and face.cap_height_em > 0:
            unit = 1 / (face.cap_height_em * lettering.upem)
            yield face.family, scale(lettering.region, unit, unit, origin=(0, 0))
