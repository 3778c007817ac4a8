"""What a maker and a seller of tags has to mind, in the words that stand on every job sheet."""

from __future__ import annotations

CAUTIONS = (
    "Not a toy. Keep away from children under 3: small parts may come off and choke.",
    "This check is a calculation from the drawing. It is no test, no certificate and no legal advice. Before you sell,"
    " follow the rules of your country and ask a licensed test house or lawyer.",
    "PLA softens from about 55 °C: do not leave in a hot car.",
    "Sand or break sharp corners; look for whiskers.",
    "Metal rings can hold nickel; ask your supplier for a release report.",
    "Print in a well aired room, not where people sleep; follow the maker's sheet for the filament.",
    "Not for food, the mouth, climbing or any load.",
)
