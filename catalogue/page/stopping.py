"""How the page ends: on SIGTERM or Ctrl+C its runs end first, temporary folders go, and then the process.

Streamlit's server waits for open connections and then lets the signal kill it, which skips every clean-up. So while
the server is up, the signals are answered here.
"""

from __future__ import annotations

import atexit
import os
import signal
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from types import FrameType
from typing import Any

from catalogue.page import runs

SIGNALS = (signal.SIGINT, signal.SIGTERM)


@asynccontextmanager
async def lifespan(_app: Any) -> AsyncIterator[None]:
    """Answers the signals from the moment the server has set its own handlers."""
    if threading.current_thread() is threading.main_thread():
        for number in SIGNALS:
            signal.signal(number, _stop)
    yield
    runs.stop_all()


def _stop(number: int, _frame: FrameType | None) -> None:
    """Ends at once: catalogue and orders are written by runs, each file whole or not at all, so nothing is half done.

    Threads that still draw a view would hold an ordinary exit up; what an exit clears away (temporary folders) is
    cleared first.
    """
    runs.stop_all()
    atexit._run_exitfuncs()
    os._exit(0 if number == signal.SIGINT else 128 + number)
