"""A process that loads the measuring libraries once and forks workers from itself, in milliseconds.

It runs nothing of the program that asks for workers: a page or a notebook that scans is not started again in each
worker, as the standard library's pools would do. POSIX only. It holds no font data; when its asker goes away, by
whatever end, it ends too and its workers with it.

Protocol over a socket pair, one request and one answer at a time: a job description first (pickled), then ``b"fork"``
with the worker's socket attached, answered by the worker's process id, or ``b"reap" + id``, answered by how it ended.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import pickle
import resource
import signal
import socket
import struct
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_LENGTH = struct.Struct(">Q")
_NUMBER = struct.Struct(">q")
_PR_SET_PDEATHSIG = 1
ANSWER_SECONDS = 60.0


@dataclass(frozen=True, slots=True)
class Limits:
    """What one step of a worker may take."""

    cpu_seconds: float = 5.0
    """Computing for one face at one instance; the largest of the demo fonts takes about a fifth."""
    wall_seconds: float = 120.0
    """Waiting included: a stopped process or a disk that does not answer."""
    memory_bytes: int = 1 << 30
    """Address space of the worker."""


class ForkServerError(OSError):
    """The nursery has ended or does not answer."""


class Nursery:
    """The asker's side. ``serve(socket, *arguments)`` is called in each worker; both must be importable by name."""

    def __init__(self, serve: Callable[..., None], arguments: tuple[Any, ...], limits: Limits) -> None:
        self._link, theirs = socket.socketpair()
        environment = os.environ | {
            "PYTHONPATH": os.pathsep.join(p for p in sys.path if p),
            "PYTHONWARNINGS": "ignore",
            "OMP_NUM_THREADS": "1",
            "OPENBLAS_NUM_THREADS": "1",
        }
        command = f"from scanner.workers.fork_server import main; main({theirs.fileno()})"
        try:
            # -P: nothing is imported from the current folder. A session of its own: Ctrl-C is the asker's to handle.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", command], env=environment, pass_fds=[theirs.fileno()],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
            )  # fmt: skip
        finally:
            theirs.close()
        self.pid = self._process.pid
        self._link.settimeout(ANSWER_SECONDS)
        load = pickle.dumps((serve, arguments, limits))
        try:
            self._link.sendall(_LENGTH.pack(len(load)) + load)
            self._answer()
        except ForkServerError:
            raise
        except OSError as cause:
            raise ForkServerError("the nursery does not start") from cause

    def fork(self) -> tuple[socket.socket, int]:
        """A new worker: the socket to it, which does not block, and its process id. Raises ForkServerError."""
        mine, its = socket.socketpair()
        try:
            socket.send_fds(self._link, [b"fork"], [its.fileno()])
            pid = self._answer()
        except OSError as cause:
            mine.close()
            raise ForkServerError("the nursery has ended") from cause
        finally:
            its.close()
        mine.setblocking(False)
        return mine, pid

    def reap(self, pid: int) -> int:
        """End a worker that has not ended yet; returns its exit status, or less 0 the signal that ended it."""
        if self._process.poll() is not None:  # the nursery went first, its workers with it; the number may be another's
            return -signal.SIGKILL
        try:
            os.kill(pid, signal.SIGKILL)
            self._link.sendall(b"reap" + _NUMBER.pack(pid))
            return self._answer()
        except OSError:
            return -signal.SIGKILL

    def close(self) -> None:
        """End the nursery and with it every worker."""
        self._link.close()
        self._process.kill()
        self._process.wait()

    def _answer(self) -> int:
        try:
            raw = self._link.recv(_NUMBER.size, socket.MSG_WAITALL)
        except OSError as cause:
            raise ForkServerError("the nursery does not answer") from cause
        if len(raw) < _NUMBER.size:
            raise ForkServerError("the nursery has ended")
        return int(_NUMBER.unpack(raw)[0])


def main(descriptor: int) -> None:
    """The nursery's side: fork and reap until the asker is gone."""
    link = socket.socket(fileno=descriptor)
    link.set_inheritable(False)
    (size,) = _LENGTH.unpack(link.recv(_LENGTH.size, socket.MSG_WAITALL))
    serve, arguments, limits = pickle.loads(link.recv(size, socket.MSG_WAITALL))
    libc = ctypes.CDLL(None)
    _load()
    link.sendall(_NUMBER.pack(0))
    while True:
        request, descriptors, _, _ = socket.recv_fds(link, 4, 1)
        if request == b"fork":
            pid = os.fork()
            if pid == 0:
                link.close()
                _serve_alone(serve, socket.socket(fileno=descriptors[0]), arguments, limits, libc)
            os.close(descriptors[0])
            link.sendall(_NUMBER.pack(pid))
        elif request == b"reap":
            pid = _NUMBER.unpack(link.recv(_NUMBER.size, socket.MSG_WAITALL))[0]
            link.sendall(_NUMBER.pack(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])))
        else:
            os._exit(0)  # the asker is gone


def _load() -> None:
    """Import what a worker will need, so that the fork has it."""
    import cv2

    import scanner.face  # noqa: F401

    cv2.setNumThreads(1)


def _serve_alone(
    serve: Callable[..., None], link: socket.socket, arguments: tuple[Any, ...], limits: Limits, libc: Any
) -> None:
    status = 1
    try:
        nursery = os.getppid()
        if sys.platform == "linux":
            libc.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
            if os.getppid() != nursery:
                os._exit(1)
        with contextlib.suppress(ValueError, OSError):  # macOS knows this limit but may refuse it
            resource.setrlimit(resource.RLIMIT_AS, (limits.memory_bytes, limits.memory_bytes))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))  # a worker writes no file
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        serve(link, *arguments)
        status = 0
    finally:
        os._exit(status)
