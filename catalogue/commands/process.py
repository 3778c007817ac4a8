"""The ``process`` command: profiles of printers; a coupon to print, and a profile of one's own from what came out."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict, replace
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.commands.options import as_json, length, print_json
from catalogue.errors import LetterholdError, UsageError
from catalogue.judge.hold import stray_mm
from catalogue.judge.own_profiles import own_names, own_path, plain_name, remove_own
from catalogue.judge.process import Process, built_in, load_process, profile_names, save_process
from catalogue.tag.coupon.reading import Printed, Reading, doubts_of, reading_of
from catalogue.tag.coupon.sizes import sizes_for
from catalogue.text import clean
from catalogue.wording import CAUTION

FIRST = "nozzle-0.4"
"""The profile that is taken where none is named."""

GIVEN = ("least_wall", "least_gap", "least_hole", "stray", "line_width", "layer_height")
"""Lengths that can be given outright."""


def add_arguments(process: argparse.ArgumentParser) -> None:
    """The actions of ``process`` and their options; without one the profiles are listed."""
    process.set_defaults(act=_list, json=False)
    actions = process.add_subparsers(title="actions", metavar="ACTION")
    listed = actions.add_parser("list", help="every profile, built in and your own", epilog="Example: process list")
    as_json(listed)
    listed.set_defaults(act=_list)
    coupon = actions.add_parser(
        "coupon", help="write a small test print with its sheet", epilog="Example: process coupon --out coupon"
    )
    coupon.add_argument("--out", type=Path, required=True, metavar="DIR", help="folder to write into")
    coupon.add_argument("--process", default=FIRST, metavar="NAME", help="profile nearest to your printer")
    as_json(coupon)
    coupon.set_defaults(act=_coupon)
    _saving(
        actions.add_parser(
            "save", help="save a profile of your own printer",
            epilog="Example: process save workshop --walls 0.6,0.7,0.8,1,1.2 --gaps 0.3,0.4,0.5,0.6",
        )
    )  # fmt: skip
    removed = actions.add_parser("remove", help="remove one of your profiles", epilog="Example: process remove mine")
    removed.add_argument("name", metavar="NAME", help="one of your own profiles")
    removed.set_defaults(act=_remove)


def _saving(save: argparse.ArgumentParser) -> None:
    save.add_argument("name", metavar="NAME", help="what to call it; --process NAME finds it afterwards")
    save.add_argument(
        "--like", metavar="NAME", help=f"profile that gives the rest (default: what NAME was, else {FIRST})"
    )
    for kind in ("walls", "gaps", "holes"):
        save.add_argument(f"--{kind}", type=sizes, metavar="LIST", help=f"{kind} of the coupon that came out, in mm")
    save.add_argument("--wall-measured", type=length, metavar="LENGTH", help="what the widest wall measures")
    for name, words in (
        ("least-wall", "narrowest stroke that prints as a wall"), ("least-gap", "narrowest gap that stays open"),
        ("least-hole", "narrowest hole that stays open"), ("stray", "how far an outline strays from the drawing"),
        ("line-width", "width of one laid line"), ("layer-height", "height of one layer"),
    ):  # fmt: skip
        save.add_argument(f"--{name}", type=length, metavar="LENGTH", help=words)
    save.add_argument("--sure", action="store_true", help="save it although it contradicts itself")
    as_json(save)
    save.set_defaults(act=_save)


def sizes(text: str) -> tuple[float, ...]:
    """Sizes in mm, parted by commas, each as 0.6 or 0.6mm."""
    parts = [p.strip() for p in text.split(",") if p.strip()]
    found = [length(p if p[-1:].isalpha() else f"{p}mm") for p in parts]
    return tuple(sorted(round(mm, 4) for mm in found))


def run(options: argparse.Namespace) -> int:
    """Do what was asked."""
    status: int = options.act(options)
    return status


# ── list, remove ────────────────────────────────────────────────────────────────────────────────────────────────────


def _list(options: argparse.Namespace) -> int:
    """Every profile in a line; one that cannot be read is named and passed over."""
    found, broken = [], []
    for name in profile_names():
        try:
            found.append(load_process(name))
        except LetterholdError as error:
            broken.append(str(error))
    if options.json:
        print_json([facts_of(p) for p in found])
    else:
        print(
            f"{'profile':<20}{'nozzle':>8}{'line':>7}{'wall':>7}{'gap':>7}{'hole':>7}{'stray':>7}{'layer':>7}  material"
        )
        for p in found:
            numbers = (p.line_width_mm, p.least_wall_mm, p.least_gap_mm, p.opening_mm, stray_mm(p), p.layer_height_mm)
            row = "".join(f"{mm:>7.2f}" for mm in numbers)
            own = "" if p.name in built_in() else ", your own"
            print(f"{p.name:<20}{p.nozzle_mm:>8.2f}{row}  {clean(p.material, 20)}{own}")
        print("  in mm; measure your own printer with: letterhold process coupon --out coupon")
    for line in broken:
        print(f"letterhold: {clean(line, 400)}", file=sys.stderr)
    return 0


def facts_of(process: Process) -> dict[str, object]:
    """A profile as JSON takes it, with what is taken where nothing was measured."""
    own = process.name not in built_in()
    return asdict(process) | {
        "opening_mm": process.opening_mm, "stray_taken_mm": round(stray_mm(process), 4),
        "file": str(own_path(process.name)) if own else "",
    }  # fmt: skip


def _remove(options: argparse.Namespace) -> int:
    name = plain_name(options.name)
    if name in built_in():
        raise UsageError(f"{name} is a built-in profile and stays; only your own can be removed")
    if not remove_own(name):
        own = ", ".join(own_names()) or "none yet"
        raise UsageError(f"there is no profile {name} of your own; there are: {own}")
    print(f"profile {name} removed")
    return 0


# ── coupon ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def _coupon(options: argparse.Namespace) -> int:
    from catalogue.tag.coupon.coupon import make_coupon  # geometry is not needed to list profiles
    from catalogue.tag.coupon.files import coupon_files

    process = load_process(options.process)
    if options.out.exists() and not options.out.is_dir():
        raise UsageError(f"{options.out}: a file of that name is there; give a folder")
    made = make_coupon(process)
    options.out.mkdir(parents=True, exist_ok=True)
    files = coupon_files(made)
    for name, data in files.items():
        write_file(options.out / name, data)
    width, depth, height = made.size_mm
    if options.json:
        print_json({
            "process": process.name, "files": {name: str(options.out / name) for name in files},
            "size_mm": [width, depth, height], "mass_g": round(made.mass_g, 2),
            "print_minutes": round(made.print_minutes, 1), **asdict(made.sizes),
        })  # fmt: skip
        return 0
    print(
        f"coupon for {process.name}: {width:.0f} × {depth:.0f} × {height:g} mm, {made.mass_g:.1f} g, about"
        f" {made.print_minutes:.0f} min"
    )
    print(f"  {len(files)} files in {options.out}; start with coupon.html")
    print("  when it is printed: letterhold process save my-printer --walls … --gaps … --holes …, or the page")
    print(CAUTION)
    return 0


# ── save ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def _save(options: argparse.Namespace) -> int:
    name = plain_name(options.name)
    like = load_process(options.like or (name if name in own_names() else FIRST))
    read = _read(options, name, like)
    if not _agreed(read.doubts, options.sure):
        return 1
    path = save_process(read.process)
    if options.json:
        print_json(facts_of(read.process))
        return 0
    p = read.process
    print(
        f"profile {p.name} saved: least wall {p.least_wall_mm:g}, least gap {p.least_gap_mm:g}, least hole"
        f" {p.opening_mm:g}, stray {stray_mm(p):.2f} mm; all else as {like.name}"
    )
    print(f"  in {path}; next: letterhold rank NAME --process {p.name}")
    return 0


def _read(options: argparse.Namespace, name: str, like: Process) -> Reading:
    """The profile that was asked for, and what contradicts itself in it."""
    given = {f"{key}_mm": getattr(options, key) for key in GIVEN if getattr(options, key) is not None}
    printed = Printed(options.walls, options.gaps, options.holes, options.wall_measured)
    if not given and printed == Printed() and not options.like:
        raise UsageError("nothing to save; give what came out, as --walls 0.6,0.8,1,1.2, or --least-wall 0.6mm")
    twice = next((k for k in ("wall", "gap", "hole") if getattr(options, f"{k}s") and f"least_{k}_mm" in given), "")
    if twice or (options.wall_measured and options.stray):
        one, other = (f"--{twice}s", f"--least-{twice}") if twice else ("--wall-measured", "--stray")
        raise UsageError(f"both {one} and {other} are given; keep one")
    read = reading_of(name, like, printed, sizes_for(like))
    if not given:
        return read
    if "least_gap_mm" in given and "least_hole_mm" not in given and options.holes is None:
        given["least_hole_mm"] = max(like.opening_mm, given["least_gap_mm"])  # holes close first
    made = replace(read.process, **given)
    kept = tuple(d for d in read.doubts if d not in doubts_of(read.process))
    return Reading(made, (*kept, *doubts_of(made)))


def _agreed(doubts: tuple[str, ...], sure: bool) -> bool:
    """Whether to go on; asks on a terminal. Raises UsageError where nobody can be asked."""
    if sure or not doubts:
        return True
    if not sys.stdin.isatty():
        raise UsageError(f"{'; '.join(doubts)}. Correct it, or add --sure")
    for line in doubts:
        print(f"letterhold: {line}", file=sys.stderr)
    return input("Save it all the same? [y/N] ").strip().casefold() in ("y", "yes")
