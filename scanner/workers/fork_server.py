"""The engine of POSIX systems: a process that loads the measuring libraries once and forks workers from itself.

It runs nothing of the program that asks for workers: a page or a notebook that scans is not started again in each
worker, as the standard library's pools would do. It holds no font data; when the supervisor goes away, by whatever end,
it ends too and its workers with it (PR_SET_PDEATHSIG on Linux, a closed socket elsewhere).

Protocol over a socket pair, one request and one answer at a time: settings and limits first (pickled), then ``b"fork"``
with the worker's socket attached, answered by the worker's process id, or ``b"reap" + id``, answered by how it ended.

The limit on computing is kept by the kernel (``ITIMER_PROF``, whose signal ends the process wherever it is), that on
memory too: no Python of ours has to run for them.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import resource
import selectors
import signal
import socket
import struct
import subprocess
import sys
from collections.abc import Collection, Sequence
from typing import Any

from scanner.reasons import Reason
from scanner.workers.engine import Worker
from scanner.workers.limits import Limits
from scanner.workers.start import load_libraries, worker_environment
from scanner.workers.steps import Settings, Task, work_off
from scanner.workers.wire import Inbox, packed, received

_NUMBER = struct.Struct(">q")
_PR_SET_PDEATHSIG = 1
ANSWER_SECONDS = 60.0

_OUTSIDE = frozenset({-signal.SIGKILL, -signal.SIGTERM, -signal.SIGHUP, -signal.SIGINT, -signal.SIGQUIT})
"""Ends that no font causes."""


class ForkServerError(OSError):
    """The fork server has ended or does not answer."""


# ── in the supervisor ───────────────────────────────────────────────────────────────────────────────────────────────


class ForkEngine:
    """The supervisor's side of the fork server."""

    def __init__(self, settings: Settings, limits: Limits) -> None:
        self._link, theirs = socket.socketpair()
        command = f"from scanner.workers.fork_server import main; main({theirs.fileno()})"
        try:
            # -P: nothing is imported from the current folder. A session of its own: Ctrl-C is the caller's to handle.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", command], env=worker_environment(), pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
            )  # fmt: skip
        finally:
            theirs.close()
        self.pid = self._process.pid
        self._link.settimeout(ANSWER_SECONDS)
        try:
            self._link.sendall(packed((settings, limits)))
            self._answer()
        except OSError as cause:
            self.close()
            raise ForkServerError("the fork server does not start") from cause

    def start(self) -> Worker:
        """A new worker. Raises ForkServerError."""
        mine, its = socket.socketpair()
        try:
            socket.send_fds(self._link, [b"fork"], [its.fileno()])
            pid = self._answer()
        except OSError as cause:
            mine.close()
            raise ForkServerError("the fork server has ended") from cause
        finally:
            its.close()
        return _ForkedWorker(self, mine, pid)

    def wait(self, workers: Collection[Worker], seconds: float) -> Sequence[Worker]:
        """As ``engine.Engine`` says."""
        with selectors.PollSelector() as selector:
            for worker in workers:
                selector.register(worker, selectors.EVENT_READ)  # type: ignore[arg-type]  # ours have a fileno
            return [key.fileobj for key, _ in selector.select(seconds)]  # type: ignore[misc]

    def reap(self, worker: _ForkedWorker) -> int:
        """End a worker that has not ended yet; returns its exit status, or less 0 the signal that ended it."""
        if self._process.poll() is not None:  # it went first, its workers with it; the number may be another's
            return -signal.SIGKILL
        try:
            os.kill(worker.pid, signal.SIGKILL)
            self._link.sendall(b"reap" + _NUMBER.pack(worker.pid))
            return self._answer()
        except OSError:
            return -signal.SIGKILL

    def close(self) -> None:
        """End the fork server and with it every worker; their sockets stay, to be read to their end."""
        self._link.close()
        self._process.kill()
        self._process.wait()

    def _answer(self) -> int:
        try:
            raw = self._link.recv(_NUMBER.size, socket.MSG_WAITALL)
        except OSError as cause:
            raise ForkServerError("the fork server does not answer") from cause
        if len(raw) < _NUMBER.size:
            raise ForkServerError("the fork server has ended")
        return int(_NUMBER.unpack(raw)[0])


class _ForkedWorker:
    """One forked process, and the socket to it."""

    loaded = True
    """By the server that it was forked from."""

    def __init__(self, engine: ForkEngine, link: socket.socket, pid: int) -> None:
        self._engine = engine
        self.link, self.pid = link, pid
        self._inbox = Inbox()

    def fileno(self) -> int:
        """Descriptor to wait on."""
        return self.link.fileno()

    def give(self, task: Task) -> None:
        with contextlib.suppress(OSError):
            self.link.sendall(packed(task))  # always fits: an idle worker has read all before it

    def messages(self) -> list[Any] | None:
        messages: list[Any] = []
        while True:
            try:
                piece = self.link.recv(1 << 20, socket.MSG_DONTWAIT)
            except BlockingIOError:
                return messages
            except OSError:
                piece = b""
            if not piece:
                return messages or None  # what came whole counts; the end is seen again at the next reading
            messages += self._inbox.add(piece)

    def end(self) -> Reason | None:
        self.link.close()
        status = self._engine.reap(self)
        if status in _OUTSIDE:
            return None
        return Reason.COMPUTING if status == -signal.SIGPROF else Reason.CRASH


# ── in the fork server ──────────────────────────────────────────────────────────────────────────────────────────────


def main(descriptor: int) -> None:
    """Fork and reap until the supervisor is gone."""
    link = socket.socket(fileno=descriptor)
    link.set_inheritable(False)
    first = received(lambda size: link.recv(size, socket.MSG_WAITALL))
    if first is None:
        os._exit(0)  # the supervisor is gone already
    settings, limits = first
    libc = ctypes.CDLL(None)
    load_libraries()
    link.sendall(_NUMBER.pack(0))
    while True:
        request, descriptors, _, _ = socket.recv_fds(link, 4, 1)
        if request == b"fork":
            pid = os.fork()
            if pid == 0:
                link.close()
                _serve_alone(socket.socket(fileno=descriptors[0]), settings, limits, libc)
            os.close(descriptors[0])
            link.sendall(_NUMBER.pack(pid))
        elif request == b"reap":
            pid = _NUMBER.unpack(link.recv(_NUMBER.size, socket.MSG_WAITALL))[0]
            link.sendall(_NUMBER.pack(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])))
        else:
            os._exit(0)  # the supervisor is gone


# ── in the worker ───────────────────────────────────────────────────────────────────────────────────────────────────


def _serve_alone(link: socket.socket, settings: Settings, limits: Limits, libc: Any) -> None:
    status = 1
    try:
        parent = os.getppid()
        if sys.platform == "linux":
            libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
            if os.getppid() != parent:
                os._exit(1)
        with contextlib.suppress(ValueError, OSError):  # macOS knows this limit but may refuse it
            resource.setrlimit(resource.RLIMIT_AS, (limits.memory_bytes, limits.memory_bytes))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))  # a worker writes no file
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        _serve(link, settings)
        status = 0
    finally:
        os._exit(status)


def _serve(link: socket.socket, settings: Settings) -> None:
    """Scan the files that come over the link, until it closes."""
    with link.makefile("rb") as source:
        while (task := received(source.read)) is not None:
            work_off(task, settings, lambda step: link.sendall(packed(step)), _start_clock)
            _start_clock(0)


def _start_clock(seconds: float) -> None:
    """From now on so much computing, in Python or below; then the kernel ends the process. 0 stops the clock."""
    signal.setitimer(signal.ITIMER_PROF, seconds)
