"""Errors that the rooms share; see ``scanner.errors`` for what the base means."""

from __future__ import annotations

from scanner.errors import LetterholdError

__all__ = ["CatalogueError", "LetterholdError", "UsageError"]


class UsageError(LetterholdError):
    """Wrong use of a command, an option or a function; the message is one line that ends with what to do."""


class CatalogueError(LetterholdError):
    """A catalogue that cannot be used; one line that ends with what to do."""
