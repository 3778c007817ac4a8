"""Commands timed as a person has them: pip compiles what it installs, a checkout may not be allowed to."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def compiled() -> Iterator[None]:
    """Lets the commands started within keep their compiled modules in a folder of this run (the first one fills it)."""
    before = dict(os.environ)
    with tempfile.TemporaryDirectory(prefix="letterhold-bench-") as folder:
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        os.environ["PYTHONPYCACHEPREFIX"] = folder
        try:
            yield
        finally:
            os.environ.clear()
            os.environ.update(before)
