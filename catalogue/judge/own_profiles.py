"""The person's own process profiles on disk: a TOML file each in the user's folder. Knows texts, not what they say."""

from __future__ import annotations

import re
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.errors import LetterholdError, UsageError
from catalogue.folders import process_folder
from catalogue.text import clean

_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,38}[a-z0-9]|[a-z0-9]")
"""Small letters, so that two names never differ on one system and are the same file on another."""

_ENDING = ".toml"

_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?")
"""Names that Windows keeps for devices."""


def plain_name(text: str) -> str:
    """A name as profiles are called. Raises UsageError with what to do.

    >>> plain_name(" Blue Printer 0.4 ")
    'blue-printer-0.4'
    """
    name = "-".join(text.casefold().split())
    if not _NAME.fullmatch(name) or name.endswith(_ENDING) or _RESERVED.fullmatch(name):
        raise UsageError(
            f"{clean(text, 40)!r} cannot name a profile; use up to 40 letters a to z, digits, dots and hyphens, as"
            " workshop-left"
        )
    return name


def own_names() -> tuple[str, ...]:
    """Names of the profiles that were saved here."""
    try:
        names = (p.name.removesuffix(_ENDING) for p in process_folder().iterdir() if p.name.endswith(_ENDING))
        return tuple(sorted(n for n in names if _NAME.fullmatch(n)))
    except OSError:  # no folder yet, or none that may be read
        return ()


def own_path(name: str) -> Path:
    """Where a profile of that name is or would be."""
    return process_folder() / f"{name}{_ENDING}"


def read_own(name: str) -> str | None:
    """The text of a saved profile; None where there is none of that name. Raises LetterholdError for damaged text."""
    if not _NAME.fullmatch(name):
        return None
    path = own_path(name)
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as cause:
        raise LetterholdError(f"{path}: not UTF-8 text; save the profile as UTF-8") from cause
    except OSError:
        return None


def write_own(name: str, text: str) -> Path:
    """Save a profile, in the place of an earlier one of that name."""
    path = own_path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_file(path, text.encode())
    return path


def remove_own(name: str) -> bool:
    """Remove a saved profile; whether there was one."""
    if not _NAME.fullmatch(name):
        return False
    try:
        own_path(name).unlink()
    except FileNotFoundError:
        return False
    return True
