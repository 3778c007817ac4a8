"""A run that works for long, with a child of its own; given "deaf" it does not end when asked. See test_page_server."""

from __future__ import annotations

import signal
import subprocess
import sys
import time

if __name__ == "__main__":
    if "deaf" in sys.argv:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
    subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
    print('{"done": 0, "total": 1}', flush=True)
    time.sleep(600)
