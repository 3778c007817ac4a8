"""Processes that do tasks for this one and never outlive it: each is ended with it, however it ends.

A worker is a fresh interpreter that knows only what it is sent. On Linux the system kills it when its parent dies;
elsewhere it ends when its task is done and its line to the parent is cut. An interrupt from the keyboard is for the
parent to handle. The standard library's pools would leave a process of their own behind; here there is none.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from socket import socketpair
from typing import Any, Generic, TypeVar

from catalogue.errors import LetterholdError

Task = TypeVar("Task")
Answer = TypeVar("Answer")

_PR_SET_PDEATHSIG, _SIGKILL = 1, 9
"""prctl(2): the signal a process gets when its parent dies."""


class WorkerError(LetterholdError):
    """A worker ended unasked."""


@dataclass(frozen=True, slots=True)
class Done(Generic[Answer]):
    """The answer to one task, by its place in the sequence."""

    number: int
    answer: Answer


def spread(work: Callable[[Task], Answer], tasks: Sequence[Task], count: int) -> Generator[Done[Answer]]:
    """``work`` on every task in ``count`` processes, in the order they get done.

    ``work``, tasks and answers must be able to be pickled. What ``work`` raises is raised here. Raises WorkerError when
    a process ends unasked. Closing the iterator, or any exception in it, ends the processes at once.
    """
    workers = [_Worker(work) for _ in range(min(count, len(tasks)))]
    try:
        waiting = list(enumerate(tasks))[::-1]
        busy: dict[Connection, tuple[_Worker, int]] = {}
        for worker in workers:
            _hand_out(worker, waiting, busy)
        while busy:
            for line in wait(list(busy)):
                assert isinstance(line, Connection)
                worker, number = busy.pop(line)
                yield Done(number, worker.answer())
                _hand_out(worker, waiting, busy)
    finally:
        for worker in workers:
            worker.end()


def _hand_out(worker: _Worker, waiting: list[tuple[int, Any]], busy: dict[Connection, tuple[_Worker, int]]) -> None:
    if waiting:
        number, task = waiting.pop()
        worker.ask(task)
        busy[worker.line] = worker, number


class _Worker:
    """The parent's side of one worker."""

    def __init__(self, work: Callable[[Any], Any]) -> None:
        mine, its = socketpair()
        environment = os.environ | {
            "PYTHONPATH": os.pathsep.join(p for p in sys.path if p),
            "OMP_NUM_THREADS": "1",
            "OPENBLAS_NUM_THREADS": "1",
        }
        command = f"from catalogue.workers import serve; serve({its.fileno()}, {os.getpid()})"
        try:
            # -P: nothing is imported from the current folder. A session of its own: Ctrl-C is the parent's to handle.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-c", command], env=environment, pass_fds=[its.fileno()],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, start_new_session=True,
            )  # fmt: skip
        finally:
            its.close()
        self.line = Connection(mine.detach())
        self._send(work)

    def ask(self, task: Any) -> None:
        """Hand over a task."""
        self._send(task)

    def answer(self) -> Any:
        """The answer to the task that was handed over; raises what the work raised."""
        try:
            raised, value = self.line.recv()
        except (EOFError, OSError) as cause:
            raise self._gone() from cause
        if raised:
            raise value
        return value

    def end(self) -> None:
        """End it, whatever it is doing."""
        self.line.close()
        self._process.kill()
        self._process.wait()

    def _send(self, message: Any) -> None:
        try:
            self.line.send(message)
        except OSError as cause:
            raise self._gone() from cause

    def _gone(self) -> WorkerError:
        return WorkerError(
            "a worker process ended unasked, perhaps out of memory; what was done is kept, run again with --workers 1"
        )


def serve(descriptor: int, parent: int) -> None:
    """The worker's side: one answer for each task, until the parent is gone."""
    _end_with(parent)
    line = Connection(descriptor)
    try:
        work = line.recv()
        while True:
            line.send(_outcome(work, line.recv()))
    except (EOFError, OSError):
        os._exit(0)  # the parent is gone


def _outcome(work: Callable[[Any], Any], task: Any) -> tuple[bool, Any]:
    try:
        return False, work(task)
    except Exception as error:
        return True, error


def _end_with(parent: int) -> None:
    """Have the system end this process when its parent dies."""
    if sys.platform == "linux":
        import ctypes  # only in a worker

        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, _SIGKILL, 0, 0, 0)
    if os.getppid() != parent:  # it died before
        os._exit(0)
