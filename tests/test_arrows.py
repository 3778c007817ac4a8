"""Who may import whom: the arrows of the design, read from the source text."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import scanner

SCANNER = Path(scanner.__file__).parent
OURS = {"scanner", "catalogue", "app", "fonts_licenses", "bench", "tests"}
MODULES = sorted(SCANNER.rglob("*.py"))


def imports(source: str) -> set[str]:
    """Full dotted names of all that a module imports, wherever it stands in the text."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative imports hide where an arrow points"
            found.add(node.module or "")
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return found


def roots(path: Path) -> set[str]:
    return {name.split(".")[0] for name in imports(path.read_text(encoding="utf-8"))}


def place(path: Path) -> str:
    return path.relative_to(SCANNER.parent).as_posix()


def test_the_reader_of_imports_sees_every_kind() -> None:
    text = "import os.path\nfrom a.b import c\ndef f():\n    import d as e\nif 1:\n    from g import h as i\n"
    assert imports(text) == {"os.path", "a.b", "a.b.c", "d", "g", "g.h"}


def test_there_is_something_to_check() -> None:
    assert {"scanner/shaping.py", "scanner/raster.py", "scanner/measures/joins.py"} <= set(map(place, MODULES))


@pytest.mark.parametrize("path", MODULES, ids=place)
def test_scanner_imports_nothing_of_ours_outside_itself(path: Path) -> None:
    assert roots(path) & OURS <= {"scanner"}


@pytest.mark.parametrize(
    ("library", "only"),
    [
        ("uharfbuzz", "scanner/shaping.py"), ("freetype", "scanner/raster.py"), ("fsspec", "scanner/workers/remote.py"),
        ("distributed", "scanner/workers/cluster.py"), ("pyarrow", "catalogue/gather/partitions.py"),
    ],
)  # fmt: skip
def test_a_foreign_library_sits_behind_one_file(library: str, only: str) -> None:
    everywhere = [p for folder in ("scanner", "catalogue") for p in (SCANNER.parent / folder).rglob("*.py")]
    assert [place(p) for p in everywhere if library in roots(p)] == [only]


@pytest.mark.parametrize("path", sorted((SCANNER / "measures").glob("*.py")), ids=place)
def test_measures_know_neither_disk_nor_millimetres(path: Path) -> None:
    disk = {"os", "pathlib", "io", "shutil", "tempfile", "sqlite3", "glob", "importlib"}
    assert roots(path) & disk == set()
    assert not {name for name in imports(path.read_text(encoding="utf-8")) if name.startswith("scanner.units")}
    called = {
        n.func.id
        for n in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)
    }
    assert "open" not in called
