"""What a licence comes to: whether goods may be sold, or outlines altered."""

from __future__ import annotations

from enum import StrEnum


class Permission(StrEnum):
    """An answer; its text is what the catalogue stores and JSON shows."""

    YES = "yes"
    CONDITIONS = "yes-conditions"
    ASK = "ask"
    NO = "no"
    UNKNOWN = "unknown"


MAY_BE_SOLD = (Permission.YES, Permission.CONDITIONS)
"""Answers under which goods may be sold."""
STRICTER = (Permission.YES, Permission.CONDITIONS, Permission.ASK, Permission.NO)
"""What terms can say, from most permissive to strictest."""
