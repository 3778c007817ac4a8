"""What the supervisor asks of processes, whatever system they run on; and the choice of the engine that starts them."""

from __future__ import annotations

import os
from collections.abc import Collection, Sequence
from typing import Any, Protocol

from scanner.reasons import Reason
from scanner.workers.limits import Limits
from scanner.workers.steps import Settings, Task

PORTABLE = "portable"
"""Value of ``LETTERHOLD_ENGINE`` that asks for spawned workers where forked ones could be had."""


class Worker(Protocol):
    """One process that scans the files it is given."""

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


def engine_for(settings: Settings, limits: Limits) -> Engine:
    """Forked workers where the system forks, else spawned ones: the same records and reasons, a slower start."""
    # Imported only when chosen: each needs modules that the other's system lacks.
    if os.environ.get("LETTERHOLD_ENGINE", "") == PORTABLE or not hasattr(os, "fork"):
        from scanner.workers.spawned import SpawnEngine

        return SpawnEngine(settings, limits)
    from scanner.workers.fork_server import ForkEngine

    return ForkEngine(settings, limits)
