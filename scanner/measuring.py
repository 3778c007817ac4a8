"""All scale-free measures of one face: Latin letters where it has them, else the letters of its own script. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanner.alphabet import CHARACTERS, LOWER, UPPER, character_index
from scanner.lettering import Typesetter
from scanner.measures.features import FEATURES
from scanner.measures.style import style_features
from scanner.own_letters import Height, OwnLetters, any_script_height, flat_height, own_letters, script_height
from scanner.reasons import FontError, Reason
from scanner.records import FaceMeasures, Table, WordMeasures
from scanner.same_design import Designs, design_digest
from scanner.shaping import Shaper
from scanner.tables.drawn import Drawn, draw_alphabet, whole
from scanner.tables.letters import Inside
from scanner.tables.pairs import pair_gaps, small_letter_gaps
from scanner.tables.table import blank_table, table_of
from scanner.tables.words import contextual_share, word_measures

FLAT_CAPITALS = ("HIEZ", "BDFKLMNPRTUVWXY")
"""Capitals with flat tops to take the cap height from; the second row where none of the first is there."""

FLAT_SMALL = "xzvu"

SAMPLE = 64
"""Characters looked at to know a font of symbols from one without outlines."""


_designs = Designs()
"""Of this process: equal faces have equal measures, whichever is asked first."""

LEAST_LATIN = 26
"""Letters from A to z with ink, of 52, from which a face is one of Latin letters whatever else it has."""


def measure(shaper: Shaper, words: Sequence[str]) -> FaceMeasures:
    """All measures of a face. Raises FontError when it has no letters of any script, nor digits, to measure."""
    setter = Typesetter(shaper)
    drawn = draw_alphabet(setter, words)
    own = _own_of(drawn)
    if own is None and not drawn.inked.any():
        raise FontError(_why_nothing(setter))
    cap, small = cap_height(drawn, own), x_height(drawn, own)
    if own is None:
        return _designs.measured(design_digest(drawn, cap, small), lambda: _measured(drawn, None, cap, small))
    return _measured(drawn, own, cap, small)


def _measured(drawn: Drawn, own: OwnLetters | None, cap: Height, small: Height) -> FaceMeasures:
    shaper = drawn.setter.shaper
    table = table_of(drawn, pair_gaps(drawn) / drawn.upem, small.em) if drawn.inked.any() else blank_table()
    letters = _latin(drawn, table) if own is None else _own(own)
    style = style_features(drawn.regions, drawn.advances, table, drawn.upem, cap.em, small.em)
    return FaceMeasures(
        upem=shaper.upem,
        script=letters.script,
        cap_height_em=cap.em,
        cap_height_of=cap.letters,
        x_height_em=small.em,
        slant_deg=_slant(shaper, float(style[FEATURES.index("slant")])),
        advances_variation=letters.advances_variation,
        median_stroke_em=letters.median_stroke_em,
        thinnest_stroke_em=letters.thinnest_stroke_em,
        joining=letters.joining,
        letter_gap_em=letters.gap_em,
        smallest_counter_em=letters.smallest_counter_em,
        contextual=contextual_share(drawn),
        table=table,
        words=letters.words,
        missing="".join(c for c, inked in zip(CHARACTERS, drawn.inked.tolist(), strict=True) if not inked),
        notes=() if letters.words else ("no test word could be set: letters are missing",),
        style=tuple(style.tolist()),
    )


def _own_of(drawn: Drawn) -> OwnLetters | None:
    """The letters of another script, where the face has more of them than of A to z; None for a face of Latin."""
    latin = int(drawn.inked[: len(UPPER + LOWER)].sum())
    own = own_letters(drawn.setter) if latin < LEAST_LATIN else None
    if own is None or (latin and own.script.name == "Latin"):
        return None
    return own if len(own.letters) > latin else None


def _why_nothing(setter: Typesetter) -> Reason:
    """The reason of a face that has nothing to measure."""
    mapped = setter.shaper.unicodes
    if not len(mapped):  # HarfBuzz does not list characters whose glyphs are not there
        return Reason.BLANK if any(map(setter.shaper.has, CHARACTERS)) else Reason.NO_CHARACTERS
    visible = mapped[(mapped > 0x20) & ((mapped < 0xD800) | (mapped > 0xDFFF))]  # controls, half a surrogate pair
    some = [chr(code) for code in visible[:: -(-len(visible) // SAMPLE) or 1].tolist()]
    inked = any(not whole(setter, c).is_empty for c in some if not c.isspace())
    return Reason.SYMBOLS if inked else Reason.BLANK


# ── heights ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def cap_height(drawn: Drawn, own: OwnLetters | None) -> Height:
    """Height of flat capitals as drawn, or of the flat letters of the face's own script; else as the face states it."""
    setter = drawn.setter
    latin = next((height for row in FLAT_CAPITALS if (height := _latin_height(drawn, row))), None)
    found = (script_height(setter, own.script) or latin) if own else (latin or any_script_height(setter))
    return found or _stated(drawn, "cpht")


def x_height(drawn: Drawn, own: OwnLetters | None) -> Height:
    """Height of flat small letters in the same way; NaN for a script of one case."""
    if own:
        return script_height(drawn.setter, own.script, small=True) or Height(math.nan)
    return _latin_height(drawn, FLAT_SMALL) or _stated(drawn, "xhgt")


def _latin_height(drawn: Drawn, letters: str) -> Height | None:
    return flat_height({c: drawn.regions[character_index()[c]] for c in letters}, drawn.upem)


def _stated(drawn: Drawn, metric: str) -> Height:
    em = drawn.setter.shaper.metric(metric) / drawn.upem
    return Height(em if em > 0 else math.nan)


# ── the letters a face is known by ──────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Letters:
    """Numbers over all the letters of one script in a face; lengths in em."""

    script: str
    median_stroke_em: float
    thinnest_stroke_em: float
    joining: float
    gap_em: float
    smallest_counter_em: float
    advances_variation: float
    words: tuple[WordMeasures, ...]


def _latin(drawn: Drawn, table: Table) -> _Letters:
    """From the table: letters A to z."""
    both = [CHARACTERS.index(c) for c in LOWER + UPPER]
    within = Inside(table.strokes[both], table.length[both], table.slit[both], table.counter[both])
    gaps = small_letter_gaps(table.gaps)
    every = gaps if len(gaps) else table.gaps[~np.isnan(table.gaps)]
    lower = [CHARACTERS.index(c) for c in LOWER]
    advances = drawn.advances[lower][drawn.inked[lower]] / drawn.upem
    script = "Latin" if drawn.has_latin else ""
    return _over(script, within, gaps, every, advances, word_measures(drawn))


def _own(own: OwnLetters) -> _Letters:
    """From the letters of the face's own script."""
    upem = float(own.setter.shaper.upem)
    found = own.inside()
    within = Inside(found.strokes / upem, found.length / upem, found.slit / upem, found.counter / upem)
    gaps = own.gaps() / upem
    return _over(own.script.name, within, gaps, gaps, own.advances / upem, own.words())


Values = NDArray[np.float64]


def _over(
    script: str, within: Inside, pairs: Values, every: Values, advances: Values, words: tuple[WordMeasures, ...]
) -> _Letters:
    """Sum up letters: ``pairs`` are the gaps that say whether they join, ``every`` those that say how far apart."""
    thinnest, median = within.quantiles((0.05, 0.5)).tolist()
    return _Letters(
        script=script,
        median_stroke_em=median,
        thinnest_stroke_em=thinnest,
        joining=float(np.mean(pairs <= 0)) if len(pairs) else 0.0,
        gap_em=float(np.median(every)) if len(every) else math.nan,
        smallest_counter_em=within.smallest_counter(),
        advances_variation=float(np.std(advances) / np.mean(advances)) if len(advances) and advances.any() else 0.0,
        words=words,
    )


def _slant(shaper: Shaper, measured_deg: float) -> float:
    """As measured on the stems; where none could be, from post.italicAngle (Fixed 16.16, counter-clockwise degrees;
    negative leans right), which many slanted faces leave at 0."""
    if math.isfinite(measured_deg):
        return measured_deg
    post = shaper.table("post")
    if len(post) < 8:
        return 0.0
    angle = int.from_bytes(post[4:8], "big", signed=True) / 65536
    return -angle if math.isfinite(angle) and abs(angle) < 60 else 0.0
