"""The answer for one face, and all it stands on."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.permission import Permission
from scanner.evidence import Evidence

RULES_VERSION = "7"
"""Rises with every change of rules or tables that can change a verdict."""
CAUTION = "This is evidence that was found, not legal advice. The licence's own text and local law decide."


@dataclass(frozen=True)
class Verdict:
    """The answer for one face, and all it stands on."""

    spdx: str
    """SPDX expression; "" when no licence was recognised."""
    verdict: Permission
    """Whether goods may be sold."""
    may_alter_outlines: Permission
    """yes, ask, no or unknown: whether letters may be thickened or offset."""
    must_accompany: tuple[str, ...]
    """What goes with the goods, on the card or in the listing."""
    conflicts: tuple[str, ...]
    reserved_font_names: tuple[str, ...]
    """They bind the names of changed font files, not goods."""
    evidence: tuple[Evidence, ...]
    reasons: tuple[str, ...]
    """Each points to its evidence as [n], counted from 1."""
    rules_version: str = RULES_VERSION
    not_understood: tuple[str, ...] = ()
    """Sentences that no table understands; with one of them the answer is never a yes."""

    def as_json(self) -> dict[str, object]:
        """The keys of `licence --json`, without path and face, which the caller knows."""
        return {
            "spdx": self.spdx,
            "verdict": str(self.verdict),
            "may_alter_outlines": str(self.may_alter_outlines),
            "must_accompany": list(self.must_accompany),
            "conflicts": list(self.conflicts),
            "reserved_font_names": list(self.reserved_font_names),
            "evidence": [e.as_json() for e in self.evidence],
            "reasons": list(self.reasons),
            "rules_version": self.rules_version,
            "not_understood": list(self.not_understood),
        }
