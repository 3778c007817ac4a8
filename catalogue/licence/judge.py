"""From what the statements claim to one answer. Pure.

A limit beats any grant; a sentence that is not understood, wherever it stands, keeps a yes back; a part's licence never
grants for the whole; OR takes the most permissive side, AND the strictest; what contradicts is shown. A font whose
licence field says something is never one that states no licence.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from catalogue.licence.answer import Verdict
from catalogue.licence.assess import FREE_USE, GRANT_NOTHING, UNCLEAR, Statement, assess
from catalogue.licence.expressions import terms_of
from catalogue.licence.families import records_by_id
from catalogue.licence.own import name_id
from catalogue.licence.reserved import reserved_names
from catalogue.permission import STRICTER, Permission
from catalogue.text import clean
from scanner.evidence import Evidence

OWN = ("name", "cff", "meta", "file-name", "packaged-name", "folder-name", "archive-name")
BESIDE = ("licence-file", "text-file", "data-file", "beside-name", "given", "copyright-file")
FIELDS = ("dep5", "appstream", "dist-info", "package-json")
SHOWN_SENTENCE = 300  # characters of a sentence that is not understood
_SPLIT = re.compile(r"\s+(?:AND|OR)\s+")
_SOURCE_ORDER = ("name 13", "CFF", "name 0", "name 14", "name")


@dataclass(frozen=True)
class _Case:
    """All that is known of one face, sorted."""

    evidence: tuple[Evidence, ...]
    places: dict[Evidence, str]
    names: tuple[str, ...]
    grants: list[Evidence]
    limits: list[Evidence]
    unclear: list[Evidence]
    """Weak limits."""
    mentions: list[Evidence]
    parts: list[Evidence]
    unknown: list[tuple[Evidence, str]]
    """Statements with a sentence that is not understood, and that sentence."""
    says_licence: list[Evidence]
    """Statements in the licence fields."""

    def at(self, items: list[Evidence]) -> str:
        return ", ".join(dict.fromkeys(self.places[e] for e in items[:4]))

    def said(self, item: Evidence) -> str:
        return f"{self.places[item]} {item.locator}: {item.claim}"

    def answer(
        self,
        spdx: str,
        verdict: Permission,
        alter: Permission,
        reasons: list[str],
        conflicts: list[str],
        extra: tuple[str, ...] = (),
    ) -> Verdict:
        """The verdict, completed with what all verdicts share; `extra` goes with the goods."""
        of_parts = "Of a part, of another font, or read in part, so it grants nothing for the whole: "
        if self.parts and not any(reason.startswith(of_parts) for reason in reasons):
            reasons = [*reasons, f"{of_parts}{self.at(self.parts)}."]
        unknown = tuple(dict.fromkeys(clean(said, SHOWN_SENTENCE) for _, said in self.unknown))
        return Verdict(
            spdx, verdict, alter, extra, tuple(conflicts), self.names, self.evidence, tuple(reasons),
            not_understood=unknown,
        )  # fmt: skip


def judge(raw: tuple[Evidence, ...]) -> Verdict:
    """The verdict on one face from its raw statements, as `scanner.evidence.read_evidence` gives them."""
    raw = _sound(raw)
    case = _sorted(assess(raw), raw)
    if case.limits:
        return _limited(case)
    if case.grants:
        return _held_back(case) if case.unclear or case.unknown else _granted(case)
    return _without_grant(case)


def _sound(raw: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """The statements without those in a broken encoding, where a sound one of the same id stands."""
    broken = {item for item in raw if item.source == "name" and _is_broken(item.quote)}
    sound = {name_id(item.locator) for item in raw if item not in broken}
    return tuple(item for item in raw if item not in broken or name_id(item.locator) not in sound)


def _is_broken(text: str) -> bool:
    """Whether an eighth of a text or more could not be decoded."""
    return "\ufffd" in text and 8 * text.count("\ufffd") >= len(text)


def _sorted(statements: tuple[Statement, ...], raw: tuple[Evidence, ...]) -> _Case:
    evidence = tuple(dict.fromkeys(e for statement in statements for e in statement.evidence))
    evidence = evidence or (Evidence("font", "whole file", "(no statement could be read)"),)
    places = {e: f"[{number}]" for number, e in enumerate(evidence, 1)}
    whole = [e for e in evidence if e.scope not in GRANT_NOTHING]
    grants = [e for e in whole if e.polarity == "grant"]
    blocking = [s for s in statements if s.unknown and s.raw.scope != "component"]
    if any(e.source != "copyright-file" for e in grants):
        blocking = [s for s in blocking if s.raw.source != "copyright-file"]  # a distribution's essay on a font
    return _Case(
        evidence=evidence,
        places=places,
        names=reserved_names(raw),
        grants=grants,
        limits=[e for e in whole if e.polarity == "restriction"],
        unclear=[e for e in whole if e.claim == UNCLEAR],
        mentions=[e for e in whole if e.polarity == "statement" and e.claim and e.claim != UNCLEAR],
        parts=[e for e in evidence if e.scope in GRANT_NOTHING and e.claim],
        unknown=[(s.evidence[0], s.unknown[0]) for s in blocking],
        says_licence=[
            s.evidence[0]
            for s in statements
            if s.evidence and name_id(s.raw.locator) in ("13", "14") and _has_words(s.raw.quote)
        ],
    )


def _has_words(text: str) -> bool:
    return any(letter.isalnum() for letter in text)


def _limited(case: _Case) -> Verdict:
    """A clear limit: no, or ask where it stands beside a font whose own words grant."""
    limit, grants = case.limits[0], case.grants
    conflicts = [f"{case.said(limit)} against {case.said(grants[0])}"] if grants else []
    own_limit = next((e for e in case.limits if e.source in OWN), None)
    if own_limit is not None or not any(e.source in OWN for e in grants):
        limit = own_limit or limit
        record = terms_of(limit.claim).records[0]
        reasons = [f"{case.places[limit]} {record.title}: {record.goods}"]
        reasons += [f"A restriction beats the grant in {case.at(grants)}."] if grants else []
        return case.answer(limit.claim, Permission.NO, Permission.NO, [*reasons, *record.conditions], conflicts)
    reason = (
        f"{case.places[limit]} beside the font restricts its use, but the font's own words in {case.places[grants[0]]} "
        "do not: ask its maker, or move the file away if it belongs to another font."
    )
    return case.answer(grants[0].claim, Permission.ASK, Permission.ASK, [reason], conflicts)


def _held_back(case: _Case) -> Verdict:
    """A grant, and words that limit it or are not understood."""
    found = _granted(case)
    if case.unclear:
        record = terms_of(UNCLEAR).records[0]
        why = [f"{case.places[case.unclear[0]]} {record.title}: {record.goods}"]
    else:
        item, sentence = case.unknown[0]
        why = [
            f"{case.places[item]} {item.locator} says more than the tables understand, so nothing is promised: "
            f'"{clean(sentence, SHOWN_SENTENCE)}". Read it, or ask the font\'s maker.'
        ]
    return case.answer(
        found.spdx, Permission.ASK, Permission.ASK, [*why, *found.reasons], list(found.conflicts), found.must_accompany
    )


def _granted(case: _Case) -> Verdict:
    main = _main_claim(case.grants)
    differing = [e for e in case.grants if not _same_family(e.claim, main.claim)]
    differing = [e for e in differing if e.claim != FREE_USE]  # words of welcome next to a licence
    if any(e.source in BESIDE and _same_family(e.claim, main.claim) for e in case.grants) and main.source in OWN:
        differing = [e for e in differing if e.source not in BESIDE]  # a second file beside one that agrees
    terms = [terms_of(e.claim) for e in (main, *differing)]
    sell = max((t.sell for t in terms), key=STRICTER.index)
    alter = max((t.alter for t in terms), key=STRICTER.index)
    accompany = tuple(dict.fromkeys(a for t in terms for a in t.accompany))
    conflicts = [f"{case.said(main)} against {case.said(e)}" for e in differing]
    reasons = [f"{case.places[main]} {r.title}: {r.goods}" for r in terms[0].records] or [
        f"{case.places[main]} names {main.claim}, for which there is no record: read it."
    ]
    reasons += [c for r in terms[0].records for c in r.conditions]
    if differing:
        reasons.append(f"{case.at(differing)} names another licence; the strictest of them counts.")
    return case.answer(main.claim, sell, alter, reasons, conflicts, accompany)


def _without_grant(case: _Case) -> Verdict:
    named = [e for e in case.mentions if terms_of(e.claim).records]
    if named:
        record = terms_of(named[0].claim).records[0]
        word = (
            f"{record.title}: {record.goods}"
            if record.kind in ("notice", "reserve")
            else "names a licence in words that are not understood: read them, or ask the font's maker."
        )
        return case.answer(
            named[0].claim, Permission.ASK, Permission.ASK, [f"{case.places[named[0]]} {word}", *record.conditions], []
        )
    if case.unclear:
        record = terms_of(UNCLEAR).records[0]
        reasons = [f"{case.places[case.unclear[0]]} {record.title}: {record.goods}", *record.conditions]
        return case.answer("", Permission.ASK, Permission.ASK, reasons, [])
    if case.says_licence:
        item = case.says_licence[0]
        reason = f"{case.places[item]} The font's licence field is filled, and no table understands it: read it there."
        return case.answer("", Permission.ASK, Permission.ASK, [reason], [])
    if case.parts:
        return case.answer(
            "", Permission.ASK, Permission.ASK, ["No statement covers the whole font: ask its maker."], []
        )
    reason = "No licence is stated in the font or beside it: look where it came from, or ask its maker."
    return case.answer("", Permission.UNKNOWN, Permission.UNKNOWN, [reason], [])


def _main_claim(grants: list[Evidence]) -> Evidence:
    """The grant that counts first: the font's own licence field, or a fuller statement of the same licence."""
    ordered = sorted(grants, key=_rank)
    first = ordered[0]
    for item in ordered[1:]:
        if _same_family(item.claim, first.claim) and " WITH " in item.claim and " WITH " not in first.claim:
            return item  # the exception is often lost in the font's own licence field
        if item.claim != first.claim and families_of(first.claim) < families_of(item.claim) and " OR " in item.claim:
            return item
    return first


def _rank(item: Evidence) -> int:
    for number, start in enumerate(_SOURCE_ORDER if item.claim != FREE_USE else ()):
        if item.locator.startswith(start) and item.source in OWN:
            return number
    if item.claim == FREE_USE:
        return 100
    return len(_SOURCE_ORDER) + (*BESIDE, *FIELDS).index(item.source) if item.source in BESIDE + FIELDS else 99


@lru_cache(maxsize=4096)
def families_of(expression: str) -> frozenset[str]:
    """Base families in an expression; an exception does not make another family."""
    out = []
    for name in _SPLIT.split(expression.replace("(", "").replace(")", "")):
        base = name.split(" WITH ")[0]
        record = records_by_id().get(base.lower())
        out.append(record.family if record else base.lower())
    return frozenset(out)


def _same_family(one: str, other: str) -> bool:
    return bool(families_of(one) & families_of(other))
