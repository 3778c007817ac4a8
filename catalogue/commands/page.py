"""``letterhold page``: serve the page on this machine and open it in the browser."""

from __future__ import annotations

import argparse
import socket
import threading
import time
import webbrowser

from catalogue.commands.options import catalogue_of
from catalogue.errors import UsageError
from catalogue.page.server import ADDRESS, PORT, serve

PORTS_TRIED = 20
WAIT_S = 0.1
MOST_WAITS = 200
"""Twenty seconds for the server to come up."""


def add_arguments(page: argparse.ArgumentParser) -> None:
    """The options of ``page``."""
    page.add_argument(
        "--port", type=_port, default=0, metavar="N", help="port on 127.0.0.1 (default: 8517 or the next)"
    )
    page.add_argument("--no-browser", action="store_true", help="only print the address")


def run(options: argparse.Namespace) -> int:
    """Serve until stopped."""
    port = options.port or _free_port()
    if not _free(port):
        raise UsageError(f"port {port} is in use; leave --port out or name another")
    address = f"http://{ADDRESS}:{port}"
    catalogue = catalogue_of(options)
    print(f"the page is at {address} (this machine only); stop it with Ctrl+C", flush=True)
    print(f"catalogue: {catalogue}", flush=True)
    if not options.no_browser:
        threading.Thread(target=_open_when_up, args=(port, address), daemon=True).start()
    serve(catalogue, port)
    return 0


def _open_when_up(port: int, address: str) -> None:
    for _ in range(MOST_WAITS):
        with socket.socket() as probe:
            probe.settimeout(0.5)
            if probe.connect_ex((ADDRESS, port)) == 0:
                webbrowser.open(address)
                return
        time.sleep(WAIT_S)


def _free(port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ADDRESS, port))
        except OSError:
            return False
    return True


def _free_port() -> int:
    return next((p for p in range(PORT, PORT + PORTS_TRIED) if _free(p)), PORT)


def _port(text: str) -> int:
    if not (text.isascii() and text.isdecimal()) or not 1024 <= int(text[:6]) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; use a number from 1024 to 65535")
    return int(text)
