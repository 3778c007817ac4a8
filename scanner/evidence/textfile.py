"""Text of a file that lies beside a font, whatever it is written in: plain text in any encoding, RTF, HTML, PDF.

The libraries that read RTF, PDF and old code pages are kept behind this file and loaded when such a file is met.
"""

from __future__ import annotations

import os
import stat
from functools import lru_cache
from html.parser import HTMLParser
from io import BytesIO
from typing import NamedTuple

MAX_TEXT = 128 * 1024  # bytes of a licence file read from its start; the longest common licence has 35 KiB
MAX_OTHER = 64 * 1024  # bytes of any other text
MAX_TAIL = 32 * 1024  # bytes read from the end of a longer file, where an added restriction would stand
MAX_PAGES = 40  # pages of a PDF file; common practice, no source
MAX_PDF = 4 * 1024 * 1024  # bytes of a PDF file that is still opened
CLOSED = "(this file holds no readable text; open it yourself)"
_BOMS = (b"\xff\xfe", b"\xfe\xff")


class FileText(NamedTuple):
    """What was read of a file."""

    text: str
    """"" for a file that is no text or cannot be read."""
    whole: bool
    """Whether all of it was read."""


@lru_cache(maxsize=256)
def read_text(path: str, most: int = MAX_TEXT) -> FileText:
    """Text of a file, at most `most` bytes of it from its start and some from its end."""
    most = MAX_PDF if path.lower().endswith(".pdf") else most
    raw, whole = _bytes_of(path, most)
    if not raw:
        return FileText("", whole)
    if raw[:5] == b"%PDF-":
        return _pdf_text(raw, whole)
    if path.lower().endswith(".pdf"):
        return FileText("", whole)
    text = _decoded(raw, whole)
    if text[:6].lstrip("\ufeff").startswith("{\\rtf"):
        return FileText(_rtf_text(text), whole)
    if path.lower().endswith((".htm", ".html")) or text[:200].lstrip().lower().startswith(("<!doctype html", "<html")):
        return FileText(html_text(text), whole)
    return FileText(text, whole)


def _bytes_of(path: str, most: int) -> tuple[bytes, bool]:
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError:
        return b"", False
    try:
        facts = os.fstat(fd)
        if not stat.S_ISREG(facts.st_mode):
            return b"", False
        raw = os.pread(fd, most, 0)
        whole = facts.st_size <= most
        if not whole:
            raw += b"\n\n" + os.pread(fd, MAX_TAIL, max(most, facts.st_size - MAX_TAIL))
        return raw, whole
    except OSError:
        return b"", False
    finally:
        os.close(fd)


def _decoded(raw: bytes, whole: bool) -> str:
    """Text of bytes in UTF-8, UTF-16 with or without a mark, or an old code page; "" for bytes that are no text.

    >>> _decoded("Nur privat".encode("utf-16-le"), True), _decoded(bytes(range(256)), True)
    ('Nur privat', '')
    """
    if raw[:2] in _BOMS:
        return raw.decode("utf-16", "replace")
    zeros = raw[:4000].count(0)
    if zeros:
        if zeros < 0.3 * len(raw[:4000]):
            return ""
        odd = raw[1:4000:2].count(0)
        return raw.decode("utf-16-le" if odd * 2 > zeros else "utf-16-be", "replace")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("utf-8-sig", "replace") if not whole and _is_nearly_utf8(raw) else _old_page(raw)


def _is_nearly_utf8(raw: bytes) -> bool:
    """Whether only the cut in the middle of a long file breaks its UTF-8."""
    return raw.decode("utf-8", "replace").count("\ufffd") <= 8


def _old_page(raw: bytes) -> str:
    """Text in an old code page, as a library guesses it; Western where it cannot."""
    if sum(byte < 9 or 13 < byte < 32 for byte in raw[:4000]) > 8:
        return ""
    from charset_normalizer import from_bytes  # loaded only for such a file

    best = from_bytes(raw[:MAX_TEXT]).best()
    return raw.decode(best.encoding if best is not None else "cp1252", "replace")


def _rtf_text(text: str) -> str:
    from striprtf.striprtf import rtf_to_text  # loaded only for such a file

    try:
        return str(rtf_to_text(text, errors="replace"))
    except Exception:  # a foreign parser on foreign text
        return ""


class _Page(HTMLParser):
    """The text that a page shows."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in ("script", "style")
        if tag in ("p", "br", "div", "li", "tr", "h1", "h2", "h3", "h4", "td", "title", "body"):
            self.parts.append("\n\n")
        self.parts += [f"\n\n{said}\n\n" for name, said in attrs if said and name in ("alt", "title", "content")]

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("script", "style") and self._hidden > 0
        if tag in ("p", "div", "li", "h1", "h2", "h3", "h4", "title"):
            self.parts.append("\n\n")

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.parts.append(data)


def html_text(text: str) -> str:
    """The words of a page, those that stand in place of pictures too."""
    page = _Page()
    try:
        page.feed(text)
        page.close()
    except (AssertionError, ValueError):  # seen: the standard parser on broken declarations
        return text
    return "".join(page.parts)


def _pdf_text(raw: bytes, whole: bool) -> FileText:
    import logging

    from pypdf import PdfReader  # loaded only for such a file

    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # it reports each fault of a file on the terminal
    try:
        pages = PdfReader(BytesIO(raw)).pages
        text = "\n\n".join(page.extract_text() for page in pages[:MAX_PAGES])
    except Exception:  # a foreign parser on foreign bytes
        return FileText("", whole)
    return FileText(text if text.strip() else "", whole and len(pages) <= MAX_PAGES)
