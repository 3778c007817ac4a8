"""Faults put into a module one at a time, and whether its tests notice: those they miss are listed.

A copy of the checkout in a temporary folder comes first on PYTHONPATH; nothing is written into the checkout. A change
that no test notices is a hole in the tests or no fault at all (a tolerance of 1e-9 made 1.5e-9): somebody reads it.

    python bench/mutants.py --most 40 --seed 1
    python bench/mutants.py catalogue/judge/hold.py
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

TESTS = {
    "catalogue/judge/hold.py": ("tests/test_hold.py",),
    "catalogue/judge/spacing.py": ("tests/test_spacing.py",),
    "catalogue/licence/judge.py": ("tests/test_verdict.py",),
    "catalogue/licence/assess.py": ("tests/test_verdict.py",),
}
"""The tests that concern each module; the examples in its own docstrings are run as well."""

LIMIT = 10.0
"""Times what the tests take without a fault: a run that takes longer hangs, and that is noticed."""

LEAST_LIMIT_S = 30.0

NO_TESTS = 5
"""What pytest returns where it found no test."""

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
"""A comparison with its limit on the other side, and its opposite."""

EXCHANGED: dict[type[ast.AST], type[ast.AST]] = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.And: ast.Or, ast.Or: ast.And}

EMPTY = {"list": "[]", "tuple": "()", "dict": "{}", "str": "''", "frozenset": "frozenset()", "set": "set()"}
"""What a function gives back instead, by its annotated type; None for all others."""

UNCHANGED = {"annotation", "returns", "decorator_list"}
"""Parts of a module that do nothing when it runs, or only say how a record is kept."""


@dataclass(frozen=True, slots=True)
class Mutant:
    """A module with one fault."""

    file: str
    line: int
    change: str
    text: str
    """Source of the whole module."""


def mutants(file: str, source: str) -> Iterator[Mutant]:
    """Every mutant of a module, in the order of its tree."""
    tree = ast.parse(source)
    for parent, field, at, returns in _places(tree, "None"):
        held = getattr(parent, field)
        node = held if at is None else held[at]
        for other in _changes(node, returns):
            _put(parent, field, at, other)
            yield Mutant(file, node.lineno, _change(node, other), ast.unparse(tree))
            _put(parent, field, at, node)


def _places(node: ast.AST, returns: str) -> Iterator[tuple[ast.AST, str, int | None, str]]:
    """Each node below this one by its parent, field and place in it, and what its function may give back as nothing."""
    if isinstance(node, ast.FunctionDef):
        kind = node.returns.value if isinstance(node.returns, ast.Subscript) else node.returns
        returns = EMPTY.get(kind.id, "None") if isinstance(kind, ast.Name) else "None"
    for field, value in ast.iter_fields(node):
        if field in UNCHANGED:
            continue
        children = list(enumerate(value)) if isinstance(value, list) else [(None, value)]
        for at, child in children:
            if isinstance(child, ast.AST):
                yield node, field, at, returns
                yield from _places(child, returns)


def _put(parent: ast.AST, field: str, at: int | None, node: ast.AST) -> None:
    if at is None:
        setattr(parent, field, node)
    else:
        getattr(parent, field)[at] = node


def _changes(node: ast.AST, returns: str) -> list[ast.AST]:
    """The node with each fault that may stand in its place."""
    match node:
        case ast.Compare(left, ops, comparators):
            return [
                ast.Compare(left, [*ops[:k], other(), *ops[k + 1 :]], comparators)
                for k, op in enumerate(ops)
                for other in COMPARED[type(op)]
            ]
        case ast.BinOp(left, ast.Add() | ast.Sub() as op, right):
            return [ast.BinOp(left, EXCHANGED[type(op)](), right)]  # type: ignore[arg-type]
        case ast.AugAssign(target, ast.Add() | ast.Sub() as op, value):
            return [ast.AugAssign(target, EXCHANGED[type(op)](), value)]  # type: ignore[arg-type]
        case ast.BoolOp(op, values):
            return [ast.BoolOp(EXCHANGED[type(op)](), values)]  # type: ignore[arg-type]
        case ast.UnaryOp(ast.Not(), operand):
            return [operand]
        case ast.Return(ast.expr() as value) if ast.unparse(value) != returns:
            return [ast.Return(ast.parse(returns, mode="eval").body)]
        case ast.Constant(bool() as value):
            return [ast.Constant(not value)]
        case ast.Constant(int() as value):
            return [ast.Constant(value + 1)]
        case ast.Constant(float() as value):
            return [ast.Constant(value * 1.5 or 1.0)]
    return []


def _change(node: ast.AST, other: ast.AST) -> str:
    """What was and what is, each in one short line around the place where they part."""
    was, now = (" ".join(ast.unparse(n).split()) for n in (node, other))
    parted = next((k for k, (a, b) in enumerate(zip(was, now)) if a != b), 0)
    start = max(0, parted - 30)
    short = [f"{'...' if start else ''}{t[start : start + 60]}" for t in (was, now)]
    return "  ->  ".join(short)


class Copy:
    """A copy of the checkout that tests run in, with one module changed at a time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "checkout"
        left_out = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build", "dist", "bench")
        shutil.copytree(ROOT, self.folder, ignore=left_out)

    def run(self, file: str, limit_s: float | None, *options: str) -> int | None:
        """What the tests of a module return; None where they go beyond the limit."""
        command = [sys.executable, *options, "-m", "pytest", *TESTS[file], file, "-x", "-n0", "-p", "no:cacheprovider"]
        # CI: hypothesis tries the same cases every time.
        running = subprocess.Popen(
            command, cwd=self.folder, env=os.environ | {"PYTHONPATH": str(self.folder), "CI": "true"},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        try:
            return running.wait(limit_s)
        except subprocess.TimeoutExpired:
            return None
        finally:
            if running.poll() is None:
                os.killpg(running.pid, signal.SIGKILL)
                running.wait()

    def limit_s(self, file: str) -> float:
        """The limit of a run, from one without a fault, which must pass."""
        start = time.monotonic()
        code = self.run(file, None)
        if code:
            what = "find nothing" if code == NO_TESTS else "fail"
            raise SystemExit(f"{file}: its tests {what} without a fault; run pytest {' '.join(TESTS[file])} first")
        return max(LEAST_LIMIT_S, LIMIT * (time.monotonic() - start))

    def survives(self, mutant: Mutant, limit_s: float) -> bool:
        """Whether the tests pass all the same."""
        path = self.folder / mutant.file
        kept = path.read_bytes()
        # Python goes by the time and size of a source: what it compiled of the last one may look like this one's.
        for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*"):
            compiled.unlink()
        path.write_text(mutant.text, encoding="utf-8")
        try:
            return self.run(mutant.file, limit_s, "-B") == 0
        finally:
            path.write_bytes(kept)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("files", nargs="*", default=list(TESTS), help=f"of {', '.join(TESTS)} (default: all)")
    parser.add_argument("--most", type=int, metavar="N", help="a sample of N mutants (default: all)")
    parser.add_argument("--seed", type=int, default=0, help="of the sample (default: 0)")
    options = parser.parse_args()
    if unknown := [f for f in options.files if f not in TESTS]:
        parser.error(f"no tests are named for {unknown[0]}; add them to TESTS")
    found = [m for file in options.files for m in mutants(file, (ROOT / file).read_text(encoding="utf-8"))]
    if options.most is not None and options.most < len(found):
        chosen = sorted(random.Random(options.seed).sample(range(len(found)), options.most))
        found = [found[k] for k in chosen]
    survived = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Copy(Path(folder))
        limits = {file: copy.limit_s(file) for file in dict.fromkeys(m.file for m in found)}
        for mutant in found:
            if copy.survives(mutant, limits[mutant.file]):
                survived += 1
                print(f"{mutant.file}:{mutant.line}: {mutant.change}", flush=True)
    print(f"{len(found)} mutants, {len(found) - survived} killed, {survived} survived")


if __name__ == "__main__":
    main()
