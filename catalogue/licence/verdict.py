"""From statements about a font to a sell verdict, with reasons. Pure: nothing here opens a file, save `judge_font`.

1. `catalogue.licence.mentions` finds licence words in one text, `catalogue.licence.expressions` what they come to
   for goods.
2. `judge` weighs them: a restriction beats any grant; a part's licence never grants for the whole; OR takes the most
   permissive, AND the strictest; what contradicts is shown and asks; nothing found is unknown.
3. `catalogue.licence.sentences` keeps a yes back when a sentence of the statement is left that no rule understands.

It is evidence, never legal advice, and the answer says so.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Protocol

from catalogue.licence.expressions import ORDER, resolve_name, terms_of
from catalogue.licence.families import records_by_id
from catalogue.licence.mentions import (
    QUOTE,
    Finding,
    flatten,
    font_part,
    licence_section,
    of_all_kinds,
    prepared_text,
    recognise,
    stands_in,
    word_patterns,
)
from catalogue.licence.sentences import grammar, not_understood
from catalogue.text import clean
from scanner.evidence import Evidence, read_evidence

RULES_VERSION = "5"
"""Rises with every change of rules or records that can change a verdict."""
CAUTION = "This is evidence that was found, not legal advice. The licence's own text and local law decide."
NOTICES = ("name 0 ", "name 7 ", "name 13 ", "name 14 ", "CFF")
NOTICE = 200  # characters: a longer notice tells of the design as well
FAMILY_NAMES = ("name 1 ", "name 4 ", "name 16 ")  # only restrictions are read from these
OWN = ("name", "cff")
BESIDE = ("licence-file", "readme-file")
FIELDS = ("dep5", "appstream", "dist-info", "package-json")

GRANT_NOTHING = ("component", "excerpt")
"""Scopes whose grants do not cover the font. A limit in a text that was not read to its end has the scope "font"."""


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


@lru_cache(maxsize=8192)
def assess(raw: Evidence) -> tuple[Evidence, ...]:
    """One raw statement as evidence with claim, polarity and scope; several when it says several things."""
    quote = clean(raw.quote, QUOTE)
    if raw.source == "os2":
        return (Evidence(raw.source, raw.locator, quote, raw.claim, raw.polarity, "font"),)
    if raw.claim:
        claim = resolve_name(raw.claim)
        if claim:
            terms = terms_of(claim)
            kinds = {record.kind for record in terms.records}
            polarity = (
                "restriction" if terms.sell == "no" else "statement" if kinds & {"notice", "reserve"} else "grant"
            )
            scope = raw.scope if raw.scope != "unknown" else "font"
            return (Evidence(raw.source, raw.locator, quote, claim, polarity, scope),)
    found = recognise(raw.quote)
    if raw.locator.startswith(FAMILY_NAMES):
        found = tuple(f for f in found if f.polarity == "restriction")
    short_mark = raw.locator.startswith("name 7 ") and len(raw.quote) < NOTICE
    mark = short_mark and not word_patterns()["terms"].search(raw.quote)
    if mark or raw.locator.startswith("name 10 "):  # a trade in an owner's name; a design called fit for business
        found = tuple(f for f in found if f.record.family != "unclear-words")
    if not found:
        return (Evidence(raw.source, raw.locator, quote, "", raw.polarity, raw.scope),)
    return _joined(raw, found)


def _joined(raw: Evidence, found: tuple[Finding, ...]) -> tuple[Evidence, ...]:
    """Whole-font grants of one text become one expression; everything else stays by itself."""
    grants = [f for f in found if f.polarity == "grant" and f.scope == "font"]
    whole = [f for f in grants if " OR " in f.spdx or " AND " in f.spdx or " WITH " in f.spdx]
    if whole:  # an expression says more than the names in it
        grants = [f for f in grants if f in whole or not any(_same_family(f.spdx, w.spdx) for w in whole)]
        found = tuple(f for f in found if f in grants or f.polarity != "grant" or f.scope != "font")
    out: list[Evidence] = []
    if grants:
        kept: dict[str, str] = {}
        for finding in grants:  # one id a family: "or later" in the notice is more exact than the licence's own text
            known = kept.setdefault(finding.record.family, finding.spdx)
            if "or-later" in finding.spdx and "or-later" not in known:
                kept[finding.record.family] = finding.spdx
        ids = list(dict.fromkeys(kept.values()))
        joint = " OR " if len(ids) > 1 and _offers_choice(raw.quote, grants) else " AND "
        scope = raw.scope if raw.scope in GRANT_NOTHING else "font"
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
    return last - first < 300 and bool(word_patterns()["choice"].search(low[max(0, first - 60) : last]))


def judge(raw: tuple[Evidence, ...]) -> Verdict:
    """The verdict on one face from its raw statements, as `read_evidence` gives them."""
    raw = tuple(part for statement in raw for part in _by_part(statement))
    evidence = tuple(dict.fromkeys(e for statement in raw for e in assess(statement)))
    evidence = evidence or (Evidence("font", "whole file", "(no statement could be read)"),)
    names = _reserved_names(raw)
    place = {e: f"[{number}]" for number, e in enumerate(evidence, 1)}
    whole = [e for e in evidence if e.scope not in GRANT_NOTHING]
    grants = [e for e in whole if e.polarity == "grant"]
    limits = [e for e in whole if e.polarity == "restriction"]
    kinds = {e: {r.kind for r in terms_of(e.claim).records} for e in whole if e.claim}
    strays = _files_of_another(grants)
    told = [e for e in whole if e.locator not in strays]
    reserves = [e for e in told if e.polarity == "statement" and "reserve" in kinds.get(e, ())]
    notices = [e for e in told if e.polarity == "statement" and "notice" in kinds.get(e, ())]
    doubts = [e for e in told if e.polarity in ("statement", "negated") and e.claim and e not in reserves + notices]
    parts = [e for e in evidence if e.scope in GRANT_NOTHING and e.claim]

    def answer(
        spdx: str, verdict: str, alter: str, reasons: list[str], conflicts: list[str], accompany: tuple[str, ...] = ()
    ) -> Verdict:
        of_parts = (
            f"Of a part, of another font, or read in part, so it grants nothing for the whole: {_at(parts, place)}."
        )
        if parts and of_parts not in reasons:
            reasons.append(of_parts)
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
                f"{place[limits[0]]} beside the font restricts its use, but the font's own words in {place[grants[0]]} "
                "do not: ask its maker, or move the file away if it belongs to another font."
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


def _files_of_another(grants: list[Evidence]) -> set[str]:
    """Files beside the font that grant another licence than it states, where a second file beside it agrees with it."""
    own = [e for e in grants if e.source in OWN]
    beside = [e for e in grants if e.source in BESIDE]
    agree = {e.locator for e in beside if any(_same_family(e.claim, o.claim) for o in own)}
    return {e.locator for e in beside} - agree if agree else set()


@lru_cache(maxsize=256)
def _by_part(item: Evidence) -> tuple[Evidence, ...]:
    """A file beside the font, apart by what it speaks of: fonts, everything, or icons, code and the like."""
    if item.source not in BESIDE or item.scope in GRANT_NOTHING:
        return (item,)
    fonts, everything, other = font_part(item.quote)
    if not other:
        return (item,)
    kept = [replace(item, quote=said) for said in (fonts, everything) if said]
    return (*kept, replace(item, quote=other, scope="component"))


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
            named = "" if record.family == "unclear-words" else items[0].claim  # they are no licence
            return answer(
                named, "ask", "ask", [f"{place[items[0]]} {record.title}: {record.goods}", *record.conditions], []
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


def _unnamed(words: frozenset[str], raw: tuple[Evidence, ...]) -> bool:
    """Whether one of the words is not in the font's own names; `QuinceSans` holds `quince`, `sans` and `quincesans`."""
    names = " ".join(e.quote for e in raw if e.locator.startswith(FAMILY_NAMES))
    apart = re.sub("(?<=[a-z])(?=[A-Z])", " ", names)
    family = {word.lower() for word in grammar()["word"].findall(f"{names} {apart}")}
    joined = "".join(names.lower().split())
    return any(
        not (word in family or family.issuperset(word.split("-")) or (len(word) > 3 and word in joined))
        for word in words
    )


def _unclear(raw: tuple[Evidence, ...]) -> tuple[Evidence, str] | None:
    """The first statement, with its sentence, that keeps the words from being a plain grant.

    A statement that grants must be understood whole, and so must a notice; of other descriptions the sentences about
    rights, trade or people. Files beside the font count when only they grant.
    """
    granting = {e for e in raw if any(f.polarity == "grant" for f in assess(e))}
    own = any(e.source in OWN for e in granting)
    crowded = {e.locator.replace(", repeated", "") for e in raw if ", repeated" in e.locator}
    whole = {_number(e) for e in raw if e.locator.startswith("name ") and not _is_broken(e.quote)}
    owner = any(e.locator.startswith("name 0 ") and grammar()["owned"].search(e.quote.lower()) for e in raw)
    for item in raw:
        if item.locator.startswith(FAMILY_NAMES) or item.claim or item.scope in GRANT_NOTHING or item.source == "os2":
            continue
        if not (item.source in OWN if own else item in granting and item.source in BESIDE):
            continue
        if item.locator.startswith("name ") and _is_broken(item.quote) and _number(item) in whole:
            continue  # the same statement stands there in a sound encoding
        grants = item in granting
        about = item.locator.startswith("name 10 ") or (  # a description speaks of the design too
            item.locator.startswith(("CFF", "name 0")) and len(item.quote) >= NOTICE
        )
        notice = item.locator.startswith(NOTICES) and len(item.quote) < NOTICE
        greeting = False
        notice = notice and not (item.locator == "CFF Copyright" and len(item.quote.split()) < 4)  # a bare name
        if notice and not grants and not grammar()["owned"].search(item.quote.lower()):
            if item.locator.replace(", repeated", "") in crowded:  # names of features under a number that is not theirs
                notice = False
            elif item.locator == "CFF Notice" or (owner and item.locator.startswith(("name 0 ", "CFF Copyright"))):
                # a greeting or a word about the design, where the owner stands elsewhere
                notice, about, greeting = False, True, True
        if not (grants or about or notice or item.locator.startswith("name 5 ")) and not grammar()["topic"].search(
            item.quote.lower()
        ):
            continue
        version = item.locator.startswith("name 5 ")
        if version and grammar()["trade"].search(item.quote.lower()):
            return item, clean(item.quote, QUOTE)
        said = grammar()["version"].sub(" ", item.quote) if version and not grants else item.quote
        aside = rest = ""
        if grants and item.source == "readme-file":
            stated, aside, rest = licence_section(said)
            if any(f.polarity == "grant" for f in recognise(stated)):
                said = stated
            else:
                aside = rest = ""
        doubtful = next((odd for odd in not_understood(aside) if odd.topic), None)
        if doubtful:
            return item, doubtful.sentence
        told = [(odd, about) for odd in not_understood(said)] + [(odd, True) for odd in not_understood(rest)]
        for odd, about in told:
            open_to_doubt = (
                odd.topic
                or (grants and not about and odd.prose)
                or (notice and odd.prose)
                or (version and odd.prose and len(grammar()["work"].findall(odd.sentence)) < 2)
                or (about and not odd.design)
                or (greeting and "for" in odd.words)
            )
            if open_to_doubt and _unnamed(odd.words, raw):
                return item, odd.sentence
    return None


def _number(item: Evidence) -> str:
    """`name 13` of `name 13 (platform 3, language 0x0409)`."""
    return " ".join(item.locator.replace(",", " ").split(maxsplit=2)[:2])


def _is_broken(text: str) -> bool:
    """Whether an eighth of a text or more could not be decoded."""
    return "\ufffd" in text and 8 * text.count("\ufffd") >= len(text)


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


@lru_cache(maxsize=4096)
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
        if statement.source in (*OWN, "licence-file") and statement.scope not in GRANT_NOTHING:
            for name in _names_in(statement.quote):
                out[name] = None
    return tuple(out)[:20]


@lru_cache(maxsize=4096)
def _names_in(text: str) -> tuple[str, ...]:
    """Reserved Font Names that a text declares, not those its definitions talk about."""
    words = word_patterns()
    out: list[str] = []
    if "reserved" not in text[:4000].lower():
        return ()
    for hit in words["reserved"].finditer(text[:4000]):
        quoted = words["quoted"].findall(hit[1])
        bare = (
            [] if quoted else [] if re.match(r"(?i)(?:refers|s\b|or\b|unless|is\b|are\b|may\b)", hit[1]) else [hit[1]]
        )
        out += [clean(name, 40) for name in quoted or bare]
    return tuple(out)


def forget_texts() -> None:
    """Drops what was kept of texts that were read before: for measuring."""
    for kept in (recognise, prepared_text, of_all_kinds, stands_in, not_understood, assess, _names_in, _by_part):
        kept.cache_clear()


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
    "unknown": "Unknown: nothing was found that says what the font may be used for.",
}


_PLACES = {
    "13": "licence field",
    "14": "licence address",
    "0": "copyright line",
    "7": "trade mark line",
    "10": "description",
    "5": "version",
    "3": "unique name",
    "1": "family name",
    "4": "full name",
    "16": "family name",
}
_FILES = {
    "licence-file": "The licence file ",
    "readme-file": "The read-me file ",
    "dep5": "Debian's copyright file ",
    "appstream": "The package's AppStream entry ",
    "dist-info": "The package's licence entry in ",
    "package-json": "The package's licence entry in ",
}
_LANGUAGES = ["English", "German", "French", "Spanish", "Italian", "Portuguese", "Japanese", "Chinese", "Russian"]
_WINDOWS = dict(zip((9, 7, 12, 10, 16, 22, 17, 4, 25), _LANGUAGES, strict=True))
"""By the primary language, the lower ten bits of a Windows language id ([MS-LCID], from memory)."""
_MACINTOSH = dict(zip((0, 2, 1, 6, 3, 8, 11, 33, 32), _LANGUAGES, strict=True)) | {19: "Chinese"}
"""Macintosh language ids (OpenType 1.9 `name`)."""
_SAYS = {"grant": "grants {}", "restriction": "restricts: {}", "negated": "takes {} back", "statement": "mentions {}"}
_SCOPES = {
    "font": "", "component": " for a part, or for another font", "excerpt": " in what was read of it", "unknown": "",
}  # fmt: skip


def explain(verdict: Verdict, font: str = "") -> str:
    """The answer for a person: first the answer, then why, then the quotes, then the caution.

    `font` is named below the answer.
    """
    titles = ", ".join(dict.fromkeys(r.title for r in terms_of(verdict.spdx).records)) if verdict.spdx else ""
    lines = [_ANSWERS[verdict.verdict]]
    lines += [f"Font: {font}"] if font else []
    lines += [f"Licence: {titles} ({verdict.spdx})" if titles else f"Licence: {verdict.spdx or 'not recognised'}"]
    lines += [f"May letters be thickened or offset: {verdict.may_alter_outlines}"]
    if verdict.verdict in ("yes", "yes-conditions"):
        lines += [f"Goes with the goods: {item}" for item in verdict.must_accompany or ("nothing",)]
    lines += ["", "Why", *(f"- {reason}" for reason in verdict.reasons)]
    if verdict.conflicts:
        lines += ["", "Contradictions", *(f"- {conflict}" for conflict in verdict.conflicts)]
    if verdict.reserved_font_names:
        names = ", ".join(verdict.reserved_font_names)
        lines += ["", f"Reserved names, which a changed font file may not bear (goods may): {names}"]
    telling = [(n, e) for n, e in enumerate(verdict.evidence, 1) if e.claim]
    if telling:
        lines += ["", "What was found"]
        for number, e in telling:
            lines += [f"[{number}] {place_of(e)} {said(e)}:", f'    "{e.quote}"']
    rest = [(n, e) for n, e in enumerate(verdict.evidence, 1) if not e.claim]
    if rest:
        lines += ["", "Also read, with no licence in it"]
        lines += [f'[{number}] {place_of(e)}: "{e.quote}"' for number, e in rest]
    return "\n".join([*lines, "", CAUTION])


def said(item: Evidence) -> str:
    """How a statement was read, for a person: `grants OFL-1.1`."""
    return _SAYS[item.polarity].format(item.claim) + _SCOPES[item.scope] if item.claim else "has no licence in it"


def place_of(item: Evidence) -> str:
    """Where a statement stands, for a person: `The font's licence field (name 13, Windows, English)`."""
    hit = re.fullmatch(r"name (\d+)((?:, repeated)?) \(platform (\d+), language (0x\w+)\)", item.locator)
    if item.source == "os2":
        return "The font's embedding bits, which are about documents (OS/2 fsType)"
    if hit is None:
        path, mark, more = item.locator.partition(" (Files: ")
        return clean(_FILES.get(item.source, "") + path + mark + more)
    platform = {"0": "Unicode", "1": "Macintosh", "3": "Windows"}.get(hit[3], f"platform {hit[3]}")
    code = int(hit[4], 16)
    language = (_MACINTOSH.get(code) if hit[3] == "1" else _WINDOWS.get(code & 0x3FF)) or f"language {hit[4]}"
    return f"The font's {_PLACES.get(hit[1], 'name')} (name {hit[1]}{hit[2]}, {platform}, {language})"
