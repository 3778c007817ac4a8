"""The characters and letter pairs that every face is measured for, and the test words."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scanner.errors import LetterholdError
from scanner.names import check_name

UPPER = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LOWER = "abcdefghijklmnopqrstuvwxyz"
DIGITS = "0123456789"
MARKS = "-'’.&"
UPPER_ACCENTED = "ÁÀÂÄÅÆÇČĐÉÈÍİŁÑÓÖØŚŞȘŠÚÜÝŻŽÞ"
LOWER_ACCENTED = "áàâãäåæąçčćďđéèêëęěğíîïıłñńňóôõöøőřśşșšßțúùûüůűýÿźżžþð"

CHARACTERS = UPPER + LOWER + DIGITS + MARKS + UPPER_ACCENTED + LOWER_ACCENTED
"""Index of a character in the per-letter arrays of a face."""

FREQUENT_ACCENTED = "áâäåæçéèëíïñóöøúüýłńśşšžčřż"
"""Accented lower-case letters that have their own pairs."""


ACCENTED_VOWELS = "áâäåæéèëíïóöøúüý"
"""Those of ``FREQUENT_ACCENTED`` that follow a capital in names."""

FOLLOWERS = "abcdefghijklmnoprstuvyz"
"""Letters paired with accented ones; next to q, w and x hardly any name has one, and its base letter stands in."""

AFTER_ACCENTED_CAPITAL = "abdeghiklmnorstuvyz"
"""Letters that follow an accented capital in names; for others its base letter stands in."""


def _product(first: str, second: str) -> list[tuple[str, str]]:
    return [(a, b) for a in first for b in second]


DOTTED = "ij"
"""Letters whose dot is measured against its neighbours."""

NEIGHBOURS = UPPER + LOWER

BESIDE_DOTS = "nl"
"""Neighbours that hold a dot as all others do: with a side as low as the dot's stem, or as tall as the dot."""

TALL = (set(UPPER) - set("AL")) | set("dfijlt"), set(UPPER) | set("bfhijklt")
"""Letters with a tall side towards a dot that follows them (0), or comes before them (1)."""

QUANTILES = np.array([0.0, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95])
"""Where the stroke-width distribution of a letter is kept; any width can be asked of it later."""


@lru_cache(maxsize=1)
def pairs() -> tuple[tuple[str, str], ...]:
    """Ordered letter pairs of the pair-gap table, in the order they are stored."""
    wanted = (
        _product(UPPER, LOWER)
        + _product(LOWER, LOWER)
        + _product(UPPER, UPPER)
        + _product(DIGITS, DIGITS)
        + _product(UPPER + LOWER, MARKS)
        + _product(MARKS, UPPER + LOWER)
        + _product(UPPER_ACCENTED, AFTER_ACCENTED_CAPITAL)
        + _product(UPPER, ACCENTED_VOWELS)
        + _product(FOLLOWERS, FREQUENT_ACCENTED)
        + _product(FREQUENT_ACCENTED, FOLLOWERS)
    )
    return tuple(dict.fromkeys(wanted))


_FOLLOWERS_IN_NAMES = (
    "Aabdfghijklmnprstuvwyz Baeiloruy Caehiloruy Daeioruwy Eabcdfhilmnprstuvwxz Faeiloru Gaehiloruw Haeiosuwy "
    "Iadegklmnorsvz Jaceiou Kaehiloruy Laeilouy Maceiouy Naegiouy Obcdfklmnprstuwz Paehioru Qiu Raehiouy "
    "Sacehikloptuvy Taehioruwy Ulnrst Vaeio Waehimoy Xaeiou Yaeiouv Zaeiou "
    "aabcdefghijklmnopqrstuvwxyz babdehilortuy cacehikloqrtuy dadefgilmnorsuwy eabcdefghijklmnopqrstuvwxyz faefiortuy "
    "gadeghilmnoruy haeilmnortuy iabcdefgjklmnopqrstuvxyz jaeou kaeikloqsuy labcdefghiklmnoprstuvwyz mabegimnoprsuy "
    "nacdefghijklmnoqrstuvwyz oabcdefghiklmnoprstuvwxyz pacehiloprt qu rabcdefghijklmnopqrstuvwxy sabcehilmopqrstuvwy "
    "tacehilnorstuwyz uabcdefgiklmnoprstvyz vaeikory waeinorty xaitwy yabcdefijlmnorstuvw zabeilmoruyz"
)
"""Each letter and all that follow it in the 5,494 given names of the US Census 1990 lists."""


@lru_cache(maxsize=1)
def lens_pairs() -> tuple[tuple[str, str], ...]:
    """Pairs whose necks are stored: unaccented letters; an accented one hangs on as its base letter does."""
    return tuple(_product(UPPER + LOWER, LOWER) + _product(UPPER, UPPER))


@lru_cache(maxsize=1)
def lens_measured() -> NDArray[np.bool_]:
    """Which of ``lens_pairs`` are measured, those that occur in given names or in names set in capitals: half of them.

    The others are taken from the pairs measured (``pair_necks.filled``).
    """
    title = {(letters[0], follower) for letters in _FOLLOWERS_IN_NAMES.split() for follower in letters[1:]}
    capitals = {(a.upper(), b.upper()) for a, b in title}
    return np.array([pair in title or pair in capitals for pair in lens_pairs()])


class LensPlaces(NamedTuple):
    """Where each of ``lens_pairs`` and its letters stand in the other arrays."""

    pair: NDArray[np.intp]
    """Place among ``pairs``."""
    first: NDArray[np.intp]
    """Per-letter index of its first letter."""
    second: NDArray[np.intp]


@lru_cache(maxsize=1)
def lens_places() -> LensPlaces:
    """Places of all lens pairs, in their order."""
    at = np.array([pair_index()[pair] for pair in lens_pairs()], dtype=np.intp)
    first, second = pair_places()
    return LensPlaces(at, first[at], second[at])


@lru_cache(maxsize=1)
def lens_index() -> dict[tuple[str, str], int]:
    """Place of each pair in the stored lenses."""
    return {pair: i for i, pair in enumerate(lens_pairs())}


@lru_cache(maxsize=1)
def pair_texts() -> tuple[str, ...]:
    """The pairs as texts of two letters."""
    return tuple(a + b for a, b in pairs())


@lru_cache(maxsize=1)
def pair_index() -> dict[tuple[str, str], int]:
    """Place of each pair in the stored table."""
    return {pair: i for i, pair in enumerate(pairs())}


@lru_cache(maxsize=1)
def character_index() -> dict[str, int]:
    """Place of each character in the per-letter arrays."""
    return {c: i for i, c in enumerate(CHARACTERS)}


@lru_cache(maxsize=1)
def pair_places() -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Per-letter index of the first and the second letter of every pair."""
    index = character_index()
    return (
        np.array([index[a] for a, _ in pairs()], dtype=np.intp),
        np.array([index[b] for _, b in pairs()], dtype=np.intp),
    )


@lru_cache(maxsize=1)
def mean_letters() -> NDArray[np.uint8]:
    """The mean ink of each of ``UPPER + LOWER`` over many faces, each in its own box: (52, 12, 12), row 0 lowest.

    Made by ``bench/group_model.py`` from named font packages: it knows what an a looks like and no style.
    """
    with resources.files("scanner").joinpath("letters.npy").open("rb") as file:
        letters: NDArray[np.uint8] = np.load(file)
    return letters


def read_words(path: Path | None = None) -> tuple[str, ...]:
    """Test words, one a line; ``#`` starts a remark. Without a path, the list that comes with the project.

    Raises LetterholdError with what to do when the file holds no word.
    """
    if path is None:
        text = resources.files("scanner").joinpath("words.txt").read_text(encoding="utf-8")
    else:
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError as cause:
            raise LetterholdError(f"{path}: not UTF-8 text; save the word list as UTF-8") from cause
    words = [line.split("#")[0].strip() for line in text.splitlines()]
    words = [w for w in dict.fromkeys(words) if w]
    if not words:
        raise LetterholdError(f"{path}: no word in it; write one name a line")
    for word in words[:200]:
        try:
            check_name(word)
        except ValueError as cause:
            raise LetterholdError(f"{path}: {word[:20]!r}: {cause}") from cause
    return tuple(words[:200])
