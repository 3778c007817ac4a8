"""Styles of font families as people see them: the truth that the rules of ``catalogue/groups.py`` are held against.

Labelled by the makers of this project, by eye, on contact sheets of "HanSburgefik RO", before and apart from any
rule. Families come from the demo packages and from Debian's font packages; where a name stands for fonts that look
unlike (caps in one, text in another) it is left out.
"""

STYLES: dict[str, tuple[str, ...]] = {
    "joined script": (
        "Dancing Script", "Ecolier_court", "Great Vibes", "Havana", "Joscelyn", "Kristi", "Leckerli One", "Lobster",
        "Lobster Two", "Nominal BRK", "Pacifico", "Satisfy", "Steve", "Yellowtail", "flatline",
    ),
    "monospaced": (
        "Agave", "Anonymous Pro", "Anonymous Pro Minus", "Arundina Sans Mono", "B612 Mono", "BPG Courier S GPL&GNU",
        "BabelStone Modern", "CMU Typewriter Text", "Courier Prime", "Courier Prime Code", "Courier Prime Sans", "DM
        Mono", "DejaVu Sans Mono", "Fantasque Sans Mono", "Fira Code", "FreeFarsi Monospace", "FreeMono",
        "GNUTypewriter", "GWMonospace", "Geist Mono", "Go Mono", "Hack", "Hermit", "IPAGothic", "Inconsolata",
        "IndUni-C", "JetBrains Mono", "KaTeX_Typewriter", "Latin Modern Mono", "Latin Modern Mono Light", "Latin
        Modern Mono Slanted", "League Mono", "Liberation Mono", "Linux Libertine Mono O", "M PLUS 1 Code", "M PLUS
        Code Latin 60", "Monoid", "Nimbus Mono PS", "Noto Mono", "Noto Sans Mono", "OCR B", "OCRA", "OCRABold",
        "OCRAItalic", "Oxygen Mono", "PT Mono", "Roboto Mono", "Space Mono", "Spleen 16x32", "Spleen 32x64",
        "Thabit", "Tlwg Mono", "Tlwg Typewriter", "Tlwg Typist", "monofur",
    ),
    "slab serif": (
        "Alfa Slab One", "Andada Pro", "Antic Slab", "Arvo", "Bitter", "CMU Concrete", "CMU Typewriter Text Variable
        Width", "Latin Modern Mono Prop", "Latin Modern Mono Prop Light", "Roboto Slab", "Zilla Slab",
    ),
    "serif": (
        "Abril Fatface", "Abyssinica SIL", "Accanthis ADF Std", "Aksharyogini2", "Alfios", "Amiri", "Arapey",
        "Arundina Serif", "Asea", "Averia Serif GWF", "Baskervald ADF Std", "Berenis ADF Pro", "C059", "CMU Serif",
        "Caladea", "Campania", "Cardo", "Caslon", "Century Catalogue", "Charis SIL", "Cormorant", "Cormorant
        Garamond", "Crimson Pro", "DM Serif Display", "DM Serif Text", "DejaVu Serif", "Doulos SIL Compact",
        "Dustismo Roman", "EB Garamond", "Essays1743", "Ezra SIL", "Fanwood", "Fraunces", "FreeSerif", "GFS
        Artemisia", "GFS Didot", "Galatia SIL", "Gentium", "GentiumAlt", "Goudy Bookletter 1911", "Gravitas One",
        "IM FELL DW Pica", "Impossibilium BRK", "IndUni-N", "IndUni-P", "IndUni-T", "Irianis ADF Std", "KaTeX_Main",
        "Kinnari", "Latin Modern Roman", "Latin Modern Roman Demi", "Latin Modern Roman Dunhill", "LexiSaebomR",
        "Liberation Serif", "Libre Baskerville", "Linden Hill", "Linux Libertine Display O", "Linux Libertine O",
        "Literata", "Lora", "Marcellus", "Merriweather", "Nazli", "Nimbus Roman", "Norasi", "Old Standard TT",
        "P052", "PT Serif", "PT Serif Caption", "Playfair Display", "Prociono", "Ptolemy", "Rasa", "Romande ADF No2
        Std", "Romande ADF Std", "STIX", "STIXGeneral", "Sawarabi Mincho", "Source Serif 4", "Spira", "Sweynheim &
        Pannartz", "Tribun ADF Std", "URW Bookman", "Verana", "Vollkorn", "Yrsa", "jsMath-cmbx10", "jsMath-cmr10",
    ),
    "pixel": (
        "8-bit Limit BRK", "Acknowledge TT BRK", "Alpha Beta BRK", "Atari", "Homespun TT BRK", "Mini Kaliber O TT
        BRK", "Mini Kaliber S TT BRK", "Press Start 2P", "ProggyTinyTT", "Px AmstradPC1512-2y", "Px IBM CGA", "Px
        IBM CGA-2y", "Px IBM EGA8", "Px IBM MDA", "Px IBM VGA8", "Px IBM VGA9", "Px VGA SquarePx", "Setback TT BRK",
        "Spleen 12x24", "Spleen 6x12", "Spleen 8x16", "Unifont", "Upheaval TT BRK", "Visitor TT1 BRK", "Visitor TT2
        BRK", "Zelda DX TT BRK", "Æ Systematic TT BRK",
    ),
    "hollow": (
        "8-bit Limit RO BRK", "Amalgamate O BRK", "Ataxia Outline BRK", "Bend 2 Squares OL1 BRK", "Bend 2 Squares
        OL2 BRK", "Brass Knuckle BRK", "Bumped BRK", "Cabin Sketch", "Compliant Confuse 1o BRK", "Compliant Confuse
        2o BRK", "Compliant Confuse 3o BRK", "Corpulent Caps Shadow BRK", "Foreshadow OL BRK", "Gaposis Outline
        BRK", "Hand Me Down O BRK", "Heavy Bevel BRK", "Intersect C BRK", "Lucid Type A Outline BRK", "Lucid Type B
        Outline BRK", "Neural Outline BRK", "Obloquy Outline BRK", "Outer Sider BRK", "Quantum Flat Hollow BRK",
        "Quantum Round Hollow BRK", "Queasy Outline BRK", "Rampart One", "Rotund Outline BRK", "Spacious Outline
        BRK", "Technique OL BRK", "Typesource Extol O BRK", "Underwhelmed Outline BRK", "Unexplored Galaxies O BRK",
        "Unexplored Galaxies WO BRK", "Vertigo BRK", "Vertigo Upright BRK", "Zurklez Outline BRK", "genotype H BRK",
        "genotype RH BRK", "jsMath-bbold10",
    ),
    "stencil": (
        "Allerta", "Black Ops One", "Compliant Confuse 1s BRK", "Pseudo BRK", "Syndrome BRK",
    ),
    "handwriting": (
        "Ani", "AoyagiKouzanFontT", "Bajaderka", "Bangwool", "Berenika", "Breip", "Caveat", "Chilanka", "Comic
        Neue", "Delius", "Delphine", "DkgHandwriting", "Domestic Manners", "El Abogado Loco", "Eunjin", "Fatboy Slim
        BLTC 2 BRK", "Fatboy Slim BLTC BRK", "Hand Me Down S BRK", "Indie Flower", "Johnny Mac Scrawl BRK", "Kalam",
        "Karumbi", "Kaushan Script", "Klaudia", "Mad's Scrawl BRK", "Oleo Script", "Permanent Marker", "Purisa",
        "Rufscript", "Shadows Into Light", "Swift", "TSCu_Comic", "Z003", "Zeyada", "femkeklaver", "Ænigma Scrawl 4
        BRK",
    ),
    "blackletter": (
        "Blankenburg_UNZ1A", "Fette classic UNZ Fraktur", "Fust & Schoeffer", "Gamaliel", "Isabella",
        "KaTeX_Fraktur", "Zainer", "jsMath-eufb10", "jsMath-eufm10",
    ),
    "display": (
        "36 days ago Thick BRK", "Anton", "Apropal", "Aspartame BRK", "Automatica BRK", "Baekmuk Headline",
        "Balker", "Baloo 2", "Bandal", "Bandwidth Bandless BRK", "Bebas Neue", "Bendable BRK", "Bobcaygeon BRK",
        "Bocuma Dent BRK", "Brigadoom Wide BRK", "Bungee", "Changa One", "Chemical Reaction A BRK", "Cherry Bomb",
        "Chumbly BRK", "Conduit 2 BRK", "Cupola", "Decrepit BRK", "Detonate BRK", "Dynamic BRK", "Encapsulate Plain
        BRK", "Engadget", "Fantasma", "Ferrite Core DX", "Fully Completely BRK", "Gaposis Solid BRK", "Gravitate
        BRK", "Hairball BRK", "Hyperion Sunset BRK", "It wasn't me", "Jeopardize Thick BRK", "Kaliber Solid BRK",
        "Kinkaid BRK", "Lethargic BRK", "Lilita One", "Luckiest Guy", "Macropsia BRK", "Monkey Phonics BRK",
        "Myanmar Kuttar", "Myanmar Nayone", "Myanmar Njaun", "Myanmar Phetsot", "Myanmar Phiksel", "Myanmar
        Ponenyet", "Myanmar Thuriya", "NK SSmart3", "Off Kilter L BRK", "Oldania ADF Std", "Persuasion BRK",
        "Phorfeit Regular BRK", "Quantum Flat BRK", "Regenerate BRK", "Righteous", "Rotund BRK", "Rowdies", "Smiley
        Sans", "Spacious BRK", "StayPuft", "Stranded BRK", "Titan One", "Typesource Extol S BRK", "Unanimous
        Inverted BRK", "Underwhelmed BRK", "Wager BRK", "Xhume BRK", "Yesterday BRK", "[F500]", "progenisis",
    ),
    "plain": (
        "Abel", "Albert Sans", "Alegreya Sans", "Almarai", "Andika New Basic", "Anek Telugu", "Archivo Black",
        "Arimo", "Arundina Sans", "Asap", "Atkinson Hyperlegible", "Averia GWF", "Averia Sans GWF", "B612", "BPG
        Chveulebrivi GPL&GNU", "BPG DejaVu Sans 2011 GNU-GPL", "BPG Glaho GPL&GNU", "Barlow Semi Condensed",
        "BetecknaGS", "CMU Bright", "CMU Sans Serif", "CMU Sans Serif Demi Condensed", "Cabin", "Cairo", "Caliban",
        "Cantarell", "Carlito", "Chakra Petch", "Chivo", "Clear Sans", "Clear Sans Light", "Clear Sans Medium",
        "Clear Sans Thin", "Comfortaa", "DM Sans", "DejaVu Sans", "Dosis", "Dustismo", "Encode Sans", "Epilogue",
        "Fira Sans", "Fira Sans Condensed", "Fredoka", "FreeSans", "GFS Neohellenic", "Gayathri", "Gemunu Libre",
        "Gillius ADF", "Gillius ADF No2", "Go", "Go Medium", "Hammersmith One", "Hanken Grotesk", "Heebo", "Hind
        Siliguri", "IBM Plex Sans", "IBM Plex Sans Arabic", "IPAPGothic", "Ikarius ADF No2 Std", "Ikarius ADF Std",
        "Instrument Sans", "Inter", "Inter Display", "Josefin Sans", "Junction", "Jura", "KaTeX_SansSerif", "Kanit",
        "Karla", "Latin Modern Sans", "Latin Modern Sans Demi Cond", "Lato", "Lexend Deca", "Liberation Sans",
        "Liberation Sans Narrow", "Libre Franklin", "Libris ADF Std", "Linux Biolinum O", "M PLUS 1", "M PLUS 2",
        "Maven Pro", "Millimetre", "Montserrat", "Mukta", "National Park", "Nimbus Sans", "Nimbus Sans Narrow",
        "Noto Kufi Arabic", "Noto Sans Devanagari", "Noto Sans Telugu", "Nunito Sans", "OSP-DIN", "Onest",
        "Orbitron", "Outfit", "Oxygen", "Oxygen-Sans", "PT Sans", "PT Sans Caption", "PT Sans Narrow", "Play", "Plus
        Jakarta Sans", "Poppins", "Public Sans", "Questrial", "Quicksand", "Quicksand Light", "Quicksand Medium",
        "Radis Sans", "Rajdhani", "Raleway", "Ramabhadra", "Red Hat Display", "Rethink Sans", "Roadgeek 2014 Series
        C", "Roadgeek 2014 Series E", "Roboto", "Roboto Condensed", "Routed Gothic", "Routed Gothic Narrow", "Routed
        Gothic Wide", "Rubik", "Russo One", "Saira", "Saira Condensed", "Sapushan", "Sarabun", "Sawarabi Gothic",
        "Shimenkan GSM", "Switzera ADF", "Tahoma", "Tuffy", "URW Gothic", "Unikurd Web", "Universalis ADF Std",
        "Varela Round", "Verana Sans", "Verana Sans Medium", "Waree", "Work Sans", "Yanone Kaffeesatz",
        "eurofurence", "eurofurence classic light", "osifont",
    ),
}  # fmt: skip

STYLE_OF = {family: style for style, families in STYLES.items() for family in families}
