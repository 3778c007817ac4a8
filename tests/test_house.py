"""The size of the house: limits on modules, functions, parameters and documents, read from the source.

Limits are our own (common practice, no source): a module that fits a few screens, a function that fits one.
"""

from __future__ import annotations

import ast
import importlib
import importlib.util
import re
from functools import cache
from pathlib import Path
from statistics import median

import pytest

import scanner

ROOT = Path(scanner.__file__).parent.parent

MOST_LINES, MEDIAN_LINES = 400, 120
"""Of a module."""

MOST_FUNCTION_LINES, MEDIAN_FUNCTION_LINES = 60, 8
MOST_PARAMETERS = 6
MOST_README_WORDS, MOST_DEVELOPERS_WORDS = 1000, 1300

PYTHON = sorted(p for folder in ("scanner", "catalogue") for p in (ROOT / folder).rglob("*.py"))
Function = ast.FunctionDef | ast.AsyncFunctionDef


def place(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@cache
def functions(path: Path) -> tuple[Function, ...]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return tuple(n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef))


def length(function: Function) -> int:
    return (function.end_lineno or 0) - function.lineno + 1


def parameters(function: Function) -> int:
    """How many values a caller has to know; ``self`` and ``cls`` are none."""
    names = [a.arg for a in [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]]
    return len(names) - (names[:1] in (["self"], ["cls"]))


@pytest.mark.parametrize("path", PYTHON, ids=place)
def test_a_module_fits_a_few_screens(path: Path) -> None:
    assert path.read_text(encoding="utf-8").count("\n") <= MOST_LINES


def test_most_modules_fit_two_screens() -> None:
    lines = [p.read_text(encoding="utf-8").count("\n") for p in PYTHON]
    assert median(n for n in lines if n > 3) <= MEDIAN_LINES


@pytest.mark.parametrize("path", PYTHON, ids=place)
def test_a_function_fits_one_screen_and_takes_few_values(path: Path) -> None:
    long = {f.name: length(f) for f in functions(path) if length(f) > MOST_FUNCTION_LINES}
    wide = {f.name: parameters(f) for f in functions(path) if parameters(f) > MOST_PARAMETERS}
    assert not long and not wide


def test_most_functions_are_short() -> None:
    assert median(length(f) for p in PYTHON for f in functions(p)) <= MEDIAN_FUNCTION_LINES


@pytest.mark.parametrize("path", PYTHON, ids=place)
def test_no_line_is_excused_from_its_length(path: Path) -> None:
    assert not re.search(r"#\s*noqa:[^\n]*E501", path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(("name", "most"), [("README.md", MOST_README_WORDS), ("DEVELOPERS.md", MOST_DEVELOPERS_WORDS)])
def test_a_document_is_read_to_its_end(name: str, most: int) -> None:
    assert len((ROOT / name).read_text(encoding="utf-8").split()) <= most


@pytest.mark.parametrize("path", sorted((ROOT / "catalogue").glob("*/__init__.py")), ids=place)
def test_a_room_says_what_it_is_for(path: Path) -> None:
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    assert len(text.split()) >= 40, (
        "what the room is for, what goes in and comes out, what it may import, its decisions"
    )


@pytest.mark.parametrize("path", sorted((ROOT / "bench").rglob("*.py")), ids=lambda path: path.stem)
def test_what_a_bench_script_takes_from_the_packages_is_there(path: Path) -> None:
    """Bench scripts are run seldom, so a name that has moved would be noticed late."""
    tree = ast.parse(path.read_text("utf-8"))
    tried = {inner for node in ast.walk(tree) if isinstance(node, ast.Try) for inner in ast.walk(node)}  # has a way out
    for node in [node for node in ast.walk(tree) if node not in tried]:
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in ("scanner", "catalogue"):
            module = importlib.import_module(node.module or "")
            gone = [a.name for a in node.names if not hasattr(module, a.name) and not _is_module(node.module, a.name)]
            assert not gone, f"{node.module} has no {gone[0]}"


def _is_module(package: str | None, name: str) -> bool:
    return importlib.util.find_spec(f"{package}.{name}") is not None
