"""Which engine starts the workers of a scan: forked where the system forks, else spawned."""

from __future__ import annotations

import os

from scanner.workers.engine import Engine
from scanner.workers.limits import Limits
from scanner.workers.steps import Settings

PORTABLE = "portable"
"""Value of ``LETTERHOLD_ENGINE`` that asks for spawned workers where forked ones could be had."""


def engine_for(settings: Settings, limits: Limits) -> Engine:
    """Forked workers where the system forks, else spawned ones: the same records and reasons, a slower start."""
    # Imported only when chosen: each needs modules that the other's system lacks.
    if os.environ.get("LETTERHOLD_ENGINE", "") == PORTABLE or not hasattr(os, "fork"):
        from scanner.workers.spawned import SpawnEngine

        return SpawnEngine(settings, limits)
    from scanner.workers.fork_server import ForkEngine

    return ForkEngine(settings, limits)
