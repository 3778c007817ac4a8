"""Metadata of packages: AppStream, package.json, and the installed Python package that holds a font."""

from __future__ import annotations

import json
import os
import re
from functools import lru_cache
from pathlib import Path

from scanner.evidence.folder import MAX_CLIMB, MAX_LISTED, METAINFO, listing
from scanner.evidence.statement import Evidence
from scanner.evidence.textfile import read_text

_PROJECT_LICENCE = re.compile(r"<project_license>\s*([^<]{1,200}?)\s*</project_license>")
_EXPRESSION = re.compile(r"(?im)^License-Expression:[ \t]*(.{1,200}?)\s*$")


@lru_cache(maxsize=4096)
def metadata_statements(folder: str) -> tuple[Evidence, ...]:
    """AppStream metainfo and package.json of one folder."""
    out: list[Evidence] = []
    for entry in listing(folder)[0]:
        if entry.endswith(METAINFO):
            out += _appstream(entry)
        elif os.path.basename(entry) == "package.json":
            out += _package_json(entry)
    return tuple(out)


def _appstream(path: str) -> list[Evidence]:
    """`project_license` of AppStream metainfo; `metadata_license` is the metadata's own and is left out."""
    hit = _PROJECT_LICENCE.search(read_text(path).text)
    return [Evidence("appstream", path, hit[1], hit[1])] if hit else []


def _package_json(path: str) -> list[Evidence]:
    try:
        data = json.loads(read_text(path).text)
    except (ValueError, RecursionError):
        return []
    licence = data.get("license") if isinstance(data, dict) else None
    if isinstance(licence, dict):
        licence = licence.get("type")
    return (
        [Evidence("package-json", path, licence[:200], licence[:200])] if licence and isinstance(licence, str) else []
    )


@lru_cache(maxsize=4096)
def package_statements(folder: str) -> tuple[Evidence, ...]:
    """`License-Expression` of the installed Python package whose folder holds the font (PEP 639)."""
    here = Path(folder)
    for top in (here, *list(here.parents)[:MAX_CLIMB]):
        for info in _dist_infos(str(top.parent)).get(top.name.lower(), ()):
            hit = _EXPRESSION.search(read_text(info).text.split("\n\n")[0])
            if hit:
                return (Evidence("dist-info", info, hit[1], hit[1]),)
    return ()


@lru_cache(maxsize=256)
def _dist_infos(folder: str) -> dict[str, tuple[str, ...]]:
    """METADATA paths in a folder by the import name that their distribution name implies."""
    out: dict[str, tuple[str, ...]] = {}
    try:
        with os.scandir(folder) as listing:
            for _, entry in zip(range(MAX_LISTED), listing, strict=False):
                if entry.name.endswith(".dist-info"):
                    out[package_key(entry.name)] = (os.path.join(entry.path, "METADATA"),)
    except OSError:
        return {}
    return out


def package_key(dist_info: str) -> str:
    """The import name that the name of a `.dist-info` folder implies, in small letters."""
    return re.sub(r"[-_.]+", "_", dist_info[:-10].rsplit("-", 1)[0]).lower()


def package_of(folder: str) -> tuple[str, str]:
    """Name and version of the installed Python package whose folder holds a font; "" for none."""
    here = Path(folder)
    for top in (here, *list(here.parents)[:MAX_CLIMB]):
        for info in _dist_infos(str(top.parent)).get(top.name.lower(), ()):
            name, _, version = Path(info).parent.name[: -len(".dist-info")].partition("-")
            return name, version
    return "", ""


def forget_packages() -> None:
    """Drops what was remembered of packages."""
    for cached in (metadata_statements, package_statements, _dist_infos):
        cached.cache_clear()
