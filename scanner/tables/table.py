"""A face's stored table, put together from its arrays."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from scanner.records import BIAS_EM, Table, packed, packed_widths, table_shapes
from scanner.regions import as_array
from scanner.tables.drawn import Drawn
from scanner.tables.letters import inside_alphabet, loose_parts
from scanner.tables.necks import dot_lenses, letter_necks, pair_lenses
from scanner.tables.pairs import dotted_edges


def table_of(drawn: Drawn, gaps_em: NDArray[np.float64], x_height_em: float) -> Table:
    """Every array of a face that has at least one character of the alphabet."""
    upem = drawn.upem
    within = inside_alphabet(drawn.regions, drawn.inked, upem)
    passages, held = letter_necks(drawn)
    ends = shapely.bounds(as_array(drawn.regions))
    return Table(
        gaps=gaps_em,
        own_join=loose_parts(drawn.regions, drawn.inked) / upem,
        dotted_edges=dotted_edges(drawn) / upem,
        counter=within.counter / upem,
        slit=within.slit / upem,
        strokes=within.strokes / upem,
        length=within.length / upem,
        advance=np.where(drawn.inked & (drawn.advances > 0), drawn.advances / upem, np.nan),
        left=ends[:, 0] / upem + BIAS_EM,
        right=ends[:, 2] / upem + BIAS_EM,
        lens=packed(pair_lenses(drawn, gaps_em, x_height_em)),
        dot_lens=packed(dot_lenses(drawn.regions, upem)),
        own_necks=packed_widths(passages),
        held_dots=packed_widths(held),
    )


def blank_table() -> Table:
    """The table of a face without any character of the alphabet."""
    arrays = {name: np.full(shape, np.nan) for name, shape in table_shapes().items()}
    return Table(**arrays | {"length": np.zeros(table_shapes()["length"])})
