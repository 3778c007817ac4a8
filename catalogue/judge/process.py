"""Process profiles: what the printer can do, in mm. Built-in ones travel with the package, own ones are TOML files.

An own profile is found by its name (saved in the user's folder, see ``own_profiles``) or by its path.
"""

from __future__ import annotations

import json
import math
import tomllib
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from importlib import resources
from pathlib import Path

from catalogue.errors import LetterholdError, UsageError
from catalogue.judge import own_profiles


@dataclass(frozen=True, slots=True)
class Process:
    """A printer with its nozzle and material. All lengths in mm."""

    name: str
    nozzle_mm: float
    line_width_mm: float
    """Width of one laid line; common practice 1.0 to 1.2 times the nozzle."""
    least_wall_mm: float
    """Narrowest stroke that prints as a wall: two lines (0.8 mm at a 0.4 mm nozzle, common design tables)."""
    least_gap_mm: float
    """Narrowest gap that stays open (0.5 mm at a 0.4 mm nozzle, common design tables)."""
    layer_height_mm: float
    material: str = "PLA"
    density_g_cm3: float = 1.24
    bed_mm: tuple[float, float] = (220.0, 220.0)
    """Width and depth of the bed; a common size of desk printers, no source."""
    least_hole_mm: float | None = None
    """Diameter of the narrowest hole that stays open, as a coupon showed it; None: taken to be the least gap."""
    stray_mm: float | None = None
    """How far a printed outline strays from the drawing, as measured; None: a quarter of a line (``hold``)."""

    @property
    def opening_mm(self) -> float:
        """Width across below which a hole in or between letters may close."""
        return self.least_gap_mm if self.least_hole_mm is None else self.least_hole_mm

    def __post_init__(self) -> None:
        bed = self.bed_mm
        if not isinstance(bed, tuple) or len(bed) != 2 or not all(_number(v) and 20 <= v <= 2000 for v in bed):
            raise LetterholdError(f"bed_mm must be width and depth from 20 to 2000, as [220, 220], not {bed!r}")
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name == "bed_mm" or (value is None and field.name in _OPTIONAL):
                continue
            if field.name in ("name", "material"):
                if not isinstance(value, str) or not value.strip():
                    raise LetterholdError(f"{field.name} must be text")
            elif not _number(value) or not 0 < value < 100:
                raise LetterholdError(f"{field.name} must be a number above 0 and below 100, not {value!r}")


_OPTIONAL = ("least_hole_mm", "stray_mm")
"""Lengths that only a measured printer has."""


def _number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def profile_names() -> tuple[str, ...]:
    """Every name that ``load_process`` takes: the built-in profiles, then the person's own."""
    return (*built_in(), *(name for name in own_profiles.own_names() if name not in built_in()))


@lru_cache(maxsize=1)
def built_in() -> tuple[str, ...]:
    """Names of the profiles that come with the project."""
    folder = resources.files("catalogue.judge").joinpath("processes")
    return tuple(sorted(p.name.removesuffix(".toml") for p in folder.iterdir() if p.name.endswith(".toml")))


def load_process(name: str) -> Process:
    """A profile by name, built in or saved here, or one of your own by path. Raises LetterholdError with what to do."""
    if name in built_in():
        return _built_in_profile(name)
    text = own_profiles.read_own(name)
    if text is not None:
        return replace(parse_process(text, str(own_profiles.own_path(name))), name=name)
    path = Path(name)
    if path.suffix == ".toml" and path.is_file():
        try:
            return parse_process(path.read_text(encoding="utf-8"), name)
        except UnicodeDecodeError as cause:
            raise LetterholdError(f"{name}: not UTF-8 text; save the profile as UTF-8") from cause
    near, known = _near(name), ", ".join(profile_names())
    if near:
        raise LetterholdError(f"process {name!r} is not known; did you mean {near}? There are {known}")
    raise LetterholdError(f"process {name!r} is not known; use one of {known} or the path of a TOML file")


@lru_cache(maxsize=8)
def _built_in_profile(name: str) -> Process:
    text = resources.files("catalogue.judge").joinpath("processes", f"{name}.toml").read_text(encoding="utf-8")
    return parse_process(text, name)


def _near(name: str) -> str:
    """The profile meant by a bare nozzle size or a slip of the pen; empty when none is near.

    >>> _near("0.4"), _near("0,4mm"), _near("nozle-0.6"), _near("resin")
    ('nozzle-0.4', 'nozzle-0.4', 'nozzle-0.6', '')
    """
    import difflib

    plain = name.strip().casefold().replace(",", ".").removesuffix("mm").strip()
    if f"nozzle-{plain}" in built_in():
        return f"nozzle-{plain}"
    return next(iter(difflib.get_close_matches(plain, profile_names(), 1, 0.8)), "")


def parse_process(text: str, where: str) -> Process:
    """A profile from TOML text; ``where`` names it in errors."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise LetterholdError(f"{where}: not valid TOML ({cause}); compare it with a built-in profile") from cause
    known = {f.name for f in fields(Process)}
    unknown = sorted(set(table) - known)
    if unknown:
        raise LetterholdError(f"{where}: unknown key {unknown[0]!r}; known keys are {', '.join(sorted(known))}")
    if isinstance(table.get("bed_mm"), list):
        table["bed_mm"] = tuple(table["bed_mm"])
    try:
        return Process(**table)
    except (TypeError, LetterholdError) as cause:
        words = str(cause).replace("Process.__init__() ", "")
        raise LetterholdError(f"{where}: {words}; compare it with a built-in profile") from cause


def save_process(process: Process) -> Path:
    """Save a profile of one's own under its name, in the place of an earlier one. Raises LetterholdError."""
    name = own_profiles.plain_name(process.name)
    if name in built_in():
        raise UsageError(f"{name} is a built-in profile and stays as it is; give yours another name")
    text = profile_text(process)
    parse_process(text, name)
    return own_profiles.write_own(name, text)


def profile_text(process: Process) -> str:
    """The profile as TOML, as ``parse_process`` reads it.

    >>> profile = load_process("nozzle-0.4")
    >>> parse_process(profile_text(profile), "text") == profile
    True
    """
    lines = ["# Lengths in mm. A profile of one's own printer, saved by letterhold."]
    for field in fields(process):
        value = getattr(process, field.name)
        if isinstance(value, str):  # a JSON string is one of TOML, which wants one more character escaped
            text = json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
            lines.append(f"{field.name} = {text}")
        elif isinstance(value, tuple):
            lines.append(f"{field.name} = [{', '.join(f'{float(v)!r}' for v in value)}]")
        elif value is not None:
            lines.append(f"{field.name} = {float(value)!r}")
    return "\n".join(lines) + "\n"
