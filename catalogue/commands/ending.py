"""A command that is told to end does so within two seconds, whatever it is doing."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

PATIENCE_S = 1.5
"""Time for what is under way to be put down; then the process ends."""

STOPPED_STATUS = 2


@contextmanager
def ending_soon() -> Iterator[None]:
    """SIGTERM stops the work as Ctrl-C does, by KeyboardInterrupt; what does not let go is ended after a while.

    Python looks at signals between its own steps, never inside a library's: a thread that sees the signal at once waits
    for the work to let go. Files are written by rename, so an end at any moment leaves none half-written.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    seen, mark = os.pipe()
    os.set_blocking(mark, False)
    over = threading.Event()
    before = signal.signal(signal.SIGTERM, _interrupt)
    wakeup = signal.set_wakeup_fd(mark, warn_on_full_buffer=False)
    watch = threading.Thread(target=_watch, args=(seen, over), daemon=True)
    watch.start()
    try:
        yield
    finally:
        over.set()
        signal.set_wakeup_fd(wakeup)
        signal.signal(signal.SIGTERM, before)
        os.close(mark)
        watch.join()
        os.close(seen)


def _interrupt(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _watch(seen: int, over: threading.Event) -> None:
    while signals := os.read(seen, 16):
        if {signal.SIGINT, signal.SIGTERM} & set(signals) and not over.wait(PATIENCE_S):
            sys.stderr.write("letterhold: stopped; what was done is kept, run the same command to go on\n")
            sys.stderr.flush()
            os._exit(STOPPED_STATUS)
