"""What a person asks for: a name in lines, how large, on which printer, in which stack. Pure; all lengths in mm."""

from __future__ import annotations

import re
from dataclasses import dataclass

from catalogue.errors import LetterholdError
from catalogue.judge.process import Process
from catalogue.judge.stack import Layer

SIZE_KINDS = ("cap-height", "x-height", "width")

_LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8}){0,8}")
"""Shape of a language tag (BCP 47, section 2.1, without its registry)."""

DEFAULT_CAP_HEIGHT_MM = 14.0
"""Height of the capitals where no size is asked for."""


@dataclass(frozen=True, slots=True)
class Size:
    """How large the name is to be: by cap height, x-height or whole width, in mm."""

    kind: str
    mm: float

    def __post_init__(self) -> None:
        if self.kind not in SIZE_KINDS:
            raise LetterholdError(f"unknown size {self.kind!r}; use cap-height, x-height or width")


@dataclass(frozen=True, slots=True)
class Request:
    """One name to be judged or made, the same for command, page and order row."""

    lines: tuple[str, ...]
    """Lines of the name from top to bottom, as typed."""
    size: Size
    process: Process
    stack: tuple[Layer, ...]
    language: str | None = None
    """BCP 47 tag for shaping; None lets the shaper guess."""

    def __post_init__(self) -> None:
        if self.language is not None and not _LANGUAGE.fullmatch(self.language):
            raise LetterholdError(f"language {self.language!r} is no language tag; write it as tr, sr or zh-Hant")

    @classmethod
    def of(
        cls, name: str, size: Size, process: Process, stack: tuple[Layer, ...], language: str | None = None
    ) -> Request:
        r"""A request from text with its lines parted by newlines.

        >>> from catalogue.judge.process import load_process
        >>> Request.of("Anna\nLee", Size("cap-height", 14.0), load_process("nozzle-0.4"), ()).lines
        ('Anna', 'Lee')
        """
        return cls(tuple(name.splitlines()) or ("",), size, process, stack, language)

    @property
    def text(self) -> str:
        """The name with its lines parted by newlines."""
        return "\n".join(self.lines)

    @property
    def name(self) -> str:
        """The name in one line."""
        return " ".join(self.lines)

    @property
    def shown(self) -> str:
        """The name in one line as a person reads it, its lines parted by strokes."""
        return " / ".join(self.lines)

    @property
    def base_offset_mm(self) -> float:
        """Offset of the widest layer."""
        return max(layer.offset_mm for layer in self.stack)
