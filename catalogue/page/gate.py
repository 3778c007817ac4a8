"""The gate before the server: only this machine's own page may ask, and no other page may show it in a frame.

Streamlit checks the origin of a WebSocket too, but before it refuses a foreign one it asks an outside address for the
machine's own. So the origin is checked here, first.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any
from urllib.parse import urlsplit

HOSTS = ("127.0.0.1", "localhost")
"""Names the page answers to; a foreign name that points here (DNS rebinding) is refused."""

HEADERS = (
    (b"x-frame-options", b"DENY"),
    (b"content-security-policy", b"frame-ancestors 'none'"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
"""Sent with every answer (HTML standard, "X-Frame-Options"; CSP 3, "frame-ancestors"; Fetch, "CORP")."""

REFUSED = b"this page answers to 127.0.0.1 only"

Message = MutableMapping[str, Any]
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]


def ours(headers: list[tuple[bytes, bytes]]) -> bool:
    """Whether a request comes from this page itself, or from a program that names no origin.

    >>> ours([(b"host", b"127.0.0.1:8517"), (b"origin", b"http://127.0.0.1:8517")])
    True
    >>> ours([(b"host", b"127.0.0.1:8517"), (b"origin", b"https://elsewhere.example")])
    False
    >>> ours([(b"host", b"elsewhere.example")])
    False
    """
    found = {name.lower(): value.decode("latin-1") for name, value in headers}
    host = found.get(b"host", "")
    if _name(f"//{host}") not in HOSTS:
        return False
    origin = found.get(b"origin")
    return origin is None or urlsplit(origin).netloc.lower() == host.lower()


def _name(address: str) -> str:
    try:
        return urlsplit(address).hostname or ""
    except ValueError:
        return ""


class Gate:
    """ASGI middleware: refuses requests of other origins, adds ``HEADERS`` to every answer."""

    def __init__(self, app: Application) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
        elif not ours(scope["headers"]):
            await _refuse(scope["type"], receive, send)
        else:
            await self.app(scope, receive, _with_headers(send))


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            names = {name for name, _ in HEADERS}
            kept = [(n, v) for n, v in message.get("headers", []) if n.lower() not in names]
            message = {**message, "headers": [*kept, *HEADERS]}
        await send(message)

    return sending


async def _refuse(kind: str, receive: Receive, send: Send) -> None:
    if kind == "websocket":
        await receive()  # the request to connect
        await send({"type": "websocket.close", "code": 1008, "reason": REFUSED.decode()})
        return
    await send({"type": "http.response.start", "status": 403, "headers": [(b"content-type", b"text/plain"), *HEADERS]})
    await send({"type": "http.response.body", "body": REFUSED})
