"""One opened face: who it is and what it measures. Pure: bytes in, records out."""

from __future__ import annotations

import math
import time
import unicodedata
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import (
    BESIDE_DOTS,
    CHARACTERS,
    DOTTED,
    LOWER,
    NEIGHBOURS,
    QUANTILES,
    UPPER,
    character_index,
    lens_measured,
    lens_pairs,
    lens_places,
    pair_index,
    pair_places,
    pair_texts,
    pairs,
)
from scanner.lettering import Lettering, Typesetter
from scanner.measures.chains import Chain, chain_edges
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.features import FEATURES
from scanner.measures.gaps import Outlines
from scanner.measures.joins import join_edges, spanning_edges
from scanner.measures.own_necks import Dotted, own_necks
from scanner.measures.pair_necks import OFFSETS_EM, Profiles, filled
from scanner.measures.strokes import letter_widths, quantiles_of, weighted_quantiles
from scanner.measures.style import style_features
from scanner.names import one_line
from scanner.reasons import FontError, Reason
from scanner.records import (
    BIAS_EM,
    LENS_WIDTHS_EM,
    OWN_OFFSETS_EM,
    FaceMeasures,
    FaceRecord,
    Table,
    WordMeasures,
    packed,
    packed_widths,
)
from scanner.regions import NOTHING, polygons_of
from scanner.shaping import ShapedTexts, Shaper

MOST_PARTS = 60
"""Parts of a word above which its union is built: a face of scraps, for which pairs of parts are too many."""

LEVEL = 1.04
"""In x-heights: small letters without ascender, overshoot included, lie below, the arms of F, P, T, V above."""

DOT_ROWS = 64
"""Lines over the width of an i and a j with their dots: a third of the height that ``pair_necks.ROWS`` lines cover."""
SAME_PLACE_EM = 0.001
"""A letter placed nearer than this to where its pair puts it stands in the same place."""
INSCRIBED_TOLERANCE_EM = 0.001

MOST_INSTANCES = 512
"""Instances of one face; a table can claim 65,535 (common practice, no source)."""

WEIGHT_NAMES = (
    "thin", "hairline", "extralight", "ultralight", "light", "regular", "book", "normal", "medium", "semibold",
    "demibold", "bold", "extrabold", "ultrabold", "black", "heavy",
)  # fmt: skip
"""Style names that are weights alone: the instances scanned by default (OpenType wght names)."""


def open_faces(data: bytes, face_index: int) -> Shaper:
    """Open one face and refuse what has no letters to cut. Raises FontError with the reason."""
    shaper = Shaper(data, face_index)
    if not shaper.has_outlines:
        tags = shaper.table_tags
        raise FontError(
            Reason.BITMAPS if tags & {"EBDT", "CBDT", "sbix", "bdat"}
            else Reason.COLOURS if tags & {"COLR", "SVG "}
            else Reason.NO_OUTLINES
        )  # fmt: skip
    return shaper


def instances(shaper: Shaper, every: bool) -> list[tuple[str, dict[str, float]]]:
    """The instances to scan: the default first, then the named weights (or every named instance)."""
    chosen: list[tuple[str, dict[str, float]]] = [("", {})]
    if not shaper.axes():
        return chosen
    default = {tag: start for tag, _, start, _ in shaper.axes()}
    places = {tuple(default.items())}
    labels = {""}
    for label, place in ((tidy(label), place) for label, place in shaper.named_instances()):
        plain = label.lower().replace(" ", "").replace("-", "")
        key = tuple(place.items())
        if key in places or label in labels or not (every or plain in WEIGHT_NAMES):
            continue
        places.add(key)
        labels.add(label)  # two instances of one name would be one row
        chosen.append((label, place))
        if len(chosen) == MOST_INSTANCES:
            break
    return chosen


def identify(shaper: Shaper) -> tuple[str, str, str]:
    """Family, style and version from the name table: typographic names (16, 17) before the older ones (1, 2)."""
    family = tidy(shaper.name(16)) or tidy(shaper.name(1)) or "unnamed"
    style = tidy(shaper.name(17)) or tidy(shaper.name(2)) or "Regular"
    return family, style, tidy(shaper.name(5))


def tidy(text: str, most: int = 200) -> str:
    """A font's own words made fit to show: no control, direction, surrogate or unassigned characters, bounded."""
    return one_line(text[: 8 * most])[:most]


def record_face(
    data: bytes,
    path: str,
    face_index: int,
    instance: str,
    coordinates: dict[str, float],
    words: Sequence[str],
) -> FaceRecord:
    """Measure one instance of one face; a face that cannot be measured comes back with the reason."""
    start = time.process_time()
    shaper = Shaper(data, face_index, coordinates)
    family, style, version = identify(shaper)
    reason = ""
    measures = None
    try:
        measures = measure(shaper, words)
    except FontError as error:
        reason = str(error)
    return FaceRecord(
        path, face_index, instance, dict(coordinates), family, instance or style, version,
        bool(shaper.axes()), len(shaper.unicodes), measures, reason, time.process_time() - start,
    )  # fmt: skip


def measure(shaper: Shaper, words: Sequence[str]) -> FaceMeasures:
    """All scale-free measures of a face. Raises FontError when it has no Latin letters to measure."""
    setter = Typesetter(shaper)
    upem = float(shaper.upem)
    shaped = shaper.shape_many(CHARACTERS)
    shaped_pairs = shaper.shape_many(pair_texts())
    shaped_words = shaper.shape_many(words)
    glyphs = np.unique(np.concatenate([shaped.glyph, shaped_pairs.glyph, shaped_words.glyph]))
    setter.prepare(glyphs.tolist())
    regions, advances = _letters(setter, shaped)
    inked = np.array([not r.is_empty for r in regions])
    if not inked.any():
        mapped = any(shaper.has(c) for c in CHARACTERS)
        raise FontError(Reason.BLANK if mapped else Reason.SYMBOLS if len(shaper.unicodes) else Reason.NO_CHARACTERS)
    outlines, parts = _outlines([setter.region(g) for g in glyphs.tolist()])
    gaps = _pair_table(setter, regions, inked, shaped_pairs, glyphs, outlines) / upem
    dots = _dotted_edges(shaped_pairs, glyphs, parts, outlines) / upem
    cap_height_em = _height(regions, "HIEZ", shaper.metric("cpht"), upem)
    x_height_em = _height(regions, "xzvu", shaper.metric("xhgt"), upem)
    lens = packed(_lenses(setter, gaps, shaped_pairs, upem, x_height_em * upem))
    passages, held = _own_necks(regions, setter, shaped_pairs, upem)
    table = _table(regions, advances, inked, gaps, dots, lens, passages, held, upem)
    index = character_index()
    lower = [index[c] for c in LOWER]
    upper = [index[c] for c in UPPER]
    weighted = table.strokes[lower + upper]
    known = ~np.isnan(weighted[:, 0])
    quantiles = (
        _pooled_quantiles(weighted[known], table.length[lower + upper][known], (0.05, 0.5))
        if known.any()
        else np.full(2, np.nan)
    )
    counters = table.counter[lower + upper]
    measured = _words(setter, words, shaped_words, glyphs, parts, outlines)
    lower_advances = advances[lower][inked[lower]] / upem
    notes = () if measured else ("no test word could be set: letters are missing",)
    style = style_features(regions, advances, table, upem, cap_height_em, x_height_em)
    return FaceMeasures(
        upem=shaper.upem,
        cap_height_em=cap_height_em,
        x_height_em=x_height_em,
        slant_deg=_slant(shaper, float(style[FEATURES.index("slant")])),
        advances_variation=float(np.std(lower_advances) / np.mean(lower_advances)) if len(lower_advances) else 0.0,
        median_stroke_em=float(quantiles[1]),
        thinnest_stroke_em=float(quantiles[0]),
        joining=_joining(table.gaps),
        smallest_counter_em=float(np.nanmin(counters)) if not np.isnan(counters).all() else float("nan"),
        contextual=_contextual(words, shaped_words, shaped_pairs, SAME_PLACE_EM * upem),
        table=table,
        words=measured,
        missing="".join(c for c in CHARACTERS if not shaper.has(c)),
        notes=notes,
        style=tuple(style.tolist()),
    )


def _contextual(words: Sequence[str], shaped: ShapedTexts, pairwise: ShapedTexts, tolerance: float) -> float:
    """Share of the words in which some pair is not drawn, or not placed, as the same two letters alone are."""
    index = pair_index()
    told = otherwise = 0
    for k, word in enumerate(words):
        places = [index.get(pair, -1) for pair in zip(word, word[1:], strict=False)]
        if not places or min(places) < 0:
            continue
        told += 1
        if shaped.size[k] != len(word) or (pairwise.size[places] != 2).any():
            # A ligature of two letters is in the pair table as well; longer ones are not.
            otherwise += int(shaped.size[k] != len(word) - (pairwise.size[places] == 1).sum())
            continue
        at = int(shaped.start[k]) + np.arange(len(places))
        alone = pairwise.start[places]
        same = (shaped.glyph[at] == pairwise.glyph[alone]) & (shaped.glyph[at + 1] == pairwise.glyph[alone + 1])
        step = (shaped.place[at + 1] - shaped.place[at]) - (pairwise.place[alone + 1] - pairwise.place[alone])
        otherwise += int(not (same & (np.abs(step) <= tolerance).all(axis=1)).all())
    return otherwise / told if told else 0.0


def _pooled_quantiles(
    quantiles: NDArray[np.float64], lengths: NDArray[np.float64], wanted: Sequence[float]
) -> NDArray[np.float64]:
    """Quantiles over several letters, each given by its widths at ``QUANTILES`` and its centre-line length."""
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    share = (shares[:-1] + shares[1:]) / 2
    return weighted_quantiles(quantiles.ravel(), (lengths[:, None] * share[None]).ravel(), wanted)


def _outlines(regions: list[MultiPolygon]) -> tuple[Outlines, list[list[int]]]:
    """Glyph regions and after them the parts of those in several parts, and which entries are a glyph's parts."""
    entries: list[BaseGeometry] = list(regions)
    parts: list[list[int]] = []
    for k, count in enumerate(shapely.get_num_geometries(_as_array(regions)).tolist()):
        if count <= 1 or count > MOST_PARTS:
            parts.append([k] * count)
        else:
            parts.append(list(range(len(entries), len(entries) + count)))
            entries += polygons_of(regions[k])
    return Outlines(entries), parts


def _letters(setter: Typesetter, shaped: ShapedTexts) -> tuple[list[MultiPolygon], NDArray[np.float64]]:
    """Region at the origin and advance of every alphabet character, shaped alone."""
    regions: list[MultiPolygon] = []
    advances = np.zeros(len(CHARACTERS))
    for k, character in enumerate(CHARACTERS):
        region = NOTHING
        if setter.shaper.has(character):
            advances[k] = shaped.advance[k]
            glyph = int(shaped.glyph[shaped.start[k]]) if shaped.size[k] == 1 else 0
            if glyph:
                region = setter.region(glyph)
            else:
                parts = [p for letter in setter.set(character).letters for p in polygons_of(letter.region)]
                region = MultiPolygon(polygons_of(shapely.union_all(parts)))
        regions.append(region)
    return regions, advances


def _table(
    regions: list[MultiPolygon],
    advances: NDArray[np.float64],
    inked: NDArray[np.bool_],
    gaps_em: NDArray[np.float64],
    dotted_edges_em: NDArray[np.float64],
    lens: NDArray[np.float64],
    passages: NDArray[np.float64],
    held: NDArray[np.float64],
    upem: float,
) -> Table:
    count = len(CHARACTERS)
    index = character_index()
    own = np.full(count, np.nan)
    counter = np.full(count, np.nan)
    slit = np.full(count, np.nan)
    strokes = np.full((count, len(QUANTILES)), np.nan)
    length = np.zeros(count)
    own[inked] = 0.0
    shapes = _as_array(regions)
    pieces = shapely.get_num_geometries(shapes)
    part = [shapely.get_geometry(shapes, k) for k in range(3)]
    two, three = np.flatnonzero(pieces == 2), np.flatnonzero(pieces == 3)  # accented letters: one call for all
    own[two] = shapely.distance(part[0][two], part[1][two])
    ways = [shapely.distance(part[a][three], part[b][three]) for a, b in ((0, 1), (0, 2), (1, 2))]
    own[three] = np.median(ways, axis=0)  # the tree of three leaves the longest way out
    for k in np.flatnonzero(pieces > 3):
        own[k] = float(spanning_edges(polygons_of(regions[k]))[0][0])
    plain = [k for k in np.flatnonzero(inked) if _base(CHARACTERS[k]) == CHARACTERS[k]]
    inside, channels = letter_widths([regions[k] for k in plain], upem)
    strokes[plain], slit[plain] = quantiles_of(inside), quantiles_of(channels)[:, 1]
    length[plain] = [stroke.length for stroke in inside]
    holes = [(k, h) for k in plain for h in holes_of(regions[k])]
    diameters = inscribed_diameters([h for _, h in holes], INSCRIBED_TOLERANCE_EM * upem)
    for (k, _), diameter in zip(holes, diameters.tolist(), strict=True):
        counter[k] = np.fmin(counter[k], diameter)
    for k in np.flatnonzero(inked):  # an accented letter is as wide as its base; its mark adds no stem
        base = index.get(_base(CHARACTERS[k]), k)
        if base != k:
            strokes[k], length[k], slit[k], counter[k] = strokes[base], length[base], slit[base], counter[base]
    ends = shapely.bounds(shapes)
    return Table(
        gaps_em, own / upem, dotted_edges_em, counter / upem, slit / upem, strokes / upem,
        length / upem, np.where(advances > 0, advances / upem, np.nan), ends[:, 0] / upem + BIAS_EM,
        ends[:, 2] / upem + BIAS_EM, lens, packed(_dot_lenses(regions, upem)), packed_widths(passages),
        packed_widths(held),
    )  # fmt: skip


def _lenses(
    setter: Typesetter, gaps_em: NDArray[np.float64], shaped: ShapedTexts, upem: float, x_height: float
) -> NDArray[np.float64]:
    """Offset in em past half its gap that each of the lens pairs needs for necks of ``LENS_WIDTHS_EM``; NaN unknown."""
    needed = np.full((len(lens_pairs()), len(LENS_WIDTHS_EM)), np.nan)
    at, *letters = lens_places()
    settable = (shaped.size[at] == 2) & ~np.isnan(gaps_em[at])
    plain = np.flatnonzero(settable & lens_measured())
    start = shaped.start[at[plain]]
    left, right = shaped.glyph[start], shaped.glyph[start + 1]
    glyphs = np.unique(np.concatenate([left, right]))
    regions = [setter.region(g) for g in glyphs.tolist()]
    if not regions:
        return needed
    offsets, widths = [o * upem for o in OFFSETS_EM], [w * upem for w in LENS_WIDTHS_EM]
    first, second = np.searchsorted(glyphs, left), np.searchsorted(glyphs, right)
    shift, rise = (shaped.place[start + 1] - shaped.place[start]).T
    found = Profiles(regions, offsets).needed(first, second, shift, widths)
    # Arms over the next letter (Ty, Fe) hang on to it from above.
    boxes = shapely.bounds(_as_array(regions))
    over = np.flatnonzero(boxes[second, 0] + shift < boxes[first, 2])
    if len(over) and x_height > 0:
        seen, place = np.unique(np.concatenate([first[over], second[over]]), return_inverse=True)
        turned = Profiles([regions[k] for k in seen], offsets, upright=False, level=LEVEL * x_height)
        above, below = np.split(place, 2)
        armed = np.flatnonzero(turned.seen[1, above])
        over, above, below = over[armed], above[armed], below[armed]
        hung = turned.needed(below, above, -rise[over], widths, slide=-shift[over])
        found[over] = np.minimum(found[over], hung)
    needed[plain] = np.maximum(found / upem - gaps_em[at[plain], None] / 2, 0.0)
    return np.where(settable[:, None], filled(needed, *letters), np.nan)


def _dot_lenses(regions: list[MultiPolygon], upem: float) -> NDArray[np.float64]:
    """The same for the dots of ``DOTTED`` above their stems."""
    needed = np.full((len(DOTTED), len(LENS_WIDTHS_EM)), np.nan)
    parts = [_stem_and_dot(regions[character_index()[letter]]) for letter in DOTTED]
    known = np.array([d for d, pair in enumerate(parts) if pair], dtype=np.intp)
    if not len(known):
        return needed
    stems, dots = (_as_array([parts[d][side] for d in known.tolist()]) for side in (0, 1))
    profiles = Profiles([*stems, *dots], [o * upem for o in OFFSETS_EM], upright=False, rows=DOT_ROWS)
    below = np.arange(len(known))
    found = profiles.needed(below, below + len(known), np.zeros(len(known)), [w * upem for w in LENS_WIDTHS_EM])
    # Nor does a dot hang on by more than the disc that fits in it.
    boxes = shapely.bounds(dots)
    across = np.minimum(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1])
    found = np.maximum(found, (np.array(LENS_WIDTHS_EM) * upem - across[:, None]) / 2)
    needed[known] = np.maximum((found - shapely.distance(stems, dots)[:, None] / 2) / upem, 0.0)
    return needed


def _own_necks(
    regions: list[MultiPolygon], setter: Typesetter, shaped: ShapedTexts, upem: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Narrowest passage of each letter A-Z a-z, (letters, 2, own offsets), and the neck of the dot of an i after (0)
    and before (1) each of ``BESIDE_DOTS``, (2, neighbours, own offsets); NaN where there is nothing to measure."""
    letters = [character_index()[c] for c in UPPER + LOWER]
    drawn = [k for k, at in enumerate(letters) if not regions[at].is_empty]
    passages = np.full((len(letters), 2, len(OWN_OFFSETS_EM)), np.nan)
    held = np.full((2, len(BESIDE_DOTS), len(OWN_OFFSETS_EM)), np.nan)
    beside = [(place, _dotted(setter, shaped, *place)) for place in np.ndindex(*held.shape[:2])]
    dotted = {place: letter for place, letter in beside if letter}
    if drawn:
        shapes = [regions[letters[k]] for k in drawn]
        found, dots = own_necks(shapes, list(dotted.values()), upem, OWN_OFFSETS_EM)
        passages[drawn] = np.moveaxis(found, 1, 2)
        for place, widths in zip(dotted, dots, strict=True):
            held[place] = widths
    return passages, held


def _dotted(setter: Typesetter, shaped: ShapedTexts, side: int, neighbour: int) -> Dotted | None:
    """An i after (side 0) or before (1) one of ``BESIDE_DOTS``, as HarfBuzz places the two."""
    pair = (BESIDE_DOTS[neighbour], DOTTED[0])
    k = pair_index()[pair if side == 0 else pair[::-1]]
    if shaped.size[k] != 2:
        return None
    run = [int(shaped.start[k]), int(shaped.start[k]) + 1]
    letters = [translate(setter.region(int(shaped.glyph[g])), *shaped.place[g].tolist()) for g in run]
    parts = _stem_and_dot(letters[1 - side])
    return Dotted(shapely.union_all(letters), *parts) if parts and not letters[side].is_empty else None


def _stem_and_dot(letter: MultiPolygon) -> list[BaseGeometry]:
    """The two parts of an i or a j, the lower one first; empty where it has not two."""
    parts = sorted(polygons_of(letter), key=lambda p: float(p.centroid.y))
    return list(parts) if len(parts) == 2 else []


def _base(character: str) -> str:
    return unicodedata.normalize("NFD", character)[0]


def _pair_table(
    setter: Typesetter,
    regions: list[MultiPolygon],
    inked: NDArray[np.bool_],
    shaped: ShapedTexts,
    glyphs: NDArray[np.int64],
    outlines: Outlines,
) -> NDArray[np.float64]:
    """Least distance of every pair, in font units, each pair shaped by HarfBuzz for its kerning and its joins."""
    first, second = pair_places()
    wanted = inked[first] & inked[second]
    gaps = np.full(len(first), np.nan)
    for k in np.flatnonzero(wanted & (shaped.size == 1)):
        glyph = int(shaped.glyph[shaped.start[k]])
        gaps[k] = 0.0 if _one_part(setter, glyph, regions[first[k]], regions[second[k]]) else np.nan
    for k in np.flatnonzero(wanted & (shaped.size > 2)):
        gaps[k] = _gap_of_many(setter, "".join(pairs()[k]))
    plain = np.flatnonzero(wanted & (shaped.size == 2))
    start = shaped.start[plain]
    shift, rise = (shaped.place[start + 1] - shaped.place[start]).T
    left, right = (np.searchsorted(glyphs, shaped.glyph[at]) for at in (start, start + 1))
    gaps[plain] = outlines.distances(left, right, shift, rise)
    return gaps


def _dotted_edges(
    shaped: ShapedTexts, glyphs: NDArray[np.int64], parts: list[list[int]], outlines: Outlines
) -> NDArray[np.float64]:
    """Longest spanning edge of neighbour, stem and dot, in font units, as in ``Table.dotted_edges``.

    Three nodes have three distances, and the tree leaves the longest out: its longest edge is their median.
    """
    edges = np.full((2, len(DOTTED), len(NEIGHBOURS)), np.nan)
    index = np.searchsorted(glyphs, shaped.glyph)
    where: list[tuple[int, ...]] = []
    ends: list[tuple[int, int, int, int]] = []
    places = []
    for side, d, n in np.ndindex(*edges.shape):
        pair = (NEIGHBOURS[n], DOTTED[d]) if side == 0 else (DOTTED[d], NEIGHBOURS[n])
        k = pair_index().get(pair, -1)
        if k < 0 or shaped.size[k] != 2:
            continue
        start = int(shaped.start[k])
        left, right = int(index[start]), int(index[start + 1])
        own = parts[right if side == 0 else left]
        if len(own) == 2:
            where.append((side, d, n))
            ends.append((left, own[0], left, own[1]) if side == 0 else (own[0], right, own[1], right))
            places.append(shaped.place[start + 1] - shaped.place[start])
    if not where:
        return edges
    first, second = np.array(ends, dtype=np.intp).reshape(-1, 2).T
    shift, rise = np.repeat(np.array(places), 2, axis=0).T
    reach = outlines.distances(first, second, shift, rise).reshape(-1, 2)
    one, two = np.array([(e[1], e[3]) if w[0] == 0 else (e[0], e[2]) for w, e in zip(where, ends, strict=True)]).T
    own_gap = shapely.distance(outlines.regions[one], outlines.regions[two])
    edges[tuple(np.array(where).T)] = np.median(np.column_stack([reach, own_gap]), axis=1)
    return edges


def _one_part(setter: Typesetter, glyph: int, *letters: MultiPolygon) -> bool:
    """Whether a ligature holds together: no more parts than its letters have alone, less the join."""
    return len(setter.region(glyph).geoms) < sum(len(r.geoms) for r in letters)


def _gap_of_many(setter: Typesetter, text: str) -> float:
    letters = setter.set(text).letters
    by_text: dict[str, list[MultiPolygon]] = {}
    for letter in letters:
        by_text.setdefault(letter.text, []).append(letter.region)
    groups = [shapely.union_all(r) for r in by_text.values()]
    return float(shapely.distance(groups[0], groups[1])) if len(groups) == 2 else float("nan")


def _as_array(regions: Sequence[BaseGeometry]) -> NDArray[np.object_]:
    array = np.empty(len(regions), dtype=object)
    array[:] = regions
    return array


def _joining(gaps: NDArray[np.float64]) -> float:
    places = [pair_index()[a, b] for a in LOWER for b in LOWER]
    known = gaps[places]
    known = known[~np.isnan(known)]
    return float(np.mean(known <= 0)) if len(known) else 0.0


def _words(
    setter: Typesetter,
    words: Sequence[str],
    shaped: ShapedTexts,
    glyphs: NDArray[np.int64],
    parts: list[list[int]],
    outlines: Outlines,
) -> tuple[WordMeasures, ...]:
    """Join curves of the test words the face can set, and the spaces they enclose."""
    upem = float(setter.shaper.upem)
    index = np.searchsorted(glyphs, shaped.glyph)
    chains: dict[int, Chain] = {}
    for k, word in enumerate(words):
        if setter.missing(word):
            continue
        run = range(int(shaped.start[k]), int(shaped.start[k] + shaped.size[k]))
        inked = [g for g in run if shaped.glyph[g] and parts[index[g]]]
        letter = [n for n, g in enumerate(inked) for _ in parts[index[g]]]
        part = [p for g in inked for p in parts[index[g]]]
        if len(part) <= MOST_PARTS:
            place = shaped.place[inked][letter].reshape(-1, 2)
            chains[k] = Chain(np.array(part, dtype=np.intp), np.array(letter, dtype=np.intp), place)
    found, touching = chain_edges(list(chains.values()), outlines)
    known = {k: (np.array(e), t) for k, e, t in zip(chains, found, touching, strict=True)}
    measured = []
    for k, word in enumerate(words):
        if setter.missing(word):
            continue
        lettering = setter.set(word) if k not in known or known[k][1] else None
        measured.append(_word(lettering, word, upem, known.get(k)))
    return tuple(measured)


def _word(
    lettering: Lettering | None, word: str, upem: float, known: tuple[NDArray[np.float64], bool] | None
) -> WordMeasures:
    """One word. Its union is only built where letters touch, for the spaces they enclose."""
    voids = 0
    edges = known[0] if known else np.empty(0)
    if lettering is not None:
        edges = join_edges(lettering.region)
        voids = len(holes_of(lettering.region)) - sum(len(holes_of(letter.region)) for letter in lettering.letters)
    return WordMeasures(word, tuple((edges / upem).tolist()), max(0, voids))


def _height(regions: list[MultiPolygon], letters: str, stated: float, upem: float) -> float:
    """Height of flat letters as drawn; the stated metric only where none of them is there."""
    index = character_index()
    tops = [regions[index[c]].bounds[3] for c in letters if not regions[index[c]].is_empty]
    return float(np.median(tops)) / upem if tops else stated / upem


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
