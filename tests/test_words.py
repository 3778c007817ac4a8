"""The default test words hold the letter pairs that names hold.

Source: US Census 1990, "Frequently Occurring Names in the U.S.", given names with their shares, as the
package `names` carries them (upper case; shown in title case here, as on a tag). Both sexes weigh the same.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import names
import pytest

from scanner.alphabet import LOWER, UPPER, lens_measured, lens_pairs, pair_index, read_words


def census_given_names(sex: str) -> list[tuple[str, float]]:
    """Title-case given names of one sex with their share in percent, most frequent first."""
    text = Path(names.__file__).with_name(f"dist.{sex}.first").read_text(encoding="ascii")
    rows = [line.split() for line in text.splitlines() if line.strip()]
    return [(row[0].title(), float(row[1])) for row in rows]


def pair_shares() -> Counter[str]:
    """Share of every adjacent pair in given names; the sexes weigh the same, the whole is 1."""
    shares: Counter[str] = Counter()
    for sex in ("female", "male"):
        counts: Counter[str] = Counter()
        for name, share in census_given_names(sex):
            for pair in map("".join, zip(name, name[1:], strict=False)):
                counts[pair] += share
        total = sum(counts.values())
        for pair, count in counts.items():
            shares[pair] += count / total / 2
    return shares


def test_the_census_list_is_the_one_we_mean() -> None:
    # Census 1990: 4,275 female and 1,219 male names that cover 90 % of people; Mary and James lead.
    female, male = census_given_names("female"), census_given_names("male")
    assert (len(female), len(male)) == (4275, 1219)
    assert (female[0][0], male[0][0]) == ("Mary", "James")
    assert sum(s for _, s in female) == pytest.approx(89.94, abs=0.3)
    shares = pair_shares()
    assert sum(shares.values()) == pytest.approx(1)
    # Check values 8: ar 3.16 %, an 2.37 %, er 2.05 %.
    assert [100 * shares[p] for p in ("ar", "an", "er")] == pytest.approx([3.16, 2.37, 2.05], abs=0.05)


def test_default_words_cover_four_fifths_of_the_pairs_in_given_names() -> None:
    words = read_words()
    held = {a + b for word in words for a, b in zip(word, word[1:], strict=False)}
    coverage = sum(share for pair, share in pair_shares().items() if pair in held)
    print(f"{len(words)} words, {len(held)} pairs, {coverage:.1%} of pair occurrences")
    assert coverage >= 0.80


def test_default_words_are_about_thirty_and_of_a_names_length() -> None:
    words = read_words()
    assert 25 <= len(words) <= 40
    assert len(set(words)) == len(words)
    for word in words:
        assert word[0] in UPPER and all(c in LOWER for c in word[1:])
        assert 4 <= len(word) <= 12
    assert not {w for w, _ in census_given_names("female") + census_given_names("male")} & set(words)  # of our own


def test_every_pair_of_every_given_name_stands_in_the_pair_table() -> None:
    table = pair_index()
    assert [pair for pair in pair_shares() if (pair[0], pair[1]) not in table] == []


def test_the_neck_of_every_pair_of_every_given_name_is_measured() -> None:
    # Source: US Census 1990 given names, the `names` package; in title case and set in capitals.
    measured = {pair for pair, known in zip(lens_pairs(), lens_measured(), strict=True) if known}
    given = [name for sex in ("female", "male") for name, _ in census_given_names(sex)]
    asked = {pair for name in given for text in (name, name.upper()) for pair in zip(text, text[1:], strict=False)}
    assert asked == measured


def test_words_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "words.txt"
    path.write_text("# ours\nMia  # twice\n\nZoë\nMia\n", encoding="utf-8")
    assert read_words(path) == ("Mia", "Zoë")


def test_a_word_file_that_says_nothing_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "words.txt"
    path.write_text("# nothing\n\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"no word in it; write one name a line$"):
        read_words(path)
    path.write_bytes("Zoë".encode("latin-1"))
    with pytest.raises(ValueError, match=r"not UTF-8 text; save the word list as UTF-8$"):
        read_words(path)
