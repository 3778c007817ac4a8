"""The document a browser loads first: Streamlit's, with our name and a script of ours in front.

The script says where the server is, so that the browser does not look for it below the address of each view first (two
refused questions a visit), and keeps Back to one press a view.
"""

from __future__ import annotations

import re
from functools import lru_cache

from catalogue.page.gate import Application, Message, Receive, Scope, Send
from catalogue.page.parts import asset

TITLE = re.compile(rb"<title>[^<]*</title>")
FONT = re.compile(rb'<link\s+rel="preload"\s+href="[^"]*"\s+as="font"[^>]*>')
"""A font that the page does not use."""

CACHED = (b"etag", b"last-modified", b"content-length")
"""Headers of the answer that are true of Streamlit's document only."""
ASKED = (b"accept-encoding", b"if-none-match", b"if-modified-since")
"""Headers of the question that would bring something else than the whole document as text."""


@lru_cache(maxsize=1)
def _head() -> bytes:
    return f"<title>letterhold</title><script>{asset('front.js')}</script>".encode()


def fronted(document: bytes) -> bytes:
    """The document with our title and script; any other document as it is.

    >>> b"letterhold" in fronted(b"<head><title>Other</title></head>")
    True
    >>> fronted(b"<p>none</p>")
    b'<p>none</p>'
    """
    return TITLE.sub(lambda _: _head(), FONT.sub(b"", document), count=1)


def is_view(path: str) -> bool:
    """Whether an address can be that of a view: one word, as ``/make``, or none.

    >>> [is_view(p) for p in ("/", "/make", "/favicon.png", "/letterhold/rows", "/_stcore/health")]
    [True, True, False, False, False]
    """
    name = path.removeprefix("/").removesuffix("/")
    return "." not in name and "/" not in name


class Front:
    """ASGI middleware: what is answered to a view's address goes through ``fronted``."""

    def __init__(self, app: Application) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http" or not is_view(scope["path"]):
            await self.app(scope, receive, send)
            return
        headers = [(name, value) for name, value in scope["headers"] if name.lower() not in ASKED]
        await self.app({**scope, "headers": headers}, receive, _gathered(send))


def _gathered(send: Send) -> Send:
    """Sends an answer of HTML when all of it is there, every other one as it comes."""
    start: Message = {}
    parts: list[bytes] = []

    async def sending(message: Message) -> None:
        nonlocal start
        if message["type"] == "http.response.start" and dict(message["headers"]).get(b"content-type", b"").startswith(
            b"text/html"
        ):
            start = message
        elif not start:
            await send(message)
        else:
            parts.append(message.get("body", b""))
            if not message.get("more_body"):
                body = fronted(b"".join(parts))
                kept = [(n, v) for n, v in start["headers"] if n.lower() not in CACHED]
                await send({**start, "headers": [*kept, (b"content-length", str(len(body)).encode())]})
                await send({"type": "http.response.body", "body": body})

    return sending
