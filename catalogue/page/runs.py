"""Work in a process of its own: a scan or a batch of orders, with its progress. One scan at a time a catalogue.

Streamlit's process must not scan: workers are started by spawning, which imports ``__main__`` again. A run leads a
session of its own, so that it ends with all its workers.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalogue.errors import LetterholdError

WORK = "catalogue.page.work"
"""The module that scans and makes orders; see there for what it writes."""

GRACE_S = 1.0
"""Time a run has to end before it is killed with its workers."""


class RunError(LetterholdError):
    """A run that cannot be started; the message ends with what to do."""


@dataclass(eq=False)
class Run:
    """Work under way; fields are read by the page while a thread fills them."""

    label: str
    process: subprocess.Popen[str]
    done: int = 0
    total: int = 0
    status: int | None = None
    result: Any = None
    trouble: str = ""
    """One line on what a person has to mend."""
    fault: str = ""
    """The traceback of a fault of the program."""
    stopped: bool = False

    @property
    def running(self) -> bool:
        """Whether it is still at work."""
        return self.status is None

    def stop(self) -> None:
        """End it and every process it started, in ``GRACE_S`` at most; what was done is kept."""
        self.stopped = True
        _end([self])


def start(label: str, module: str, arguments: Sequence[str]) -> Run:
    """Run a module of ours that says what it does in JSON, a line each."""
    process = subprocess.Popen(
        [sys.executable, "-m", module, *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, text=True, encoding="utf-8", errors="replace", start_new_session=True,
        env=os.environ | {"PYTHONUNBUFFERED": "1", "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    run = Run(label, process)
    with _starting:
        _running.add(run)
    threading.Thread(target=_follow, args=(run,), daemon=True).start()
    return run


def _follow(run: Run) -> None:
    with run.process as process:  # closes the pipe at the end
        assert process.stdout is not None, "asked for above"
        for line in process.stdout:
            with suppress(json.JSONDecodeError):
                said = json.loads(line)
                if isinstance(said, dict):
                    _heard(run, said)
    run.status = run.process.returncode
    with _starting:
        _running.discard(run)


def _heard(run: Run, said: dict[str, Any]) -> None:
    run.done, run.total = said.get("done", run.done), said.get("total", run.total)
    run.result = said.get("result", run.result)
    run.trouble, run.fault = said.get("trouble", run.trouble), said.get("fault", run.fault)


_running: set[Run] = set()
_scans: dict[Path, Run] = {}
_starting = threading.RLock()


def stop_all() -> None:
    """End every run and its workers, in ``GRACE_S`` at most."""
    with _starting:
        waiting = list(_running)
    _end(waiting)


def _end(waiting: Sequence[Run]) -> None:
    for run in waiting:
        with suppress(OSError):
            run.process.terminate()
    until = time.monotonic() + GRACE_S
    for run in waiting:
        with suppress(subprocess.TimeoutExpired):
            run.process.wait(max(0.0, until - time.monotonic()))
        with suppress(OSError):  # what is left of its session
            os.killpg(run.process.pid, signal.SIGKILL)


def scan(catalogue: Path, places: Sequence[Path | str], label: str) -> Run:
    """Scan paths and addresses into a catalogue. Raises RunError when a scan of it is under way."""
    with _starting:
        run = _scans.get(catalogue)
        if run is not None and run.running:
            raise RunError("a scan is under way in this catalogue; wait for it or stop it first")
        run = start(label, WORK, ["scan", str(catalogue), *map(str, places)])
        _scans[catalogue] = run
        return run


def last_scan(catalogue: Path) -> Run | None:
    """The scan under way or the last one of this server."""
    return _scans.get(catalogue)
