"""Who may import whom: rooms in one order, no circle of files, one foreign library behind one file.

Read from the source. The order and the reasons stand in DEVELOPERS.md and in each room's ``__init__.py``.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

import scanner

ROOT = Path(scanner.__file__).parent.parent

ROOMS = ("licence", "store", "style", "gather", "judge", "draw", "tag")
"""Rooms of ``catalogue`` in order: each may import those before it."""

RIM = ("page", "commands")
"""The two rooms that people touch: each may import all of the others, never the other one of the two."""

LEAVES = {"errors", "faults", "text", "permission", "wording", "atomic", "parallel", "workers", "folders"}
"""Files of the catalogue's root that every room may import; they import nothing but each other and the scanner."""

FOREIGN = {
    "uharfbuzz": "scanner/shaping.py",
    "freetype": "scanner/raster.py",
    "fsspec": "scanner/workers/stores.py",
    "distributed": "scanner/workers/cluster.py",
    "openpyxl": "catalogue/tag/orders/workbook.py",
    "pyarrow": "catalogue/gather/partitions.py",
}

PYTHON = sorted(p for folder in ("scanner", "catalogue") for p in (ROOT / folder).rglob("*.py"))


def module_of(path: Path) -> str:
    """The dotted name of a file of ours."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


@cache
def imports(path: Path) -> frozenset[str]:
    """Full dotted names of all that a file imports, wherever it stands in the text."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative imports hide where an arrow points"
            found.add(node.module or "")
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return frozenset(found)


def ours(path: Path) -> set[str]:
    """Modules of ours that a file imports; of ``from package import module`` the module, not the package."""
    known = {module_of(p) for p in PYTHON}
    found = imports(path) & known
    return {name for name in found if not any(other.startswith(name + ".") for other in found)} - {module_of(path)}


def roots(path: Path) -> set[str]:
    return {name.split(".")[0] for name in imports(path)}


def place(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def test_the_reader_of_imports_sees_every_kind(tmp_path: Path) -> None:
    text = "import os.path\nfrom a.b import c\ndef f():\n    import d as e\nif 1:\n    from g import h as i\n"
    file = tmp_path / "some.py"
    file.write_text(text)
    assert imports(file) == {"os.path", "a.b", "a.b.c", "d", "g", "g.h"}


def test_there_is_something_to_check() -> None:
    assert {"scanner/shaping.py", "catalogue/judge/hold.py", "catalogue/page/app.py"} <= set(map(place, PYTHON))
    assert len(PYTHON) > 100


@pytest.mark.parametrize("path", [p for p in PYTHON if place(p).startswith("scanner/")], ids=place)
def test_scanner_imports_nothing_of_ours_outside_itself(path: Path) -> None:
    assert roots(path) & {"scanner", "catalogue", "app", "fonts_licenses", "bench", "tests"} <= {"scanner"}


def test_every_folder_of_the_catalogue_is_a_room_with_a_place_in_the_order() -> None:
    folders = {p.parent.name for p in (ROOT / "catalogue").glob("*/__init__.py")}
    assert folders == {*ROOMS, *RIM}


def test_the_catalogues_floor_holds_leaves_and_the_public_interface_only() -> None:
    stems = {p.stem for p in (ROOT / "catalogue").glob("*.py")} - {"__init__", "api"}
    assert stems <= LEAVES


@pytest.mark.parametrize("path", [p for p in PYTHON if place(p).startswith("catalogue/")], ids=place)
def test_rooms_import_only_rooms_before_them(path: Path) -> None:
    parts = path.relative_to(ROOT / "catalogue").parts
    wanted = {name.split(".")[1] for name in ours(path) if name.startswith("catalogue.")}
    if len(parts) == 1:
        allowed = set(LEAVES) if path.stem in LEAVES else {*LEAVES, *ROOMS, "api"}
    elif parts[0] in RIM:
        allowed = {*LEAVES, *ROOMS, parts[0], *(["page"] if parts == ("commands", "page.py") else [])}
    else:
        allowed = {*LEAVES, *ROOMS[: ROOMS.index(parts[0]) + 1]}
    assert wanted <= allowed, f"{place(path)} imports {sorted(wanted - allowed)}, which come later"


def test_no_two_files_import_each_other_in_a_circle() -> None:
    arrows = {module_of(p): ours(p) for p in PYTHON}
    while free := [name for name, targets in arrows.items() if not targets & arrows.keys()]:
        for name in free:
            del arrows[name]
    assert not arrows, f"in a circle, or leading into one: {sorted(arrows)}"


@pytest.mark.parametrize(("library", "only"), FOREIGN.items())
def test_a_foreign_library_sits_behind_one_file(library: str, only: str) -> None:
    assert [place(p) for p in PYTHON if library in roots(p)] == [only]


@pytest.mark.parametrize("path", [p for p in PYTHON if place(p).startswith("scanner/measures/")], ids=place)
def test_measures_know_neither_disk_nor_millimetres(path: Path) -> None:
    disk = {"os", "pathlib", "io", "shutil", "tempfile", "sqlite3", "glob", "importlib"}
    assert roots(path) & disk == set()
    assert not {name for name in imports(path) if name.startswith("scanner.units")}
    tree = ast.parse(path.read_text(encoding="utf-8"))
    called = {n.func.id for n in ast.walk(tree) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}
    assert "open" not in called
