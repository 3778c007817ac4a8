"""One statement about a font, where it stands and what it was taken to mean."""

from __future__ import annotations

from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Evidence:
    """One statement, where it stands and what it was taken to mean."""

    source: str
    """Kind of place: name, cff, meta, os2, file-name, folder-name, licence-file, text-file, given, dep5, appstream,
    dist-info, package-json."""
    locator: str
    """Place a person can find: `name 13 (platform 3, language 0x0409)`, or a file's path."""
    quote: str
    """The words. Raw from the reader; cut to the telling part and cleaned in a verdict."""
    claim: str = ""
    """SPDX expression or LicenseRef-…; "" when nothing was recognised."""
    polarity: str = "statement"
    """grant, restriction or statement."""
    scope: str = "unknown"
    """font, component, excerpt (a text not read to its end) or unknown."""

    def as_json(self) -> dict[str, str]:
        """The six keys of the command line's contract."""
        return asdict(self)
