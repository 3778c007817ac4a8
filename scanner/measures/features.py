"""The style numbers of a face: their order and what each one means. Apart from their making, so that who only reads
them loads no geometry."""

from __future__ import annotations

MEANINGS = {
    # proportions
    "x_height": "height of x, z, v, u over the cap height",
    "ascender": "median top of b, d, f, h, k, l over the cap height",
    "descender": "median depth of g, j, p, q, y over the cap height",
    "width_lower": "mean advance of the small letters over the x-height",
    "width_upper": "mean advance of the capitals over the cap height",
    "width_spread_lower": "standard deviation of the small letters' advances over their mean; 0: monospaced",
    "width_spread_upper": "standard deviation of the capitals' advances over their mean",
    "width_i_m": "advance of i over the advance of m",
    "aspect_o": "width of o over its height",
    "aspect_O": "width of O over its height",
    "bearing": "median share of a small letter's advance that its ink's width does not take; below 0: ink reaches out",
    # strokes
    "stroke": "median stroke over the cap height",
    "stroke_hair": "5th over 50th percentile of stroke widths, along the centre lines of all letters",
    "stroke_heavy": "80th over 50th percentile of stroke widths, along the centre lines of all letters",
    "contrast": "median over the small letters of their 80th over their 10th percentile of stroke width",
    "contrast_axis": "side of O over its top and bottom, at the middle (logarithm)",
    "stroke_case": "median stroke of the capitals over that of the small letters",
    "stroke_spread": "standard deviation of the letters' median strokes over their mean",
    "stem_spread": "standard deviation of the widths of straight stems over their mean",
    # joining
    "joined": "share of small-letter pairs that touch",
    "joined_capital": "share of pairs of a capital and a small letter that touch",
    "gap": "median gap of small-letter pairs over the x-height",
    "gap_spread": "interquartile range of the gaps of small-letter pairs over the x-height",
    # contour, sampled in steps of STEP
    "straight": "share of the contour that does not turn",
    "upright": "share of the contour within 4° of the lean of the stems",
    "level": "share of the contour within 4° of the horizontal",
    "axis_diagonals": "share of the contour of k, v, w, x, y, z, K, M, N, V … that is exactly level or upright",
    "corner": "share of all turning that is done in corners",
    "corners": "convex corners a letter",
    "notches": "concave corners a letter",
    "round_end": "share of the convex turning done on radii below 0.8 of the median stroke, corners left out",
    "turning": "total turning of a contour over one full turn",
    "waves": "changes of the turning's sign over the contour's length in cap heights",
    "rough": "turning of the outline as drawn over its turning in steps (logarithm): what lies between the steps",
    "slant": "lean of the stems in degrees, measured",
    "stem_share": "share of the contour within 3° of the most frequent lean among all that leans less than 40°",
    "rectangular_o": "area of o's outer shape over its box: circle 0.785, rectangle 1",
    "rectangular_O": "area of O's outer shape over its box",
    "diagonal": "share of the contour that runs between 30° and 60° to the baseline, either way",
    "ends": "ends of strokes a letter: places where the contour turns back within 1.3 strokes",
    "ends_round": "share of the ends of strokes that are round: no corner in them",
    "ends_point": "share of the ends of strokes that run into one sharp corner",
    "specks": "rings a letter with less area than a quarter of the squared stroke",
    "perimeter": "contour length times the stroke over twice the ink: 1 for clean even strokes, more for worn edges",
    # stems
    "lines": "mean number of parallel lines a stem is drawn with: 1, or 2 for an outline",
    "lines_across": "median number of lines a bar is drawn with",
    "stem_swell": "mean over the stems of the spread of their width along themselves, over their width",
    "stem_bend": "mean over the stems of how far their middle leaves a straight line, over their width",
    # feet
    "serif": "median over the feet of H, T, F, P, h, m, n of the shorter overhang over the stem",
    "serif_outer": "median over the feet of H, T, F, P, h, m, n of the longer overhang over the stem",
    "serif_thick": "thickness of those overhangs halfway out, over the stem; 0 without serifs",
    "serif_share": "share of those feet whose shorter overhang is more than a tenth of the stem",
    "serif_i": "median shorter overhang of i, l, r and I over the stem",
    "exit": "median over the feet of h, m, n, i, l of right minus left overhang, over the stem",
    # likeness
    "mirror": "median likeness of A, H, M, O, T, U, V, W, X, Y, o, v, w, x with their own mirror images",
    "mirror_worst": "10th percentile of the letters' likeness with their own mirror images",
    "turned": "median likeness of n and u, p and d, b and q, and Z, N, S, X, O, o, z, s, x turned upside down",
    "paired": "likeness of b and d, p and q as mirror images",
    "case": "median likeness of a, b, d, e, g, h, n, q, r, t with their capitals, each in its own box",
    "fill_lower": "median ink share of the small letters' boxes",
    "fill_upper": "median ink share of the capitals' boxes",
    # regularity
    "wobble_base": "standard deviation of the bottoms of flat-footed letters over the cap height",
    "wobble_x": "standard deviation of the tops of u, v, w, x, z, m, n, r over the cap height",
    "wobble_cap": "standard deviation of the tops of flat capitals over the cap height",
    "wobble_stem": "median deviation of the stems' lean from its median, in degrees",
    # build
    "pieces": "mean number of parts of a letter, i and j left out",
    "broken": "share of A, B, D, O, P, Q, R, a, b, d, e, g, o, p, q in two or more parts",
    "closed": "share of the letters with bowls that have a hole",
    "hollow": "share of the letters that should have no hole and have one",
    "hollow_area": "median over those letters of their holes' area over the area of the filled shape",
    # what a design is known by among its neighbours in style
    "on_axes": "share of the letters' contour, as drawn, within 1° of level or upright",
    "top_t": "top of t over the cap height",
    "top_f": "top of f over the cap height",
    "top_dot": "median top of i and j over the cap height",
    "depth_j": "depth of j over the cap height",
    "depth_Q": "depth of Q over the cap height",
    "over_lower": "median top of c, e, o less that of v, x, z, over the cap height: how far round letters reach above",
    "over_upper": "median top of C, G, O less that of E, H, I, over the cap height",
    "E_to_O": "advance of E over advance of O", "S_to_O": "of S over O", "M_to_O": "of M over O",
    "R_to_O": "of R over O", "J_to_O": "of J over O", "a_to_o": "of a over o", "c_to_o": "of c over o",
    "e_to_o": "of e over o", "s_to_o": "of s over o", "w_to_o": "of w over o", "f_to_n": "of f over n",
    "m_to_n": "of m over n", "r_to_n": "of r over n", "t_to_n": "of t over n",
    # whether there is a style to speak of
    "capitals": "capitals with ink",
    "smalls": "small letters with ink",
    "legible": "share of the letters that look more like their own mean letter than like any other's, case aside",
}  # fmt: skip

FEATURES: tuple[str, ...] = tuple(MEANINGS)
"""Order of the numbers in a face's vector."""

COUNTS = ("capitals", "smalls")
"""Those that say how many letters a face has, and nothing of their style."""

RATIOS = tuple(name for name in FEATURES if "_to_" in name)
"""Advances of one letter over another: a design keeps them over its weights and widths."""

DETAILS = ("on_axes", "top_t", "top_f", "top_dot", "depth_j", "depth_Q", "over_lower", "over_upper", *RATIOS)
"""Those that set one design apart from others of its style; likeness counts them apart from the rest."""
