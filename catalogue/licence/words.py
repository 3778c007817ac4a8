"""A text as words: what every later step of the reading works on.

`words_of` makes one line of a text, takes it apart into words, numbers and addresses, and keeps where each stands, so
that a quote is always the text's own words. Pure; the same text always gives the same words.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

MOST = 130_000  # characters that are read; no published licence has more than 40,000
SENTENCE_ENDS = ".!?;。！？；．।۔؟¶"

_ADDRESS = re.compile(r"(?:https?:/{0,2}|ftp://|www\.)[!-;=?-~]+|[\w.+-]{1,64}@[\w-]+(?:\.[\w-]+)+")
_DOMAIN = re.compile(r"(?:[a-z0-9-]{2,}\.)+([a-z]{2,4})(?:/[!-;=?-~]*)?", re.IGNORECASE)
_PIECE = re.compile(r"[^\W\d_]+(?:['`][^\W\d_]+)*|\d+(?:[.,]\d+)*")
_LINES = re.compile(r"\n[ \t]*[#*/>;-]*[ \t]*(?=\n)|^[ \t]*[=_*#-]{3,}[ \t]*$", re.MULTILINE)
_ESCAPED = re.compile(r"\\+([()])")
_UTF7 = re.compile(r"\+AA[0-9A-Za-z+/]{1,40}-?")
_SIGNS = re.compile("[®™℠]")
_BRACKETED = re.compile(r"(?i)\((?:tm|r|sm)\)")
_SPELT = re.compile(r"([\w.+-]+) (?:AT|At|at) (\w+) (?:DOT|Dot|dot) (\w+)")  # addresses hidden from robots
_FORMAT = re.compile("[\u00ad\u034f\u061c\u180e\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufe00-\ufe0f\ufeff]")
_WIDE = re.compile("[\u3005-\u3007\u3040-\u30ff\u3400-\u4dbf\u4e00-\u9fff\uf900-\ufaff\U00020000-\U0003ffff]")

TOP_DOMAINS = frozenset((
    "com", "org", "net", "de", "info", "edu", "io", "co", "jp", "fr", "uk", "cz", "ru", "it", "br", "th", "ar", "me",
    "in", "eu", "gov", "ch", "at", "nl", "se", "no", "fi", "dk", "pl", "hu", "gr", "pt", "es", "ca", "au", "nz", "cn",
    "tw", "kr", "il", "ir", "bt", "lk", "bd", "sa", "ae", "app", "dev", "design", "studio", "cc", "tv", "us", "fm",
    "ie", "be", "tk", "am", "ne",
))  # fmt: skip
_STRAIGHT = str.maketrans("‘’‚‛´ʼ“”„‟«»‹›‐‑–—−―", '\'\'\'\'\'\'""""""""------')
_SPELLINGS = {
    "licence": "license", "licences": "licenses", "licenced": "licensed", "licencing": "licensing",
    "sublicence": "sublicense", "sublicences": "sublicenses",
}  # fmt: skip


@dataclass(frozen=True, eq=False)
class Words:
    """A text and its words; the tuples have one entry a word. One object a text, so that what is found can be kept."""

    flat: str
    """The text as one line; blank lines as ¶."""
    low: tuple[str, ...]
    """Each word in lower case, spelled one way ("license"), accents kept."""
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    """Where each stands in `flat`."""
    kinds: str
    """One letter a word: w word, n number, u address."""
    gaps: tuple[str, ...]
    """What stands before each word; one more entry at the end for what stands behind the last."""

    def __len__(self) -> int:
        return len(self.low)

    def said(self, start: int, stop: int) -> str:
        """The text's own words from one word up to another, with the marks between and behind them."""
        if start >= stop:
            return ""
        tail = self.gaps[stop].rstrip() if stop < len(self.gaps) else ""
        return (self.flat[self.starts[start] : self.ends[stop - 1]] + tail[:1].strip("¶ ")).replace("¶", " ").strip()

    def as_written(self, at: int) -> str:
        """One word with its capitals."""
        return self.flat[self.starts[at] : self.ends[at]]

    def ends_sentence(self, at: int) -> bool:
        """Whether a sentence surely ends before word `at` (0 and the end count)."""
        if at <= 0 or at >= len(self.low):
            return True
        gap = self.gaps[at]
        return any(mark in gap for mark in SENTENCE_ENDS) or _opens_list(gap)


def _opens_list(gap: str) -> bool:
    return gap.strip() in ("-", "*", "•", "·", "--", "|", "/", "//") and gap[:1].isspace()


def one_line(text: str) -> str:
    """The text as one line: NFKC, straight quotes and dashes, blank lines as ¶, no invisible characters."""
    text = text[:MOST].replace("\r\n", "\n").replace("\r", "\n").replace("\0", " ")
    if "\\" in text:
        text = _ESCAPED.sub(r"\1", text)  # how a font editor's own files write brackets
    if "+AA" in text:
        text = _UTF7.sub("\n", text)  # and line breaks
    if "(" in text:
        text = _BRACKETED.sub(" ", text)
    if " AT " in text or " At " in text or " at " in text:
        text = _SPELT.sub(r"\1@\2.\3", text)
    if "\n" in text:
        text = _LINES.sub(" ¶ ", text.replace("\n\n", "\n \n"))
    if not text.isascii():
        text = _FORMAT.sub("", text).replace("©", " (c) ").replace("ⓒ", " (c) ")
        text = unicodedata.normalize("NFKC", _SIGNS.sub(" ", text)).translate(_STRAIGHT)
    return " ".join(text.split())


@lru_cache(maxsize=8192)
def words_of(text: str) -> Words:
    """The words of a text.

    >>> words_of("Licenced under OFL 1.1 (http://openfontlicense.org).").low
    ('licensed', 'under', 'ofl', '1.1', 'openfontlicense.org')
    >>> words_of("本字体 OFL").low
    ('本', '字', '体', 'ofl')
    """
    flat = one_line(text)
    spans: list[tuple[int, int, str]] = []
    at = 0
    while hit := _ADDRESS.search(flat, at):
        spans += _plain_words(flat, at, hit.start())
        stop = _address_end(flat, hit.start(), hit.end())
        spans.append((hit.start(), stop, "u"))
        at = stop
    spans += _plain_words(flat, at, len(flat))
    gaps, last = [], 0
    for start, stop, _ in spans:
        gaps.append(flat[last:start])
        last = stop
    return Words(
        flat,
        tuple(_spelled(flat[start:stop], kind) for start, stop, kind in spans),
        tuple(start for start, _, _ in spans),
        tuple(stop for _, stop, _ in spans),
        "".join(kind for _, _, kind in spans),
        (*gaps, flat[last:]),
    )


def _address_end(flat: str, start: int, stop: int) -> int:
    """An address without the marks of the sentence around it."""
    said = flat[start:stop]
    for mark in "<>\"'|":
        said = said.split(mark)[0]
    said = said.rstrip(".,;:!?]}*")
    if said.endswith(")") and said.count(")") > said.count("("):
        said = said[: said.rindex(")")].rstrip(".,;:!?")
    return start + max(1, len(said))


def _plain_words(flat: str, start: int, stop: int) -> list[tuple[int, int, str]]:
    out: list[tuple[int, int, str]] = []
    for hit in _PIECE.finditer(flat, start, stop):
        begin, end = hit.span()
        if out and begin < out[-1][1]:
            continue  # inside a bare address
        dotted = flat[end : end + 1] in ".-" and end + 1 < stop and flat[end + 1].isalnum()
        if dotted and (bare := _bare_address(flat, begin, stop)):
            out.append((begin, bare, "u"))
        elif flat[begin].isdigit():
            out.append((begin, end, "n"))
        else:
            out += _letters(flat, begin, end)
    return out


def _bare_address(flat: str, start: int, stop: int) -> int:
    """End of an address without a scheme, as `larkspur.example.org/fonts`; 0 when there is none."""
    hit = _DOMAIN.match(flat, start, stop)
    if hit is None or hit[1].lower() not in TOP_DOMAINS:
        return 0
    return _address_end(flat, start, hit.end())


def _letters(flat: str, start: int, stop: int) -> list[tuple[int, int, str]]:
    """A run of letters; those of scripts without blanks one by one."""
    said = flat[start:stop]
    if said.isascii() or _WIDE.search(said) is None:
        return [(start, stop, "w")]
    out: list[tuple[int, int, str]] = []
    begin = start
    for at in range(start, stop):
        if _WIDE.match(flat[at]):
            out += [(begin, at, "w")] if begin < at else []
            out.append((at, at + 1, "w"))
            begin = at + 1
    return out + ([(begin, stop, "w")] if begin < stop else [])


def _spelled(said: str, kind: str) -> str:
    low = said.lower()
    if kind == "u":
        return bare_address(low)
    return _SPELLINGS.get(low, low)


def bare_address(low: str) -> str:
    """An address without scheme, `www.` and a closing slash.

    >>> bare_address("https://www.larkspur.example/ofl/")
    'larkspur.example/ofl'
    """
    for start in ("https://", "http://", "ftp://", "https:/", "http:/", "https:", "http:"):
        low = low.removeprefix(start)
    return low.removeprefix("www.").rstrip("/")


def is_wide(letter: str) -> bool:
    """Whether a character belongs to a script that is written without blanks (Han, kana)."""
    return _WIDE.match(letter) is not None
