"""Process profiles: what the printer can do, in mm. Built-in ones travel with the package, own ones are TOML files."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, fields
from importlib import resources
from pathlib import Path

from catalogue.errors import LetterholdError


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

    def __post_init__(self) -> None:
        bed = self.bed_mm
        if not isinstance(bed, tuple) or len(bed) != 2 or not all(_number(v) and 20 <= v <= 2000 for v in bed):
            raise LetterholdError(f"bed_mm must be width and depth from 20 to 2000, as [220, 220], not {bed!r}")
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name == "bed_mm":
                continue
            if field.name in ("name", "material"):
                if not isinstance(value, str) or not value.strip():
                    raise LetterholdError(f"{field.name} must be text")
            elif not _number(value) or not 0 < value < 100:
                raise LetterholdError(f"{field.name} must be a number above 0 and below 100, not {value!r}")


def _number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)


def built_in() -> tuple[str, ...]:
    """Names of the profiles that come with the project."""
    folder = resources.files("catalogue.judge").joinpath("processes")
    return tuple(sorted(p.name.removesuffix(".toml") for p in folder.iterdir() if p.name.endswith(".toml")))


def load_process(name: str) -> Process:
    """A built-in profile by name or one of your own by path. Raises LetterholdError with what to do."""
    if name in built_in():
        text = resources.files("catalogue.judge").joinpath("processes", f"{name}.toml").read_text(encoding="utf-8")
        return parse_process(text, name)
    path = Path(name)
    if path.suffix == ".toml" and path.is_file():
        try:
            return parse_process(path.read_text(encoding="utf-8"), name)
        except UnicodeDecodeError as cause:
            raise LetterholdError(f"{name}: not UTF-8 text; save the profile as UTF-8") from cause
    near, known = _near(name), ", ".join(built_in())
    if near:
        raise LetterholdError(f"process {name!r} is not known; did you mean {near}? There are {known}")
    raise LetterholdError(f"process {name!r} is not known; use one of {known} or the path of a TOML file")


def _near(name: str) -> str:
    """The built-in profile meant by a bare nozzle size or a slip of the pen; empty when none is near.

    >>> _near("0.4"), _near("0,4mm"), _near("nozle-0.6"), _near("resin")
    ('nozzle-0.4', 'nozzle-0.4', 'nozzle-0.6', '')
    """
    import difflib

    plain = name.strip().casefold().replace(",", ".").removesuffix("mm").strip()
    if f"nozzle-{plain}" in built_in():
        return f"nozzle-{plain}"
    return next(iter(difflib.get_close_matches(plain, built_in(), 1, 0.8)), "")


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
