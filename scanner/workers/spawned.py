"""The engine of every system: spawned workers over pipes, with the limits watched from outside by ``psutil``.

Slower to start (each worker loads the libraries, about a second) and a little less strict: a limit is noticed within
``WATCH_SECONDS``, not at the instant. Steps, reasons and records are those of the fork server. A thread a worker
collects what it sends, since not every system can wait for several pipes at once.

Written for Windows and tried by simulation on Linux, with the POSIX modules taken away; not yet run there.
"""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Collection, Sequence
from typing import Any, BinaryIO

import psutil

from scanner.reasons import Reason
from scanner.workers.engine import Worker
from scanner.workers.limits import Limits
from scanner.workers.start import load_libraries, worker_environment
from scanner.workers.steps import Begun, Settings, Task, work_off
from scanner.workers.wire import Inbox, packed, received

WATCH_SECONDS = 0.1
"""Time between two looks at what the workers take."""

_STOPPED_FROM_OUTSIDE = frozenset(
    -number for name in ("SIGKILL", "SIGTERM", "SIGHUP", "SIGINT", "SIGQUIT") if (number := getattr(signal, name, 0))
) | ({1, 0xC000013A} if sys.platform == "win32" else frozenset())
"""Ends that no font causes: signals, and on Windows what the task manager and Ctrl-C give."""

LOADED = "loaded"
"""First message of a worker: from here on its computing counts."""

_BROKEN = 70
"""Exit status of a worker whose own code fails, which is no end from outside."""


# ── in the supervisor ───────────────────────────────────────────────────────────────────────────────────────────────


class SpawnEngine:
    """Starts workers as programs of their own and watches what they take."""

    def __init__(self, settings: Settings, limits: Limits) -> None:
        self._settings, self._limits = settings, limits
        self._news: queue.SimpleQueue[_SpawnedWorker] = queue.SimpleQueue()
        self._workers: list[_SpawnedWorker] = []

    def start(self) -> Worker:
        """A new worker. Raises OSError."""
        worker = _SpawnedWorker(self._news, self._settings)
        self._workers.append(worker)
        return worker

    def wait(self, workers: Collection[Worker], seconds: float) -> Sequence[Worker]:
        """As ``engine.Engine`` says; the limits are looked at meanwhile."""
        end = time.monotonic() + seconds
        self._workers = [worker for worker in self._workers if not worker.ended]
        while True:
            ready = self._heard(min(WATCH_SECONDS, max(0.0, end - time.monotonic())))
            live = [worker for worker in ready if worker in workers]
            for worker in self._workers:
                worker.watch(self._limits)
            if live or time.monotonic() >= end:
                return live

    def _heard(self, seconds: float) -> list[_SpawnedWorker]:
        """Workers that have news, each once."""
        found: dict[_SpawnedWorker, None] = {}
        with contextlib.suppress(queue.Empty):
            found[self._news.get(timeout=seconds)] = None
            while True:
                found[self._news.get_nowait()] = None
        return list(found)

    def close(self) -> None:
        """End every worker; what they have sent can still be read."""
        for worker in self._workers:
            worker.kill()


class _SpawnedWorker:
    """One spawned process, its pipes and the thread that reads them."""

    def __init__(self, news: queue.SimpleQueue[_SpawnedWorker], settings: Settings) -> None:
        command = "from scanner.workers.spawned import main; main()"
        own_group: Any = {"start_new_session": True} if os.name == "posix" else {"creationflags": 0x0000_0200}
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", command], env=worker_environment(), bufsize=0, stdin=subprocess.PIPE,
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, **own_group,
        )  # fmt: skip
        self._news = news
        self._lock = threading.Lock()
        self._inbox = Inbox()
        self._messages: list[Any] = []
        self.loaded = False
        self._over = False
        self.ended = False
        self._fault: Reason | None = None
        self._cpu_limit = float("inf")
        self._cpu_start = 0.0
        self._facts: psutil.Process | None = None
        with contextlib.suppress(psutil.Error):
            self._facts = psutil.Process(self._process.pid)
        self._send(settings)
        threading.Thread(target=self._listen, daemon=True).start()

    def _send(self, message: object) -> None:
        assert self._process.stdin is not None
        with contextlib.suppress(OSError, ValueError):  # should it be dead, its closed pipe says so in a moment
            self._process.stdin.write(packed(message))

    def _listen(self) -> None:
        """Collect what it sends until its pipe closes. Runs in a thread."""
        assert self._process.stdout is not None
        while True:
            try:
                piece = self._process.stdout.read(1 << 16)
            except (OSError, ValueError):  # closed by ``end``
                piece = b""
            with self._lock:
                steps = self._inbox.add(piece) if piece else []
                first = LOADED in steps
                if any(step == LOADED or isinstance(step, Begun) for step in steps):
                    self._cpu_start = self._cpu()
                self.loaded = self.loaded or first
                steps = [step for step in steps if step != LOADED]
                self._messages += steps
                self._over = not piece
            if steps or first or not piece:
                self._news.put(self)
            if not piece:
                return

    def give(self, task: Task) -> None:
        self._cpu_limit, self._cpu_start = task.cpu_seconds, self._cpu()
        self._send(task)

    def messages(self) -> list[Any] | None:
        with self._lock:
            messages, self._messages = self._messages, []
            if self._over and messages:
                self._news.put(self)  # what came whole counts; the end is seen at the next reading
            return messages if messages or not self._over else None

    def watch(self, limits: Limits) -> None:
        """End it when it takes more than it may."""
        if self._facts is None or not self.loaded or self._over or self._fault is not None:
            return
        with contextlib.suppress(psutil.Error):
            memory = self._facts.memory_info()
            taken = memory.rss if sys.platform == "darwin" else memory.vms  # macOS maps more than it ever takes
            with self._lock:
                spent = self._cpu() - self._cpu_start
            if spent > self._cpu_limit or taken > limits.memory_bytes:
                self._fault = Reason.COMPUTING if spent > self._cpu_limit else Reason.MEMORY
                self._process.kill()

    def _cpu(self) -> float:
        """Seconds of computing so far; 0 where the process is gone."""
        if self._facts is not None:
            with contextlib.suppress(psutil.Error):
                times = self._facts.cpu_times()
                return float(times.user + times.system)
        return 0.0

    def kill(self) -> None:
        """End the process."""
        self._process.kill()

    def end(self) -> Reason | None:
        self.ended = True
        self.kill()
        status = self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()
        if self._fault is not None:
            return self._fault
        return None if status in _STOPPED_FROM_OUTSIDE else Reason.CRASH


# ── in the worker ───────────────────────────────────────────────────────────────────────────────────────────────────


def main() -> None:
    """Scan the files that come over standard input, until it closes; what is printed meanwhile goes nowhere."""
    out = os.fdopen(os.dup(1), "wb", buffering=0)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    status = _BROKEN
    try:
        load_libraries()
        settings = received(sys.stdin.buffer.read)  # which imports the judge
        if settings is not None:
            _write(out, packed(LOADED))
            _serve(sys.stdin.buffer, out, settings)
        status = 0
    finally:
        os._exit(status)


def _serve(source: BinaryIO, out: BinaryIO, settings: Settings) -> None:
    """The tasks are read by a thread of their own, so that the end of the supervisor ends a worker in mid-work too."""
    tasks: queue.SimpleQueue[Any] = queue.SimpleQueue()

    def collect() -> None:
        while (message := received(source.read)) is not None:
            tasks.put(message)
        os._exit(0)

    threading.Thread(target=collect, daemon=True).start()
    while True:
        work_off(tasks.get(), settings, lambda step: _write(out, packed(step)), lambda seconds: None)


def _write(out: BinaryIO, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[out.write(view) :]
