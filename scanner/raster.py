"""FreeType bitmaps of glyphs: pictures, and an outside check of regions. The only importer of freetype.

Glyphs are asked for by glyph id, never by character, so that the raster draws the very glyph that was shaped.
"""

from __future__ import annotations

import ctypes
import io
from dataclasses import dataclass

import freetype
import numpy as np
from numpy.typing import NDArray

from scanner.errors import LetterholdError

MOST_PX_PER_EM = 4096
"""Larger pictures are refused; 4096 x 4096 bytes are 16 MB a glyph."""


class RasterError(LetterholdError):
    """A glyph that FreeType cannot draw; one line that ends with what to do."""


@dataclass(frozen=True, slots=True)
class GlyphPicture:
    """One glyph drawn in grey, row 0 at the top."""

    coverage: NDArray[np.uint8]
    """Share of each pixel that has ink, 0 to 255."""
    left_px: int
    """Column 0, in pixels right of the glyph's origin."""
    top_px: int
    """Upper edge of row 0, in pixels above the baseline."""
    px_per_em: int

    @property
    def area_em2(self) -> float:
        """Inked area in square em."""
        return float(self.coverage.sum(dtype=np.int64)) / 255.0 / self.px_per_em**2


class Rasteriser:
    """One face at one place of its variation axes, ready to draw.

    ``data`` are plain sfnt bytes; ``coordinates`` are design-space axis values by tag.
    """

    def __init__(
        self,
        data: bytes,
        face_index: int = 0,
        coordinates: dict[str, float] | None = None,
        px_per_em: int = 512,
    ) -> None:
        if not 0 < px_per_em <= MOST_PX_PER_EM:
            raise RasterError(f"{px_per_em} px per em is outside 1 to {MOST_PX_PER_EM}; ask for a smaller picture")
        try:
            self._face = freetype.Face(io.BytesIO(data), face_index)
            self._face.set_pixel_sizes(px_per_em, px_per_em)
            if coordinates:
                axes = self._face.get_variation_info().axes
                self._face.set_var_design_coords([coordinates.get(a.tag, a.default) for a in axes])
        except freetype.FT_Exception as cause:
            raise RasterError("FreeType cannot open this face; get the font again from its source") from cause
        self._px_per_em = px_per_em

    def glyph(self, glyph_id: int) -> GlyphPicture:
        """Draw one glyph as designed, without hinting. Raises RasterError when FreeType refuses it."""
        flags = freetype.FT_LOAD_NO_HINTING | freetype.FT_LOAD_NO_BITMAP | freetype.FT_LOAD_RENDER
        try:
            self._face.load_glyph(glyph_id, flags)
        except freetype.FT_Exception as cause:
            raise RasterError(f"FreeType cannot draw glyph {glyph_id}; get the font again from its source") from cause
        slot = self._face.glyph
        bitmap = slot.bitmap
        rows, width, pitch = bitmap.rows, bitmap.width, abs(bitmap.pitch)
        if rows == 0 or width == 0:
            return GlyphPicture(np.zeros((0, 0), dtype=np.uint8), 0, 0, self._px_per_em)
        # The wrapper's own list of pixels takes 20 ms a glyph; one copy of the memory takes none.
        memory = ctypes.string_at(bitmap._FT_Bitmap.buffer, rows * pitch)
        grey = np.frombuffer(memory, dtype=np.uint8).reshape(rows, pitch)[:, :width]
        return GlyphPicture(grey, slot.bitmap_left, slot.bitmap_top, self._px_per_em)
