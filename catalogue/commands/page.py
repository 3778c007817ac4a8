"""The ``page`` command: serve the page on this machine and open it in the browser."""

from __future__ import annotations

import argparse
import socket
import threading
from collections.abc import Callable

Add = Callable[[str, Callable[[argparse.Namespace], int], str, str], argparse.ArgumentParser]


def add_commands(add: Add) -> None:
    """Register the commands of this module."""
    page = add("page", _page, "browse, compare and take away in the browser, on this machine only", "page")
    page.add_argument(
        "--port", type=_port, default=0, metavar="N", help="port on 127.0.0.1 (default: 8517 or the next)"
    )
    page.add_argument("--no-browser", action="store_true", help="only print the address")


def _page(options: argparse.Namespace) -> int:
    from catalogue.page.server import ADDRESS, PORT, serve
    from catalogue.store.database import usual_catalogue

    port = options.port or _free_port(ADDRESS, PORT)
    if not _free(ADDRESS, port):
        from catalogue.commands.main import UsageError

        raise UsageError(f"port {port} is in use; leave --port out or name another")
    address = f"http://{ADDRESS}:{port}"
    catalogue = options.catalogue or usual_catalogue()
    print(f"the page is at {address} (this machine only); stop it with Ctrl+C", flush=True)
    print(f"catalogue: {catalogue}", flush=True)
    if not options.no_browser:
        threading.Thread(target=_open_when_up, args=(ADDRESS, port, address), daemon=True).start()
    serve(catalogue, port)
    return 0


def _open_when_up(host: str, port: int, address: str) -> None:
    import time
    import webbrowser

    for _ in range(200):
        with socket.socket() as probe:
            probe.settimeout(0.5)
            if probe.connect_ex((host, port)) == 0:
                webbrowser.open(address)
                return
        time.sleep(0.1)


def _free(host: str, port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


def _free_port(host: str, first: int) -> int:
    return next((p for p in range(first, first + 20) if _free(host, p)), first)


def _port(text: str) -> int:
    if not text.isdecimal() or not 1024 <= int(text[:6]) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; use a number from 1024 to 65535")
    return int(text)
