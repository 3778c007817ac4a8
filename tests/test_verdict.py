"""Verdicts from statements: recognition, weighing, records. Sources stand beside the checks."""

from __future__ import annotations

from pathlib import Path

import pytest
from licence_sentences import BATCHES, GRANTED, GRANTS, NAMED_NOT_GRANTED, UNSEEN_GRANTS, named, placed
from license_expression import get_spdx_licensing

from catalogue.licence.expressions import resolve_name, terms_of
from catalogue.licence.families import load_records, parse_record
from catalogue.licence.verdict import Verdict, explain, judge, place_of
from catalogue.permission import STRICTER
from scanner.evidence import Evidence


def said(*texts: str, place: str = "name 13 (platform 3, language 0x0409)") -> Verdict:
    """The verdict on a font that says these things in its licence field."""
    return judge(tuple(Evidence("name", place, text) for text in texts))


# Statement, SPDX id, verdict. Verdicts: shared/licence-rules.md, which names the published text or says from memory.
MENTIONS = {
    "ofl": ("Licensed under the SIL Open Font License, Version 1.1.", "OFL-1.1", "yes"),
    "apache": ("Licensed under the Apache License, Version 2.0", "Apache-2.0", "yes"),
    "mit": ("Released under the MIT License", "MIT", "yes"),
    "bsd": ("BSD 3-Clause: BSD-3-Clause license", "BSD-3-Clause", "yes"),
    "epl": ("Eclipse Public License 2.0", "EPL-2.0", "yes"),
    "cc0": ("CC0 1.0 Universal", "CC0-1.0", "yes"),
    "public-domain": ("Public Domain", "LicenseRef-Public-Domain", "yes"),
    "free-for-any-use": ("Fonts in this site are free for any use.", "LicenseRef-Free-For-Any-Use", "yes"),
    "cc-by": ("Creative Commons Attribution 4.0 International", "CC-BY-4.0", "yes-conditions"),
    "cc-by-sa": ("http://creativecommons.org/licenses/by-sa/3.0/", "CC-BY-SA-3.0", "yes-conditions"),
    "cc-by-nd": ("CC BY-ND 4.0", "CC-BY-ND-4.0", "ask"),
    "cc-nc": ("CC BY-NC 4.0", "CC-BY-NC-4.0", "no"),
    "lppl": ("This work is under the LPPL", "LPPL-1.3c", "yes"),
    "bitstream-vera": (
        "The use of this font is granted subject to the Vera License.",
        "Bitstream-Vera",
        "yes",
    ),
    "ubuntu": ("Ubuntu Font Licence 1.0", "Ubuntu-font-1.0", "yes"),
    "ipa": ("http://ipafont.ipa.go.jp/ipa_font_license_v1.html", "IPA", "yes"),
    "baekmuk": ("Baekmuk license", "Baekmuk", "yes"),
    "maker-permissions": ("Arphic Public License", "Arphic-1999", "ask"),
    "gpl": ("This font is licensed under GPL v2 or later", "GPL-2.0-or-later", "ask"),
    "gpl-font-exception": (
        "GNU General Public License V2 and later with font exception",
        "GPL-2.0-or-later WITH Font-exception-2.0",
        "yes-conditions",
    ),
    "lgpl": ("GNU Lesser General Public License", "LGPL-2.1-or-later", "ask"),
    "agpl": ("GNU Affero General Public License v3", "AGPL-3.0-only", "ask"),
    "agpl-postscript-exception": (
        "GNU Affero General Public License, with an exception for embedding in PostScript and PDF",
        "AGPL-3.0-only WITH PS-or-PDF-font-exception-20170817",
        "ask",
    ),
    "personal-use": ("Free for personal use only", "LicenseRef-Personal-Use", "no"),
    "noncommercial": ("Not for commercial use", "LicenseRef-Non-Commercial", "no"),
    "licence-for-sale": ("A commercial license is required", "LicenseRef-Commercial-Licence-Needed", "no"),
    "trial": ("Trial version", "LicenseRef-Trial", "no"),
    "eula": ("Use is subject to the license agreement", "LicenseRef-EULA", "ask"),
    "proprietary": ("Proprietary software", "LicenseRef-Proprietary", "ask"),
    "unclear-words": ("For firms and corporate clients see the shop", "", "ask"),  # no licence is named
    "freeware": ("Freeware", "LicenseRef-Freeware", "ask"),
    "file-copyleft": ("Mozilla Public License 2.0", "MPL-2.0", "ask"),
    "free-with-credit": (
        "Free for commercial projects, as long as you credit Ada Larkspur.",
        "LicenseRef-Free-With-Credit",
        "yes-conditions",
    ),
}  # fmt: skip


@pytest.mark.parametrize("family", sorted(MENTIONS))
def test_each_record_is_reached(family: str) -> None:
    text, spdx, verdict = MENTIONS[family]
    found = said(text)
    assert (found.spdx, found.verdict) == (spdx, verdict)
    claims = {e.claim for e in found.evidence if e.claim}
    assert family in {record.family for claim in claims for record in terms_of(claim).records}


def test_no_record_is_left_out() -> None:
    unnamed = {record.family for record in load_records()} ^ set(MENTIONS)
    assert not unnamed, f"{sorted(unnamed)}: give each record of fonts_licenses/ a sentence in MENTIONS, and none else"


def test_spdx_ids_are_on_the_spdx_list() -> None:
    """Source: the SPDX list inside the license-expression library."""
    licensing = get_spdx_licensing()
    for record in load_records():
        ids = {*record.spdx, *(named.spdx for named in record.named)}
        for spdx in ids:
            if not spdx.startswith("LicenseRef-"):
                assert licensing.validate(spdx).errors == [], f"{record.family}: {spdx}"


def test_records_are_whole() -> None:
    for record in load_records():
        assert record.goods and record.conditions + record.traps and record.source, record.family
        assert record.read in (True, False)
        assert record.read == (not record.source.startswith(("from memory", "common practice"))), record.family
        for text in (record.goods, *record.conditions, *record.traps, *record.accompany):
            assert not {"safe", "certified", "compliant"} & set(text.lower().split())


@pytest.mark.parametrize(
    ("broken", "error"),
    [
        ("title =", "x.toml: "),
        ("title = 'a'", "x.toml: spdx is missing; add it"),
        (
            "title='a'\nspdx=[]\nkind='gift'\nsell='yes'\nalter='yes'\ngoods=''\nconditions=[]\naccompany=[]\ntraps=[]\n"
            "source={}",
            "x.toml: kind is 'gift'; use one of grant, exception, notice, reserve, restriction",
        ),
        (
            "title='a'\nspdx=[]\nkind='grant'\nsell='yes'\nalter='yes'\ngoods=''\nconditions=[]\naccompany=[]\ntraps=[]\n"
            "source={}",
            "x.toml: 'text'; correct that entry",
        ),
    ],
)
def test_a_broken_record_says_which_entry(broken: str, error: str) -> None:
    with pytest.raises(ValueError, match=r"x\.toml") as caught:
        parse_record("x", broken)
    assert str(caught.value).startswith(error)


# Traps of shared/licence-rules.md, "Traps seen in 3,933 real fonts", one by one.
@pytest.mark.parametrize(
    ("texts", "verdict"),
    [
        (("----",), "unknown"),
        (("Acme Type 8F3A",), "ask"),
        (("Copyright (c) 2003 Acme Type. All rights reserved.",), "ask"),
        (("All rights reserved. This font is licensed under the SIL OFL 1.1.",), "yes"),
        (("OFL 1.1. The font may not be sold by itself.",), "yes"),
        (("May be used commercially and noncommercially, free for any use.",), "yes"),
        (("NOT released under the OFL",), "ask"),
        (("OFL, personal use only",), "no"),
        (("DejaVu changes are in public domain",), "ask"),
        (("Icons are licensed under the MIT License",), "ask"),
        (("Will be released under the SIL Open Font License",), "ask"),
        (("Maybe OFL?",), "ask"),
        (("MIT License", "SIL Open Font License"), "yes"),
        (("GPL v3", "SIL Open Font License"), "ask"),
        (("SIL Open Font License or GPL v3, at your choice",), "yes"),
        (("Licensed under the OFL", "Not for commercial use"), "no"),
    ],
)
def test_traps(texts: tuple[str, ...], verdict: str) -> None:
    assert said(*texts).verdict == verdict


@pytest.mark.parametrize(
    ("raw", "spdx"),
    [  # Debian copyright format 1.0, section 7.1 (short names), and real copyright files of fonts-* packages
        ("GPL-2+", "GPL-2.0-or-later"),
        ("GPL-3", "GPL-3.0-only"),
        ("GPL-2+ with Font exception", "GPL-2.0-or-later WITH Font-exception-2.0"),
        (
            "AGPL-3 with Font exception",
            "AGPL-3.0-only WITH PS-or-PDF-font-exception-20170817",
        ),  # fonts-urw-base35
        ("Expat", "MIT"),
        ("OFL-1.1 or CC0-1.0", "OFL-1.1 OR CC0-1.0"),
        ("OFL-1.1 and Apache-2.0", "OFL-1.1 AND Apache-2.0"),
        ("(MIT OR Apache-2.0) AND OFL-1.1", "(MIT OR Apache-2.0) AND OFL-1.1"),
        ("CC-BY-SA-3", "CC-BY-SA-3.0"),
        ("dfsg-free-text", ""),
    ],
)
def test_licence_fields(raw: str, spdx: str) -> None:
    assert resolve_name(raw) == spdx
    assert not spdx or get_spdx_licensing().validate(spdx).errors == []


def test_or_takes_the_most_permissive_and_the_strictest() -> None:
    """SPDX 2.3 annex D: OR is a choice, AND means all of them."""
    assert terms_of("OFL-1.1 OR GPL-3.0-only").sell == "yes"
    assert terms_of("OFL-1.1 AND GPL-3.0-only").sell == "ask"
    assert terms_of("(OFL-1.1 OR CC-BY-NC-4.0) AND CC-BY-4.0").sell == "yes-conditions"
    assert terms_of("Never-Heard-1.0").sell == "ask"


def test_adding_a_restriction_never_makes_it_more_permissive() -> None:
    order = (*STRICTER,)
    for text, _, verdict in MENTIONS.values():
        worse = said(text, "For personal use only.")
        assert worse.verdict == "no", text
        assert order.index(worse.verdict) >= order.index(verdict)


def test_credit_goes_with_the_goods() -> None:
    """CC BY 4.0 section 3(a)(1): author, licence, and whether it was changed."""
    (line,) = said("CC BY 4.0").must_accompany
    assert "author" in line and "licence" in line and "changed" in line


def test_altering_outlines_with_the_font_exception_asks() -> None:
    """SPDX Font-exception-2.0 speaks of unaltered portions."""
    assert said("GPL v2 with font exception").may_alter_outlines == "ask"


def test_reserved_names_are_shown_and_do_not_decide() -> None:
    """OFL-FAQ 5.1: they are about the names of changed fonts."""
    found = said('Copyright 2010 A. Maker, with Reserved Font Name "Marmalade". Licensed under the OFL 1.1')
    assert (found.reserved_font_names, found.verdict) == (("Marmalade",), "yes")


def test_own_words_against_a_file_beside_ask() -> None:
    found = judge((Evidence("name", "name 13", "OFL 1.1"), Evidence("licence-file", "/f/LICENSE", "Personal use only")))
    assert found.verdict == "ask" and found.conflicts


def test_a_text_not_read_to_its_end_grants_nothing_but_limits() -> None:
    # What was not read may take a grant back; what was read and limits stays said.
    grant = Evidence("name", "name 13", "Licensed under the SIL Open Font License.")
    text = "Licensed under the SIL Open Font License. For personal use only."
    long = Evidence("licence-file", "/f/LICENSE", text, "", "statement", "excerpt")
    assert judge((grant, long)).verdict == "ask"
    assert judge((Evidence("licence-file", "/f/LICENSE", "OFL 1.1", "", "statement", "excerpt"),)).verdict == "ask"


def test_a_component_never_grants() -> None:
    found = judge(
        (Evidence("licence-file", "/f/OFL-Other.txt", "SIL Open Font License", "", "statement", "component"),)
    )
    assert found.verdict == "ask" and found.spdx == ""


def test_every_yes_shows_its_quote() -> None:
    for text, _, verdict in MENTIONS.values():
        found = said(text)
        if verdict.startswith("yes"):
            assert any(e.polarity == "grant" and e.quote for e in found.evidence)
            assert found.reasons[0].startswith("[1]")


def test_explanation_answers_first_and_ends_with_the_caution() -> None:
    lines = explain(said("SIL Open Font License")).splitlines()
    assert lines[0] == "Yes: goods made with this font may be sold, by what was found."
    assert lines[-1].startswith("This is evidence that was found, not legal advice.")


def test_the_explanation_says_in_words_where_a_statement_stands() -> None:
    told = explain(said("SIL Open Font License"), "Marmalade.ttf")
    assert "Font: Marmalade.ttf" in told and "Licence: SIL Open Font License (OFL-1.1)" in told
    assert "[1] The font's licence field (name 13, Windows, English) grants OFL-1.1:" in told
    assert "Goes with the goods: nothing" in told
    silent = explain(judge((Evidence("name", "name 5 (platform 1, language 0x0000)", "Version 1"),)))
    assert silent.startswith("Unknown: ") and "Also read, with no licence in it" in silent


def test_languages_of_statements_are_told_in_words() -> None:
    """Source: the tables of language ids in fontTools."""
    from fontTools.ttLib.tables._n_a_m_e import _MAC_LANGUAGES, _WINDOWS_LANGUAGES

    tags = {"en": "English", "de": "German", "fr": "French", "es": "Spanish", "it": "Italian", "pt": "Portuguese"}
    tags |= {"ja": "Japanese", "zh": "Chinese", "ru": "Russian"}
    for platform, table in ((1, _MAC_LANGUAGES), (3, _WINDOWS_LANGUAGES)):
        for code, tag in table.items():
            told = place_of(Evidence("name", f"name 0 (platform {platform}, language 0x{code:04x})", "x"))
            language = tags.get(tag.split("-")[0], f"language 0x{code:04x}")
            assert told.endswith(f", {language})"), (code, tag)


@pytest.mark.parametrize("text", ["Version 1.002; ttfautohint (v1.8) -l 8 -r 50", "Version 2.1;GOOG;git-7f49a0", "3.0"])
def test_version_strings_of_tools_are_understood(text: str) -> None:
    """OpenType 1.9 `name`, id 5: `Version n.n`, then what the maker's tools add. Seen in the fonts measured."""
    assert placed("5+", text).verdict == "yes"


def test_a_purpose_counts_only_when_it_is_a_known_one() -> None:
    assert said("Licensed under the OFL for personal and commercial use.").verdict == "yes"
    assert said("Licensed under the OFL for stencils.").verdict == "ask"


def test_a_name_in_a_notice_is_no_condition() -> None:
    for text in (
        "Copyright 2013 Jérémy Larkspur",
        "Copyright (c) 2014, @larkspur",
        "© 2011 李明",
    ):
        assert placed("0+", text).verdict == "yes", text


def test_quotes_are_clean() -> None:
    found = said("OFL 1.1 \u202e evil \x07 bell " + "x" * 5000)
    assert all(len(e.quote) <= 260 and "\u202e" not in e.quote and "\x07" not in e.quote for e in found.evidence)


@pytest.mark.parametrize("text", NAMED_NOT_GRANTED)
def test_named_but_not_granted(text: str) -> None:
    assert said(text).verdict in ("no", "ask", "unknown")


def test_of_clear_grants_most_are_understood_and_none_is_taken_for_a_refusal() -> None:
    """Reading errs on one side: a sentence that stands in no table asks. The bar is that 85 of 100 are understood."""
    answers = [said(text).verdict for text in GRANTED]
    answers += [named(where, text).verdict for where, text in (*GRANTS, *UNSEEN_GRANTS)]
    kept = sum(answer in ("yes", "yes-conditions") for answer in answers)
    assert kept >= 0.8 * len(answers) and "no" not in answers


PARTS = "# Icons: {}\n\n# Fonts: {}\n\n# Code: {}\n"


@pytest.mark.parametrize(
    ("icons", "fonts", "code", "verdict", "spdx"),
    [  # licence files that name a licence for each part; common practice of icon fonts, no source
        ("CC BY 4.0", "SIL OFL 1.1", "MIT License", "yes", "OFL-1.1"),
        ("CC BY-NC 4.0", "SIL OFL 1.1", "GPL v3", "yes", "OFL-1.1"),
        ("SIL OFL 1.1", "for personal use only", "MIT License", "no", "LicenseRef-Personal-Use"),
        ("SIL OFL 1.1", "the foundry's own terms", "MIT License", "ask", ""),
        ("SIL OFL 1.1", "GPL v3", "MIT License", "ask", "GPL-3.0-only"),
    ],
)
def test_of_a_file_that_speaks_of_parts_what_it_says_of_the_fonts_counts(
    icons: str, fonts: str, code: str, verdict: str, spdx: str
) -> None:
    found = placed("FILE", PARTS.format(icons, fonts, code))
    assert (found.verdict, found.spdx) == (verdict, spdx)


@pytest.mark.parametrize(
    ("text", "spdx", "verdict"),
    [  # SPDX 2.3, annex D (expressions) and annex E (SPDX-License-Identifier in files)
        ("SPDX-License-Identifier: OFL-1.1", "OFL-1.1", "yes"),
        ("SPDX-License-Identifier: OFL-1.1 OR MIT", "OFL-1.1 OR MIT", "yes"),
        ("SPDX-License-Identifier: OFL-1.1 AND GPL-3.0-only", "OFL-1.1 AND GPL-3.0-only", "ask"),
        ("SPDX-License-Identifier: (OFL-1.1 OR MIT) AND CC-BY-4.0", "", "yes-conditions"),
        (
            "SPDX-License-Identifier: GPL-2.0-or-later WITH Font-exception-2.0",
            "GPL-2.0-or-later WITH Font-exception-2.0",
            "yes-conditions",
        ),
        ("SPDX-License-Identifier: CC-BY-NC-4.0", "CC-BY-NC-4.0", "no"),
        ("SPDX-License-Identifier: LicenseRef-Larkspur", "", "ask"),
        ("/* SPDX-License-Identifier: CC0-1.0 */", "CC0-1.0", "yes"),
        ("Version 1\nLicense: MIT\n", "MIT", "yes"),
        ("Version 1\nLicense: MIT (scripts only)\n", "MIT", "ask"),
    ],
)
def test_labels_carry_expressions(text: str, spdx: str, verdict: str) -> None:
    found = said(text)
    assert found.verdict == verdict
    assert not spdx or found.spdx == spdx


README = "Larkspur\n========\n\nA face with serifs.\n\nLicense\n-------\n\n{}\n\nInstallation\n------------\n\n{}\n"


def test_of_a_read_me_the_part_about_the_licence_must_be_understood_whole() -> None:
    grant = "Licensed under the SIL Open Font License, Version 1.1."
    assert named("README", README.format(grant, "Double click the file.")).verdict == "yes"
    assert placed("README", README.format(grant + " Zwibble the frobs.", "Double click the file.")).verdict == "ask"
    assert placed("README", README.format(grant, "Goods are sold by the foundry.")).verdict == "ask"
    assert placed("README", README.format("See the other file.", grant)).verdict == "ask"


def test_line_endings_make_no_difference() -> None:
    for text in (
        README.format("Licensed under the SIL Open Font License, Version 1.1.", "Double click the file."),
        PARTS.format("CC BY 4.0", "SIL OFL 1.1", "MIT License"),
        "Larkspur\n--------\nSIL OPEN FONT LICENSE\n---------------------\nVersion 1.1\n",
    ):
        for where in ("README", "FILE", "13"):
            one, other = placed(where, text), placed(where, text.replace("\n", "\r\n"))
            assert (one.verdict, one.spdx) == (other.verdict, other.spdx)


def test_a_file_about_another_licence_is_another_fonts_when_a_second_one_agrees() -> None:
    agrees = Evidence("licence-file", "/f/LICENSE.txt", "SIL Open Font License, Version 1.1")
    other = Evidence("licence-file", "/f/Other.txt", "MIT License. Companies pay for the other font.")
    assert judge((GRANT, agrees, other)).verdict == "ask"  # what another file limits may be meant for this font
    assert judge((GRANT, agrees, Evidence("licence-file", "/f/Other.txt", "MIT License"))).verdict == "yes"
    assert judge((GRANT, other)).verdict == "ask"
    assert (
        judge((GRANT, agrees, Evidence("licence-file", "/f/Other.txt", "MIT License. Personal use only."))).verdict
        == "ask"
    )
    assert (
        judge((GRANT, Evidence("licence-file", "/f/LICENSE.txt", agrees.quote + ". Companies pay."))).verdict == "ask"
    )


def test_a_reason_is_given_once() -> None:
    part = Evidence("licence-file", "/f/OFL-Other.txt", "SIL Open Font License", "", "statement", "component")
    found = judge((Evidence("name", "name 13", "Licensed under the OFL. Zwibble the frobs."), part))
    assert len(found.reasons) == len(set(found.reasons))


def test_where_a_design_comes_from_is_no_limit() -> None:
    assert placed("10+", "It began as a personal project of two typographers.").verdict == "ask"
    assert placed("10+", "It may be used in a personal project.").verdict == "ask"
    assert placed("10+", "It is for personal use only.").verdict == "no"


@pytest.mark.parametrize(("where", "text"), [case for batch in BATCHES.values() for case in batch])
def test_words_that_limit_in_ways_nobody_listed(where: str, text: str) -> None:
    assert placed(where, text).verdict in ("no", "ask", "unknown")


def test_a_sentence_that_is_not_understood_is_quoted_as_the_reason() -> None:
    found = said("Licensed under the OFL. Zwibble the frobs on Tuesdays.")
    assert found.verdict == "ask" and "Zwibble the frobs on Tuesdays" in found.reasons[0]


GRANT = Evidence("name", "name 13 (platform 3, language 0x0409)", "Licensed under the SIL Open Font License.")
OWNER = Evidence("name", "name 0 (platform 1, language 0x0000)", "Copyright 2020 Ada Larkspur")


@pytest.mark.parametrize(
    ("where", "text"),
    [  # our own wording, after what real fonts say (the packages marked `read` in bench/licence_packages.txt)
        ("0+", "Copyright 2015, Larkspur Corporate GbR and the Ministry of Commerce"),
        ("10+", "Thank you!"),
        ("13", "The fonts are available royalty-free under the SIL Open Font License."),
        ("13", "This font is under the OFL as shown below.+AAoACgAA-"),
    ],
)
def test_words_that_say_nothing_about_rights(where: str, text: str) -> None:
    assert placed(where, text).verdict == "yes"


@pytest.mark.parametrize(
    ("where", "text"),
    [  # what these rules must not let through
        ("7+", "Larkspur is a trademark of Ada, Business Use By Fee."),
        ("0+", "Copyright 2020 Ada Larkspur, Companies Pay"),
        ("CFF+", "For the almanac"),
        ("10+", "Thank you for paying."),
        ("13", "OFL 1.1, royalty-free for students"),
        ("5+", "Version 1.2; Latin script for the design school tables"),
        ("7+", "Larkspur is not a merchandise font and needs a fee"),
    ],
)
def test_words_that_look_like_these_and_limit(where: str, text: str) -> None:
    assert placed(where, text).verdict != "yes"


def test_names_of_features_under_a_number_that_is_not_theirs() -> None:
    """OpenType 1.9 `name`: names of features have ids above 255; seen under id 0, beside the real copyright line."""
    feature = Evidence("name", "name 0, repeated (platform 1, language 0x0000)", "Show invisible characters")
    swapped = (
        Evidence("name", OWNER.locator, feature.quote),
        Evidence("name", feature.locator, OWNER.quote),
    )
    assert judge((GRANT, OWNER, feature)).verdict == judge((GRANT, *swapped)).verdict == "yes"
    limit = Evidence("name", "name 0, repeated (platform 1, language 0x0000)", "Badges by appointment only")
    assert judge((GRANT, OWNER, limit)).verdict == "ask"


def test_a_statement_in_a_broken_encoding_counts_only_when_no_sound_one_stands_there() -> None:
    broken = "\ufffd74 \ufffdf0\ufffdb8 \ufffd8c OFL \ufffd04\ufffdb8"
    beside = Evidence("name", "name 13 (platform 1, language 0x0017)", broken)
    assert judge((GRANT, beside)).verdict == "yes"
    assert judge((beside,)).verdict == "ask"


@pytest.mark.parametrize(
    ("name", "spdx"), [("CC0-1.0", "CC0-1.0"), ("Apache-2.0", "Apache-2.0"), ("BSD", "BSD-3-Clause")]
)
def test_published_texts_alone_are_understood(name: str, spdx: str) -> None:
    """The texts themselves, as Debian's base-files lays them out."""
    path = Path("/usr/share/common-licenses", name)
    if not path.is_file():
        pytest.skip(f"{path} is not on this machine (Debian's base-files)")
    text = path.read_text("utf-8")
    for item in (Evidence("licence-file", "/f/LICENSE", text), Evidence("name", OWNER.locator, text)):
        found = judge((item,))
        assert (found.verdict, found.spdx) == ("yes", spdx)
    worse = text.replace("\n\n", "\n\nNot for goods that are sold.\n\n", 1)
    assert judge((Evidence("licence-file", "/f/LICENSE", worse),)).verdict != "yes"


def test_the_text_of_another_creative_commons_licence_is_not_taken_for_the_free_one() -> None:
    head = "Creative Commons Legal Code\n\nAttribution-NonCommercial 3.0 Unported\n\n"
    tail = "this License is not intended to restrict the license of any rights under applicable law."
    text = head + "THE WORK (AS DEFINED BELOW) IS PROVIDED UNDER THESE TERMS. " + "Words of the law. " * 300 + tail
    assert judge((Evidence("licence-file", "/f/LICENSE", text),)).verdict == "no"


FIELD = "name 13 (platform 3, language 0x0409)"
NOTICE = "name 0 (platform 3, language 0x0409)"
OFL = "This font is licensed under the SIL Open Font License, Version 1.1."


def test_a_second_file_is_another_fonts_only_where_a_file_agrees() -> None:
    """Two places of the font that agree are no reason to pass over a file next to it that says something else."""
    own = (Evidence("name", FIELD, OFL), Evidence("name", NOTICE, f"Copyright (c) 2019 Ida Brandt. {OFL}"))
    other = Evidence("licence-file", "COPYING", "This font is licensed under the GNU GPL version 2.")
    agreeing = Evidence("licence-file", "OFL.txt", OFL)
    assert judge((*own, other)).conflicts
    assert judge((*own, other)).verdict == "ask"
    assert not judge((*own, other, agreeing)).conflicts
    assert judge((*own, other, agreeing)).verdict == "yes"


def test_an_exception_refines_the_licence_it_was_written_for_once() -> None:
    """SPDX Font-exception-2.0 is written for the GPL; next to another licence it stands for the GPL it implies."""
    with_exception = "GPL-2.0-or-later WITH Font-exception-2.0"
    assert said("GPL v2 or later with font exception. With font embedding exception.").spdx == with_exception
    assert said("GPL v2 or later. With font embedding exception.").spdx == with_exception
    assert said("With font embedding exception.").spdx == with_exception
    assert said(f"{OFL} With font embedding exception.").spdx == f"OFL-1.1 AND {with_exception}"


def test_a_licence_named_with_the_work_it_was_taken_from_grants_nothing() -> None:
    for text in ("Based on Quince (OFL).", "Based on Quince, Apache License 2.0", "Derived from Quince, MIT License"):
        assert said(text).verdict == "ask", text


@pytest.mark.parametrize(
    ("name_id", "text", "sold"),
    [("2", "Bold TEST", False), ("4", "Larkspur Test", False), ("2", "Bold", True), ("2", "Negrita", True)],
)
def test_a_style_called_test_is_not_the_whole_font(name_id: str, text: str, sold: bool) -> None:
    """A test or trial cut lacks letters or a licence (common practice of foundries, no source): it asks."""
    rows = {"1": "Larkspur", "2": "Regular", "4": "Larkspur Regular", "13": OFL} | {name_id: text}
    raw = tuple(Evidence("name", f"name {k} (platform 3, language 0x0409)", v) for k, v in rows.items())
    assert (judge(raw).verdict == "yes") is sold


@pytest.mark.parametrize(
    ("folder", "sold"),
    [
        ("my script font", True), ("Ziggy stuff", True), ("test", True), ("birthday tags 2024", True),
        ("Weihnachten", True), ("dropped-fonts", True), ("my test fonts", True), ("Bold TEST", False), ("Larkspur test", False),
        ("Leihgabe", False), ("Larkspur demo", False),
        ("birthday only", False), ("not for Ziggy", False),
    ],
)  # fmt: skip
def test_a_folder_of_one_font_may_bear_everyday_words(folder: str, sold: bool) -> None:
    rows = {"1": "Larkspur", "2": "Regular", "4": "Larkspur Regular", "13": OFL}
    raw = tuple(Evidence("name", f"name {k} (platform 3, language 0x0409)", v) for k, v in rows.items())
    assert (judge((*raw, Evidence("archive-name", "the name of the folder", folder))).verdict == "yes") is sold
