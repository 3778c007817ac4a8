"""Makes the two data files of the style groups from the named font packages of ``group_fonts.py``. One command:

    python bench/group_model.py --catalogue reference.sqlite [--fonts DIR]... [--letters]

``--letters`` makes ``scanner/letters.npy`` (the mean of each letter) first; then the catalogue is scanned (one face a
family, ten minutes) and ``catalogue/style/groups_model.json`` fitted. No category word takes part.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))

from group_fonts import FONTPKG, package_folders, regular_faces, scan_packages

from catalogue.store.database import Store
from catalogue.style.groups import fit
from scanner.files import read_font
from scanner.measures.features import FEATURES
from scanner.measures.style import LETTERS, MEAN_PX, letter_boxes
from scanner.regions import regions_from_rings
from scanner.shaping import Shaper, sfnt_bytes

HERE = Path(__file__).resolve().parent.parent


def make_letters(roots: list[Path]) -> None:
    """The mean of every letter over the regular faces of the ``fontpkg-*`` packages, each in its own box."""
    total, count = np.zeros((len(LETTERS), MEAN_PX, MEAN_PX)), np.zeros(len(LETTERS))
    for name, folder in package_folders(roots):
        if not name.startswith("fontpkg-"):
            continue
        for path in regular_faces(folder):
            shaper = Shaper(sfnt_bytes(read_font(path)), 0)
            glyphs = [int(g) for g in shaper.shape_many(LETTERS).glyph]
            shaper.draw(glyphs)
            for letter, box in letter_boxes(regions_from_rings([shaper.rings(g) for g in glyphs])).items():
                total[LETTERS.index(letter)] += box
                count[LETTERS.index(letter)] += 1
    np.save(HERE / "scanner" / "letters.npy", np.rint(255 * total / count[:, None, None]).astype(np.uint8))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--catalogue", type=Path, required=True, help="catalogue to scan the packages into")
    parser.add_argument("--fonts", type=Path, action="append", default=[], help="folder of unpacked packages")
    parser.add_argument("--letters", action="store_true", help="make the mean letters as well")
    options = parser.parse_args()
    if options.letters:
        make_letters(options.fonts)
    scan_packages(options.catalogue, options.fonts)
    names = [name for name, _ in package_folders(options.fonts)]
    with Store(options.catalogue) as store:
        ids, vectors = store.features(len(FEATURES))
        faces = store.faces_of(ids)
    # Files are done in the order in which workers end, which must not show in the model.
    in_order = sorted(range(len(ids)), key=lambda k: (faces[ids[k]].family, Path(faces[ids[k]].path).name))
    regular = [k for k in in_order if not faces[ids[k]].instance]
    model = fit(vectors[regular], made_from=names)
    text = json.dumps(model.as_json(), ensure_ascii=False).replace('], "', '],\n "')
    (HERE / "catalogue" / "style" / "groups_model.json").write_text(text + "\n", encoding="utf-8")
    print(f"{len(names)} packages of {len(FONTPKG)} + Debian, {len(regular)} faces: {', '.join(model.groups)}")


if __name__ == "__main__":
    main()
