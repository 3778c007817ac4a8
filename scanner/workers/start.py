"""How a process that measures is set up, by whichever engine."""

from __future__ import annotations

import os
import sys


def worker_environment() -> dict[str, str]:
    """Environment of processes that measure: our own packages, no warnings, one thread a library."""
    # An entry that is no folder, as an editable install's mark, would keep Python from starting below a very long path.
    folders = [os.path.abspath(p) for p in sys.path if p and (os.path.isabs(p) or os.path.isdir(p))]
    return os.environ | {
        "PYTHONPATH": os.pathsep.join(folders),
        "PYTHONWARNINGS": "ignore",
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
    }


def load_libraries() -> None:
    """Import what a worker will need; here and not above, since the supervisor loads no measuring library."""
    import cv2

    import scanner.face  # noqa: F401

    cv2.setNumThreads(1)
