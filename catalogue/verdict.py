"""From statements about a font to a sell verdict, with reasons. Pure: nothing here opens a file, save `judge_font`.

1. `recognise` finds licence words in one text: which record, whether it grants, restricts, is taken back ("not under
   the …") or in doubt ("will be …?"), and whether it speaks of the whole font or of a part.
2. `judge` weighs them: a restriction beats any grant; a part's licence never grants for the whole; OR takes the most
   permissive, AND the strictest; what contradicts is shown and asks; nothing found is unknown.
3. `not_understood` keeps a yes back when a sentence of the statement is left that no rule understands.

It is evidence, never legal advice, and the answer says so.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Protocol

from catalogue.licences import Record, load_records, records_by_id
from catalogue.text import clean
from scanner.evidence import Evidence, read_evidence

RULES_VERSION = "2"
"""Rises with every change of rules or records that can change a verdict."""
CAUTION = "This is evidence that was found, not legal advice. The licence's own text and local law decide."
ORDER = ("yes", "yes-conditions", "ask", "no")  # from most permissive to strictest
QUOTE = 240  # characters of a shown quote
BEFORE, AFTER = 110, 60  # characters around a mention in which it can be taken back; tuned on half of the packages
SHORT = 200  # characters: a short text without any stem of a licence word is passed by; most names of fonts are such
BODY = 400  # characters: no licence's own text is shorter
UNDERSTOOD = 20000  # characters of a statement whose sentences are looked at one by one; no real notice is longer
NOTICES = ("name 0 ", "name 7 ", "name 13 ", "name 14 ", "CFF")
NOTICE = 200  # characters: a longer notice tells of the design as well
FAMILY_NAMES = ("name 1 ", "name 4 ", "name 16 ")  # only restrictions are read from these
OWN = ("name", "cff")
BESIDE = ("licence-file", "readme-file")
FIELDS = ("dep5", "appstream", "dist-info", "package-json")


@dataclass(frozen=True)
class Verdict:
    """The answer for one face, and all it stands on."""

    spdx: str
    """SPDX expression; "" when no licence was recognised."""
    verdict: str
    """yes, yes-conditions, ask, no or unknown."""
    may_alter_outlines: str
    """yes, ask, no or unknown: whether letters may be thickened or offset."""
    must_accompany: tuple[str, ...]
    """What goes with the goods, on the card or in the listing."""
    conflicts: tuple[str, ...]
    reserved_font_names: tuple[str, ...]
    """They bind the names of changed font files, not goods."""
    evidence: tuple[Evidence, ...]
    reasons: tuple[str, ...]
    """Each points to its evidence as [n], counted from 1."""
    rules_version: str = RULES_VERSION

    def as_json(self) -> dict[str, object]:
        """The keys of `licence --json`, without path and face, which the caller knows."""
        return {
            "spdx": self.spdx,
            "verdict": self.verdict,
            "may_alter_outlines": self.may_alter_outlines,
            "must_accompany": list(self.must_accompany),
            "conflicts": list(self.conflicts),
            "reserved_font_names": list(self.reserved_font_names),
            "evidence": [e.as_json() for e in self.evidence],
            "reasons": list(self.reasons),
            "rules_version": self.rules_version,
        }


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
def _words() -> dict[str, re.Pattern[str]]:
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
            r"(?:allowed|occasionally)[^.¶]{0,20}noncommercial(?:ly| distribution)|"
            r"commercial or non-?commercial|profits? ?[;,)]|loss of [^.;]{0,20}profits?|business interruption|commercial damages|"
            r"commercial advantage or private monetary|commercially reasonable|"
            r"(?:including|include|even|also|both|free(?:ly)?)(?: for)? (?:any )?commercial(?:ly)?(?: use| purposes)?|"
            r"no restrictions? on commercial use|commercial use (?:is |are )?(?:allowed|permitted|ok|okay|welcome|free)|"
            r"kommerzielle nutzung (?:ist )?(?:erlaubt|gestattet|frei)|(?:usage|utilisation) commerciale? (?:est )?autorisée?|"
            r"uso comercial (?:está )?permitido|uso commerciale (?:è )?consentito|коммерческое использование разрешено|"
            r"商用(?:利用|使用)?(?:も)?(?:可|ok|自由)|(?:可|免费|可以|允许)(?:免费)?(?:商用|商业使用)|商用免费|(?:个人|非商业)(?:和|与|及|、)(?:商业|商用)(?:使用|用途)?(?:均|都)?(?:可)?免费|"
            r"commercial(?:ly)?,? (?:and|or) (?:otherwise|not)|and/or commercial \w+|commercial \w+\? ?(?:a[^a-z]{0,3})?yes|(?:商用|営利)・?(?:と|、|・)?(?:非商用|非営利)(?:を)?問わず|(?:商用|営利|商業)(?:・|、|と|か)?"
            r"(?:個人|非商用|非営利)(?:利用)?(?:を)?問わず|(?:個人|非商用|非営利)(?:利用)?(?:・|、|と|か)?(?:商用|営利)(?:利用)?(?:を)?問わず"
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
            r"\bverified\b|\brejected\b|\bawaiting\b|\bdraft\b|\bunclear\b|\bunsure\b|not sure|\bmaybe\b|\bperhaps\b|\bpossibl[ye]\b|\bprobably\b|"
            r"\bplanned\b|\bplan(?:s|ning)? to\b|\bwill be\b|\bto be (?:released|licen|decided|determined|confirmed)|"
            r"\bsoon\b|\btbd\b|\btodo\b|\bpending\b|\bnot yet\b|\bfuture\b|\bformerly\b|\bpreviously\b|\buntil\b|"
            r"\bused to be\b|\bonce\b|\bearlier versions?\b|\b(?:previous|older?|earlier|former) (?:release|version|file|font)s?\b|on request|available (?:on|upon|from|at extra)|\bfor an? $|different (?:file|version)|"
            r"\balte[nrs]? (?:version|schrift|fassung)|vorherig|ancienne|précédente|anterior|precedente|предыдущ|стар\w+ верси|\bsimilar to\b|\binspired by\b|"
            r"-like\b|-compatible\b|compatible with|\bmight\b|\bconsider(?:ing|ed)?\b|\bintend|\bhope|\bunless\b|"
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
        "blank": re.compile(r"\n[ \t\r]*\n|\r[ \t]*\r|(?<!\r)\n[-=*_ ]{4,}\n"),
        "space": re.compile(r"[\s\0\u00ad\u200b-\u200f\u2060\ufeff\u202a-\u202e\u2066-\u2069]+"),
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
    words = _words()
    joined = words["blank"].sub(" ¶ ", words["comment"].sub("", text))
    flat = unicodedata.normalize("NFKC", joined).translate(_STRAIGHT)
    return words["space"].sub(" ", flat).strip()


_STRAIGHT = str.maketrans(
    {
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
)


@lru_cache(maxsize=4096)
def recognise(text: str) -> tuple[Finding, ...]:
    """What one text says, one finding a record (two when it is granted here and taken back there)."""
    low, flat, bodies = _prepared(text)
    if len(low) < SHORT and low.isascii() and not _words()["stem"].search(low):
        return ()
    found = [*bodies]
    talk = _words()["both"].sub(lambda hit: "\0" * len(hit[0]), low)
    ascii_only = low.isascii()
    for record in load_records():
        if record.stems and not any(stem in low for stem in record.stems):
            continue
        where = talk if record.kind == "restriction" or record.family == "unclear-words" else low
        hits = [
            (spdx, hit)
            for spdx, pattern in (record.recognise_ascii if ascii_only else record.recognise)
            for _, hit in zip(range(4), pattern.finditer(where), strict=False)
        ]
        if hits:
            found += _weigh(record, hits, low, flat)
    return _with_exceptions(tuple(found))


@lru_cache(maxsize=4096)
def _prepared(text: str) -> tuple[str, str, tuple[Finding, ...]]:
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
        for start, end in record.bodies:
            for _ in range(3):  # seen: the same licence twice in one field
                hit = start.search(low)
                if hit is None:
                    break
                around = low[max(0, hit.start() - 200) : hit.end() + 300]
                spdx = next((s for s, pattern in record.recognise if pattern.search(around)), record.spdx[0])
                found.append(Finding(record, spdx, "grant", "font", _excerpt(flat, *hit.span())))
                stop = end.search(low, hit.end())
                if stop is None:
                    break
                low = low[: hit.start()] + " ¶ " + low[stop.end() :]
                flat = flat[: hit.start()] + " ¶ " + flat[stop.end() :]
    return low, flat, found


def _weigh(record: Record, hits: list[tuple[str, re.Match[str]]], low: str, flat: str) -> list[Finding]:
    """At most one finding for what is said and one for what is taken back."""
    best: dict[str, Finding] = {}
    for spdx, hit in hits:
        polarity, scope = _meaning(record, low, hit.start(), hit.end())
        if polarity:
            key = polarity if polarity != "grant" else polarity + scope
            best.setdefault(key, Finding(record, spdx, polarity, scope, _excerpt(flat, *hit.span())))
    if "grantfont" in best:
        best.pop("grantcomponent", None)
        if "negated" not in best:
            best.pop("statement", None)
    return list(best.values())


def _meaning(record: Record, low: str, start: int, end: int) -> tuple[str, str]:
    """Polarity and scope of one mention, from the words of its sentence."""
    words = _words()
    before = low[max(0, start - BEFORE) : start]
    ends = [m.end() for m in words["sentence"].finditer(before)]
    before = before[ends[-1] :] if ends else before
    after = low[end : end + AFTER]
    stop = words["sentence"].search(after)
    after = after[: stop.end()] if stop else after
    if record.kind == "restriction":
        if words["not_only"].search(before):
            return "", ""
        return "restriction", "component" if _of_a_part(before) else "font"
    if record.kind in ("notice", "reserve"):
        if "do not agree" in before or "not conflict" in before:
            return "", ""
        return "statement", "font"
    if ("not conflict" not in before and words["negated"].search(before)) or words["negated_after"].search(after):
        return "negated", "font"
    if words["doubt"].search(before) or words["doubt"].search(after) or words["only_after"].search(after):
        return "statement", "unknown"
    return "grant", "component" if _of_a_part(before) else "font"


def _of_a_part(before: str) -> bool:
    """Whether the words before a mention speak of a component: "icons are under …", "based on …, which is …"."""
    words = _words()
    part = words["part_before"].search(before)
    return part is not None and not words["whole"].search(before[part.start() :]) and not words["whole"].search(before)


def _excerpt(flat: str, start: int, end: int) -> str:
    """The sentence-sized surroundings of a mention, cleaned."""
    left, right = max(0, start - 90), max(end, start + 20) + 110
    words = clean(flat[left:right].replace(" ¶ ", " ").replace("\0", " "), QUOTE).rstrip("…")
    return ("…" if left else "") + words + ("…" if right < len(flat) or len(words) >= QUOTE - 1 else "")


def _with_exceptions(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Joins an exception to the licence it refines; alone it implies the GPL it was written for."""
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


# --- understanding -----------------------------------------------------------------------------------------------
# A yes from the font's own words needs every sentence to be understood: nothing may be left of it once known phrases,
# known words and, in a notice, names are taken out. No negation, limit or condition is among the known words, so a
# sentence that limits the grant in words nobody foresaw asks instead of slipping through.

_KNOWN = "|".join(
    (  # phrases that are understood, on flattened lower-case text
        r"(?:https?:/*|www\.)(?![^\s\"'<>()]*\b(?:not?|non|nicht|pas|except|only|nur|apply)\b)[^\s\"'<>()]+[^\s\"'<>().,;:]/?",
        r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+|\b(?:[a-z0-9-]{2,}\.)+(?:com|org|net|de|info|edu|io|co|jp|fr|uk|cz|ru|it|br|th|ar|me|in)(?:\.\w\w)?\b(?:/[^\s\"'<>()]*[\w/])?",
        r"all rights? (?:are )?reserved(?: worldwide)?|(?:alle rechte vorbehalten|tous droits réservés|todos los derechos reservados|tutti i diritti riservati|todos os direitos reservados|все права защищены)",
        r"(?:registered )?in (?:the )?(?:u\.? ?s\.?|united states)(?: of america)?(?: patent (?:and|&) trademark office)?,? (?:and(?:/or)? (?:in )?(?:certain )?other (?:jurisdictions|countries))|(?:which |and )?may be registered in (?:certain|other|some) (?:other )?(?:jurisdictions|countries)",
        r"(?:copyright|\(c\)|©)[ ©(c)]*\d{4}[-\d, ]*(?:by )?(?!only|not|no\b|for\b|private|personal|use)[a-z][a-z0-9-]*",
        r"\bv\.?[\d.]+|\b[\w-]+\.(?:txt|md|html?|pdf)\b|\bfaq\b",
        r"\w+ changes are in (?:the )?public domain|no modification of the licen[cs]e is permitted, only verbatim copy is allowed",
        r"if not,? (?:see|write to)(?: the)?(?: free software foundation[^¶]{0,100}?usa)?|51 franklin st\w*,? fifth floor,? boston,? ma 0?2110[-\d]*,? usa|59 temple place[^¶]{0,60}?usa",
        r"see the (?:sil open font|gnu general public|apache|mit) licen[cs]e for the specific language,? permissions and limitations "
        r"(?:governing your use of this font software|under the licen[cs]e)",
        r"registered in many jurisdictions(?: worldwide)?|trade ?marks? of (?!the\b|only|not)[a-z][\w-]*|\(r\)|(?<=\w)tm\b|\(v\.beta\)",
        r"for (?:further|more) information,? (?:please )?(?:contact|see|visit)|for the purposes of the ofl,? the (?:only )?reserved font names?",
        r"(?:but |it |this font )*not affiliated with(?: any (?:brand|company))?|in some countries this may not be legally possible",
        r"<?[\w.]+ at \w+ dot (?:com|org)>?|fonts in this site are|with creators' permission|\b[qa]_(?: yes)?|to my wife,? for eternity|"
        r"project was committed|the fork awesome font|, e-types as|covering uswds's modifications to public sans|uswds modified version|"
        r"paypal(?=:)|-(?:bold|italic|regular|oblique)\b|thai pseudo|"
        r"the work in the \w+ project|can i donate \$ to you\?|"
        r"under (?:the )?national font project at nectec as to be a free licensed font for thai users and developers|"
        r"permission is hereby granted|as published by|"
        r"formerly pfaedit|if so:|unicode \w+ and libre licensed|can i use this on a web page via css @font-face\?|a_ yes|;none;|"
        r"\w+ @ free(?: ?\. ?fr)?|(?!only|not)[a-z][\w'-]* <[\w.+-]+@[^>]*>|based on a \d+ translation|"
        r"free of charge|do whatever you want with it|^none$|you must accept \"?(?: |h)[^ ]* to use this product|created by (?!only|not)[a-z][\w-]*",
        r"paratype ltd grants you the right to use, copy, modify[^¶]{0,420}?paratype free font licen[cs]e(?: placed on)?",
        r"if you do not agree to this licen[cs]e,? including the disclaimer,? do not distribute or modify this font",
        r"in no event shall [^¶]{0,700}?(?:dealings? in the (?:font )?software|possibility of such damages?|$)",
        r"(?:if so: )?[\w ]{0,40}grants anyone the right to use this work for any purpose,? without any conditions,? unless such conditions are required by law|"
        r"legally possible; if so:?|latin glyphs are based on|based on (?:the )?\"[^\"¶]{1,40}\"",
        r"in whole or in part|part or in whole|you are allowed to distribute or use this software in as many computer systems as you wish,? with or without "
        r"modifications,? provided you transfer these rights with the software",
        r"everyone is permitted to copy and distribute verbatim copies of this licen[cs]e document,? but changing it is not allowed",
        r"except as contained in this notice,? the names? of [^¶]{0,120}? shall not be used in advertising[^.¶]{0,220}(?:\.,? respectively)?",
        r"(?:is |be )?(?:sold|distributed|provided) [\"']?as[- ]is[\"']?",
        r"with(?:out)? (?:no |any )?reserved font ?names?|no reserved font ?names?|reserved font ?names?",
        r"available with an? faq(?: at)?:?|an? faq is available at",
        r"[\"']?as[- ]is[\"']?(?: basis)?,? without (?:any )?warrant(?:y|ies)(?: or conditions)? of any kind"
        r"(?:,? (?:either )?express(?:ed)?,? or implied)?(?:,? including,? but not limited to,? (?:any |the )?warranties of merchantability,? "
        r"fitness for a particular purpose and non-?infringement(?: of copyright,? patent,? trademark,? or other right)?)?",
        r"without warrant(?:y|ies) (?:or conditions )?of any kind,? ?(?:either )?(?:express(?:ed)? or implied)?|without even the implied warranty of merchantability or fitness for a particular purpose|"
        r"in the hope that it will be useful|but without any warranty|fitness for a particular purpose",
        r"see the (?:sil )?(?:open font|gnu (?:lesser |affero )?general public|apache|mit)? ?licen[cs]e for (?:the |more )?(?:specific )?(?:language|details)?,? ?(?:governing )?(?:permissions(?: and limitations)?)?[^.;¶]{0,60}?(?:font software|under the licen[cs]e|licen[cs]e|limitations|details)?(?= |\.|$)",
        r"unless required by applicable law or agreed to in writing,?|you may (?:not use|obtain|get)(?: this file except in compliance with| a copy of)? the licen[cs]e(?: at)?|you may not use this file except in compliance with the licen[cs]e",
        r"either version [\d.]+(?: of the licen[cs]e)?,? or \(?at your option\)? any later version|\(?at your (?:option|choice)\)?",
        r"you (?:can|may) redistribute it and/or modify it|as published by the free software foundation|you should have received a copy of[^.;¶]{0,80}?(?:along )?with this (?:program|font|software|library|\w+)|if not,? (?:see|write to)[^¶]{0,30}(?:the free software foundation[^¶]{0,100}?usa|licenses/?)?",
        r"as a special exception,? if you create a document which uses this font,? and embed this font or unaltered portions of this font into the document,? this font does not by itself cause the resulting document to be covered by the gnu general public licen[cs]e",
        r"this exception does not however invalidate any other reasons why the document might be covered by the gnu general public licen[cs]e|if you modify this font, you may extend this exception to your version of the font, but you are not obligated to do so|if you do not wish to do so, delete this exception statement from your version",
        r"(?:may |can ?|must )?not(?: be| to| for)? (?:sold|sale|sell\w*)(?: the fonts?)? by (?:itself|themselves)",
        r"not affiliated with any brand|for personal (?:and|or|&) commercial (?:use|projects|purposes)|no restrictions? on commercial use",
    )
)
_VOCABULARY = """
a an the this these font fonts typeface typefaces family families software softwares file files program is are be by
of and or to in under at from version versions v licence licences license licenses licensed licenced licensing
released distributed published available covered sil open ofl gpl gnu lgpl general public lesser affero mit expat
apache x11 bsd clause cc cc0 cc-by cc-by-sa by-sa sa creative commons attribution sharealike share alike zero
universal international unported generic domain eclipse epl edl ubuntu ipa lppl gust latex vera bitstream mplus
paratype baekmuk free freely libre terms conditions see copy included accompanying text use used uses using any
purpose later copyright c rights with exception embedding granted grant hereby you your can may modify redistribute it
its for more information details new name names reserved trademark trademarks registered designed design designer
created made digitized foundry inc ltd co llc type authors author contributors team corporation fontforge portions
holder holders owner development also either copyrighted licensor url http https link visit read please email copied
below together package part computer hosted applicable section refer notices glyphs data detailed font-exception
outline monospace monospaced sans serif bold regular italic work based on parts base been has into modification
modified modifications unmodified thai handwriting vector artistic opentype sept oct nov dec jan feb aug january
february march april june july august september october november december foundation notice script unicode which
accept contributed mail copies embed embedded permitted dejavu freefont copying info further tables written applies
worldwide committed was governed distribution following initial release fondry including hint hinting instructions
donated dedicated placed given dual contacts developed imported publica provided supplied offered org net com both
personal commercial described stated found subject via opensource gratis full fulltext schrift schriftart schriftdatei
schriften diese dieser dieses der die das den dem unter lizenz lizenziert ist steht wird sind frei freie freier
kommerzielle kommerziell nutzung erlaubt und oder veröffentlicht verfügbar siehe verwendung jede für kostenlos cette
police est sous la le les de du des publiée distribuée et ou tout usage personnel utilisation autorisé fonte
caractères disponible termes esta fuente tipografía está bajo licencia el los las y o uso comercial permitido
publicada distribuida términos del se questo carattere è sotto licenza il lo gli i e libero rilasciato distribuito
disponibile personale consentito termini della con sob licença os da do livre distribuída disponível termos этот шрифт
распространяется под лицензией лицензия по на условиях и для коммерческого использования свободный открытая доступен
опубликован использование batang dotum gulim headline q_ a_ national originally preamble per hinted basis disclaimer
"""
_KNOWN_WORDS = frozenset(_VOCABULARY.split())
_KNOWN_HAN = (
    "オープンフォントライセンス|个人和商业使用均免费|このフォントは|オープンソース|商用問わず無料|开放字体许可|されています|本フォントは|このフォント|本フォント|ライセンス|商用利用可|可免费商用|商用利用|のもとで|商用免费|フォント|に基づき|"
    "免费商用|ています|开放字体|の下で|商用可|本字体|可免费|许可证|协议|です|配布|され|字体|基于|使用|公開|個人|提供|授权|遵循|发布|开源|自由|許諾|無料|采用|许可|は|版|の|を|可|で|に"
)
_DESIGN = """
very simple monoline rounded feels feel like writing quickly with inked brush thai pseudo latin greek cyrillic arabic
hebrew devanagari com dot hand handwritten display condensed wide narrow slab humanist geometric readable legible
weights weight styles style characters
"""
_DESIGN_WORDS = frozenset(_DESIGN.split())
_SMALL = """
de da do di du del della der den la le van von und y e et i al el bin ibn o of and dos das for
"""
_PARTICLES = frozenset(_SMALL.split())
_NOT_NAMES = r"^(?:only|use|us[ae]ge|personal|private|home|hobby|stud\w+|schools?|commercial\w*|sale|sell\w*|goods|products?|shops?|no|not|non\w*|never|except\w*|without|but|if|unless|until|nur|nicht|ohne|kein\w*|für|privat\w*|pas|sauf|sans|non|pour|sin|para|salvo|senza|per|sem|только|кроме|не|без|для|demo|trial|test|evaluation|review\w*|beta|ask|contact|buy|pay|who|which|whose|qui|que|der|die|das)$"
_NAMED = r"^\W*(?:19|20)\d\d\b|copyright|\(c\)|©|(?:ed|made|written|redrawn|drawn|\d{4}|\bwork|\bfont|\boutlines?),? by\b|^\W*by\b|trade ?mark|reserved font name|\bbased (?:up)?on\b|\bauthors?\b|\bdesigner\b|фирма"  # words after which names stand
_TOPIC = (
    r"\bnobody|\bpatron|(?<![\w-])pays\b|\bapprov|exclus|\bno (?:release|use)\b|"
    r"licen[cs]|lizenz|licen[zç]|лиценз|许可|授权|許諾|ライセンス|\bofl\b|commerc|kommerz|gewerb|comerc|коммер|商|业|業|\bs(?:ell|old|ale)|\bvend|verkauf|händler|\bwaren?\b|produ[ck](?!ed by)|"
    r"\bgoods|merch|market|\bshops?\b|\bstore|\bkauf|\bachet|compra|\bbuy|(?<![\w-])pa(?:y|id)\b|fee\b|gebühr|tantiem|redevanc|\bcan[oô]n\b|\bquota|\btaxa?s?\b|royalt|\bow(?:e|ns?|ed)\b|\bdeben?\b|\bdevono|\bdevem|doivent|schuld|"
    r"exclusiv|exklusiv|esclusiv|permi[st]|permes|erlaub|genehm|consent|contact|kontakt|get in touch|\bask\b|请|連絡|联系|ください|пиш|связ|плат|взнос|запре|только|кроме|"
    r"restrict|forbid|prohib|verbot|interdi[tc]|viet|proib|\bonly\b|\bnur\b|\balone\b|seul|sólo|solo\b|apenas|soltanto|privat|personal|private|demo|trial|\bbeta copy|reviewer|evaluat|"
    r"\bmust\b|\bshall\b|may not|cannot|can't|don't|do not|not (?:be|for|to)\b|rights|rechte|droits|derechos|diritti|direitos|прав|权|権|"
    r"manufactur|fabri[ck]|fabricant|herstell|hersteller|produttor|изготов|制作|製作|makers?\b|sellers?\b|vendors?|client|customer|kunden|craft|student|school|schule|hochschule|école|escuel|scuol|escol|школ|学校|member|mitglied|adhérent|soci[ios]*\b|членов|会員|会员"
)
"""Words about rights, trade and people, in nine languages: a description that has none of them is left alone."""


@dataclass(frozen=True)
class Odd:
    """A sentence of which words are left that no rule knows."""

    sentence: str
    words: frozenset[str]
    topic: bool
    """Whether it speaks of rights, trade or people."""
    prose: bool
    """Whether a word is left that is neither a name nor about a design."""
    design: bool
    """Whether it speaks of a design, in English, or names people."""


@lru_cache(maxsize=1)
def _grammar() -> dict[str, re.Pattern[str]]:
    return {
        "known": re.compile(_KNOWN),
        "word": re.compile(
            r"[\u2e80-\U0003ffff]+|(?:(?![\u2e80-\U0003ffff])[^\W\d_])(?:(?![\u2e80-\U0003ffff])[\w'’]|-(?=\w))*"
        ),
        "end": re.compile(
            r"(?<!\b[A-Z])(?<!\binc)(?<!\bInc)(?<!\bLtd)(?<!\bCo)(?<!\bCorp)(?<!\bMr)(?<!\bDr)(?<!\bSt)\.(?=\s|$)|[!;?](?=\s|$)|[。！？；¶]"
        ),
        "named": re.compile(_NAMED),
        "person": re.compile(r"\bby (?:[A-Z][\w.]*,? ){1,3}[A-Z]\w+"),
        "not_names": re.compile(_NOT_NAMES),
        "topic": re.compile(_TOPIC),
        "design": re.compile(
            r"\b(?:type(?:face)?s?|fonts?|serifs?|sanserif|script|glyphs?|letter(?:form|ing)?s?|characters?|weights?|styles?|design(?:s|ed)?|text|"
            r"monospaced?|languages?|alphabets?|readab\w+|legib\w+|display|screen|strokes?|scripts|unicode|ink(?:ed)?|handwriting|headlines?|version|specification|reinterpretation|classic|engineering|needs|cut by|energy|family|book)\b"
        ),
        "short_han": re.compile(r"[\u2e80-\U0003ffff]{1,4}"),
        "known_han": re.compile(rf"(?:{_KNOWN_HAN}|[、・，「」（）])+"),
        "dated": re.compile(
            r"\b(?:from|since|on|in|by|before|after|seit|ab|depuis|desde|dal|до|с) ?(?:\w+ )?(?:19|20)\d\d\b"
        ),
        "limit_han": re.compile("[用禁不非限仅可]"),
        "camel": re.compile("[a-z][A-Z]"),
    }


@lru_cache(maxsize=4096)
def not_understood(text: str) -> tuple[Odd, ...]:
    """The sentences of a statement that are not understood, in order."""
    rules = _grammar()
    low, flat, _ = _prepared(text)
    low, flat = low[:UNDERSTOOD], flat[:UNDERSTOOD]
    left = list(flat)
    for pattern in (_words()["both"], rules["known"]):
        for hit in pattern.finditer(low):
            left[hit.start() : hit.end()] = " " * (hit.end() - hit.start())
    rest = "".join(left)
    out: list[Odd] = []
    at, listed = 0, False
    for stop, after in [*((m.start(), m.end()) for m in rules["end"].finditer(rest)), (len(rest), len(rest))]:
        part = rest[at:stop]
        odd = [w for w in rules["word"].findall(part) if (len(w) > 1 or not w.isascii()) and not _is_known(w)]
        dated = rules["dated"].search(low, at, stop) is not None if "19" in part or "20" in part else False
        named = (rules["named"].search(low, at, stop) or rules["person"].search(flat, at, stop)) is not None
        if named:
            odd = [w for w in odd if not _is_name(w)]
        elif dated:
            odd.append("(date)")
        if odd:
            topic = rules["topic"].search(low, at, stop) is not None
            line = "," in part or "www" in low[at:stop]
            second = listed and not topic and line and all(_is_name(w) for w in odd)  # of a list of names
            picture = part.count("_") + part.count("|") > 7 or sum(map(str.isalpha, part)) * 5 <= len(
                "".join(part.split())
            )  # drawn with characters
            if not second and not picture:
                design = named or rules["design"].search(low, at, stop) is not None or all(_is_name(w) for w in odd)
                prose = not named or any(not _is_name(w) and w.lower() not in _DESIGN_WORDS for w in odd)
                said = clean(flat[at:stop].strip(), QUOTE)
                out.append(Odd(said, frozenset(w.lower() for w in odd), topic, prose, design))
        at, listed = after, named
    return tuple(out)


def _is_known(word: str) -> bool:
    low = word.lower()
    if word[0] >= "\u2e80":
        return _grammar()["known_han"].fullmatch(word) is not None
    return low in _KNOWN_WORDS or ("-" in low and all(len(p) < 2 or p in _KNOWN_WORDS for p in low.split("-")))


def _is_name(word: str) -> bool:
    """Whether a word may be a name in a notice: a capital, a particle, or a few Han characters that limit nothing."""
    rules = _grammar()
    if rules["not_names"].match(word.lower()):
        return False
    if rules["short_han"].fullmatch(word):
        return not rules["limit_han"].search(word)
    return word[0].isupper() or word.lower() in _PARTICLES or rules["camel"].search(word) is not None


def _family_words(raw: tuple[Evidence, ...]) -> frozenset[str]:
    """The words of the font's own names, also those written together: `QuinceSans`."""
    names = " ".join(e.quote for e in raw if e.locator.startswith(FAMILY_NAMES))
    apart = re.sub("(?<=[a-z])(?=[A-Z])", " ", names)
    return frozenset(word.lower() for word in _grammar()["word"].findall(f"{names} {apart}"))


def _unclear(raw: tuple[Evidence, ...]) -> tuple[Evidence, str] | None:
    """The first statement, with its sentence, that keeps the words from being a plain grant.

    A statement that grants must be understood whole, and so must a notice; of other descriptions the sentences about
    rights, trade or people. Files beside the font count when only they grant.
    """
    granting = {e for e in raw if any(f.polarity == "grant" for f in assess(e))}
    own = any(e.source in OWN for e in granting)
    family: frozenset[str] | None = None
    for item in raw:
        if item.locator.startswith(FAMILY_NAMES) or item.claim or item.scope == "component" or item.source == "os2":
            continue
        if not (item.source in OWN if own else item in granting and item.source in BESIDE):
            continue
        grants = item in granting
        about = item.locator.startswith("name 10 ") or (  # a description speaks of the design too
            item.locator.startswith(("CFF", "name 0 ")) and len(item.quote) >= NOTICE
        )
        notice = item.locator.startswith(NOTICES) and len(item.quote) < NOTICE
        notice = notice and not (item.locator == "CFF Copyright" and len(item.quote.split()) < 4)  # a bare name
        if not (grants or about or notice) and not _grammar()["topic"].search(item.quote.lower()):
            continue
        for odd in not_understood(item.quote):
            if odd.topic or (grants and not about) or (notice and odd.prose) or (about and not odd.design):
                family = _family_words(raw) if family is None else family
                if odd.words - family:
                    return item, odd.sentence
    return None


# --- expressions -------------------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def resolve_name(raw: str) -> str:
    """SPDX expression of a licence field: an SPDX expression, a Debian short name, or "" when neither.

    >>> resolve_name("GPL-2+ with Font exception or OFL-1.1")
    'GPL-2.0-or-later WITH Font-exception-2.0 OR OFL-1.1'
    >>> resolve_name("whatever")
    ''
    """
    text = clean(raw, 300).strip()
    grouped = _outer_split(text, r"\s+(?:OR|or|\|\|?)\s+|\s*\|\|?\s*")
    if len(grouped) > 1:
        parts = [resolve_name(part) for part in grouped]
        return " OR ".join(parts) if all(parts) else ""
    grouped = _outer_split(text, r",?\s+(?:AND|and)\s+|\s*[&,;]\s*")
    if len(grouped) > 1:
        parts = [resolve_name(part) for part in grouped]
        return " AND ".join(f"({p})" if " OR " in p else p for p in parts) if all(parts) else ""
    if text.startswith("(") and text.endswith(")"):
        return resolve_name(text[1:-1])
    return _one_name(text.strip("() "))


def _outer_split(text: str, pattern: str) -> list[str]:
    """Splits where `pattern` stands outside of brackets."""
    out, last = [], 0
    for hit in re.finditer(pattern, text):
        ahead = text[: hit.start()]
        if ahead.count("(") == ahead.count(")"):
            out.append(text[last : hit.start()])
            last = hit.end()
    return [part for part in (*out, text[last:]) if part.strip()]


def _one_name(name: str) -> str:
    low = name.lower()
    exception = re.search(r"(?:[ -]with[ -](?:\w+ )?font[- ]exception(?:-2\.0)?|\+fe)$", low)
    if exception:
        base = _one_name(name[: exception.start()])
        if base.startswith("AGPL"):  # seen: the only exception of that kind is one vendor's, for PostScript and PDF
            return f"{base} WITH PS-or-PDF-font-exception-20170817"
        return f"{base} WITH Font-exception-2.0" if base and " " not in base else ""
    known = records_by_id().get(low)
    if known is not None:
        return next(spdx for spdx in known.spdx if spdx.lower() == low)
    for record in load_records():
        if any(pattern.fullmatch(low) for pattern in record.names):
            if record.family in ("gpl", "lgpl", "agpl"):
                return _gnu_id(record, low)
            exact = [s for s, pattern in record.recognise if pattern.search(low)]
            version = re.search(r"\d(?:\.\d)?", low) if record.family.startswith("cc-") else None
            if version:
                wanted = version[0] if "." in version[0] else version[0] + ".0"
                exact = [s for s in record.spdx if s.endswith("-" + wanted)] or exact
            return exact[0] if exact else record.spdx[0]
    return ""


def _gnu_id(record: Record, low: str) -> str:
    """`GPL-2+` and its like as SPDX ids; a bare name counts as any version."""
    hit = re.search(r"\d(?:\.\d)?", low)
    number = hit[0] if hit else {"gpl": "1", "lgpl": "2.1", "agpl": "3"}[record.family]
    number = number if "." in number else number + ".0"
    later = not hit or low.endswith(("+", "later"))
    wanted = f"{record.family.upper()}-{number}-{'or-later' if later else 'only'}"
    return wanted if wanted in record.spdx else record.spdx[0]


@dataclass(frozen=True)
class Terms:
    """What an expression comes to for goods."""

    sell: str
    alter: str
    accompany: tuple[str, ...]
    records: tuple[Record, ...]


@lru_cache(maxsize=4096)
def terms_of(expression: str) -> Terms:
    """OR takes the most permissive side, AND the strictest; an id without a record asks."""
    sides = _outer_split(expression, r"\s+OR\s+")
    if len(sides) > 1:
        return min((terms_of(side) for side in sides), key=lambda t: (ORDER.index(t.sell), ORDER.index(t.alter)))
    sides = _outer_split(expression, r"\s+AND\s+")
    if len(sides) > 1:
        every = [terms_of(side) for side in sides]
        return Terms(
            max((t.sell for t in every), key=ORDER.index),
            max((t.alter for t in every), key=ORDER.index),
            tuple(dict.fromkeys(a for t in every for a in t.accompany)),
            tuple(dict.fromkeys(r for t in every for r in t.records)),
        )
    name = expression.strip()
    if name.startswith("(") and name.endswith(")"):
        return terms_of(name[1:-1])
    record = records_by_id().get(name.lower()) or _record_of_with(name)
    if record is None:
        return Terms("ask", "ask", (), ())
    return Terms(record.sell, record.alter, record.accompany, (record,))


def _record_of_with(name: str) -> Record | None:
    """Record of `X WITH exception` when that very pair is not listed."""
    if " WITH " not in name:
        return None
    base, exception = name.split(" WITH ", 1)
    for record in load_records():
        if record.kind == "exception" and any(spdx.endswith(" WITH " + exception) for spdx in record.spdx):
            return record if base.startswith(record.base) else None
    return records_by_id().get(base.lower())


class _Answer(Protocol):
    """The function in `judge` that completes a verdict with what all verdicts share."""

    def __call__(
        self,
        spdx: str,
        verdict: str,
        alter: str,
        reasons: list[str],
        conflicts: list[str],
        accompany: tuple[str, ...] = (),
    ) -> Verdict: ...


# --- weighing ----------------------------------------------------------------------------------------------------


@lru_cache(maxsize=8192)
def assess(raw: Evidence) -> tuple[Evidence, ...]:
    """One raw statement as evidence with claim, polarity and scope; several when it says several things."""
    shown = replace(raw, quote=clean(raw.quote, QUOTE))
    if raw.source == "os2":
        return (replace(shown, scope="font"),)
    if raw.claim:
        claim = resolve_name(raw.claim)
        if claim:
            terms = terms_of(claim)
            kinds = {record.kind for record in terms.records}
            polarity = (
                "restriction" if terms.sell == "no" else "statement" if kinds & {"notice", "reserve"} else "grant"
            )
            scope = raw.scope if raw.scope != "unknown" else "font"
            return (replace(shown, claim=claim, polarity=polarity, scope=scope),)
    found = recognise(raw.quote)
    if raw.locator.startswith(FAMILY_NAMES):
        found = tuple(f for f in found if f.polarity == "restriction")
    if raw.locator.startswith("name 10 "):  # a description may call a design fit for business
        found = tuple(f for f in found if f.record.family != "unclear-words")
    if not found:
        return (replace(shown, claim=""),)
    return _joined(raw, found)


def _joined(raw: Evidence, found: tuple[Finding, ...]) -> tuple[Evidence, ...]:
    """Whole-font grants of one text become one expression; everything else stays by itself."""
    grants = [f for f in found if f.polarity == "grant" and f.scope == "font"]
    out: list[Evidence] = []
    if grants:
        kept: dict[str, str] = {}
        for finding in grants:  # one id a family: "or later" in the notice is more exact than the licence's own text
            known = kept.setdefault(finding.record.family, finding.spdx)
            if "or-later" in finding.spdx and "or-later" not in known:
                kept[finding.record.family] = finding.spdx
        ids = list(dict.fromkeys(kept.values()))
        joint = " OR " if len(ids) > 1 and _offers_choice(raw.quote, grants) else " AND "
        scope = raw.scope if raw.scope == "component" else "font"
        out.append(Evidence(raw.source, raw.locator, grants[0].quote, joint.join(ids), "grant", scope))
    for finding in found:
        if finding not in grants:
            scope = "component" if raw.scope == "component" else finding.scope
            out.append(Evidence(raw.source, raw.locator, finding.quote, finding.spdx, finding.polarity, scope))
    return tuple(out)


def _offers_choice(text: str, grants: list[Finding]) -> bool:
    """Whether words of choice stand near or between the licences named."""
    low = flatten(text).lower()
    places = [hit.span() for f in grants for spdx, p in f.record.recognise for hit in [p.search(low)] if hit]
    if not places:
        return False
    first, last = min(a for a, _ in places), max(a for a, _ in places)
    return last - first < 300 and bool(_words()["choice"].search(low[max(0, first - 60) : last]))


def judge(raw: tuple[Evidence, ...]) -> Verdict:
    """The verdict on one face from its raw statements, as `read_evidence` gives them."""
    evidence = tuple(dict.fromkeys(e for statement in raw for e in assess(statement)))
    evidence = evidence or (Evidence("font", "whole file", "(no statement could be read)"),)
    names = _reserved_names(raw)
    place = {e: f"[{number}]" for number, e in enumerate(evidence, 1)}
    whole = [e for e in evidence if e.scope != "component"]
    grants = [e for e in whole if e.polarity == "grant"]
    limits = [e for e in whole if e.polarity == "restriction"]
    kinds = {e: {r.kind for r in terms_of(e.claim).records} for e in whole if e.claim}
    reserves = [e for e in whole if e.polarity == "statement" and "reserve" in kinds.get(e, ())]
    notices = [e for e in whole if e.polarity == "statement" and "notice" in kinds.get(e, ())]
    doubts = [e for e in whole if e.polarity in ("statement", "negated") and e.claim and e not in reserves + notices]
    parts = [e for e in evidence if e.scope == "component" and e.claim]

    def answer(
        spdx: str, verdict: str, alter: str, reasons: list[str], conflicts: list[str], accompany: tuple[str, ...] = ()
    ) -> Verdict:
        if parts:
            reasons.append(
                f"{_at(parts, place)} speaks of a part, of another font, or of a file read in part: "
                "it grants nothing for the whole."
            )
        return Verdict(spdx, verdict, alter, accompany, tuple(conflicts), names, evidence, tuple(reasons))

    if limits:
        own_limit = any(e.source in OWN for e in limits) or not any(e.source in OWN for e in grants)
        conflicts = [f"{_said(limits[0], place)} against {_said(grants[0], place)}"] if grants else []
        record = terms_of(limits[0].claim).records[0]
        if own_limit:
            return answer(
                limits[0].claim,
                "no",
                "no",
                [
                    f"{place[limits[0]]} {record.title}: {record.goods}",
                    *([f"A restriction beats the grant in {_at(grants, place)}."] if grants else []),
                    *record.conditions,
                ],
                conflicts,
            )
        return answer(
            grants[0].claim,
            "ask",
            "ask",
            [
                f"{place[limits[0]]} beside the font restricts its use, but the font's own words in {place[grants[0]]} do "
                "not: ask its maker, or move the file away if it belongs to another font."
            ],
            conflicts,
        )
    if not grants:
        return _without_grant(answer, reserves, notices, doubts, parts, place)
    found = _with_grant(answer, grants, reserves, doubts, place)
    unclear = _unclear(raw) if found.verdict in ("yes", "yes-conditions") else None
    if unclear is None:
        return found
    item, sentence = unclear
    return answer(
        found.spdx,
        "ask",
        "ask",
        [
            f"{place[assess(item)[0]]} {item.locator} says more than the rules understand, so nothing is promised: "
            f'"{sentence}". Read it, or ask the font\'s maker.',
            *found.reasons,
        ],
        list(found.conflicts),
        found.must_accompany,
    )


def _at(items: list[Evidence], place: dict[Evidence, str]) -> str:
    return ", ".join(dict.fromkeys(place[e] for e in items[:4]))


def _said(item: Evidence, place: dict[Evidence, str]) -> str:
    taken_back = " taken back" if item.polarity == "negated" else ""
    return f"{place[item]} {item.locator}: {item.claim}{taken_back}"


def _without_grant(
    answer: _Answer,
    reserves: list[Evidence],
    notices: list[Evidence],
    doubts: list[Evidence],
    parts: list[Evidence],
    place: dict[Evidence, str],
) -> Verdict:
    for items in (reserves, notices):
        if items:
            record = terms_of(items[0].claim).records[0]
            return answer(
                items[0].claim,
                "ask",
                "ask",
                [f"{place[items[0]]} {record.title}: {record.goods}", *record.conditions],
                [],
            )
    if doubts:
        taken_back = any(e.polarity == "negated" for e in doubts)
        word = "says that the licence does not apply" if taken_back else "names a licence without granting it"
        return answer("", "ask", "ask", [f"{_at(doubts, place)} {word}: ask the font's maker."], [])
    if parts:
        return answer("", "ask", "ask", ["No statement covers the whole font: ask its maker."], [])
    return answer(
        "",
        "unknown",
        "unknown",
        ["No licence is stated in the font or beside it: look where it came from, or ask its maker."],
        [],
    )


def _with_grant(
    answer: _Answer,
    grants: list[Evidence],
    reserves: list[Evidence],
    doubts: list[Evidence],
    place: dict[Evidence, str],
) -> Verdict:
    main = _main_claim(grants)
    against = [e for e in doubts if e.polarity == "negated" and _same_family(e.claim, main.claim)]
    against += [
        e for e in doubts if e.polarity == "statement" and e.source in OWN and _same_family(e.claim, main.claim)
    ]
    if against or reserves:
        other = (against or reserves)[0]
        return answer(
            main.claim,
            "ask",
            "ask",
            [f"{place[main]} grants, {place[other]} does not agree: ask the font's maker."],
            [f"{_said(main, place)} against {_said(other, place)}"],
        )
    differing = [e for e in grants if not _same_family(e.claim, main.claim)]
    if any(e.source in BESIDE and _same_family(e.claim, main.claim) for e in grants) and main.source in OWN:
        differing = [e for e in differing if e.source not in BESIDE]  # a second file beside one that agrees
    terms = [terms_of(e.claim) for e in (main, *differing)]
    sell = max((t.sell for t in terms), key=ORDER.index)
    alter = max((t.alter for t in terms), key=ORDER.index)
    accompany = tuple(dict.fromkeys(a for t in terms for a in t.accompany))
    conflicts = [f"{_said(main, place)} against {_said(e, place)}" for e in differing]
    reasons = [f"{place[main]} {r.title}: {r.goods}" for r in terms[0].records] or [
        f"{place[main]} names {main.claim}, for which there is no record: read it."
    ]
    reasons += [c for r in terms[0].records for c in r.conditions]
    if differing:
        reasons.append(f"{_at(differing, place)} names another licence; the strictest of them counts.")
    return answer(main.claim, sell, alter, reasons, conflicts, accompany)


_SOURCE_ORDER = ("name 13", "CFF", "name 0", "name 14", "name")


def _main_claim(grants: list[Evidence]) -> Evidence:
    """The grant that counts first: the font's own licence field, or a fuller statement of the same licence."""

    def rank(item: Evidence) -> int:
        for number, start in enumerate(_SOURCE_ORDER):
            if item.locator.startswith(start) and item.source in OWN:
                return number
        return len(_SOURCE_ORDER) + (*BESIDE, *FIELDS).index(item.source) if item.source in BESIDE + FIELDS else 99

    ordered = sorted(grants, key=rank)
    first = ordered[0]
    for item in ordered[1:]:
        if _same_family(item.claim, first.claim) and " WITH " in item.claim and " WITH " not in first.claim:
            return item  # the exception is often lost in the font's own licence field
        if item.claim != first.claim and _families(first.claim) < _families(item.claim) and " OR " in item.claim:
            return item
    return first


def _families(expression: str) -> frozenset[str]:
    """Base families in an expression; an exception does not make another family."""
    out = []
    for name in re.split(r"\s+(?:AND|OR)\s+", expression.replace("(", "").replace(")", "")):
        base = name.split(" WITH ")[0]
        record = records_by_id().get(base.lower())
        out.append(record.family if record else base.lower())
    return frozenset(out)


def _same_family(one: str, other: str) -> bool:
    return bool(_families(one) & _families(other))


def _reserved_names(raw: tuple[Evidence, ...]) -> tuple[str, ...]:
    out: dict[str, None] = {}
    for statement in raw:
        if statement.source in (*OWN, "licence-file") and statement.scope != "component":
            for name in _names_in(statement.quote):
                out[name] = None
    return tuple(out)[:20]


@lru_cache(maxsize=4096)
def _names_in(text: str) -> tuple[str, ...]:
    """Reserved Font Names that a text declares, not those its definitions talk about."""
    words = _words()
    out: list[str] = []
    for hit in words["reserved"].finditer(text[:4000]):
        quoted = words["quoted"].findall(hit[1])
        bare = (
            [] if quoted else [] if re.match(r"(?i)(?:refers|s\b|or\b|unless|is\b|are\b|may\b)", hit[1]) else [hit[1]]
        )
        out += [clean(name, 40) for name in quoted or bare]
    return tuple(out)


def judge_font(
    path: Path,
    face_index: int = 0,
    root: Path | None = None,
    *,
    packages: bool = True,
    copyright_file: Path | None = None,
) -> Verdict:
    """Reads one face and what lies beside it, and judges; the arguments are those of `read_evidence`."""
    return judge(read_evidence(path, face_index, root, packages=packages, copyright_file=copyright_file))


_ANSWERS = {
    "yes": "Yes: goods made with this font may be sold, by what was found.",
    "yes-conditions": "Yes, with conditions: goods may be sold if they are met.",
    "ask": "Ask first: what was found does not settle it.",
    "no": "No: what was found does not allow goods that are sold.",
    "unknown": "Unknown: nothing was found that says so.",
}


def explain(verdict: Verdict) -> str:
    """The answer for a person: first the answer, then why, then the quotes, then the caution."""
    lines = [_ANSWERS[verdict.verdict], f"Licence: {verdict.spdx or 'not recognised'}"]
    lines.append(f"Thicken or offset the letters: {verdict.may_alter_outlines}")
    lines += [f"Goes with the goods: {item}" for item in verdict.must_accompany]
    lines += ["", "Why"] + [f"- {reason}" for reason in verdict.reasons]
    lines += ["", "Contradictions"] * bool(verdict.conflicts) + [f"- {c}" for c in verdict.conflicts]
    if verdict.reserved_font_names:
        lines += ["", f"Reserved names of changed font files, not of goods: {', '.join(verdict.reserved_font_names)}"]
    lines += ["", "What was found"]
    for number, e in enumerate(verdict.evidence, 1):
        told = f" ({e.polarity} {e.claim}, {e.scope})" if e.claim else ""
        lines.append(f'[{number}] {clean(e.locator)}{told}: "{e.quote}"')
    return "\n".join([*lines, "", CAUTION])
