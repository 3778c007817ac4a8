"""Errors that the rooms share; see ``scanner.errors`` for what the base means."""

from __future__ import annotations

from scanner.errors import LetterholdError

__all__ = ["LetterholdError"]
