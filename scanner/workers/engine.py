"""What the supervisor asks of processes, whatever system they run on."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any, Protocol

from scanner.reasons import Reason
from scanner.workers.steps import Task


class Worker(Protocol):
    """One process that scans the files it is given."""

    @property
    def loaded(self) -> bool:
        """Whether its libraries are loaded: from then on it waits for its font only."""

    def give(self, task: Task) -> None:
        """Hand it a task; raises nothing: should it be dead, reading from it says so in a moment."""

    def messages(self) -> list[Any] | None:
        """The steps that have arrived whole since the last time, None when it has ended."""

    def end(self) -> Reason | None:
        """Make sure that it has ended; the reason that its font gave, None when it was stopped from outside."""


class Engine(Protocol):
    """Starts workers and watches over them."""

    def start(self) -> Worker:
        """A new worker. Raises OSError where none can be started."""

    def wait(self, workers: Collection[Worker], seconds: float) -> Sequence[Worker]:
        """Those that have sent something or ended, as soon as there is one; none when the time is over."""

    def close(self) -> None:
        """End every worker; each is still to be read to its end, and its ``end`` called."""
