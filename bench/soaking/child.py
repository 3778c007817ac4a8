"""One command line of the product, as a person runs it, in a child that may do what it likes.

Two ways: a forked child calls ``main(argv)`` of the product that is imported already (10 ms instead of 300), or a true
process is started. Either has its own session, so that what it leaves behind is seen and ended, and empty input.
"""

from __future__ import annotations

import contextlib
import os
import shlex
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

_CODE = (
    "import sys\ntry:\n from catalogue.commands.main import main\n"
    "except ImportError:\n from catalogue.cli import main\nsys.exit(main())"
)
MOST_JUDGED = 60  # fonts judged to warm up
_STARTS_PROCESSES = {"scan", "orders", "demo", "page", "merge"}
ROOT = Path(__file__).resolve().parent.parent.parent


@dataclass(frozen=True)
class Outcome:
    """What one command did."""

    argv: list[str]
    status: int | None
    """Exit status, negative for the signal that ended it; None when it was ended because it did not end itself."""
    out: bytes
    err: bytes
    seconds: float
    left: list[str] = field(default_factory=list)
    """Command lines of processes that outlived it."""

    @property
    def stdout(self) -> str:
        return self.out.decode("utf-8", "replace")

    @property
    def stderr(self) -> str:
        return self.err.decode("utf-8", "replace")

    @property
    def shown(self) -> str:
        """The command as it is typed in a shell."""
        return "letterhold " + shlex.join(self.argv)


def environment(home: Path) -> dict[str, str]:
    """The person's environment with folders of its own, so that the soak touches nothing outside."""
    kept = {key: text for key, text in os.environ.items() if not key.startswith(("XDG_", "LETTERHOLD_"))}
    folders = {f"XDG_{kind}_HOME": str(home / kind.lower()) for kind in ("DATA", "STATE", "CONFIG", "CACHE")}
    threads = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    return kept | folders | threads | {"HOME": str(home), "PYTHONPATH": str(ROOT), "TMPDIR": tempfile.gettempdir()}


def warm(catalogue: Path, folder: Path, home: Path) -> None:
    """Imports here what the product's commands import, found out in a child, and reads the tables of licences.

    A child then starts with both, as a user's second command in a page would; a true process starts with neither.
    """
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        try:
            os.environ.update(environment(home))
            main = _main()
            null = os.open(os.devnull, os.O_RDWR)
            os.dup2(null, 1)
            os.dup2(null, 2)
            at = ["--catalogue", str(catalogue)]
            for argv in (["rank", "Bo", "--top", "1"], ["groups"], ["tag", "Bo", "--face", "1", "--out", str(folder)]):
                with contextlib.suppress(BaseException):
                    main([*argv, *at])
            os.write(write, "\n".join(m for m in sys.modules if not m.startswith("__")).encode())
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        modules = pipe.read().decode().split()
    os.waitpid(pid, 0)
    for module in modules:
        with contextlib.suppress(Exception):
            __import__(module)
    _read_licences(catalogue)


def _read_licences(catalogue: Path) -> None:
    """Judges the first fonts here, so that what reading a licence loads and compiles is there for every child."""
    with (
        contextlib.suppress(Exception),
        contextlib.closing(sqlite3.connect(f"file:{catalogue}?mode=ro", uri=True)) as db,
    ):
        from catalogue.licence.verdict import judge_font

        for (path,) in db.execute(f"SELECT path FROM file WHERE reason = '' ORDER BY path LIMIT {MOST_JUDGED}"):
            with contextlib.suppress(Exception):
                judge_font(Path(path), 0)


def forked(argv: list[str], home: Path, limit_s: float = 300) -> Outcome:
    """The command in a forked child."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        start = time.monotonic()
        pid = os.fork()
        if pid == 0:
            _in_child(argv, home, out.fileno(), err.fileno())
        status = _waited(pid, limit_s)
        seconds = time.monotonic() - start
        left = _left(pid, argv[0] in _STARTS_PROCESSES)
        out.seek(0)
        err.seek(0)
        return Outcome(argv, status, out.read(), err.read(), seconds, left)


def started(argv: list[str], home: Path, limit_s: float = 300, **extra: str) -> Outcome:
    """The command as a true process; ``extra`` are further variables of its environment."""
    start = time.monotonic()
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        made = subprocess.Popen(
            [sys.executable, "-c", _CODE, *argv], stdin=subprocess.DEVNULL, stdout=out, stderr=err, cwd=home,
            env=environment(home) | extra, start_new_session=True,
        )  # fmt: skip
        try:
            status: int | None = made.wait(limit_s)
        except subprocess.TimeoutExpired:
            os.killpg(made.pid, signal.SIGKILL)
            made.wait()
            status = None
        seconds = time.monotonic() - start
        left = _left(made.pid, argv[0] in _STARTS_PROCESSES)
        out.seek(0)
        err.seek(0)
        return Outcome(argv, status, out.read(), err.read(), seconds, left)


def _main() -> Callable[[list[str]], int | None]:
    try:
        from catalogue.commands.main import main
    except ImportError:
        from catalogue.cli import main
    return main


def _in_child(argv: list[str], home: Path, out: int, err: int) -> None:
    """Never returns. Ends as the interpreter would: a traceback and 1 for what nobody caught."""
    status = 1
    try:
        os.setsid()
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(out, 1)
        os.dup2(err, 2)
        sys.stdout = os.fdopen(os.dup(1), "w", encoding="utf-8")
        sys.stderr = os.fdopen(os.dup(2), "w", encoding="utf-8", errors="backslashreplace", buffering=1)
        os.environ.clear()
        os.environ.update(environment(home))
        os.chdir(home)
        sys.argv = ["letterhold", *argv]
        main = _main()
        try:
            status = main(argv) or 0
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else int(end.code is not None)
            if isinstance(end.code, str):
                print(end.code, file=sys.stderr)
        except BaseException:
            traceback.print_exc()
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(Exception):
                stream.flush()
    finally:
        os._exit(status & 255)


def _waited(pid: int, limit_s: float) -> int | None:
    """Exit status of the child; None when it had to be ended."""
    end = time.monotonic() + limit_s
    pause = 0.002
    while True:
        done, status = os.waitpid(pid, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        if time.monotonic() > end:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            return None
        time.sleep(pause)
        pause = min(0.05, pause * 1.3)


def _left(session: int, thorough: bool) -> list[str]:
    """What of that session is still alive a moment later; it is ended."""
    if not thorough and not _group_alive(session):
        return []
    found: list[str] = []
    for patience in (0, 0.3, 1.0):
        time.sleep(patience)
        alive = _alive(session)
        if not alive:
            return []
        found = list(alive.values())
    for pid in alive:
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
    return found


def _group_alive(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


def _alive(session: int) -> dict[int, str]:
    found: dict[int, str] = {}
    for entry in Path("/proc").iterdir():
        if not entry.name.isdigit():
            continue
        with contextlib.suppress(OSError, ValueError):
            state, _parent, _group, its_session = (entry / "stat").read_text().rpartition(")")[2].split()[:4]
            if int(its_session) == session and state != "Z":
                found[int(entry.name)] = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode()[:80]
    return found
