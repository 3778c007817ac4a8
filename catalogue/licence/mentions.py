"""Mentions of licences in one text: which record, whether it is granted, taken back or in doubt, and of what.

Pure functions on text. `recognise` finds licence words; whether it grants, restricts, is taken back ("not under the …")
or in doubt ("will be …?"), and whether it speaks of the whole font or of a part, follows from the words around.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache

from catalogue.licence.expressions import resolve_name, terms_of
from catalogue.licence.families import Record, holds_any, load_records
from catalogue.text import clean

QUOTE = 240  # characters of a shown quote
BEFORE, AFTER = 110, 60  # characters around a mention in which it can be taken back; tuned on half of the packages
SHORT = 200  # characters: a short text without any stem of a licence word is passed by; most names of fonts are such
MARKED = 40_000  # characters of a read-me in which headings are looked for; common practice, no source
BODY = 400  # characters: no licence's own text is shorter


@dataclass(frozen=True)
class Finding:
    """A mention of one record's licence in one text."""

    record: Record
    spdx: str
    polarity: str
    """grant, restriction, negated or statement (in doubt, or words that only call for reading)."""
    scope: str
    """font, component or unknown."""
    quote: str


# --- words -------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def word_patterns() -> dict[str, re.Pattern[str]]:
    """Patterns about the words around a mention; on flattened lower-case text."""
    commercial = r"(?:commercial(?:ly)?|business|kommerziell\w*|gewerblich\w*|comercia\w+|commercia\w+|коммерческ\w+)"
    private = (
        r"(?:personal|private|non[- ]?commercial(?:ly)?|privat\w*|nicht[- ]?kommerziell\w*|personnel\w*|privé\w*|"
        r"non[- ]commercia\w*|no[- ]comercia\w*|não[- ]comercia\w*|personale?|pessoa\w*|личн\w+|некоммерческ\w+)"
    )
    use = r"(?: (?:use|usage|purposes?|projects?))?"
    both = r" ?(?:and|or|&|/|as well as|and/or|und|oder|et|ou|y|o|e|и|или) ?(?:for |für |pour |para |per |для )?"
    taken_back = (
        r"[^.,;¶]{0,40}?(?:\bnot?\b|requir|prohib|forbid|\bneeds? (?:a|an|the|to|your)\b|\bonly|contact|\bbuy|purchas|nicht|verboten|untersagt|"
        r"interdit|vietat|proib|запрещ|требу|не )"
    )
    return {
        "both": re.compile(
            rf"(?:(?<!not )(?<!no ){private}{use}{both}(?<!non )(?<!non-){commercial}|"
            rf"(?<!not for )(?<!no )(?<!non-)(?<!non ){commercial}{use}{both}{private})(?!{taken_back})|"
            r"(?:private|personal),? (?:educational|academic|non-?profit),? (?:and |or |and/or )?commercial(?! (?:use )?(?:is |are )?(?:not|prohib|forbid))|"
            r"(?:allowed|occasionally)[^.¶]{0,20}noncommercial(?:ly| distribution)|"
            rf"(?:can|may) (?:also |freely )?(?:be used|use (?:it|them|this|(?:this|these|the) (?:fonts?|typefaces?|icons?))) (?:freely )?(?:for|in|on) (?:any |all |your |both )?(?:personal[, ]+(?:and |or )?)?commercial{use}(?!{taken_back})|"
            r"royalty[- ]free|"
            r"commercial or non-?commercial|profits? ?[;,)]|loss of [^.;]{0,20}profits?|business interruption|commercial damages|"
            r"commercial advantage or private monetary|commercially reasonable|"
            r"(?:including|include|even|also|both|free(?:ly)?)(?: for)? (?:any )?commercial(?:ly)?(?: use| purposes)?"
            rf"(?:{both}(?<!non )(?<!non-){private}{use}(?!{taken_back}))?|"
            r"no restrictions? on commercial use|commercial use (?:is |are )?(?:allowed|permitted|ok|okay|welcome|free)|"
            r"kommerzielle nutzung (?:ist )?(?:erlaubt|gestattet|frei)|(?:usage|utilisation) commerciale? (?:est )?autorisée?|"
            r"uso comercial (?:está )?permitido|uso commerciale (?:è )?consentito|коммерческое использование разрешено|"
            r"(?:商業的?な?|営利|商用)(?:目的)?(?:の|な)?(?:利用|使用)?(?:であって|で)も[、,]?|商用(?:利用|使用)?(?:も)?(?:可|ok|自由)|(?:可|免费|可以|允许)(?:免费)?(?:商用|商业使用)|商用免费|(?:个人|非商业)(?:和|与|及|、)(?:商业|商用)(?:使用|用途)?(?:均|都)?(?:可)?免费|"
            r"commercial(?:ly)?,? (?:and|or) (?:otherwise|not)|and/or commercial \w+|commercial \w+\? ?(?:a[^a-z]{0,3})?yes|(?:商用|営利)・?(?:と|、|・)?(?:非商用|非営利)(?:を)?問わず|(?:商用|営利|商業)(?:・|、|と|か)?"
            r"(?:個人|非商用|非営利)(?:利用)?(?:を?問わず|ともに|とも|どちらも|共に)|(?:個人|非商用|非営利)(?:利用)?(?:・|、|と|か)?(?:商用|営利)(?:利用)?(?:を?問わず|ともに|とも|どちらも|共に)"
        ),
        "not_only": re.compile(
            r"(?:not (?:limited|restricted) to|not (?:only|just)(?: for)?|nicht nur(?: für)?|pas seulement(?: pour)?|"
            r"no (?:sólo|solo)(?: para)?|non solo(?: per)?|não (?:só|apenas)(?: para)?|не только(?: для)?|"
            r"free of|no|without(?: any)?|keine?)\s*$"
        ),
        "negated": re.compile(
            r"(?:\b(?:not|never|isn't|aren't|wasn't|neither|nor|nicht|keine?\w*|pas|jamais|aucun\w*|не|ни|нет)"
            r"|\b(?:no longer|no more|under no|there is no|has no|instead of|rather than|anstatt|statt|au lieu d\w+|"
            r"en lugar de|invece d\w+|em vez d\w+|вместо|без|sin|ohne|senza|sem|nunca|tampoco|não|nao)"
            r"|\bsans (?:la |une |aucune |cette )?licen[cs]e"
            r"|\bwithout (?:the |a |any )?(?:gpl |gnu )?(?:font )?$|\bno (?:sil|ofl|está|esta|es|se|fue|tiene|ha|bajo|son|estan|están)|\bnon (?:è|e|sotto|sono|rilasciat\w+|viene|"
            r"distribuit\w+|soggett\w+|coperto)|\bexcept|\bno (?:open|gpl|free|known|licen[cs]e))"
            r"(?:[ \"'(\[]+[\w'’-]+){0,7}[ \"'(\[]*$|(?:非|不是|并非|並非|不属于|不適用|不适用|没有采用|未采用|未以|不采用|不在|没有|未)[^。，,]{0,16}$"
        ),
        "negated_after": re.compile(
            r"^[^.;¶。]{0,40}?(?:の対象外|対象外|ではあり|ではな|じゃな|でない|とは異な|に基づか|適用されま|適用しな|されていま?せん|されていない|ません|"
            r"不适用|不適用|无效|并不|(?:does|do|did) not (?:apply|cover|extend|include)|doesn't|ne couvre|no cubre|non copre|não cobre|не охватыв|не покрыва|is not|are not|was not|isn't|no longer|not applicable|"
            r"gilt nicht|ist nicht|nicht an|n'est pas|ne s'applique|no se aplica|no es|non si applica|non è|"
            r"não se aplica|não é|не применя|не распростран|не действ|не явля|(?:has been |was |is )?(?:revoked|withdrawn|replaced|cancel)|annulée|révoquée|zurückgezogen|"
            r"retirée?|retirad[oa]|ritirat[oa]|больше не|revocad[oa]|revocat[oa]|"
            r"anulad[oa]|отозван|отменен|取り消|撤销|撤回|widerrufen|entzogen|by mistake|compliance|logo\b)"
        ),
        "doubt": re.compile(
            r"\?(?=[ )\"']|$)|\bunknown\b|\bchanged? from\b|\bwould like\b|\bwant to\b|umgestellt|\bmixed\b|неясно|\bwhether\b|"
            r"\bverified\b|\brejected\b|\bawaiting\b|\bdraft\b|\bunclear\b|\bunsure\b|not sure|\bmaybe\b|\bperhaps\b|\b(?<!extent )possibl[ye]\b|\bprobably\b|"
            r"\bplanned\b|\bplan(?:s|ning)? to\b|\bwill be\b|\bto be (?:released|licen|decided|determined|confirmed)|"
            r"\bsoon\b|\btbd\b|\btodo\b|\bpending\b|\bnot yet\b|\bfuture\b|\bformerly\b|\bpreviously\b|\buntil\b|"
            r"\bused to be\b|\bonce\b|\bearlier versions?\b|\b(?:previous|older?|earlier|former) (?:release|version|file|font)s?\b|on request|available (?:on|upon|from|at extra)|\bfor an? $|different (?:file|version)|"
            r"\balte[nrs]? (?:version|schrift|fassung)|vorherig|ancienne|précédente|anterior|precedente|предыдущ|стар\w+ верси|\bsimilar to\b|\binspired by\b|"
            r"-like\b|-compatible\b|^[- ]friendly\b|\brequired by\b|compatible with|\bmight\b|\bconsider(?:ing|ed)?\b|\bintend|\bhope|\bunless\b|"
            r"\bif you (?:buy|pay|purchase|donate)|vielleicht|vermutlich|möglicherweise|künftig|zukünftig|\bbald\b|früher|"
            r"ehemals|demnächst|ähnlich|geplant|unklar|unbekannt|wird (?:später|noch)|bis (?:version|20)|peut-être|"
            r"bientôt|\bsera\b|prochainement|autrefois|anciennement|inconnu|probablement|jusqu'|quizás?|tal vez|"
            r"próximamente|\bserá\b|antes|anteriormente|desconocid|probablemente|hasta|\bforse\b|\bpresto\b|\bsarà\b|"
            r"in precedenza|sconosciut|probabilmente|\bfino\b|talvez|em breve|anteriormente|desconhecid|provavelmente|\baté\b|"
            r"возможно|\bскоро\b|\bбудет\b|ранее|раньше|похож|неизвест|вероятно|планир|\bдо 20|"
            r"かもしれ|予定|検討|おそらく|不明|以前|かつて|たぶん|可能|或许|也许|即将|計画|计划|将|曾|旧版|未知|不确定|待定|大概|之前"
        ),
        "only_after": re.compile(
            r"^[^.;¶。]{0,50}?(?:\bbut\b|\bhowever\b|\bexcept\b(?! in compliance)|\bexclud\w+|\baber\b|\bjedoch\b|ausnahme|"
            r"\bmais\b|\bhors\b|\bpero\b|\bma\b|\bperò\b|\bmas\b|\bporém\b|\bно\b|\bоднако\b|但|"
            r"\bonly\b(?! reserved)|\bnur\b|seulement|uniquement|solamente|únicamente|\bsolo\b|soltanto|"
            r"\bapenas\b|somente|только|のみ|限定|仅|, not (?:the|this) |\bapplies to the (?:source|code|web)|"
            r"\bversion (?:is|can|may)\b)|^ nur\b"
        ),
        "part_before": re.compile(
            r"(?:\b(?:portions?|parts?|some|glyphs?|characters?|icons?|logos?|symbols?|scripts?|changes|modifications?|"
            r"hinting|kerning|numerals|digits|ligatures|features?|punctuation|accents|emoji|intelligence|tables?|"
            r"documentation|source code|sources?|build (?:tools?|scripts?|files)|tools?|software used|program|website|"
            r"code|specimens?|samples?|originals?|designs?|letterforms|packag\w+|latin|greek|cyrillic|arabic|hebrew|letters?|[a-z]+ letters?)\b"
            r"(?! software)[^.;¶]{0,90}?\b(?:is|are|was|were|under|from|imported|licen[cs]ed|copyright|\(c\)|in)\b"
            r"|\b(?:based (?:up)?on|derived from|contains?|containing|includ(?:es|ing)|incorporat\w+|imported from|"
            r"built with|made with|created with|uses|using|borrow\w*|taken from|thanks to|autohinted)\b"
            r"|\b(?:teile|einige|zeichen|ziffern|glyphen|basiert auf|enthält|certains?|chiffres|parties?|glyphes|basé\w* sur|basead\w+ em|"
            r"contient|partes?|algunos|glifos|cifras|numeri|cifre|lettere|lettres|letras|presi da|prese da|tratt[eio] da|provien\w+|provengono|provienen|viennent|stammen|vêm de|взят\w+ из|números|basad[oa] en|contiene|basato su|parti|alcuni|glifi|contém|baseado em|"
            r"algumas|части|часть|глифы|символы|цифры|некоторые|основан\w* на|содержит|включает)\b|一部|部分|字形|を含|に基づ|ベース|"
            r"数字|基于|包含|源自|英数字|アイコン|图标)[^.;¶。]{0,90}$"
        ),
        "uses": re.compile(r"\b(?:fonts?|typefaces?|family|it|project) (?:uses|is using) (?:the |a |an )?(?:sil )?$"),
        "ground": re.compile(
            "基于[^。，,；\0]{0,8}\0[^。；]{0,16}?(?:授权|发布|许可|协议|开源|公开)"
        ),  # "released on the ground of"
        "whole": re.compile(
            r"(?<!\bin )(?<!\bof )(?<!\bfrom )(?<!\bto )(?<!\bwith )this (?:\w+ ){0,2}(?:font|typeface|family|version|work|software|file)s?\b(?! (?:contain|includ|use|is based|"
            r"incorporat))[^.;¶]{0,60}?(?:is|are|under|licen[cs]ed)|font software|these fonts|the fonts? (?:is|are)|"
            r"\band (?:is |are )?(?:re-?)?(?:licen[cs]ed|released|distributed|published) |distributed under the terms|"
            r"free software|font program"
        ),
        "sentence": re.compile(r"(?:[.!;?](?=\s)|[。！？；¶])"),
        "choice": re.compile(
            r"\bdual\b|\beither\b|\bor\b|/|\byour (?:option|choice)|\bchoose\b|multi-?licen|\boder\b|\bou\b|\bo\b|"
            r"\bили\b|または|或|alternativ|\btri-?licen|wahlweise|au choix"
        ),
        "reserved": re.compile(
            r"(?i)reserved font ?names?:?\s+((?:(?:and |& |, ?|or )*[\"'“”‘’<«]+[^\"'“”‘’>»\n]{1,40}[\"'“”‘’>»]+[ ,]*)+|"
            r"[A-Z][\w-]*(?: [A-Z0-9][\w-]*){0,3})"
        ),
        "quoted": re.compile(r"[\"'“”‘’<«]+([^\"'“”‘’>»\n]{1,40})[\"'“”‘’>»]+"),
        "utf7": re.compile(r"\+AA[A-Za-z0-9+/]*-?"),
        "trading": re.compile(r"Corporate|Companies|Business|Commerce"),
        "terms": re.compile(r"(?i)\b(?:us(?:e[ds]?|age)|fees?|sales?|licen\w+|only|need\w*|goods|products?)\b"),
        "named_before": re.compile(r"(?:[Cc]opyright|\(c\)|©|[Tt]rade ?mark).*\b[A-Z][\w.&-]* (?:& |of |for )?$"),
        "named_after": re.compile(r"$|[,.;)\"']| ?[(¶]| (?:and|&|GbR|GmbH|AG|KG|Inc|Ltd|LLC|Corp|Co|S\.?A|B\.?V)\b"),
        "beyond": re.compile(r"[^\x00-\x7f©®™•·…°§¶]"),
        "blank": re.compile(r"\n[ \t\r]*\n"),
        "origin": re.compile(  # "began as a student project": where a design comes from, no limit
            r"\b(?:as|was|is|of|from|undertaken|own)(?: (?:an?|the|my|our|his|her|their|own|small|little|long|old|purely))*[ \0]*\0(?:student|hobby|personal|private|research|academic|educational|home)(?:[ ,/]|and|or|&)*"
            r"(?:student|hobby|personal|private|research|academic|educational)? ?projects?\0(?! only)"
        ),
        "labelled": re.compile(
            r"(?im)^[ \t#/*>;•-]*(?:spdx-license-identifier|(?:font |software )?licen[cs]e(?:[ -](?:expression|identifier|id))?|lizenz|licencia|licenza|licença|лицензия|ライセンス|许可证?)\s*[:=：]\s*(\S[^\n]{1,110}?)[ \t.*/]*$"
        ),
        "heading": re.compile(
            r"(?im)^(?:[ \t]*#{1,6}[ \t]*(?P<marked>[^\n#]{2,60}?)[ \t#]*$|(?P<lined>[^\n]{2,60}?)[ \t]*\r?\n[=\-~^*]{3,}[ \t]*$)"
        ),
        "of_licence": re.compile(
            r"(?i)[\d. ]*(?:(?:font |software |the )?(?:licen[cs]e|licen[cs]ing|copyright|legal|terms|lizenz|rechtliches|licencia|licenza|licença|лицензия|ライセンス|许可|授权)"
            r"(?: (?:and|und|et|y|e|&|information|info|notice|terms|details|files?|of|the|fonts?|for) ?| ?[/&] ?)*)+[ .:]*"
        ),
        "part": re.compile(  # "Icons: CC BY", "# Code": the heading of what is said of a part, or of the fonts
            r"(?im)^[ \t]*(?P<mark>#{1,6}[ \t]*|[-*•][ \t]+)?(?:the |all )?(?:(?P<font>(?:web ?|desktop )?fonts?(?: files?| software)?|typefaces?|schrift(?:en|art)?|polices?|fuentes?|caratteri)|"
            r"(?P<other>(?:brand )?icons?|logos?|brands?|trade ?marks?|(?:source )?code|sources?|documentation|docs|images?|artwork|graphics|illustrations?|photos?|web ?site|scripts?|build scripts?|"
            r"tools|css|javascript|examples?|data|sounds?|music))(?P<end>[ \t]*:|[ \t]*$)"
        ),
        "aside": re.compile(  # the title of a part that is about something else
            r"(?im)^[ \t]*(?:#{1,6}[ \t]*)?(?:change ?log|changes|history|release notes|version history|what's new|(?:how )?to install|install(?:ation|ing)?(?: (?:instructions|notes|guide))?|"
            r"acknowledge?ments?|credits|requirements|build(?:ing)?|supported languages|languages|open ?type features|features|"
            r"änderungen|installation|historique|historial|instalación|installazione|cronologia|instalação|история|установка|更新履歴|インストール|安装|更新日志)(?![^\W_])(?:[ \t]*:(?P<more>[ \t]*\S[^\n]*))?[ \t:]*$"
        ),
        "rule": re.compile(r"\n[-=*_ ]{4,}\n"),
        "old_blank": re.compile(r"\r[ \t]*\r"),
        "curly": re.compile("[" + "".join(map(re.escape, _STRAIGHT)) + "]"),
        "unseen": re.compile(r"[\0\u00ad\u200b-\u200f\u2060\ufeff\u202a-\u202e\u2066-\u2069]+"),
        "comment": re.compile(r"(?m)^[ \t]*(?:#+|//+|\*|>)[ \t]?"),
        "stem": re.compile(
            r"licen|lizenz|ofl|gpl|affero|gnu|apache|mit|isc|bsd|expat|cc|commons|public|domain|domin|gemeinfrei|wtfpl|mplus|"
            r"m\+|free|any |us[aeo]|paratype|vera|arev|gnome|dejavu|bitstream|ubuntu|ufl|ipa|lppl|latex|gust|baekmuk|arphic|"
            r"charter|unicode|liberation|epl|boost|zlib|artistic|permi|redistrib|copy|exception|fe\b|unaltered|person|"
            r"privat|private|hobby|student|home|pessoa|comm|comerc|komm|gewerb|lucr|sell|sold|not |no |\bdemo\b|\btrial|eval|"
            r"test|prob|ansicht|sampl|preview|unreg|essai|prueba|prova|avalia|valut|demost|dimost|eula|propriet|secret|modif|"
            r"distrib|forbid|verbot|untersagt|nicht|interdit|prohib|viet|proib|kostenlos|grat|ware|contact|buy|purchas|"
            r"donat|pay|compr|achet|acqui|adqu|condi|termos|contrat|reproduc|scop|fin|zweck|nutzung|gebrauch|osobist|"
            r"shar|endorse|vente|restrict|profit|academ|educat|research|business|corporat|compan|money|pric|merch|firm|unternehm|"
            r"verkauf|werb|kosten|gewinn|partic|profes|entrepr|empres|pago|aziend|impres|please|must|\byou\b|product|except|ask|earn|tiend|negoz|loja|boutiq"
        ),
    }


def flatten(text: str) -> str:
    """One line: NFKC, straight quotes and dashes, blank lines as ¶, no invisible characters."""
    words = word_patterns()
    if "+A" in text or "\\(" in text:  # how a font editor's own files write line breaks, and brackets
        text = (
            words["utf7"]
            .sub(lambda hit: hit[0].encode().decode("utf-7", "replace"), text)
            .replace("\\(", "(")
            .replace("\\)", ")")
        )
    if "\n" in text or "\r" in text or text[:1] in "#/*> \t":
        text = text.replace("\r\n", "\n")
        text = words["comment"].sub("", text)
        for blank in ("rule", "blank", "old_blank"):
            text = words[blank].sub(" ¶ ", text)
    if text.isascii():
        return " ".join(text.replace("\0", " ").split())
    flat = words["curly"].sub(lambda hit: _STRAIGHT[hit[0]], unicodedata.normalize("NFKC", text))
    return " ".join(words["unseen"].sub(" ", flat).split())


_STRAIGHT = {
    "‘": "'",
    "’": "'",
    "“": '"',
    "”": '"',
    "‐": "-",
    "‑": "-",
    "–": "-",
    "—": "-",
    "−": "-",
    "«": '"',
    "»": '"',
    "„": '"',
    "\ufffd": "?",
}


@lru_cache(maxsize=4096)
def recognise(text: str) -> tuple[Finding, ...]:
    """What one text says, one finding a record (two when it is granted here and taken back there)."""
    low, flat, bodies = prepared_text(text)
    if len(low) < SHORT and is_plain(low) and not word_patterns()["stem"].search(low):
        return bodies
    found = [*bodies, *_labelled(text)]
    talk = low
    for begin, stop in of_all_kinds(low):
        talk = talk[:begin] + "\0" * (stop - begin) + talk[stop:]
    ascii_only = is_plain(low)
    for record in load_records():
        stems = record.stems_ascii if ascii_only else record.stems
        if stems and not holds_any(low, stems):
            continue
        where = talk if record.kind == "restriction" or record.family == "unclear-words" else low
        entries = record.recognise_ascii if ascii_only else record.recognise
        gates = record.gates_ascii if ascii_only else record.gates
        hits = [
            (spdx, hit)
            for (spdx, pattern), gate in zip(entries, gates, strict=True)
            if not gate or holds_any(where, gate)
            for _, hit in zip(range(4), pattern.finditer(where), strict=False)
        ]
        if hits:
            found += _weigh(record, hits, low, flat)
    return _with_exceptions(tuple(found))


def _labelled(text: str) -> list[Finding]:
    """Licences that stand alone behind a label, or are all of the text, as SPDX or Debian write them: "License: MIT"."""
    text = text.replace("\r\n", "\n")
    label = ":" in text or "=" in text or "：" in text
    alone = len(text) <= 80 and text.lower().lstrip(" (").startswith(_IDS)
    out: list[Finding] = []
    for said in (text.strip() if alone else "", *(word_patterns()["labelled"].findall(text) if label else ())):
        expression = resolve_name(said) if said else ""
        records = terms_of(expression).records if expression else ()
        if records and all(
            r.kind in ("grant", "exception", "restriction") and r.family != "maker-permissions" for r in records
        ):
            polarity = "restriction" if terms_of(expression).sell == "no" else "grant"
            out.append(Finding(records[0], expression, polarity, "font", shown_text(flatten(said))))
    return out


_IDS = (
    "ofl", "sil", "apache", "mit", "cc", "gpl", "gnu", "lgpl", "agpl", "bsd", "isc", "lppl", "ubuntu-font", "ufl", "mplus", "epl", "wtfpl",
    "unlicense", "public", "expat", "x11", "0bsd", "ipa", "bitstream-vera", "fsfap", "hpnd",
)  # fmt: skip


def is_plain(low: str) -> bool:
    """Whether a text has no letter beyond ASCII; © and its like are none."""
    return low.isascii() or word_patterns()["beyond"].search(low) is None


@lru_cache(maxsize=1024)
def of_all_kinds(low: str) -> tuple[tuple[int, int], ...]:
    """Places of words that allow every kind of use: "personal and commercial"."""
    if not holds_any(low, _TRADE_STEMS):
        return ()
    return tuple(hit.span() for hit in word_patterns()["both"].finditer(low))


_TRADE_STEMS = (
    "royalt",
    "commerc",
    "comerc",
    "komm",
    "gewerb",
    "business",
    "profit",
    "коммер",
    "商",
    "営",
    "营",
)


@lru_cache(maxsize=4096)
def prepared_text(text: str) -> tuple[str, str, tuple[Finding, ...]]:
    """Flattened text in lower case and as it is, without licences' own bodies, and what those grant."""
    flat = flatten(text)
    low = flat.lower()
    if len(low) != len(flat):
        flat = low  # rare letters change length in lower case; then the quote is in lower case too
    low, flat, found = _without_bodies(low, flat)
    return low, flat, tuple(found)


def _without_bodies(low: str, flat: str) -> tuple[str, str, list[Finding]]:
    """The text, in lower case and as it is, with known licences' own words cut out, and a finding for each of them."""
    found: list[Finding] = []
    if len(low) < BODY:
        return low, flat, found
    for record in load_records():
        for start, end, most, letters in record.bodies:
            if letters and not holds_any(low, letters):
                continue
            for _ in range(3):  # seen: the same licence twice in one field
                hit = start.search(low)
                stop = end.search(low, hit.end()) if hit else None
                if hit is None or stop is None or _letters(low[hit.start() : stop.end()]) > most:
                    break
                around = low[max(0, hit.start() - 200) : hit.end() + 300]
                spdx = next((s for s, pattern in record.recognise if pattern.search(around)), record.spdx[0])
                found.append(Finding(record, spdx, "grant", "font", shown_text(flat[hit.start() : stop.end()])))
                low = low[: hit.start()] + " ¶ " + low[stop.end() :]
                flat = flat[: hit.start()] + " ¶ " + flat[stop.end() :]
    return low, flat, found


def font_part(text: str) -> tuple[str, str, str]:
    """A licence file in three: what it says of the fonts, of everything, and of other parts such as icons or code.

    Without headings of parts everything is said of everything.
    """
    words = word_patterns()
    text = text.replace("\r\n", "\n")
    head = text[:MARKED]
    parts = [hit for hit in words["part"].finditer(head) if hit["end"].strip() or hit["mark"]]
    if not any(hit["other"] for hit in parts):
        return "", text, ""
    kinds = {hit.start(): "fonts" if hit["font"] else "other" for hit in parts}
    for hit in words["heading"].finditer(head):
        kinds.setdefault(hit.start(), "all")
    begins = sorted({0, *kinds})
    out = {"fonts": "", "all": "", "other": ""}
    for at, stop in zip(begins, [*begins[1:], len(text)], strict=True):
        out[kinds.get(at, "all")] += text[at:stop] + "\n\n"
    return out["fonts"].strip(), out["all"].strip(), out["other"].strip()


def licence_section(text: str) -> tuple[str, str, str]:
    """A read-me in three: what it states of the licence, what stands under titles such as "Changelog", and the rest.

    With a heading about the licence only what stands under such headings is stated.
    """
    words = word_patterns()
    text = text.replace("\r\n", "\n")
    head = text[:MARKED]
    marks = {hit.start(): hit["marked"] or hit["lined"] for hit in words["heading"].finditer(head)}
    telling = {at for at, title in marks.items() if words["of_licence"].fullmatch(title.strip())}
    asides, begins = set(), {0, *marks}
    for hit in words["aside"].finditer(head):
        asides.add(hit.start())
        begins.add(hit.start())
        if hit["more"]:  # "To install: …" is a paragraph, a title alone opens a part
            stop = words["blank"].search(head, hit.end())
            begins |= {stop.end()} if stop else set()
    stated = telling or begins - asides
    parts = [(at, text[at:stop]) for at, stop in zip(sorted(begins), [*sorted(begins)[1:], len(text)], strict=True)]
    told = [part for at, part in parts if at in stated]
    aside = [part for at, part in parts if at in asides - stated]
    rest = [part for at, part in parts if at not in stated | asides]
    return "\n\n".join(told), "\n\n".join(aside), "\n\n".join(rest)


def _letters(text: str) -> int:
    plain = len(text.encode("ascii", "ignore").translate(None, _NO_LETTERS))
    return plain if text.isascii() else plain + sum(map(str.isalpha, "".join(_FOREIGN.findall(text))))


_FOREIGN = re.compile(r"[^\x00-\x7f]+")
_NO_LETTERS = bytes(set(range(256)) - set(b"abcdefghijklmnopqrstuvwxyz"))


def _weigh(record: Record, hits: list[tuple[str, re.Match[str]]], low: str, flat: str) -> list[Finding]:
    """At most one finding for what is said and one for what is taken back."""
    best: dict[str, Finding] = {}
    for spdx, hit in hits:
        if record.family == "unclear-words" and _in_a_name(flat, *hit.span()):
            continue
        polarity, scope = _meaning(record, low, hit.start(), hit.end())
        if polarity:
            key = polarity if polarity != "grant" else polarity + scope
            best.setdefault(key, Finding(record, spdx, polarity, scope, _excerpt(flat, *hit.span())))
    if "grantfont" in best:
        best.pop("grantcomponent", None)
        if "negated" not in best:
            best.pop("statement", None)
    return list(best.values())


def _in_a_name(flat: str, start: int, end: int) -> bool:
    """Whether a word of trade is part of somebody's name in a copyright line: "(c) 2015 Larkspur Corporate GmbH"."""
    words = word_patterns()
    if not words["trading"].fullmatch(flat, start, end):
        return False
    before = flat[max(0, start - BEFORE) : start]
    ends = [m.end() for m in words["sentence"].finditer(before)]
    named = words["named_before"].search(before, ends[-1] if ends else 0)
    return named is not None and words["named_after"].match(flat, end) is not None


@lru_cache(maxsize=4096)
def stands_in(kind: str, around: str) -> bool:
    """Whether a pattern of `word_patterns` is found; kept, for the words around a mention are the same in most fonts."""
    return word_patterns()[kind].search(around) is not None


def _meaning(record: Record, low: str, start: int, end: int) -> tuple[str, str]:
    """Polarity and scope of one mention, from the words of its sentence."""
    words = word_patterns()
    before = low[max(0, start - BEFORE) : start]
    ends = [m.end() for m in words["sentence"].finditer(before)]
    before = before[ends[-1] :] if ends else before
    after = low[end : end + AFTER]
    stop = words["sentence"].search(after)
    after = after[: stop.end()] if stop else after
    if record.kind == "restriction":
        if stands_in("not_only", before) or stands_in("origin", f"{before}\0{low[start:end]}\0{after}"):
            return "", ""
        return "restriction", "component" if _of_a_part(before) else "font"
    if record.kind in ("notice", "reserve"):
        if "do not agree" in before or "not conflict" in before:
            return "", ""
        return "statement", "font"
    if ("not conflict" not in before and stands_in("negated", before)) or stands_in("negated_after", after):
        return "negated", "font"
    if stands_in("doubt", before) or stands_in("doubt", after) or stands_in("only_after", after):
        return "statement", "unknown"
    grounded = "基于" in before and stands_in("ground", before + "\0" + after)
    return "grant", "component" if _of_a_part(before) and not grounded else "font"


def _of_a_part(before: str) -> bool:
    """Whether the words before a mention speak of a component: "icons are under …", "based on …, which is …"."""
    words = word_patterns()
    part = words["part_before"].search(before)
    if part is not None and words["uses"].search(before):
        return False  # "this font uses the Open Font License"
    return part is not None and not words["whole"].search(before[part.start() :]) and not words["whole"].search(before)


def _excerpt(flat: str, start: int, end: int) -> str:
    """The sentence-sized surroundings of a mention, cleaned."""
    left, right = max(0, start - 90), max(end, start + 20) + 110
    words = shown_text(flat[left:right]).rstrip("…")
    return ("…" if left else "") + words + ("…" if right < len(flat) or len(words) >= QUOTE - 1 else "")


def shown_text(flat: str) -> str:
    return clean(flat.replace("¶", " ").replace("\0", " "), QUOTE)


def _with_exceptions(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Joins an exception to the licence it refines; alone it implies the GPL it was written for."""
    if any(f.polarity == "grant" and " WITH " in f.spdx for f in found):  # an expression has it already
        return tuple(f for f in found if f.record.kind != "exception" or " WITH " in f.spdx or f.polarity == "negated")
    exceptions = [f for f in found if f.record.kind == "exception" and f.polarity == "grant"]
    others = [f for f in found if f.record.kind != "exception"]
    negated = [f for f in found if f.record.kind == "exception" and f.polarity == "negated"]
    if not exceptions:
        return tuple(others + negated)
    narrow = [f for f in exceptions if f.record.family == "agpl-postscript-exception"]
    chosen = (narrow or exceptions)[0]
    bases = [f for f in others if f.polarity == "grant" and f.spdx.startswith(chosen.record.base)]
    joined = [replace(f, record=chosen.record, spdx=f"{f.spdx} WITH {chosen.spdx}") for f in bases]
    if not bases and chosen.record.family != "agpl-postscript-exception":
        joined = [replace(chosen, spdx=f"GPL-2.0-or-later WITH {chosen.spdx}")]
    return tuple([f for f in others if f not in bases] + joined + negated)
