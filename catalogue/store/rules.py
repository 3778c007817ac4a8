"""By which version of the measures and of the licence rules something was measured and judged."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from catalogue.licence.verdict import RULES_VERSION

RULES = "2026-11-27"
"""Version of the measures: raise it when they change, so that the next scan measures again."""


def rules() -> str:
    """The version of the measures and of the licence rules."""
    return f"{RULES} {RULES_VERSION}"


def settings_mark(words: Sequence[str], every_instance: bool) -> str:
    """A mark of everything except the font that a record depends on: test words, instances, versions."""
    parts = [*words, str(every_instance), RULES, RULES_VERSION]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]
