"""Verdicts from statements: recognition, weighing, records. Sources stand beside the checks."""

from __future__ import annotations

import pytest
from license_expression import get_spdx_licensing

from catalogue.licences import load_records, parse_record
from catalogue.verdict import (
    ORDER,
    SHORT,
    Verdict,
    _words,
    explain,
    flatten,
    judge,
    recognise,
    resolve_name,
    terms_of,
)
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
    "baekmuk": ("Baekmuk Batang: permission is hereby granted under the Baekmuk license", "Baekmuk", "yes"),
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
    "proprietary": ("This software may not be copied", "LicenseRef-Proprietary", "ask"),
    "unclear-words": ("Firms and corporate clients: see the shop", "LicenseRef-Unclear-Words", "ask"),
    "freeware": ("Freeware", "LicenseRef-Freeware", "ask"),
}


@pytest.mark.parametrize("family", sorted(MENTIONS))
def test_each_record_is_reached(family: str) -> None:
    text, spdx, verdict = MENTIONS[family]
    found = said(text)
    assert (found.spdx, found.verdict) == (spdx, verdict)
    assert family in {record.family for record in terms_of(spdx).records}


def test_no_record_is_left_out() -> None:
    assert {record.family for record in load_records()} == set(MENTIONS)


def test_spdx_ids_are_on_the_spdx_list() -> None:
    """Source: the SPDX list inside the license-expression library."""
    licensing = get_spdx_licensing()
    for record in load_records():
        ids = {*record.spdx, *(s for s, _ in record.recognise if record.kind != "exception")}
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
            "recognise=[]\nsource={}",
            "x.toml: kind is 'gift'; use one of grant, exception, notice, reserve, restriction",
        ),
        (
            "title='a'\nspdx=[]\nkind='grant'\nsell='yes'\nalter='yes'\ngoods=''\nconditions=[]\naccompany=[]\ntraps=[]\n"
            "recognise=[]\nsource={}",
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
        (("Acme Type 8F3A",), "unknown"),
        (("Copyright (c) 2003 Acme Type. All rights reserved.",), "unknown"),
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
    order = (*ORDER,)
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


def test_quotes_are_clean() -> None:
    found = said("OFL 1.1 \u202e evil \x07 bell " + "x" * 5000)
    assert all(len(e.quote) <= 260 and "\u202e" not in e.quote and "\x07" not in e.quote for e in found.evidence)


def test_short_texts_without_a_stem_are_rightly_passed_by() -> None:
    """Whatever a record would recognise in a short text must hold a stem, else it would be overlooked."""
    for text, _, _ in MENTIONS.values():
        low = flatten(text).lower()
        assert len(low) >= SHORT or not low.isascii() or _words()["stem"].search(low), text
        assert recognise(text)


# Sentences that name an open licence and still do not grant it, or grant it with a limit. Our own wording, written
# against the rules and not from real fonts; common practice, no source.
NAMED_NOT_GRANTED = (
    "This is not an OFL font.",
    "Not open source. Not OFL. Ask first.",
    "License: not OFL, see website",
    "This font isn't under the SIL Open Font License anymore.",
    "The OFL does not cover this typeface.",
    "We have not decided between OFL and a commercial licence.",
    "SIL Open Font License applies to the webfont only; desktop use is restricted.",
    "OFL except for commercial products.",
    "OFL licensed, but no merchandise.",
    "Licensed under OFL with the restriction that it may not be used on products for sale.",
    "Free under the OFL for non-profits.",
    "OFL version available on request.",
    "For an OFL version, contact us.",
    "The OFL version is a different file.",
    "The previous release was OFL.",
    "OFL until version 1.0; since 2.0 all rights reserved.",
    "Based on Quince (OFL).",
    "Contains parts of Quince, licensed under the SIL Open Font License.",
    "Derived from an Apache-licensed font; this derivative is proprietary.",
    "Kerning table licensed under Apache License 2.0.",
    "The build tools are MIT licensed.",
    "MIT License applies to the source code, not the font.",
    "Code: MIT. Font: all rights reserved.",
    "Free for noncommercial use; OFL license for sale.",
    "You may use this font in personal projects. License: OFL?",
    "CC BY-NC-SA 4.0",
    "Creative Commons Attribution-NonCommercial-NoDerivs 3.0",
    "Attribution-NonCommercial 4.0 International",
    "Licensed under Creative Commons, no commercial use",
    "CC-BY with no commercial use",
    "Editorial use only.",
    "Desktop licence. Use on merchandise requires an extended licence.",
    "Not for resale. Not for merchandise.",
    "No commercial use without permission",
    "Public domain? I do not know.",
    "Possibly in the public domain.",
    "The original design is in the public domain; this digitisation is copyrighted.",
    "This is not public domain.",
    "The letterforms are public domain but the font software is not.",
    "Public Domain for private use.",
    "Diese Schrift ist keine OFL-Schrift.",
    "OFL gilt nicht für diese Schrift.",
    "Lizenz: nicht OFL.",
    "OFL nur für die Webversion.",
    "Die alte Version stand unter der OFL, diese nicht.",
    "Nutzung auf Produkten zum Verkauf nicht erlaubt. OFL",
    "Nur für nichtkommerzielle Projekte, sonst OFL anfragen",
    "Verwendung auf Verkaufsprodukten untersagt.",
    "OFL, ausser für kommerzielle Produkte",
    "Basiert auf einer OFL-Schrift.",
    "Cette police ne relève pas de la licence OFL.",
    "La licence OFL ne couvre pas cette police.",
    "OFL sauf usage commercial",
    "Ancienne version sous OFL.",
    "Basée sur une police OFL.",
    "Vente de produits interdite. OFL",
    "Réservé à un usage domestique. OFL",
    "Licence inconnue (OFL ?)",
    "Esta tipografía no tiene licencia OFL.",
    "La OFL no cubre esta fuente.",
    "OFL salvo uso comercial.",
    "Basada en una fuente OFL.",
    "La versión anterior era OFL.",
    "Prohibida la venta de productos. OFL",
    "OFL, solo uso personal",
    "Questo carattere non è coperto dalla OFL.",
    "La OFL non copre questo font.",
    "OFL eccetto uso commerciale.",
    "Basato su un font OFL.",
    "La versione precedente era OFL.",
    "Vietata la vendita di prodotti. OFL",
    "OFL, solo uso personale",
    "Esta fonte não é OFL.",
    "A OFL não cobre esta fonte.",
    "OFL exceto para uso comercial.",
    "Baseada em uma fonte OFL.",
    "A versão anterior era OFL.",
    "Proibida a venda de produtos. OFL",
    "OFL, apenas uso pessoal",
    "本フォントはOFLの対象外です。",
    "OFLは適用されません。",
    "OFL（ただし商用利用を除く）",
    "旧バージョンはOFLでした。",
    "OFLフォントを元にしています。",
    "商品への使用は禁止 OFL",
    "OFL 個人利用限定",
    "本字体不适用OFL。",
    "OFL不适用于本字体。",
    "OFL（商业用途除外）",
    "旧版本为OFL。",
    "基于OFL字体修改。",
    "禁止用于商品 OFL",
    "OFL 仅限个人使用",
    "Этот шрифт не под OFL.",
    "OFL не распространяется на этот шрифт.",
    "OFL, кроме коммерческого использования.",
    "Предыдущая версия была под OFL.",
    "Основан на шрифте OFL.",
    "Запрещено использовать на товарах. OFL",
    "OFL, только для личного пользования",
    "GPL without font exception",
    "GPL with font exception for PDF only",
    "Apache License 2.0 (pending)",
    "Licensed to ACME under Apache License terms, not redistributable",
    "Personal License. OFL pending.",
    "Home users: free. Everyone else: buy a licence. OFL",
    "OFL - private use",
    "SIL OFL (personal use)",
    "This typeface is copyrighted. The OFL logo is a trademark.",
    "I would like to release this under the OFL one day.",
    "Someone asked whether this is OFL: it is not.",
    "OFL compliance has not been verified.",
    "Mixed licence: some glyphs OFL, some proprietary.",
    "Released under OFL by mistake; please do not use.",
    "The licence was changed from OFL to proprietary in 2019.",
    "OFL license revoked.",
    "Use restricted to members of the university. Not OFL.",
    "Charity use free, commercial users must pay. OFL",
    "Any profit-making use is forbidden. OFL",
    "Money-making projects need a license. OFL",
    "Not licensed for products that you sell. OFL",
    "No selling. OFL",
    "You can't make money with this font. OFL",
    "Etsy-like shops: please get a commercial licence. OFL",
    "Commercial licence sold separately. OFL",
    "For business use see our website for pricing. OFL",
    "Limited license. Not for redistribution or commercial exploitation. Apache License 2.0",
    "Lizenz unbekannt. OFL?",
    "Kein Open Source, kein OFL.",
    "Gewerbliche Nutzer benötigen eine Lizenz. OFL",
    "Nur für Schulen und private Zwecke. OFL",
    "Firmen zahlen. OFL nur privat.",
    "Verkauf von Produkten mit dieser Schrift ist verboten. OFL",
    "Von der OFL auf eine eigene Lizenz umgestellt.",
    "Diese Schrift war bis 2015 OFL.",
    "Darf nicht für Werbung oder Verkauf verwendet werden. OFL",
    "Licence OFL annulée.",
    "Sans licence OFL.",
    "Cette fonte était sous OFL jusqu'en 2015.",
    "Interdit à la vente. OFL",
    "Usage professionnel payant. OFL",
    "Réservé aux particuliers. OFL",
    "Toute exploitation à but lucratif est interdite. OFL",
    "Ne pas utiliser à des fins commerciales. OFL",
    "Sin licencia OFL.",
    "Licencia OFL revocada.",
    "Esta fuente era OFL hasta 2015.",
    "Uso comercial bajo pago. OFL",
    "Queda prohibida cualquier explotación lucrativa. OFL",
    "No usar con fines comerciales. OFL",
    "Empresas: comprar licencia. OFL",
    "Senza licenza OFL.",
    "Era OFL fino al 2015.",
    "Uso commerciale a pagamento. OFL",
    "È proibito ogni uso a scopo di lucro. OFL",
    "Non usare per fini commerciali. OFL",
    "Aziende: acquistare la licenza. OFL",
    "Sem licença OFL.",
    "Era OFL até 2015.",
    "Uso comercial pago. OFL",
    "É proibida qualquer exploração lucrativa. OFL",
    "Não usar para fins comerciais. OFL",
    "Empresas: comprem a licença. OFL",
    "OFLライセンスは取り消されました。",
    "2015年まではOFLでした。",
    "商用は有料です。OFL",
    "営利目的の利用を禁じます。OFL",
    "商用利用はお問い合わせください。OFL",
    "OFLかどうか不明です。",
    "企業でのご利用はライセンスが必要です。OFL",
    "OFL许可已撤销。",
    "2015年之前为OFL。",
    "商用收费。OFL",
    "禁止以营利为目的的使用。OFL",
    "商业使用请联系作者。OFL",
    "是否为OFL尚不清楚。",
    "企业使用需付费。OFL",
    "Лицензия OFL отозвана.",
    "До 2015 года был под OFL.",
    "Коммерческое использование платное. OFL",
    "Запрещено использование с целью извлечения прибыли. OFL",
    "По вопросам коммерческого использования обращайтесь к автору. OFL",
    "Неясно, OFL ли это.",
    "Для организаций нужна лицензия. OFL",
    "Не использовать в коммерческих целях. OFL",
    "SIL OFL, however no physical goods may be produced.",
    "OFL. Laser cutting and 3D printing prohibited.",
    "Open Font License (excludes craft sellers)",
    "Open Font License; church use free, others ask.",
    "Under the Apache License, but ask me before you use it.",
    "MIT. Ask permission before using this on anything you sell.",
    "CC0? Ask the designer.",
    "Public domain in the USA only.",
    "CC BY 4.0, not on t-shirts or mugs",
    "Free to use under the OFL if you credit me and don't earn anything.",
    "Rejected for OFL release.",
    "Awaiting OFL approval.",
    "Draft OFL.",
    "Die OFL wurde zurückgezogen.",
    "OFL mit Ausnahme von Handelswaren.",
    "OFL, aber nicht für Onlineshops.",
    "Bitte vor Gebrauch fragen (OFL-ähnlich)",
    "La licence OFL a été retirée.",
    "OFL, mais pas pour les boutiques en ligne.",
    "OFL hors produits dérivés.",
    "La licencia OFL fue retirada.",
    "OFL, pero no para tiendas en línea.",
    "La licenza OFL è stata ritirata.",
    "OFL, ma non per negozi online.",
    "A licença OFL foi retirada.",
    "OFL, mas não para lojas online.",
    "OFLの公開は中止しました。",
    "OFL。ただしネットショップでの販売は不可。",
    "OFL，但网店销售除外。",
    "不再使用OFL。",
    "Лицензия OFL больше не действует.",
    "OFL, но не для интернет-магазинов.",
)
# Sentences that grant, with words that look like limits. Our own wording; shared/licence-rules.md, "Traps".
GRANTED = (
    "Licensed under the SIL OFL v1.1. Not for sale by itself.",
    "OFL 1.1. This font is not affiliated with any brand.",
    "Free font under the OFL, no restrictions on commercial use.",
    "You can use it for personal and commercial projects. Licensed under the SIL Open Font License, Version 1.1.",
    "Based on Quince by Someone. This Font Software is licensed under the SIL Open Font License, Version 1.1.",
    "This font is based on Quince, and is licensed under the SIL Open Font License.",
    "Dieser Font ist frei und steht unter der SIL Open Font License (OFL). Kommerzielle Nutzung erlaubt.",
    "OFL 商用利用可",
    "SIL OFL 1.1 可免费商用",
    "Licencia OFL, uso personal y comercial permitido",
    "Licence OFL, usage personnel et commercial autorisé",
    "OFL: per uso personale e commerciale",
    "OFL, uso pessoal e comercial",
    "OFL, для личного и коммерческого использования",
    "OFL、個人・商用問わず無料",
    "OFL 个人和商业使用均免费",
    "Apache License 2.0; you may not use this file except in compliance with the License.",
)


@pytest.mark.parametrize("text", NAMED_NOT_GRANTED)
def test_named_but_not_granted(text: str) -> None:
    assert said(text).verdict in ("no", "ask", "unknown")


@pytest.mark.parametrize("text", GRANTED)
def test_granted_despite_its_words(text: str) -> None:
    assert said(text).verdict in ("yes", "yes-conditions")


# Sentences that say no or are unclear, while an open licence or free use is named, with the place where they stand: a
# name ID (`+`: beside a plain OFL grant in name 13), a read-me or a licence file beside a font that says nothing. Our
# own wording, common practice, no source.
# First batch: written and run before the rule that every sentence must be understood existed; 109 of 126 (86.5 %) came
# out as a false yes then. 1 of 126 was left when that rule was first run, before anything was tuned on the batch.
UNSEEN_ONE = (
    ("13", "SIL OFL 1.1 for the first hundred copies of anything you make; afterwards write to me."),
    ("13", "The Open Font License governs this font in classrooms."),
    ("13", "Open Font License. Keychains, signs and plaques need my blessing."),
    ("13", "Licensed under the OFL to members of the guild."),
    ("13", "OFL 1.1 while the crowdfunding lasts."),
    ("13", "Apache License 2.0 for evaluation by the jury."),
    ("13", "MIT License, minus the right to sell."),
    ("13", "CC0, as far as the Latin lowercase is concerned."),
    ("13", "Creative Commons Attribution 4.0; makers of goods come under a different agreement."),
    ("13", "SIL Open Font License. Engravers and sign shops: separate terms."),
    ("13", "Public domain according to the uploader, whose claim nobody checked."),
    ("13", "I found this font on a disk; it looked like an OFL one."),
    ("13", "OFL. Wedding invitations yes, door plates no."),
    ("13", "Free under the SIL OFL as long as nothing leaves your house."),
    ("13", "Under the OFL, though the client who paid for it keeps the rights to goods."),
    ("13", "Everyone may use it under the OFL; shops may not."),
    ("13", "Ubuntu Font Licence 1.0 plus our marketplace addendum."),
    ("13", "SIL Open Font License 1.1 as amended by our lawyers, see appendix."),
    ("13", "A modified Open Font License governs this font."),
    ("13", "OFL from 2031 on."),
    ("13", "The trial users get the retail fonts, the public gets the OFL webfont."),
    ("13", "Use it freely under the Apache License, Version 2.0 on screens."),
    ("0+", "Copyright 2019 Ada Brook. Goods bearing this lettering belong to the Brook estate."),
    ("0+", "Copyright 2020 Otto Pine, who keeps all rights in physical reproductions."),
    ("0", "(c) 2018 Mill Street Type. OFL for libraries, everybody else by arrangement."),
    ("10+", "Drawn for a chocolate brand; their packaging exclusivity runs until 2030."),
    ("10+", "You are welcome to print worksheets with it; vendors get in touch."),
    ("10+", "This demo has only half of the characters, the full one is in our store."),
    ("10+", "Sellers on craft platforms owe us a share."),
    ("10", "A friendly slab. OFL files can be had from the foundry on demand."),
    ("5+", "Version 1.002; beta copy, reviewers' eyes alone"),
    ("5", "Version 2.1 OFL-wannabe"),
    ("14", "https://fonts.example/ofl-does-not-apply.html"),
    ("14", "https://fonts.example/not-ofl"),
    ("README", "Thanks for downloading! This font uses the Open Font License, apart from tangible items."),
    ("README", "Licence: OFL, I guess. My cousin made it and has passed away."),
    ("README", "You can do what the SIL Open Font License says, minus clause about bundling, plus a fee for sellers."),
    ("README", "Sold as a pair: regular is OFL, and this bold cut stays with our patrons."),
    ("FILE", "We release our website theme under the MIT License. Fonts in this folder belong to their foundries."),
    ("FILE", "Excerpt of a mail: 'could we move to the Open Font License?' - 'Let me think.'"),
    ("13", "OFL, solange damit nichts hergestellt wird, das über den Ladentisch geht."),
    ("13", "SIL Open Font License 1.1, Schilder und Gravuren ausgeklammert."),
    ("13", "Unter der OFL für Vereinsmitglieder."),
    ("13", "OFL. Händler melden sich bei mir."),
    ("13", "Die Nutzung nach der OFL endet mit dem Abo."),
    ("13", "Gemeinfrei sind die Vorlagen; die Schriftdatei gehört der Bank."),
    ("13", "Apache-Lizenz 2.0, vorbehaltlich der Zustimmung des Museums."),
    ("13", "Kostenlos nutzbar nach SIL OFL, Serienfertigung gegen Gebühr."),
    ("10+", "Wer damit Waren herstellt, schuldet uns Tantiemen."),
    ("README", "Hallo! OFL steht drauf, die Rechte an Gegenständen liegen aber beim Verlag."),
    ("0+", "Copyright 2017 Uta Linde. Für Abschlussarbeiten der Hochschule."),
    ("13", "Freie Schrift (OFL), Merchandising mit uns absprechen."),
    ("13", "Wir überlegen, ob die OFL passt."),
    ("13", "OFL im Unterricht, sonst wenden Sie sich an den Zeichner."),
    ("13", "Licence OFL tant que vous restez dans le cadre scolaire."),
    ("13", "SIL OFL 1.1, objets tangibles mis à part."),
    ("13", "OFL pour les adhérents de l'association."),
    ("13", "Police libre sous OFL ; les commerçants nous écrivent."),
    ("13", "Domaine public selon l'auteur du site, sans preuve."),
    ("13", "Sous licence Apache 2.0, sous réserve de l'accord du musée."),
    ("13", "L'OFL s'arrête aux écrans."),
    ("10+", "Les fabricants d'enseignes doivent une redevance."),
    ("README", "Merci ! Licence OFL, à condition que rien ne soit mis en rayon."),
    ("0+", "Copyright 2016 Anne Prune, qui garde les droits sur les objets."),
    ("13", "On hésite encore à adopter l'OFL."),
    ("13", "OFL réservée aux écoles."),
    ("13", "Licence MIT moins le droit de vendre."),
    ("13", "Gratuit (OFL) le temps du festival."),
    ("13", "Licencia OFL mientras no salga de casa."),
    ("13", "SIL OFL 1.1, objetos físicos aparte."),
    ("13", "OFL para socios del club."),
    ("13", "Fuente libre con OFL; los comerciantes nos escriben."),
    ("13", "Dominio público según quien la subió."),
    ("13", "Apache 2.0 sujeto al visto bueno del museo."),
    ("10+", "Los fabricantes de rótulos deben un canon."),
    ("README", "¡Gracias! Licencia OFL con tal de que nada llegue al mostrador."),
    ("0+", "Copyright 2015 Inés Pino, que conserva los derechos sobre objetos."),
    ("13", "Dudamos entre la OFL y otra."),
    ("13", "OFL reservada a escuelas."),
    ("13", "Gratis (OFL) durante el festival."),
    ("13", "Licenza OFL finché resta in casa."),
    ("13", "SIL OFL 1.1, oggetti fisici a parte."),
    ("13", "OFL per i soci del circolo."),
    ("13", "Font libero con OFL; i commercianti ci scrivano."),
    ("13", "Pubblico dominio secondo chi lo ha caricato. Public domain?!"),
    ("10+", "I produttori di insegne devono una quota."),
    ("README", "Grazie! Licenza OFL purché nulla finisca sul banco."),
    ("13", "Stiamo valutando la OFL."),
    ("13", "OFL riservata alle scuole."),
    ("13", "Gratuito (OFL) durante la fiera."),
    ("13", "Licença OFL enquanto não sair de casa."),
    ("13", "SIL OFL 1.1, objetos físicos à parte."),
    ("13", "OFL para sócios do clube."),
    ("13", "Fonte livre com OFL; os lojistas nos escrevam."),
    ("13", "Domínio público segundo quem a enviou. Public domain."),
    ("10+", "Os fabricantes de placas devem uma taxa."),
    ("README", "Obrigado! Licença OFL desde que nada vá para a vitrine."),
    ("13", "Estamos avaliando a OFL."),
    ("13", "OFL reservada a escolas."),
    ("13", "OFL。ただし立体物への使用は別途ご相談。"),
    ("13", "SIL OFL 1.1（学校内に限る）"),
    ("13", "会員の方はOFLでお使いいただけます。"),
    ("13", "OFLへの移行を考えています。"),
    ("13", "キーホルダー等の製作には許諾が要ります。OFL"),
    ("10+", "グッズ制作者は連絡をください。"),
    ("README", "ダウンロードありがとうございます。OFLですが、物販は別契約です。"),
    ("13", "展示期間中のみ無償（OFL）"),
    ("0+", "Copyright 2014 山田 立体物の権利は留保します。"),
    ("13", "OFL，实物制品除外。"),
    ("13", "SIL OFL 1.1，仅在校内。"),
    ("13", "会员按OFL使用。"),
    ("13", "我们在考虑是否采用OFL。"),
    ("13", "制作钥匙扣须经作者同意。OFL"),
    ("10+", "做周边的朋友请先联系我。"),
    ("README", "感谢下载。遵循OFL，但实体产品另行签约。"),
    ("13", "展览期间免费（OFL）"),
    ("0+", "Copyright 2013 李 实物复制权保留。"),
    ("13", "OFL, пока ничего не выносится из дома."),
    ("13", "SIL OFL 1.1, физические предметы отдельно."),
    ("13", "OFL для членов клуба."),
    ("13", "Свободный шрифт по OFL; торговцы пишут нам."),
    ("13", "Мы думаем о переходе на OFL."),
    ("10+", "Изготовители вывесок платят взнос."),
    ("README", "Спасибо! Лицензия OFL при условии, что вещи не попадут на прилавок."),
    ("0+", "Copyright 2012 Иван Сосна, права на предметы сохраняются."),
    ("13", "OFL на время выставки."),
)
# Second batch: written when that rule stood, aimed at its weak places; 15 of 60 (25 %) were a false yes at first
# contact, 10 of them by the description (name 10). Both batches have been tuned on since: they show no rate any more.
UNSEEN_TWO = (
    ("13", "SIL Open Font License 1.1, embossed articles reserved to the licensor."),
    ("13", "The OFL is granted to you as author of documents."),
    ("13", "OFL for the fonts in this file; objects are subject to the terms of the foundry."),
    ("13", "Free font by the authors of Marmalade, see the OFL for your rights and the website for ours."),
    ("13", "This font can be used under the OFL with permission of the designer."),
    ("13", "Open Font License granted per project."),
    ("13", "Open Font License. Version of the file for readers."),
    ("13", "OFL, digital."),
    ("13", "CC BY 4.0, subject to the accompanying agreement."),
    ("13", "Apache License 2.0. Number of permitted pieces: 5."),
    ("13", "SIL OFL 1.1 - use of the design in metal or plastic: see price list."),
    ("13", "MIT license on GitHub, retail EULA elsewhere."),
    ("13", "The SIL Open Font License is a fine thing, we like it."),
    ("0+", "Copyright 2021 Lena Moss. Badges and Tags by Appointment."),
    ("0+", "Copyright 2022 Tom Reed, Royalty Applies To Goods"),
    ("0+", "Copyright 2020 Vale Type. Licensed for Vale County signage."),
    ("10+", "Whoever casts these letters in brass pays the founder."),
    ("10+", "An elegant serif that nobody but our patrons turns into objects."),
    ("5+", "Version 1.1; for approval, no release"),
    ("14", "https://fonts.example/no-longer-ofl"),
    ("README", "OFL inside. Wholesale? Different story."),
    ("README", "This archive: font under the Open Font License (documents), engraving rights at the guild."),
    ("FILE", "SIL Open Font License, Version 1.1. Addendum: three-dimensional copies remain with the sculptor."),
    ("FILE", "Our template uses a font under the SIL Open Font License. This one is another font."),
    ("13", "OFL 1.1, Zustimmung des Urhebers bei Gegenständen."),
    ("13", "SIL Open Font License für Dokumente."),
    ("13", "Freie Schrift unter der OFL, Abgabe pro Stück."),
    ("13", "Die OFL wird geprüft."),
    ("10+", "Anhänger aus dieser Schrift liefert allein die Werkstatt."),
    ("README", "Steht unter der OFL. Namensschilder: bitte anfragen."),
    ("13", "OFL 1.1, accord de l'auteur pour les objets."),
    ("13", "SIL Open Font License pour les documents."),
    ("13", "Libre sous OFL, redevance par pièce."),
    ("10+", "Les badges sont du ressort de l'atelier."),
    ("README", "Sous OFL. Porte-clés : nous consulter."),
    ("13", "OFL 1.1, acuerdo del autor para objetos."),
    ("13", "SIL Open Font License para documentos."),
    ("13", "Libre bajo OFL, canon por pieza."),
    ("10+", "Las chapas son cosa del taller."),
    ("README", "Bajo OFL. Llaveros: consúltenos."),
    ("13", "OFL 1.1, accordo dell'autore per gli oggetti."),
    ("13", "SIL Open Font License per i documenti."),
    ("10+", "Le targhette spettano alla bottega."),
    ("README", "Sotto OFL. Portachiavi: ci consulti."),
    ("13", "OFL 1.1, acordo do autor para objetos."),
    ("13", "SIL Open Font License para documentos do Estado."),
    ("10+", "Os crachás cabem à oficina."),
    ("README", "Sob OFL. Chaveiros: consulte-nos."),
    ("13", "OFL 1.1（文書用）"),
    ("13", "SIL OFL。名札は要相談。"),
    ("10+", "名札の製造は工房のみが行います。"),
    ("README", "OFLです。キーホルダーは別途見積もり。"),
    ("13", "OFL 1.1（文档用）"),
    ("13", "SIL OFL。胸牌另议。"),
    ("10+", "胸牌由工坊独家生产。"),
    ("README", "OFL授权。钥匙扣另行报价。"),
    ("13", "OFL 1.1, для документов."),
    ("13", "SIL OFL. Значки по договорённости."),
    ("10+", "Значки выпускает мастерская."),
    ("README", "Под OFL. Брелоки: по согласованию."),
)


def placed(where: str, text: str) -> Verdict:
    """The verdict on a font that has this text at one place; `+` adds a plain grant in its licence field."""
    place = where.rstrip("+")
    beside = {
        "README": Evidence("readme-file", "/f/README.txt", text),
        "FILE": Evidence("licence-file", "/f/LICENSE.txt", text),
    }
    item = beside.get(place) or Evidence("name", f"name {place} (platform 3, language 0x0409)", text)
    grant = Evidence(
        "name",
        "name 13 (platform 3, language 0x0409)",
        "Licensed under the SIL Open Font License, Version 1.1.",
    )
    return judge((grant, item) if where.endswith("+") else (item,))


@pytest.mark.parametrize(("where", "text"), (*UNSEEN_ONE, *UNSEEN_TWO))
def test_words_that_limit_in_ways_nobody_listed(where: str, text: str) -> None:
    assert placed(where, text).verdict in ("no", "ask", "unknown")


def test_a_sentence_that_is_not_understood_is_quoted_as_the_reason() -> None:
    found = said("Licensed under the OFL. Zwibble the frobs on Tuesdays.")
    assert found.verdict == "ask" and "Zwibble the frobs on Tuesdays" in found.reasons[0]
