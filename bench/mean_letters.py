"""Makes ``scanner/letters.npy``: the mean of every letter over the regular faces of named font packages.

    python bench/mean_letters.py --fonts DIR [--check]

A face whose letters look less like these means than chance allows has symbols or another script in their place. The
packages are ``fontpkg-*`` of the Python registry (``pip install --target DIR fontpkg-abel ...``); those that are not
found are named. ``--check`` compares with the file instead of writing it.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scanner.errors import LetterholdError
from scanner.face import identify, open_faces
from scanner.files import find_fonts, read_font
from scanner.measures.letter_outlines import LETTERS
from scanner.measures.painted_letters import MEAN_PX, letter_boxes
from scanner.regions import regions_from_rings
from scanner.shaping import Shaper, sfnt_bytes

TARGET = Path(__file__).resolve().parent.parent / "scanner" / "letters.npy"

_FONTPKG = """
    abel abril-fatface albert-sans alegreya-sans alfa-slab-one almarai amiri andada-pro anek-telugu antic-slab anton
    archivo-black arimo arvo asap atkinson-hyperlegible baloo-2 barlow-semi-condensed bebas-neue bitter
    black-ops-one bungee cairo cardo caveat chakra-petch changa-one chivo comfortaa cormorant cormorant-garamond
    crimson-pro dancing-script delius dm-mono dm-sans dm-serif-display dm-serif-text dosis encode-sans epilogue
    fira-sans fira-sans-condensed fraunces fredoka geist-mono gravitas-one great-vibes hammersmith-one
    hanken-grotesk heebo hind-siliguri ibm-plex-sans ibm-plex-sans-arabic indie-flower instrument-sans inter
    jetbrains-mono josefin-sans kalam kanit karla lato lexend-deca libre-baskerville libre-franklin lilita-one
    literata lobster lobster-two lora luckiest-guy marcellus maven-pro merriweather montserrat mukta
    noto-kufi-arabic noto-sans-devanagari noto-sans-telugu nunito-sans oleo-script onest orbitron outfit oxygen
    pacifico permanent-marker play playfair-display plus-jakarta-sans poppins press-start-2p pt-serif public-sans
    questrial quicksand rajdhani raleway ramabhadra red-hat-display rethink-sans righteous roboto-mono roboto-slab
    rowdies rubik russo-one saira saira-condensed sarabun satisfy shadows-into-light source-serif-4 space-mono
    titan-one varela-round work-sans yellowtail zeyada zilla-slab
"""

PLAINNESS = ("italic", "oblique", "thin", "light", "medium", "semi", "demi", "bold", "black", "heavy")
"""Words that a regular face's style does not have."""


def regular_faces(folder: Path) -> list[Path]:
    """The file of each family's most regular face in a folder."""
    best: dict[str, tuple[tuple[int, int, str], Path]] = {}
    for file in find_fonts([folder]):
        try:
            family, style, _ = identify(open_faces(sfnt_bytes(read_font(file.path)), 0))
        except LetterholdError:
            continue
        order = (sum(w in style.casefold() for w in PLAINNESS), len(file.path.name), file.path.name)
        if family not in best or order < best[family][0]:
            best[family] = (order, file.path)
    return [path for _, path in best.values()]


def mean_letters(root: Path) -> np.ndarray:
    """The mean of every letter, each in its own box, as 8-bit ink (letters, side, side)."""
    total, count = np.zeros((len(LETTERS), MEAN_PX, MEAN_PX)), np.zeros(len(LETTERS))
    for name in _FONTPKG.split():
        folder = root / f"fontpkg_{name.replace('-', '_')}"
        if not folder.is_dir():
            print(f"not found, left out: fontpkg-{name}", file=sys.stderr)
            continue
        for path in regular_faces(folder):
            shaper = Shaper(sfnt_bytes(read_font(path)), 0)
            glyphs = [int(g) for g in shaper.shape_many(LETTERS).glyph]
            shaper.draw(glyphs)
            for letter, box in letter_boxes(regions_from_rings([shaper.rings(g) for g in glyphs])).items():
                total[LETTERS.index(letter)] += box
                count[LETTERS.index(letter)] += 1
    return np.rint(255 * total / count[:, None, None]).astype(np.uint8)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--fonts", type=Path, required=True, help="folder that the packages are installed into")
    parser.add_argument("--check", action="store_true", help="compare with the file, write nothing")
    options = parser.parse_args()
    made = mean_letters(options.fonts)
    if options.check:
        away = np.abs(made.astype(int) - np.load(TARGET).astype(int))
        print(f"largest difference {away.max()} of 255, mean {away.mean():.3f}")
    else:
        np.save(TARGET, made)


if __name__ == "__main__":
    main()
