"""Files whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from catalogue.errors import LetterholdError


def write_file(path: Path, data: bytes) -> None:
    """Write by temporary file, fsync and rename: nothing half-written is left under the name.

    Raises LetterholdError with what to do when the folder cannot be written, OSError when the disk is full.
    """
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".letterhold-")
    except OSError as error:
        line = f"cannot write in {path.parent}: {error.strerror}; choose a folder you may write"
        raise LetterholdError(line) from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
