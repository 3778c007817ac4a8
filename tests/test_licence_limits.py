"""No limit becomes a yes, in whatever words and wherever it stands."""

from __future__ import annotations

import os

import pytest
from licence_places import GRANTS, font, grants, named, names, near_grants, placed, sentences

ALL = os.environ.get("LETTERHOLD_REQUIRE_ALL") == "1"
NEVER = ("ask", "no", "unknown")
SENTENCES = sentences()
GROUPS = sorted({row["language"] for row in SENTENCES})


def test_there_are_limits_enough() -> None:
    assert len(GROUPS) >= 20
    assert all(sum(row["language"] == group for row in SENTENCES) >= 10 for group in GROUPS)


@pytest.mark.parametrize("language", GROUPS)
def test_no_sentence_that_limits_ends_in_a_yes(language: str) -> None:
    """Each sentence under one of four genuine grants in turn; under all of them where everything is required."""
    rows = [row for row in SENTENCES if row["language"] == language]
    for number, row in enumerate(rows):
        for grant in GRANTS if ALL else (GRANTS[number % len(GRANTS)],):
            for place, verdict in placed(row["text"], grant):
                assert verdict.verdict in NEVER, (place, row["id"], row["text"])


@pytest.mark.parametrize("row", near_grants(), ids=lambda row: row["id"])
def test_a_grant_with_one_word_more_is_no_grant(row: dict[str, str]) -> None:
    """Alone it allows nothing; behind a genuine grant it keeps that back, wherever it stands."""
    assert font({13: row["text"]}).verdict in NEVER
    for place, verdict in placed(row["text"], GRANTS[0]):
        assert verdict.verdict in NEVER, (place, row["text"])


def test_a_wish_to_be_named_allows_nothing_and_goes_with_what_does() -> None:
    for wish in ("Attribution is required.", "Please credit Tannhollow Type."):
        assert font({13: wish}).verdict == "ask"
        assert font({13: f"Free for commercial use. {wish}"}).spdx == "LicenseRef-Free-With-Credit"
        with_licence = font({13: f"{GRANTS[0]} {wish}"})
        assert with_licence.verdict == "yes-conditions" and with_licence.must_accompany


def test_a_price_is_no_way_of_granting() -> None:
    """Shareware is paid for after a trial (Association of Shareware Professionals, from memory): nothing frees it."""
    assert font({13: "Shareware. Free for commercial use."}).verdict in NEVER
    assert font({13: "100% free! Use it for anything you like."}).verdict == "yes"


@pytest.mark.parametrize("row", names(), ids=lambda row: row["id"])
def test_no_name_that_limits_ends_in_a_yes(row: dict[str, str]) -> None:
    for place, verdict in named(row["text"], GRANTS[0]):
        assert verdict.verdict in NEVER, (place, row["text"])


@pytest.mark.parametrize("row", grants(), ids=lambda row: row["id"])
def test_a_clear_grant_is_understood(row: dict[str, str]) -> None:
    assert font({13: row["text"]}).verdict == row["expected"]


def _wide(text: str) -> str:
    """Full-width forms (Unicode, Halfwidth and Fullwidth Forms)."""
    return "".join(chr(ord(c) + 0xFEE0) if "!" <= c <= "~" else c for c in text)


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace(" ", "\u00a0"), lambda text: text.upper(), lambda text: text.replace(" ", ""),
        lambda text: text.replace(" ", "_"), lambda text: text.replace("e", "\u0435"), lambda text: " ".join(text),
        lambda text: text[: len(text) // 2] + "\u200b" + text[len(text) // 2 :], lambda text: text.replace(" ", "\n"),
        lambda text: text.replace("o", "0"), _wide,
    ],
    ids=[
        "no-break blanks", "capitals", "no blanks", "underscores", "Cyrillic e", "spaced", "hidden blank", "lines",
        "digits", "wide",
    ],
)  # fmt: skip
def test_a_limit_in_disguise_is_no_grant(change) -> None:  # type: ignore[no-untyped-def]
    for row in SENTENCES[::12]:
        text = change(row["text"])
        assert font({13: f"{GRANTS[0]} {text}"}).verdict in NEVER, text
        assert font({13: GRANTS[0], 10: f"A friendly rounded hand. {text}"}).verdict in NEVER, text


def test_a_filled_licence_field_is_never_silence() -> None:
    for text in (
        "May not be used to produce goods for sale",
        "Police publiée sous licence SIL Open Font 1.1",
        "Zwibble",
    ):
        found = font({13: text})
        assert found.verdict != "unknown" and "No licence is stated" not in " ".join(found.reasons)
