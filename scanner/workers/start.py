"""How a process that measures is set up, by whichever engine."""

from __future__ import annotations

import os
import sys


def worker_environment() -> dict[str, str]:
    """Environment of processes that measure: our own packages, no warnings, one thread a library."""
    return os.environ | {
        "PYTHONPATH": os.pathsep.join(p for p in sys.path if p),
        "PYTHONWARNINGS": "ignore",
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }


def load_libraries() -> None:
    """Import what a worker will need; here and not above, since the supervisor loads no measuring library."""
    import cv2

    import scanner.face  # noqa: F401

    cv2.setNumThreads(1)
