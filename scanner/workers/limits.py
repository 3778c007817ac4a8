"""What one step of a worker may take."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one face at one instance, or of one licence."""

    cpu_seconds: float = 5.0
    """Computing; the largest of the demo fonts takes about a fifth. Who passes it is given double the time once, in a
    fresh process: what a font takes depends a little on the machine's load, and the outcome must not."""
    wall_seconds: float = 120.0
    """Waiting included: a stopped process or a disk that does not answer."""
    memory_bytes: int = 1 << 30
    """Address space of the worker."""
