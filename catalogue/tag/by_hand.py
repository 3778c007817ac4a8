"""What a practitioner changes at one place of a name: forms off, a gap closed, lines nearer, a bridge. A search; pure.

The levers of the whole name come first (``solving``). Where they do not make it hold, or where a person wants these
changes rather than a wider outline, the name starts again from where its strokes are walls: first without contextual
forms and ligatures, then with gaps closed, lines nearer and bridges, as few of these as do. Each kind is taken in full
and goes back as far as the name still holds, after the levers of the whole name have gone back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import shapely
from shapely.affinity import translate

from catalogue.judge.hold import stray_mm
from catalogue.tag.bridges import MOST_SPAN_EM, needed
from catalogue.tag.layout import least_distance_mm, letters_at
from catalogue.tag.levers import (
    BRIDGES,
    FORMS,
    GAPS,
    LETTERS,
    LINES,
    Closing,
    Lever,
    Levers,
    Setting,
    line_lever,
)
from catalogue.tag.measuring import base_holds, holds, homes_at, measure, neck_needed_mm
from catalogue.tag.parts import gap_places, parts_of
from catalogue.tag.solving import best_setting, least, order_of, reached, readable, taken_back
from catalogue.tag.trial import Trial

MOST_CLOSED_GAPS = 3
"""More wide gaps than these are the face's spacing, and tracking's task; a hyphen has two, an apostrophe one or two."""

CLOSING_STEP_EM = 0.002
MOST_OVER = 0.5
"""Share of the narrower letter's width that it may slide over the other: where heights never meet it would go past."""

SAVED_MM, SAVED_SIZE = 0.1, 0.02
"""Less outline (mm) or size (share) saved is not worth a change at one place."""

Kinds = tuple[str, ...]


def by_hand(trial: Trial, start: Setting, best: Setting, fixed: Levers) -> Setting:
    """The setting with what may be changed by hand, where that buys something; else ``best``."""
    trial.reserve_mm = 0.0
    failed = not holds(trial, best)
    if not fixed.by_hand or not (failed or fixed.by_hand_first):
        return best
    if FORMS in fixed.by_hand:
        plain = _without_forms(trial, start, fixed)
        if plain is not None and holds(trial, plain) and (failed or _saves(best, plain, start)):
            return plain
    for kinds in _kinds(fixed.by_hand):
        found = _solved(trial, start, fixed, kinds)
        if holds(trial, found) and (failed or _saves(best, found, start)):
            return found
    return best


def _kinds(allowed: Sequence[str]) -> list[Kinds]:
    """What is tried together, the least first."""
    single = [(k,) for k in (GAPS, LINES, BRIDGES) if k in allowed]
    together = [tuple(k for k in (GAPS, LINES, BRIDGES) if k in allowed)]
    letters = [(LETTERS,)] if LETTERS in allowed else []
    return [*single, *(together if len(single) > 1 else []), *letters]


def _saves(best: Setting, found: Setting, start: Setting) -> bool:
    """Whether the outline is that much narrower at no other size, or the size that much nearer to the start."""
    nearer = abs(best.em_mm - start.em_mm) - abs(found.em_mm - start.em_mm)
    if nearer > SAVED_SIZE * start.em_mm:
        return True
    return abs(nearer) < 1e-6 and best.base_offset_mm - found.base_offset_mm >= SAVED_MM - 1e-9


def _without_forms(trial: Trial, start: Setting, fixed: Levers) -> Setting | None:
    """The fit without contextual forms and ligatures; None where the name has none."""
    plain = replace(start, plain=True)
    if _drawn(trial, plain) == _drawn(trial, start):
        return None
    found = best_setting(trial, plain, fixed)
    trial.reserve_mm = 0.0
    return found


def _drawn(trial: Trial, setting: Setting) -> list[bytes]:
    return [shapely.to_wkb(letter) for letter in letters_at(trial, setting)]


def _solved(trial: Trial, start: Setting, fixed: Levers, kinds: Kinds) -> Setting:
    """The levers of the whole name with these changes in full, then both as far back as the name holds."""
    floor = readable(trial, start, fixed)
    order = order_of(trial, start, fixed)
    now = _widened(trial, floor, order, kinds)
    if not holds(trial, now):
        return now
    return _back(trial, taken_back(trial, now, floor, order))


def _widened(trial: Trial, floor: Setting, order: Sequence[Lever], kinds: Kinds) -> Setting:
    """These changes in full; with letters grown and moved, or a wider outline, where they alone do not do."""
    full = _in_full(trial, floor, kinds)
    if base_holds(trial, full):
        return full
    # Letters move and grow before a gap is closed, so that the least gap is left in what is made.
    offsets = [v for v in order if v.key == "base_offset_mm"]
    others = [v for v in order if v.key != "base_offset_mm"]
    moved = reached(trial, floor, others, lambda s: base_holds(trial, _in_full(trial, s, kinds)))
    moved = _in_full(trial, moved, kinds)
    if base_holds(trial, moved):
        return moved
    wider = _bridged(trial, reached(trial, full, offsets), kinds)
    return wider if holds(trial, wider) else _bridged(trial, reached(trial, moved, offsets), kinds)


def _in_full(trial: Trial, setting: Setting, kinds: Kinds) -> Setting:
    """Every change of these kinds, as far as it goes."""
    now = setting
    if GAPS in kinds:
        now = replace(now, closings=_closings(trial, now))
    if LINES in kinds and len(trial.lines) > 1 and now.line_spacing_mm is None:
        lever = line_lever(least_distance_mm(trial, now), trial.process)
        now = replace(now, nearer_mm=lever.end)
    return _bridged(trial, now, kinds)


def _closings(trial: Trial, setting: Setting) -> tuple[Closing, ...]:
    """The widest gaps inside words closed down to the least gap, one after the other until the base holds."""
    letters = letters_at(trial, setting)
    now = setting
    for k in sorted(_parting(trial, setting), key=lambda k: -shapely.distance(letters[k], letters[k + 1])):
        if base_holds(trial, now) or len(now.closings) == MOST_CLOSED_GAPS:
            break
        far = _most_closed_mm(trial, now, k)
        if far > CLOSING_STEP_EM * now.em_mm:
            more = Closing(k, round(far / now.em_mm, 6))
            now = replace(now, closings=tuple(sorted((*now.closings, more), key=lambda c: c.after)))
    return now.closings


def _parting(trial: Trial, setting: Setting) -> list[int]:
    """Gaps inside words, by the letter before, whose letters hang on no piece of the base together."""
    homes = homes_at(trial, setting)
    on: dict[int, set[int]] = {}
    for part, home in zip(parts_of(trial, setting), homes.tolist(), strict=True):
        on.setdefault(part.letter, set()).add(home)
    return [k for k in gap_places(trial, setting) if not (on.get(k, set()) & on.get(k + 1, set())) - {-1}]


def _most_closed_mm(trial: Trial, setting: Setting, place: int) -> float:
    """How far what follows in the word may move until the least gap is left to what stands before it."""
    letters, least_mm = letters_at(trial, setting), least_distance_mm(trial, setting)
    first, end = _word_around(trial, setting, place)
    before, here = shapely.union_all(letters[first : place + 1]), shapely.union_all(letters[place + 1 : end])
    narrower = min(letters[k].bounds[2] - letters[k].bounds[0] for k in (place, place + 1))
    most = shapely.distance(letters[place], letters[place + 1]) + MOST_OVER * narrower
    moved = 0.0
    # To move by what is still too far never goes beyond it.
    while moved < most and (far := shapely.distance(before, translate(here, -moved)) - least_mm) > 1e-3:
        moved = min(most, moved + far)
    return max(0.0, moved)


def _word_around(trial: Trial, setting: Setting, place: int) -> tuple[int, int]:
    first = 0
    for word in trial.cut(setting).texts:
        if place < first + len(word):
            return first, first + len(word)
        first += len(word)
    return first, first


def _bridged(trial: Trial, setting: Setting, kinds: Kinds) -> Setting:
    """With the bridges that are still needed; the same setting where none may be made."""
    if not {BRIDGES, LETTERS} & set(kinds) or base_holds(trial, setting):
        return setting
    bare = replace(setting, bridged=())
    most = MOST_SPAN_EM * setting.em_mm
    found = needed(parts_of(trial, bare), homes_at(trial, bare), LETTERS in kinds, most)
    return replace(setting, bridged=found) if found else setting


def _back(trial: Trial, now: Setting) -> Setting:
    """Bridges left out, lines and gaps put back, as far as the name still holds."""
    for tie in now.bridged:
        without = replace(now, bridged=tuple(b for b in now.bridged if b != tie))
        now = without if holds(trial, without) else now
    if now.nearer_mm:
        now = _less(lambda s: _has_room(trial, s), replace(now, nearer_mm=0.0), now)
    for closing in now.closings:
        now = _opened(trial, now, closing)
    return now


def _has_room(trial: Trial, setting: Setting) -> bool:
    """Whether the name holds with what a print strays to spare, in offset and neck: what is closed is closed well."""
    if not holds(trial, setting):
        return False
    stray, found = stray_mm(trial.process), measure(trial, setting)
    return found.spare_mm >= stray and found.neck_mm >= neck_needed_mm(trial.process) + stray


def _less(good: Callable[[Setting], bool], back: Setting, now: Setting) -> Setting:
    return back if good(back) else least(good, back, Lever("line spacing", "nearer_mm", now.nearer_mm, 0.05))


def _opened(trial: Trial, now: Setting, closing: Closing) -> Setting:
    """One gap as wide as the name still holds with room."""
    others = tuple(c for c in now.closings if c != closing)

    def at(steps: int) -> Setting:
        em = min(closing.em, round(steps * CLOSING_STEP_EM, 6))
        if em <= 0:
            return replace(now, closings=others)
        return replace(now, closings=tuple(sorted((*others, Closing(closing.after, em)), key=lambda c: c.after)))

    low, high = -1, int(closing.em / CLOSING_STEP_EM) + 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _has_room(trial, at(middle)) else (middle, high)
    return at(high)
