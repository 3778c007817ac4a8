"""Who may ask the page, and how it ends."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any

import pytest

from catalogue.page import gate, runs
from tests.test_page_browser import free_port

OWN = [(b"host", b"127.0.0.1:8517"), (b"origin", b"http://127.0.0.1:8517")]


def asked(kind: str, headers: list[tuple[bytes, bytes]]) -> tuple[list[MutableMapping[str, Any]], bool]:
    """What the gate sends for a request, and whether it let the request through."""
    sent: list[MutableMapping[str, Any]] = []
    passed = []

    async def inside(scope: Any, receive: Any, send: Any) -> None:
        passed.append(True)
        await send({"type": "http.response.start", "status": 200, "headers": [(b"X-Frame-Options", b"ALLOWALL")]})

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(message)

    async def receive() -> MutableMapping[str, Any]:
        return {"type": "websocket.connect"}

    asyncio.run(gate.Gate(inside)({"type": kind, "headers": headers}, receive, send))
    return sent, bool(passed)


@pytest.mark.parametrize(
    "headers",
    [
        [(b"host", b"127.0.0.1:8517"), (b"origin", b"https://elsewhere.example")],
        [(b"host", b"127.0.0.1:8517"), (b"origin", b"http://127.0.0.1:9999")],
        [(b"host", b"127.0.0.1:8517"), (b"origin", b"null")],
        [(b"host", b"elsewhere.example:8517"), (b"origin", b"http://elsewhere.example:8517")],
        [(b"host", b"[::bad")],
        [],
    ],
    ids=["another site", "another port", "a file or a frame without origin", "a foreign name that points here",
         "no address", "no host"],
)  # fmt: skip
def test_what_comes_from_elsewhere_never_reaches_streamlit(headers: list[tuple[bytes, bytes]]) -> None:
    """Streamlit asks an outside address for its own before it refuses a foreign origin: it must not get that far."""
    for kind in ("http", "websocket"):
        sent, passed = asked(kind, headers)
        assert not passed
        assert sent[0].get("status", 403) == 403 and sent[0]["type"] in ("http.response.start", "websocket.close")


@pytest.mark.parametrize("headers", [OWN, OWN[:1], [(b"host", b"localhost:8517")]])
def test_the_page_itself_and_programs_of_this_machine_pass(headers: list[tuple[bytes, bytes]]) -> None:
    assert asked("websocket", headers)[1]


def test_no_answer_may_be_shown_in_a_frame() -> None:
    """HTML standard, X-Frame-Options; CSP 3, frame-ancestors."""
    (start,), _ = asked("http", OWN)
    headers = [(n.lower(), v) for n, v in start["headers"]]
    assert headers.count((b"x-frame-options", b"DENY")) == 1
    assert (b"content-security-policy", b"frame-ancestors 'none'") in headers
    assert (b"x-frame-options", b"ALLOWALL") not in headers


def gone(group: int) -> bool:
    """Whether every process of a group has ended; one that ended and was not collected counts as ended (proc(5))."""

    def living() -> list[str]:
        found = []
        for stat in Path("/proc").glob("[0-9]*/stat"):
            try:
                state, _parent, own = stat.read_text().rpartition(")")[2].split()[:3]
            except OSError:
                continue  # ended while we looked
            if int(own) == group and state not in "ZX":
                found.append(stat.parent.name)
        return found

    for _ in range(50):
        if not living():
            return True
        time.sleep(0.1)
    return False


SERVED = """
import sys
from pathlib import Path
from catalogue.page import runs, server
from scanner.workers.scratch import Scratch
held = Scratch()
run = runs.start("a long work", "tests.sleeping", [])
print(run.process.pid, held.path, flush=True)
server.serve(Path(sys.argv[1]), int(sys.argv[2]))
"""
"""The page with a run under way and a temporary folder."""


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_the_page_leaves_nothing_behind(number: signal.Signals, tmp_path: Path) -> None:
    port = free_port()
    command = [sys.executable, "-c", SERVED, str(tmp_path / "c.sqlite"), str(port)]
    environment = os.environ | {"PYTHONPATH": os.getcwd(), "XDG_DATA_HOME": str(tmp_path)}
    page = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=environment)
    assert page.stdout is not None
    child, folder = page.stdout.readline().split()
    for _ in range(300):
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/_stcore/health", timeout=1) as answer:
                assert answer.headers["X-Frame-Options"] == "DENY"
                break
        except OSError:
            time.sleep(0.1)
    assert Path(folder).is_dir() and Path(folder).parent == Path(tempfile.gettempdir())
    page.send_signal(number)
    page.wait(20)
    page.stdout.close()
    assert not Path(folder).exists()
    assert gone(int(child)), "neither the run nor what it started is left"


def test_a_run_that_does_not_listen_is_ended_with_what_it_started() -> None:
    run = runs.start("a long work", "tests.sleeping", ["deaf"])
    assert run.process.stdout is not None
    for _ in range(300):
        if run.total:
            break
        time.sleep(0.1)
    run.stop()
    run.process.wait(20)
    assert gone(run.process.pid)


def test_an_answer_that_is_no_json_is_one_line(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """RFC 8259 knows no NaN: a browser would stop reading."""
    from catalogue.page import routes

    kept: list[BaseException] = []
    monkeypatch.setattr(routes, "keep_details", kept.append)
    monkeypatch.setattr(routes, "row", lambda *_: {"h": float("nan")})

    class View:
        def listing(self, *_: object) -> Any:
            return self

        def lines(self, *_: object) -> list[Any]:
            return [type("Line", (), {"face": None})()]

        def picture(self, *_: object) -> None:
            return None

    answer = next(r for r in routes.routes(View) if r.path.endswith("/rows"))  # type: ignore[arg-type]
    asked = type("Asked", (), {"query_params": {"name": "Otto", "to": "1"}})()
    found = answer.endpoint(asked)
    assert found.status_code == 500 and b"fault in letterhold" in found.body and len(kept) == 1
