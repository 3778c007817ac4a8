"""Places that hold no sentences: version, unique name, style, and the names of families, files and folders.

Each has its own shape. A word that is neither of the trade nor borne by another of the font's names is not understood:
"Regular NoSell" says something that "Larkspur Regular" does not. Pure.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from importlib import resources

from catalogue.licence.limits import is_strange, name_words, script_of, sentence_words, telling_words
from catalogue.licence.slots import Own
from catalogue.licence.words import Words

MOST_TITLE = 8  # words of a family's name that are not of the trade
MOST_SMALL = 2  # words of a name that would make a sentence: "Annie Use Your Telescope" has two
MOST_CASELESS = 8  # letters of a family's name in a script without capitals; a sentence in one has more
MOST_SHORT = 8  # letters of a file's name that is none of the font's
MOST_MAKERS = 3  # names of makers in a unique name or a version
MOST_ALPHABET = 60  # letters in a row that are shown as a sample
_HEX = re.compile(r"[0-9a-f]{6,40}")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])|[_+]")
_TAG = re.compile(r"[A-Z0-9]{1,4}")
_LETTERS = re.compile(r"[^\W_]+")
_CASED = frozenset(("Latin", "Greek", "Cyrillic", "Armenian"))


@lru_cache(maxsize=1)
def label_words() -> dict[str, frozenset[str]]:
    """Words of the trade that say nothing of the licence, by place; `everyday` are those of people's own folders."""
    folder = resources.files("fonts_licenses") / "words"
    labels, everyday = (tomllib.loads((folder / f"{name}.toml").read_text("utf-8")) for name in ("labels", "everyday"))
    everyday = {"everyday": " ".join(everyday.values())}
    return {place: frozenset(said.split()) for place, said in (labels | everyday).items()}


def spread(text: str) -> str:
    """A name written as one word, apart at its capitals: `PersonalUseOnly` as three words.

    >>> spread("LarkspurPersonalUse-Bold_v2")
    'Larkspur Personal Use-Bold v2'
    """
    return _CAMEL.sub(" ", text)


def is_label(words: Words, place: str, own: Own) -> bool:
    """Whether a text has the shape of its place: version, unique, style, name, file, archive or folder.

    `own` holds what the other names of the font say; of a family's name itself it may hold nothing. An archive is a
    folder that holds one family and so may bear a name that its maker gave it; any other folder is somebody's own.
    """
    known = _known(place)
    if place == "name" and not own.titles:
        return _is_title(words, known)
    if place == "name" and _is_translated(words):
        return True
    if any(words.kinds[at] == "u" and _tells(words.low[at]) for at in range(len(words))):
        return False
    strangers = [
        at
        for at, low in enumerate(words.low)
        if words.kinds[at] == "w" and not (low in known or low in own.titles or low in own.makers or _within(low, own))
    ]
    if place in ("version", "unique"):
        return all(_is_mark(words, at, place) for at in strangers) and _makers(words, strangers) <= MOST_MAKERS
    if place == "folder":
        return _is_own_folder(words, strangers)
    if place == "archive" and label_words()["doubtful"].intersection(words.low):
        return not strangers and not any(low in own.titles or low in label_words()["style"] for low in words.low)
    if place == "file":
        strangers = [at for at in strangers if not _is_axis(words, at)]
        if len(strangers) == 1 and not any(low in own.titles for low in words.low):
            return _is_short(words.low[strangers[0]])  # an old file name, as `n019003l`
    return not strangers


def _is_translated(words: Words) -> bool:
    """Whether a name is the family's in a script without capitals, with nothing of the trade missing."""
    letters = "".join(low for low, kind in zip(words.low, words.kinds, strict=True) if kind == "w")
    caseless = "".join(c for c in letters if script_of(c) not in _CASED)
    return bool(caseless) and _speaks_of_type(caseless)


@lru_cache(maxsize=8)
def _known(place: str) -> frozenset[str]:
    of = {
        "version": ("version",), "unique": ("version", "unique"),
        "folder": ("files", "folders"), "archive": ("files", "folders", "everyday"),
    }.get(place, ("files",))  # fmt: skip
    return label_words()["style"].union(*(label_words()[name] for name in of))


def _makers(words: Words, strangers: list[int]) -> int:
    return sum(len(words.low[at]) > 4 and not _HEX.fullmatch(words.low[at]) for at in strangers)


def _is_mark(words: Words, at: int, place: str) -> bool:
    """Whether a word of a version or unique name can be a tool's, a maker's or a commit's mark."""
    low, written = words.low[at], words.as_written(at)
    if is_strange(low) or script_of(low[0]) not in _CASED:
        return False
    if _touches_digit(words, at):
        return True
    if low in sentence_words():
        return place == "unique" and at == 1 and len(low) == 4 and ";" in words.gaps[at]  # a vendor's id, "NONE"
    if _HEX.fullmatch(low) or _TAG.fullmatch(written) or (place == "version" and len(low) < 4):
        return True
    fenced = ";" in words.gaps[at] and ";" in words.gaps[at + 1]
    if at and len(words.low[at - 1]) == 1 and "-" in words.gaps[at - 1] and len(low) == 4:
        return True  # a script's tag behind the option of a tool
    return written[0].isupper() or (fenced and len(low) < 5)


def _touches_digit(words: Words, at: int) -> bool:
    """Whether a few letters are part of a number, as in `1.8.2-6de2`."""
    beside = [n for n in (at - 1, at + 1) if 0 <= n < len(words) and words.kinds[n] == "n"]
    return len(words.low[at]) < 5 and any(words.gaps[max(n, at)] == "" for n in beside)


def _is_own_folder(words: Words, strangers: list[int]) -> bool:
    """Whether a folder's name is no sentence."""
    small = sum(words.low[at] in telling_words() for at in strangers)
    caseless = sum(len(words.low[at]) for at in strangers if script_of(words.low[at][0]) not in _CASED)
    return small < MOST_SMALL and len(strangers) <= MOST_TITLE and caseless <= MOST_CASELESS


def _is_axis(words: Words, at: int) -> bool:
    """Whether a word is the tag of an axis in a file's name, as in `Larkspur[SOFT,wght]`."""
    opened = words.flat.rfind("[", 0, words.starts[at])
    return len(words.low[at]) == 4 and opened > words.flat.rfind("]", 0, words.starts[at])


def _is_short(low: str) -> bool:
    return len(low) <= MOST_SHORT and low not in sentence_words() and script_of(low[0]) in _CASED


def _within(low: str, own: Own) -> bool:
    """Whether a word is part of one of the font's names written as one word, its beginning, or the other way round."""
    if len(low) == 1:
        return script_of(low) in _CASED
    if len(low) > 3 and (low in own.squeezed or any(title in low for title in own.titles if len(title) > 4)):
        return low not in sentence_words()
    return len(low) > 2 and low not in name_words()["negations"] and any(title.startswith(low) for title in own.titles)


def _is_title(words: Words, known: frozenset[str]) -> bool:
    """Whether a text can be the name of a family, when nothing else is known of it."""
    strangers = [low for low, kind in zip(words.low, words.kinds, strict=True) if kind == "w" and low not in known]
    small = [low for low in strangers if low in telling_words()]
    if any(is_strange(low) for low in strangers):
        return False
    caseless = "".join(low for low in strangers if script_of(low[0]) not in _CASED)
    foreign = len(caseless) <= MOST_CASELESS or _speaks_of_type(caseless)
    return len(strangers) <= MOST_TITLE + len(caseless) and len(small) <= MOST_SMALL and foreign


def _speaks_of_type(text: str) -> bool:
    """Whether letters of a script without capitals name a typeface: a word for one, or a name in katakana."""
    return any(word in text for word in label_words()["typefaces"]) or all("\u30a0" <= c <= "\u30ff" for c in text)


def _tells(address: str) -> bool:
    """Whether an address is a sentence: three small words in it, as `…/you-must-not-sell`."""
    parts = re.split(r"[^a-z]+", address)
    return sum(part in telling_words() for part in parts) > 2


def is_address(words: Words) -> bool:
    """Whether a text is addresses and nothing else, none of which is a sentence."""
    return bool(len(words)) and all(k == "u" and not _tells(w) for k, w in zip(words.kinds, words.low, strict=True))


def is_alphabet(text: str) -> bool:
    """Whether a text shows letters of an alphabet in their order and says nothing.

    >>> is_alphabet("ABCDEF abcdef 123"), is_alphabet("not for sale")
    (True, False)
    """
    runs = _LETTERS.findall(text)
    return bool(runs) and len(text) <= 4 * MOST_ALPHABET and all(map(_rises, runs))


def _rises(run: str) -> bool:
    return len(run) == 1 or all(0 < ord(b) - ord(a) <= 4 for a, b in zip(run, run[1:], strict=False))


def is_run(words: Words, start: int, stop: int) -> bool:
    """Whether some words of a file for programs are keys, names or numbers, and no sentence."""
    low = [w for w, kind in zip(words.low[start:stop], words.kinds[start:stop], strict=True) if kind == "w"]
    caseless = sum(len(w) for w in low if script_of(w[0]) not in _CASED)
    return not any(w in telling_words() for w in low) and len(low) < 6 and caseless < 9
