"""A word set in a face: its letters as placed regions, in font units."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely import MultiPolygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from scanner.names import LONGEST_NAME, LetteringError, check_name, may_be_blank
from scanner.regions import regions_from_rings
from scanner.shaping import PlacedGlyph, Shaper

__all__ = ["LONGEST_NAME", "Letter", "Lettering", "LetteringError", "Typesetter", "check_name"]


@dataclass(frozen=True, slots=True)
class Letter:
    """One placed glyph that has ink."""

    text: str
    """The characters it stands for: one, or several for a ligature."""
    region: MultiPolygon
    """Placed on the line, in font units."""


@dataclass(frozen=True)
class Lettering:
    """A word in a face. Letters are in visual order; all coordinates are font units, baseline at y = 0."""

    name: str
    upem: int
    letters: tuple[Letter, ...]
    missing: tuple[str, ...]
    """Characters the face does not map or leaves without ink; when any is missing the letters stand for the rest."""

    @cached_property
    def region(self) -> BaseGeometry:
        """Union of all letters."""
        return shapely.union_all([letter.region for letter in self.letters])


class Typesetter:
    """Sets words in one face; keeps the regions of glyphs it has met."""

    def __init__(self, shaper: Shaper) -> None:
        self.shaper = shaper
        self._regions: dict[int, MultiPolygon] = {}
        self._drops: dict[tuple[str, str | None], frozenset[str]] = {}

    @cached_property
    def plain(self) -> Typesetter:
        """Sets the same face without ligatures and contextual forms; shares the regions of glyphs."""
        other = Typesetter(self.shaper.plain())
        other._regions = self._regions
        return other

    def region(self, glyph: int) -> MultiPolygon:
        """Region of one glyph at the origin."""
        region = self._regions.get(glyph)
        if region is None:
            self.prepare([glyph])
            region = self._regions[glyph]
        return region

    def prepare(self, glyphs: Iterable[int]) -> None:
        """Fetch the regions of many glyphs in one go, which takes a fraction of one by one."""
        wanted = [g for g in dict.fromkeys(glyphs) if g not in self._regions]
        self.shaper.draw(wanted)
        found = regions_from_rings([self.shaper.rings(g) for g in wanted])
        self._regions.update(zip(wanted, found, strict=True))

    def missing(self, text: str, language: str | None = None) -> tuple[str, ...]:
        """Characters of the text that the face cannot show, each once, in order: those it does not map, and those that
        leave no ink where they stand (blank glyphs, ``.notdef``, glyphs dropped by a rule). White space may be blank.
        """
        return self._missing(text, self.shaper.shape(text, language), language)

    def _missing(self, text: str, placed: Sequence[PlacedGlyph], language: str | None) -> tuple[str, ...]:
        lost = self._unmapped(text)
        self.prepare(glyph.glyph for glyph in placed)
        inked: dict[int, bool] = {}
        for glyph in placed:
            inked[glyph.cluster] = self._has_ink(glyph) or inked.get(glyph.cluster, False)
        if not inked:
            lost |= set(text)
        starts = sorted(inked)
        for start, end in zip(starts, [*starts[1:], len(text)]):
            if not inked[start]:
                lost |= set(text[start:end])
            elif end - start > 1:
                lost |= self._dropped(text[start:end], language)
        return tuple(c for c in dict.fromkeys(text) if c in lost and not may_be_blank(c))

    def _unmapped(self, text: str) -> set[str]:
        """Characters that the face maps neither as they stand nor in the other form that a shaper takes: a letter with
        its mark as one character, or as two (canonical equivalence, Unicode Standard Annex 15).
        """
        lost = set()
        for k, c in enumerate(text):
            apart = unicodedata.normalize("NFD", c)
            if self.shaper.has(c) or (len(apart) > 1 and all(map(self.shaper.has, apart))):
                continue
            as_one = unicodedata.normalize("NFC", text[max(0, k - 1) : k + 1])
            if not (unicodedata.combining(c) and len(as_one) == 1 and self.shaper.has(as_one)):
                lost.add(c)
        return lost

    def _has_ink(self, glyph: PlacedGlyph) -> bool:
        return glyph.glyph != 0 and not self.region(glyph.glyph).is_empty

    def _dropped(self, cluster: str, language: str | None) -> frozenset[str]:
        """Characters of a cluster without which it is drawn all the same: the face leaves them out."""
        found = self._drops.get((cluster, language))
        if found is None:
            whole = self._drawn(cluster, language)
            without = [(c, cluster[:k] + cluster[k + 1 :]) for k, c in enumerate(cluster) if not may_be_blank(c)]
            found = frozenset(c for c, rest in without if self._drawn(rest, language) == whole)
            self._drops[cluster, language] = found
        return found

    def _drawn(self, text: str, language: str | None) -> list[int]:
        """Glyphs with ink that a text is drawn with."""
        placed = self.shaper.shape(text, language)
        self.prepare(glyph.glyph for glyph in placed)
        return [glyph.glyph for glyph in placed if self._has_ink(glyph)]

    def set(self, text: str, language: str | None = None, tracking_em: float = 0.0) -> Lettering:
        """Set one line of text; ``tracking_em`` is added between neighbouring letters.

        Raises LetteringError for an empty or over-long text.
        """
        check_name(text)
        placed = self.shaper.shape(text, language)
        missing = self._missing(text, placed, language)
        return Lettering(text, self.shaper.upem, self._place(text, placed, tracking_em), missing)

    def _place(self, text: str, placed: tuple[PlacedGlyph, ...], tracking_em: float) -> tuple[Letter, ...]:
        starts = sorted({g.cluster for g in placed}) + [len(text)]
        end_of = dict(zip(starts, starts[1:], strict=False))
        self.prepare(glyph.glyph for glyph in placed)
        letters = []
        step = tracking_em * self.shaper.upem
        wide = {g.cluster for g in placed if g.advance}  # a character without width, as U+200B, is no letter to track
        before: dict[int, int] = {}
        count = 0
        for glyph in placed:
            if glyph.cluster not in before:
                before[glyph.cluster] = count
                count += glyph.cluster in wide
            region = self.region(glyph.glyph)
            if glyph.glyph == 0 or region.is_empty:
                continue
            x = glyph.x + step * before[glyph.cluster]
            letters.append(Letter(text[glyph.cluster : end_of[glyph.cluster]], translate(region, x, glyph.y)))
        return tuple(letters)
