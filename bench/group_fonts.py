"""The named font packages that the style groups are fitted and measured on, and how their families are scanned.

Two kinds of package: ``fontpkg-*`` of the Python registry (installed: ``pip install fontpkg-abel …``) and Debian's
``fonts-*`` (unpacked, each into a folder of its own name: ``apt-get download fonts-adf-accanthis; dpkg -x …``). They
were chosen for variety before anything was measured: book faces, signs, typewriters, hands, blackletter, screens, and
of one large set of display faces every eighth file. One face a family is scanned, its most regular one.
"""

from __future__ import annotations

import json
import site
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.store.database import Store
from catalogue.style.groups import irregularity
from scanner.alphabet import read_words
from scanner.face import identify, open_faces
from scanner.files import find_fonts, read_font
from scanner.shaping import sfnt_bytes
from scanner.workers.steps import Settings
from scanner.workers.supervisor import scan_files

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

_DEBIAN = """
    adf-accanthis adf-baskervald adf-berenis adf-gillius adf-ikarius adf-irianis adf-libris adf-oldania adf-romande
    adf-switzera adf-tribun adf-universalis adf-verana aenigma agave aksharyogini2 alee allerta amiga
    ancient-scripts anonymous-pro aoyagi-kouzan-t apropal arapey arundina atarismall averia-gwf averia-sans-gwf
    averia-serif-gwf b612 babelstone-modern baekmuk bajaderka beng-extra beteckna blankenburg bpg-georgian breip
    cabin cabinsketch campania cantarell cardo cegui century-catalogue cherrybomb clear-sans cmu comfortaa
    comic-neue courier-prime crosextra-caladea crosextra-carlito dancingscript dkg-handwriting dosis dustin
    ebgaramond ecolier-court engadget essays1743 eurofurence f500 fantasma fantasque-sans fanwood farsiweb
    femkeklaver ferrite-core firacode freefarsi freefont-ttf gamaliel gemunu-libre georgewilliams gfs-artemisia
    gfs-didot gfs-neohellenic glasstty gnutypewriter go gotico-antiqua goudybookletter hack havana hermit
    hosny-amiri hosny-thabit inconsolata inter-variable ipafont-gothic isabella jetbrains-mono johnsmith-induni
    joscelyn jsmath junction jura katex kaushanscript klaudia-berenika kristi league-mono leckerli-one lexi-saebom
    lindenhill linuxlibertine lmodern lobster mplus myanmar noto-mono oldstandard paratype pc prociono proggy
    quicksand roboto-unhinted rufscript sawarabi-gothic sawarabi-mincho sil-abyssinica sil-andikanewbasic
    sil-doulos-compact sil-ezra sil-galatia sil-shimenkan-gsm sil-shimenkan-sapushan sjfonts smc-chilanka
    smc-gayathri smc-karumbi smiley-sans spleen staypuft taml-tscu tlwg-kinnari-otf tlwg-mono-ttf tlwg-norasi-otf
    tlwg-purisa-ttf tlwg-typewriter-ttf tlwg-typist-ttf tlwg-waree-ttf tuffy unifont wine yrsa-rasa
"""

FONTPKG, DEBIAN = _FONTPKG.split(), _DEBIAN.split()

SPARSE = {"fonts-aenigma": 8}
"""Of these packages only every so manieth file: hundreds of faces by one hand."""


def package_folders(roots: Sequence[Path]) -> Iterator[tuple[str, Path]]:
    """The named packages that lie in the roots or are installed: name and folder."""
    places = [*roots, *(Path(p) for p in site.getsitepackages())]
    for names, folder_of in (
        ([f"fontpkg-{n}" for n in FONTPKG], lambda n: n.replace("-", "_")),
        ([f"fonts-{n}" for n in DEBIAN], lambda n: n),
    ):
        for name in names:
            found = next((p / folder_of(name) for p in places if (p / folder_of(name)).is_dir()), None)
            if found is None:
                print(f"not found, left out: {name}", file=sys.stderr)
            else:
                yield name, found


def regular_faces(folder: Path, every: int = 1) -> list[Path]:
    """The file of each family's most regular face in a folder."""
    best: dict[str, tuple[tuple[int, int], Path]] = {}
    for file in list(find_fonts([folder]))[::every]:
        try:
            family, style, _ = identify(open_faces(sfnt_bytes(read_font(file.path)), 0))
        except ValueError:
            continue
        order = (irregularity(style), len(file.path.name))
        if family not in best or order < best[family][0]:
            best[family] = (order, file.path)
    return [path for _, path in best.values()]


def scan_packages(catalogue: Path, roots: Sequence[Path], workers: int = 0) -> None:
    """Scan the regular faces of all named packages into a catalogue; what is there already is left alone."""
    paths = [p for name, folder in package_folders(roots) for p in regular_faces(folder, SPARSE.get(name, 1))]
    with Store(catalogue, create=True) as store:
        known = store.known()
        todo = [f for f in find_fonts(paths) if str(f.path) not in known]
        for k, record in enumerate(scan_files(todo, Settings(read_words(None)[:1]), workers)):
            # Only the default instance of a variable font: it is the family's regular face.
            store.put(record, "bench", {})
            if k % 50 == 0:
                print(f"{k} of {len(todo)} files scanned", file=sys.stderr)


def categories(paths: Iterable[str]) -> dict[str, str]:
    """The category word of each file's package by path, where its metadata has exactly one."""
    out = {}
    for path in paths:
        folder = next((p for p in Path(path).parents if p.name.startswith("fontpkg_")), None)
        if folder is not None:
            words = json.loads((folder / "metadata.json").read_text(encoding="utf-8")).get("category", [])
            if words:
                out[path] = str(words[0])
    return out


_SERIFS = {"serif": range(2, 11), "sans": range(11, 16)}


def panose_category(os2: bytes) -> str:
    """A category from PANOSE (OpenType, table OS/2: family kind, serif style, proportion); empty where not set."""
    kind, serif, _, proportion = os2[32:36] if len(os2) >= 42 else (0, 0, 0, 0)
    if kind == 3:
        return "HANDWRITING"
    if kind == 4:
        return "DISPLAY"
    if kind != 2:
        return ""
    if proportion == 9:
        return "MONOSPACE"
    return "SERIF" if serif in _SERIFS["serif"] else "SANS_SERIF" if serif in _SERIFS["sans"] else ""
