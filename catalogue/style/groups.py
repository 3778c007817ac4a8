"""Style groups: features in, groups out. Pure; what is frozen comes from ``groups_model.json``.

A face is put into a group in three steps:

1. A face without enough Latin letters to judge (few letters, all capitals, symbols, another script) is not grouped, and
   the reason is told.
2. Anchors: some styles are told by one measured rule that hardly errs (pixel steps, hollow, cut through, one width,
   joined, slab, serif). The first rule that holds decides.
3. The rest goes to the nearest of a few frozen centres, after standardising and projecting.

Scaler, projection and centres were fitted once to a diverse set of named font packages (``bench/group_model.py``), with
no category words in sight. So a face's group depends on nothing but its own measures: adding a font never reshuffles.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import LetterholdError
from scanner.measures.features import COVERAGE, DETAILS, FEATURES

NOT_GROUPED = "not grouped"

MOST_GROUPS = 14

COMPARED = tuple(f for f in FEATURES if f not in COVERAGE)
"""The features that two faces are compared by: of the style, and of the details by which a design is known."""

STYLE = tuple(f for f in COMPARED if f not in DETAILS)
"""The features that groups are made of."""

LEAST_LETTERS = 20
"""Of 26 capitals and of 26 small letters, each, below which a face has too few letters to judge."""

SAME_AS_CAPITALS = 0.85
"""Likeness of small letters and capitals from which the small letters are drawn as capitals; text faces lie below."""

LEAST_LEGIBLE, LEAST_LEGIBLE_JOINED = 0.125, 0.06
"""Share of letters that look like themselves below which they are symbols or another script: chance is 0.04, pictures
reach 0.11, loose scripts 0.2. Letters that join carry their strokes along, and are read with less."""

CLIP = 3.0
"""Standard deviations beyond which a feature counts no further."""

Vectors = NDArray[np.float64]
Row = dict[str, float]


@dataclass(frozen=True, slots=True)
class Anchor:
    """A style told by one measured rule."""

    group: str
    holds: Callable[[Row], bool]
    evidence: Callable[[Row], str]


ANCHORS = (
    Anchor(
        "pixel",
        # Nothing but level and upright edges, and steps so coarse that they are corners of the letter.
        lambda r: r["on_axes"] > 0.98 and r["corner"] > 0.93,
        lambda r: f"{r['on_axes']:.0%} of the contour is level or upright, slanting letters in steps",
    ),
    Anchor(
        "hollow",
        lambda r: r["hollow"] > 0.85 and r["hollow_area"] > 0.12,
        lambda r: f"{r['hollow']:.0%} of the letters that should be solid are open inside",
    ),
    Anchor(
        "stencil",
        lambda r: r["broken"] > 0.7 and r["closed"] < 0.3,
        lambda r: f"{r['broken']:.0%} of the letters with bowls are cut into parts",
    ),
    Anchor(
        "monospaced",
        lambda r: r["width_spread_lower"] < 0.03 and r["width_spread_upper"] < 0.03,
        lambda r: f"advances of the small letters vary by {r['width_spread_lower']:.1%}",
    ),
    Anchor(
        "joined script",
        lambda r: r["joined"] > 0.45,
        lambda r: f"{r['joined']:.0%} of small-letter pairs touch",
    ),
    Anchor(
        "slab serif",
        lambda r: r["serif_share"] >= 0.5 and r["serif_thick"] >= 0.68 and r["level"] > 0.14,
        lambda r: f"serifs on {r['serif_share']:.0%} of the feet, {r['serif_thick']:.2f} of the stem thick",
    ),
    Anchor(
        "serif",
        lambda r: r["serif_share"] >= 0.5,
        lambda r: f"serifs on {r['serif_share']:.0%} of the feet, {r['serif_thick']:.2f} of the stem thick",
    ),
)
"""In order; the first that holds decides. A number that is not known (NaN) never lets a rule hold."""

_HAND_SIGNS: tuple[tuple[str, float], ...] = (
    ("mirror", 0.80), ("paired", 0.82), ("turned", 0.72), ("stem_share", 0.20), ("axis_diagonals", 0.14),
)  # fmt: skip
"""What a drawing hand leaves uneven and a ruler does not: each sign shows below its number."""


def _by_hand(row: Row) -> bool:
    return sum(row[name] < below for name, below in _HAND_SIGNS) >= 3


LABELS: dict[str, tuple[str, Callable[[Row], bool]]] = {
    "pixel": ("steps", ANCHORS[0].holds),
    "hollow": ("open inside", ANCHORS[1].holds),
    "stencil": ("cut through", ANCHORS[2].holds),
    "monospaced": ("one width", ANCHORS[3].holds),
    "joined script": ("joined", lambda r: r["joined"] >= 0.5),
    "slab serif": ("thick serifs", lambda r: r["serif_share"] >= 0.5 and r["serif_thick"] >= 0.6),
    "serif": ("serifs", lambda r: r["serif_share"] >= 0.5),
    "handwriting": ("drawn by hand", _by_hand),
    "broad pen": ("thick and thin", lambda r: r["contrast"] >= 1.5),
    "heavy block": ("heavy", lambda r: r["stroke"] >= 0.15),
    "plain block": ("even strokes", lambda r: r["contrast"] < 1.5 and not _by_hand(r)),
}
"""Each group's measured word and the rule behind it: the share of the members for which it holds is told with it."""


@dataclass(frozen=True, slots=True)
class Decision:
    """The group of a face and what speaks for it, or ``NOT_GROUPED`` and why."""

    group: str
    support: str


@dataclass(frozen=True, slots=True)
class Model:
    """What is frozen: how features are brought to one scale and projected, the centres and their groups' names."""

    middle: tuple[float, ...]
    """Median of each of ``COMPARED``; stands in for a number that is not known."""
    mean: tuple[float, ...]
    spread: tuple[float, ...]
    origin: tuple[float, ...]
    axes: tuple[tuple[float, ...], ...]
    """Directions of the projection, each over ``STYLE``; ``origin`` too."""
    centres: tuple[tuple[float, ...], ...]
    groups: tuple[str, ...]
    """Name of the group round each centre; several centres may share one."""
    made_from: tuple[str, ...] = ()

    def standard(self, vectors: Vectors) -> Vectors:
        """Compared features (n, len(COMPARED)) in standard deviations, clipped, none missing."""
        values = vectors[:, _PLACES]
        values = np.where(np.isfinite(values), values, self.middle)
        standard: Vectors = np.clip((values - np.array(self.mean)) / np.array(self.spread), -CLIP, CLIP)
        return standard

    def project(self, vectors: Vectors) -> Vectors:
        """Places of the faces among the centres, (n, axes)."""
        places: Vectors = (self.standard(vectors)[:, _STYLE] - np.array(self.origin)) @ np.array(self.axes).T
        return places

    def as_json(self) -> dict[str, Any]:
        """The stored form, with the names of what the numbers stand for."""
        facts: dict[str, Any] = {"features": COMPARED} | asdict(self)
        return {k: _rounded(v) for k, v in facts.items()}


_PLACES = np.array([FEATURES.index(f) for f in COMPARED])
_STYLE = np.array([COMPARED.index(f) for f in STYLE])
_DETAILS = np.array([COMPARED.index(f) for f in DETAILS])


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 5)
    return [_rounded(v) for v in value] if isinstance(value, (tuple, list)) else value


def parse_model(text: str) -> Model:
    """A model from its stored form. Raises LetterholdError when it was made for other features."""
    facts: dict[str, list[Any]] = json.loads(text)
    if tuple(facts.pop("features", ())) != COMPARED or not set(facts["groups"]) <= set(LABELS):
        raise LetterholdError("the style groups were fitted by another version; run 'letterhold groups --refit' again")
    frozen: dict[str, Any] = {k: tuple(tuple(x) if isinstance(x, list) else x for x in v) for k, v in facts.items()}
    return Model(**frozen)


@lru_cache(maxsize=1)
def shipped_model() -> Model:
    """The model that comes with the project."""
    return parse_model(resources.files("catalogue.style").joinpath("groups_model.json").read_text(encoding="utf-8"))


# ── deciding ────────────────────────────────────────────────────────────────────────────────────────────────────────


def refusal(row: Row) -> str:
    """Why a face cannot be grouped, or nothing."""
    capitals, smalls = row["capitals"], row["smalls"]
    if not np.isfinite(capitals):
        return "not measured for style; scan its folder again"
    if capitals >= LEAST_LETTERS and smalls < LEAST_LETTERS / 2:
        return f"all capitals: it has {smalls:.0f} of 26 small letters"
    if capitals + smalls == 0:
        return "other script: it has no letters from A to z"
    if capitals < LEAST_LETTERS or smalls < LEAST_LETTERS:
        return f"few letters: it has {capitals + smalls:.0f} of the 52 from A to z"
    if row["case"] > SAME_AS_CAPITALS:
        return f"all capitals: its small letters are drawn as capitals ({row['case']:.0%} alike)"
    flowing = row["joined"] > 0.45 and row["mirror"] < 0.5
    if not row["legible"] >= (LEAST_LEGIBLE_JOINED if flowing else LEAST_LEGIBLE):
        return f"symbols or another script: {row['legible']:.0%} of A to z look like these letters"
    return ""


def decide(vectors: Vectors, model: Model) -> list[Decision]:
    """The group of every face by its own measures; ``vectors`` are (faces, len(FEATURES))."""
    out: list[Decision] = []
    near = _distances(model.project(vectors), np.array(model.centres)) if len(vectors) else np.empty((0, 0))
    for row, away in zip(rows(vectors), near, strict=True):
        reason = refusal(row)
        anchor = next((a for a in ANCHORS if a.holds(row)), None)
        if reason:
            out.append(Decision(NOT_GROUPED, reason))
        elif anchor is not None:
            out.append(Decision(anchor.group, anchor.evidence(row)))
        else:
            out.append(_nearest(away, model))
    return out


def _nearest(away: Vectors, model: Model) -> Decision:
    best = int(np.argmin(away))
    group = model.groups[best]
    others = [d for d, g in zip(away.tolist(), model.groups, strict=True) if g != group]
    if not others:
        return Decision(group, "the only group")
    second = model.groups[int(np.flatnonzero(away == min(others))[0])]
    return Decision(group, f"{1 - away[best] / min(others):.0%} nearer to this group's centre than to {second}'s")


def decide_families(families: Sequence[str], styles: Sequence[str], vectors: Vectors, model: Model) -> list[Decision]:
    """As ``decide``, with one group a family: its regular face decides for all that can be grouped at all."""
    own = decide(vectors, model)
    leaders = leading(families, styles, [d.group != NOT_GROUPED for d in own])
    out = []
    for k, decision in enumerate(own):
        leader = leaders[k]
        if decision.group == NOT_GROUPED or leader == k:
            out.append(decision)
        else:
            out.append(Decision(own[leader].group, f"as {families[leader]} {styles[leader]}: {own[leader].support}"))
    return out


def leading(families: Sequence[str], styles: Sequence[str], able: Sequence[bool]) -> list[int]:
    """For each face the index of its family's most regular face among the able ones (itself when there is none)."""
    best: dict[str, tuple[tuple[int, int, str], int]] = {}
    for k, (family, style) in enumerate(zip(families, styles, strict=True)):
        key = family.casefold()
        order = (irregularity(style), len(style), style)
        if able[k] and (key not in best or order < best[key][0]):
            best[key] = (order, k)
    return [best[f.casefold()][1] if f.casefold() in best and f != "unnamed" else k for k, f in enumerate(families)]


_WEIGHTS = {
    "thin": 100, "hairline": 100, "extralight": 200, "ultralight": 200, "light": 300, "medium": 500, "semibold": 600,
    "demibold": 600, "demi": 600, "extrabold": 800, "ultrabold": 800, "bold": 700, "black": 900, "heavy": 900,
}  # fmt: skip
"""OpenType weight classes by name; longer names first where one holds another."""


def irregularity(style: str) -> int:
    """How far a style is from a family's regular face: steps of weight, and much more for slant and width.

    >>> [irregularity(s) for s in ("Regular", "Medium", "Bold", "Italic", "Condensed Bold")]
    [0, 100, 300, 1000, 1300]
    """
    plain = style.casefold().replace(" ", "").replace("-", "")
    weight = next((w for name, w in _WEIGHTS.items() if name in plain), 400)
    slanted = any(word in plain for word in ("italic", "oblique", "slanted"))
    wide = any(word in plain for word in ("condensed", "narrow", "expanded", "extended", "wide", "caps", "compressed"))
    return abs(weight - 400) + 1000 * slanted + 1000 * wide


def matching(text: str) -> tuple[str, ...]:
    """The groups a person means: by name, by label or by a word of either. Raises LetterholdError that lists them.

    >>> matching("joined"), matching("Block")
    (('joined script',), ('heavy block', 'plain block'))
    """
    wanted = " ".join(text.casefold().split())
    names = {group: (group, label) for group, (label, _) in LABELS.items()} | {NOT_GROUPED: (NOT_GROUPED, "")}
    exact = tuple(group for group, known in names.items() if wanted in known)
    words = tuple(group for group, known in names.items() if wanted in " ".join(known).split())
    found = exact or words or tuple(g for g, known in names.items() if wanted and known[0].startswith(wanted))
    if not found:
        raise LetterholdError(f"no style group {text!r}; choose one of: {', '.join(names)}")
    return found


def rows(vectors: Vectors) -> list[Row]:
    """The vectors by name."""
    return [dict(zip(FEATURES, v, strict=True)) for v in vectors.tolist()]


# ── what a group is ─────────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class Group:
    """One group as the catalogue has it."""

    group: str
    label: str
    label_support: float
    """Share of the members for which the label's measured rule holds."""
    members: tuple[int, ...]
    """Indices into the faces that were given."""


def summary(decided: Sequence[str], vectors: Vectors) -> list[Group]:
    """The groups that have members, largest first, each with its label and how far the label holds."""
    named = rows(vectors)
    out = []
    for name in dict.fromkeys(g for g in decided if g in LABELS):
        members = tuple(k for k, g in enumerate(decided) if g == name)
        label, holds = LABELS[name]
        out.append(Group(name, label, float(np.mean([holds(named[k]) for k in members])), members))
    return sorted(out, key=lambda g: (-len(g.members), g.group))


# ── more like this ──────────────────────────────────────────────────────────────────────────────────────────────────


SAME_DETAIL = 0.1
"""Standard deviations from which a detail is another one; how much more it differs then says nothing."""

DETAILS_COUNT = 0.7
"""What the mean of the details counts against the mean of the style."""


def apart(vectors: Vectors, which: int, model: Model) -> Vectors:
    """Distance of every face to face ``which``: 0 is the same drawing, 1 about what two faces taken at random have.

    Style counts by the mean of the roots of the differences in standard deviations: a root lets many small agreements
    outweigh a few large gaps, so a narrow or bold sibling stays a neighbour. A shared detail is a sign of kinship, a
    different one is a sign of nothing, so details count only while they are nearly the same: beyond that all other
    designs are equally far, and style alone orders them. ``bench/group_numbers.py`` prints how often a sibling is among
    the five nearest.
    """
    standard = model.standard(vectors)
    gaps = np.abs(standard - standard[which])
    style = np.sqrt(gaps[:, _STYLE]).mean(axis=1)
    details = np.sqrt(np.minimum(gaps[:, _DETAILS] / SAME_DETAIL, 1)).mean(axis=1)
    away: Vectors = ((style + DETAILS_COUNT * details) / (1 + DETAILS_COUNT)) ** 2
    return away


def _distances(points: Vectors, centres: Vectors) -> Vectors:
    away: Vectors = np.sqrt(((points[:, None] - centres[None]) ** 2).sum(axis=2))
    return away


# ── fitting ─────────────────────────────────────────────────────────────────────────────────────────────────────────

AXES = 8
LEAST_FACES = 25
LEAST_SPREAD = 0.001
SAME_DRAWING = 0.02
"""Mean difference in standard deviations below which two faces are one drawing under two names: it counts once."""


SEEDS: tuple[tuple[str, Callable[[Row], bool]], ...] = (
    ("handwriting", lambda r: _by_hand(r) and r["contrast"] < 1.7),
    ("broad pen", lambda r: _by_hand(r) and r["contrast"] >= 1.7),
    ("heavy block", lambda r: not _by_hand(r) and r["stroke"] >= 0.22 and r["aspect_o"] < 1.1),
    ("heavy block", lambda r: not _by_hand(r) and r["aspect_o"] >= 1.15),
    (
        "plain block",
        lambda r: not _by_hand(r) and r["stroke"] < 0.17 and r["round_end"] < 0.15 and r["aspect_o"] < 1.1,
    ),
)
"""Where the centres begin: at the mean of the faces that show a style plainly. From there they settle by themselves.
Heavy faces lie round two centres, narrow ones and wide ones.

Chance beginnings found other groups whenever a fifth of the fonts was left out (agreement 0.91 in place of 0.98), and
some that no person would name.
"""


def fit(vectors: Vectors, start: Model | None = None, made_from: Sequence[str] = ()) -> Model:
    """Fit scaler, projection and centres to a set of faces, one a family; with ``start`` from that model's centres.

    Raises LetterholdError when there are too few faces that no anchor takes.
    """
    try:
        from sklearn.cluster import KMeans
    except ImportError as cause:
        raise LetterholdError("fitting groups needs scikit-learn; run: pip install 'letterhold[refit]'") from cause

    named = rows(vectors)
    vectors = vectors[[not refusal(r) for r in named]]
    vectors = vectors[_distinct(vectors)]
    free = np.array([not _apart_from_all(r) for r in rows(vectors)], dtype=bool)
    if free.sum() < LEAST_FACES:
        raise LetterholdError(
            f"{int(free.sum())} families without serifs, joins or other plain signs are too few to fit groups to"
            f" ({LEAST_FACES} needed); scan more fonts or keep the groups that come with the tool"
        )
    values = vectors[:, _PLACES]
    middle = np.nanmedian(values, axis=0)
    values = np.where(np.isfinite(values), values, middle)
    mean = values.mean(axis=0)
    # What hardly varies among these faces must not blow up in faces to come.
    least = np.full(len(COMPARED), LEAST_SPREAD) if start is None else np.array(start.spread) / 4
    spread = np.maximum(values.std(axis=0), least)
    standard = np.clip((values - mean) / spread, -CLIP, CLIP)[free][:, _STYLE]
    origin = standard.mean(axis=0)
    axes = np.linalg.svd(standard - origin, full_matrices=False)[2][:AXES]
    axes *= np.sign(axes[np.arange(len(axes)), np.argmax(np.abs(axes), axis=1)])[:, None]
    places = (standard - origin) @ axes.T
    if start is None:
        named = rows(vectors[free])
        held = [(group, np.array([test(r) for r in named])) for group, test in SEEDS]
    else:
        nearest = np.argmin(_distances(start.project(vectors[free]), np.array(start.centres)), axis=1)
        held = [(group, nearest == k) for k, group in enumerate(start.groups)]
    held = [(group, mine) for group, mine in held if mine.sum() >= 3]
    begin = np.array([places[mine].mean(axis=0) for _, mine in held])
    found = KMeans(len(held), init=begin, n_init=1, max_iter=50).fit(places)
    return Model(
        tuple(middle.tolist()), tuple(mean.tolist()), tuple(spread.tolist()), tuple(origin.tolist()),
        tuple(map(tuple, axes.tolist())), tuple(map(tuple, found.cluster_centers_.tolist())), tuple(g for g, _ in held),
        tuple(made_from),
    )  # fmt: skip


RULED = 0.8
"""Share of level and upright contour from which a face lies apart from all groups: an ordinary block face has half."""


def _apart_from_all(row: Row) -> bool:
    """Whether a face is no example of any group that centres are fitted to: taken by an anchor, or next to pixel."""
    return row["on_axes"] > RULED or any(a.holds(row) for a in ANCHORS)


def _distinct(vectors: Vectors) -> NDArray[np.bool_]:
    """Which faces to keep so that no drawing counts twice."""
    values = vectors[:, _PLACES]
    values = np.where(np.isfinite(values), values, np.nanmedian(values, axis=0))
    standard = (values - values.mean(axis=0)) / (values.std(axis=0) + 1e-6)
    keep = np.ones(len(values), dtype=bool)
    for k in range(1, len(values)):
        near = np.abs(standard[:k][keep[:k]] - standard[k]).mean(axis=1)
        keep[k] = not (near < SAME_DRAWING).any()
    return keep
