"""Runs a bench script and keeps what it printed in ``bench/FIGURES.md``, stamped with machine, date and commit.

    python bench/figures.py rank_speed 4000
    python bench/figures.py --list

Nothing in that file is typed by hand: a section holds the last lines of the script's last run, and a run replaces the
section of its script. Ratios and counts travel between machines; seconds belong to the machine of the stamp.
"""

from __future__ import annotations

import datetime
import os
import platform
import re
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
TARGET = HERE / "FIGURES.md"
HEAD = "# Figures\n\nWritten by `python bench/figures.py SCRIPT`: each section is what its script printed last.\n"
MOST_LINES = 60
"""Of a script's output, the last ones."""


def stamp() -> str:
    """Where and when a run was made."""
    commit = subprocess.run(
        ["git", "describe", "--always", "--dirty"], cwd=HERE, capture_output=True, text=True, check=False
    ).stdout.strip()
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    today = datetime.datetime.now(datetime.UTC).date().isoformat()
    python = platform.python_version()
    return (
        f"{today}, commit {commit or 'unknown'}, {platform.system()} {platform.machine()}, "
        f"{os.cpu_count()} cores, load {load:.1f} before the run, Python {python}"
    )


def sections(text: str) -> dict[str, str]:
    """Sections of the file by their script.

    >>> sections("# Figures\\n\\n## b\\nx\\n\\n## a\\ny\\n")
    {'b': 'x', 'a': 'y'}
    """
    parts = re.split(r"(?m)^## (.+)\n", text)[1:]
    return {name: body.strip() for name, body in zip(parts[::2], parts[1::2], strict=True)}


def main(arguments: list[str]) -> int:
    scripts = sorted(p.stem for p in HERE.glob("*.py") if p.stem not in ("figures", "installed"))
    if not arguments or arguments[0] == "--list":
        print("\n".join(scripts))
        return 0
    script, *more = arguments
    if script not in scripts:
        print(f"{script}: no such bench; use one of {', '.join(scripts)}", file=sys.stderr)
        return 2
    when = stamp()
    run = subprocess.Popen([sys.executable, str(HERE / f"{script}.py"), *more], stdout=subprocess.PIPE, text=True)
    lines: list[str] = []
    assert run.stdout is not None
    for line in run.stdout:
        print(line, end="", flush=True)
        lines.append(line.rstrip())
    if run.wait() != 0:
        print(f"{script} ended with status {run.returncode}; {TARGET.name} is left as it was", file=sys.stderr)
        return run.returncode
    kept = sections(TARGET.read_text(encoding="utf-8")) if TARGET.exists() else {}
    command = " ".join(["python", f"bench/{script}.py", *more])
    kept[script] = "\n".join([f"`{command}`: {when}", "", "```text", *lines[-MOST_LINES:], "```"])
    body = "".join(f"\n## {name}\n\n{text}\n" for name, text in sorted(kept.items()))
    TARGET.write_text(HEAD + body, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
