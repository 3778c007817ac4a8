"""Colours of the page and of tags, as people with and without colour vision deficiencies see them.

Deficiencies are simulated by colorspacious, which carries the matrices of Machado, Oliveira and Fernandes (2009), "A
physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15(6); severity 100 of each kind.
Contrast is that of WCAG 2.2 (1.4.3 text 4.5 to 1, 1.4.11 parts of controls 3 to 1), worked out here from its text.
"""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest
from numpy.typing import NDArray

from catalogue.page.filaments import contrast, contrast_line
from catalogue.page.parts import asset
from catalogue.page.place import Look
from catalogue.tag.colours import COLOURS

colorspacious = pytest.importorskip("colorspacious", reason="pip install 'letterhold[test]'")

SEEN = ("as it is", "protanomaly", "deuteranomaly", "tritanomaly")
PAIR = re.compile(r"--([\w-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)")
TOKENS = {name: {"light": light, "dark": dark} for name, light, dark in PAIR.findall(asset("tokens.css"))}
Colour = NDArray[np.float64]


def seen_as(colour: str, vision: str) -> Colour:
    """(3) sRGB from 0 to 1 of #rrggbb as it is seen."""
    own = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    if vision == "as it is":
        return own
    space = {"name": "sRGB1+CVD", "cvd_type": vision, "severity": 100}
    return np.clip(colorspacious.cspace_convert(own, space, "sRGB1"), 0, 1)


def contrast_of(one: Colour, other: Colour) -> float:
    """WCAG 2.2, "relative luminance" and "contrast ratio"."""
    low, high = sorted(
        float(np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4) @ (0.2126, 0.7152, 0.0722))
        for c in (one, other)
    )
    return (high + 0.05) / (low + 0.05)


def test_the_simulation_is_that_of_the_paper() -> None:
    """Pure red for a deuteranope is (0.367, 0.280, -0.012) in linear light: first column of the paper's table."""
    seen = colorspacious.cspace_convert([1, 0, 0], {"name": "sRGB1+CVD", "cvd_type": "deuteranomaly", "severity": 100},
                                        "sRGB1-linear")  # fmt: skip
    assert seen == pytest.approx([0.367322, 0.280085, -0.011820], abs=1e-4)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("vision", SEEN)
def test_text_reads_on_every_ground(scheme: str, vision: str) -> None:
    grounds = [TOKENS[g][scheme] for g in ("paper", "raised", "ground")]
    for text, ground in itertools.product(("ink", "dim", "mark", "good"), grounds):
        found = contrast_of(seen_as(TOKENS[text][scheme], vision), seen_as(ground, vision))
        assert found >= 4.5, (text, ground, found)
    assert contrast_of(seen_as(TOKENS["on-mark"][scheme], vision), seen_as(TOKENS["mark"][scheme], vision)) >= 4.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("vision", SEEN)
def test_the_edge_of_a_tag_stands_out_from_its_ground(scheme: str, vision: str) -> None:
    """WCAG 2.2, 1.4.11: 3 to 1 for what is needed to see the object, whatever colour its plastic has."""
    ground = seen_as(TOKENS["ground"][scheme], vision)
    assert contrast_of(seen_as(TOKENS["edge"][scheme], vision), ground) >= 3


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("vision", SEEN)
def test_mark_and_good_look_different(scheme: str, vision: str) -> None:
    """In CAM02-UCS a step of 1 is about what can just be seen; 10 is plain (Luo, Cui and Li 2006). Signs say it too."""
    mark, good = (seen_as(TOKENS[name][scheme], vision) for name in ("mark", "good"))
    assert colorspacious.deltaE(mark, good, input_space="sRGB1", uniform_space="CAM02-UCS") >= 10


@pytest.mark.parametrize("vision", SEEN)
def test_layers_that_are_called_easy_to_read_are_so_for_everybody(vision: str) -> None:
    """Every pair of the built-in plastics that passes 3 to 1 keeps 2 to 1 for every eye, so that no layer vanishes.

    2 to 1 is ours: the strict limit of WCAG is for thin text, letters of a tag are millimetres thick.
    """
    for one, other in itertools.combinations(COLOURS, 2):
        if contrast(one, other) >= 3:
            assert contrast_of(seen_as(COLOURS[one], vision), seen_as(COLOURS[other], vision)) >= 2, (one, other)


@pytest.mark.parametrize("vision", SEEN)
def test_the_colours_a_tag_starts_with_part_for_every_eye(vision: str) -> None:
    base, middle, top = (seen_as(COLOURS[c], vision) for c in Look().colours)
    assert not contrast_line(Look().colours, 3)[1]
    assert contrast_of(base, middle) >= 3 and contrast_of(middle, top) >= 1.7 and contrast_of(base, top) >= 5
