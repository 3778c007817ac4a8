"""Process profiles: what the printer can do, in mm. Built-in ones travel with the package, own ones are TOML files."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass, fields
from importlib import resources
from pathlib import Path


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

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if field.name in ("name", "material"):
                if not isinstance(value, str) or not value.strip():
                    raise ValueError(f"{field.name} must be text")
            elif isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 < value < 100:
                raise ValueError(f"{field.name} must be a number above 0 and below 100, not {value!r}")
            elif not math.isfinite(value):
                raise ValueError(f"{field.name} must be a number")


def built_in() -> tuple[str, ...]:
    """Names of the profiles that come with the project."""
    folder = resources.files("catalogue").joinpath("processes")
    return tuple(sorted(p.name.removesuffix(".toml") for p in folder.iterdir() if p.name.endswith(".toml")))


def load_process(name: str) -> Process:
    """A built-in profile by name or one of your own by path. Raises ValueError with what to do."""
    if name in built_in():
        text = resources.files("catalogue").joinpath("processes", f"{name}.toml").read_text(encoding="utf-8")
        return parse_process(text, name)
    path = Path(name)
    if path.suffix == ".toml" and path.is_file():
        try:
            return parse_process(path.read_text(encoding="utf-8"), name)
        except UnicodeDecodeError as cause:
            raise ValueError(f"{name}: not UTF-8 text; save the profile as UTF-8") from cause
    raise ValueError(f"process {name!r} is not known; use one of {', '.join(built_in())} or the path of a TOML file")


def parse_process(text: str, where: str) -> Process:
    """A profile from TOML text; ``where`` names it in errors."""
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise ValueError(f"{where}: not valid TOML ({cause}); compare it with a built-in profile") from cause
    known = {f.name for f in fields(Process)}
    unknown = sorted(set(table) - known)
    if unknown:
        raise ValueError(f"{where}: unknown key {unknown[0]!r}; known keys are {', '.join(sorted(known))}")
    try:
        return Process(**table)
    except (TypeError, ValueError) as cause:
        words = str(cause).replace("Process.__init__() ", "")
        raise ValueError(f"{where}: {words}; compare it with a built-in profile") from cause
