"""What several commands share: options of a judgement, values read from text, the catalogue that was asked for."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalogue.errors import UsageError

if TYPE_CHECKING:
    from catalogue.judge.request import Request, Size
    from catalogue.store.database import Store

FACE_HELP = "catalogue number, 'Family Style' or path#index"


# ── options ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def judging(command: argparse.ArgumentParser) -> None:
    """Options that say at which size, on which printer and in which language a name is judged."""
    size = command.add_mutually_exclusive_group()
    size.add_argument("--cap-height", type=length, metavar="LENGTH", help="height of the capitals (default 14mm)")
    size.add_argument("--x-height", type=length, metavar="LENGTH", help="height of the small letters")
    size.add_argument("--width", type=length, metavar="LENGTH", help="width of the whole tag without the ring")
    command.add_argument(
        "--process", default="nozzle-0.4", metavar="NAME", help="process profile or path of a TOML file"
    )
    command.add_argument(
        "--offset", type=length, default=1.0, metavar="LENGTH", help="offset of the base (default 1mm)"
    )
    command.add_argument("--language", metavar="TAG", help="language of the name, such as tr or sr")


def as_json(command: argparse.ArgumentParser) -> None:
    """The option ``--json``."""
    command.add_argument("--json", action="store_true", help="print JSON")


def picture_to(command: argparse.ArgumentParser, shows: str) -> None:
    """The option ``--picture``; ``picture_path`` checks it before the work is done."""
    command.add_argument("--picture", type=Path, metavar="OUT", help=f"write {shows}, .svg or .png")


# ── values ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def length(text: str) -> float:
    """A length in mm, from text as 14mm or 0.55in."""
    from scanner.units import parse_length_mm  # not needed for --help

    try:
        return parse_length_mm(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def length_or_zero(text: str) -> float:
    """A length in mm that may be nothing."""
    return 0.0 if text.strip() in ("0", "0mm", "0in") else length(text)


def count(text: str) -> int:
    """A whole number, 0 or above."""
    if not (text.isascii() and text.isdecimal()) or len(text) > 6:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number; write it as 20")
    return int(text)


def place(text: str) -> Path | str:
    """A path, or the address of a store as text."""
    from scanner.files import place_of  # not needed for --help

    return place_of(text)


def place_as_text(text: str) -> str:
    """A path or the address of a store, both as text."""
    return str(place(text))


# ── what the options ask for ────────────────────────────────────────────────────────────────────────────────────────


def size_of(options: argparse.Namespace) -> Size:
    """The size that was asked for: capitals of 14 mm where none was."""
    from catalogue.judge.request import DEFAULT_CAP_HEIGHT_MM, Size  # not needed for --help

    if options.width:
        return Size("width", options.width)
    if options.x_height:
        return Size("x-height", options.x_height)
    return Size("cap-height", options.cap_height or DEFAULT_CAP_HEIGHT_MM)


def request_of(options: argparse.Namespace) -> Request:
    r"""The request of a command that judges a name; \n starts a new line, as for tag. Raises LetterholdError for a name
    that cannot be set."""
    from catalogue.judge.lines import lines_of, typed_lines  # not needed for --help
    from catalogue.judge.process import load_process
    from catalogue.judge.request import Request
    from catalogue.judge.stack import default_stack
    from scanner.names import check_name

    name = typed_lines(options.name)
    check_name(" ".join(name.split()))
    lines_of(name)
    process = load_process(options.process)
    return Request.of(name, size_of(options), process, default_stack(options.offset), options.language)


def catalogue_of(options: argparse.Namespace) -> Path:
    """The catalogue to read: the one that was named, else the usual one."""
    from catalogue.folders import usual_catalogue  # not needed for --help

    path: Path = options.catalogue or usual_catalogue()
    return path


def open_store(options: argparse.Namespace) -> Store:
    """The catalogue to read, as an open store."""
    from catalogue.store.database import Store  # not needed for --help

    return Store(catalogue_of(options))


def picture_path(path: Path | None) -> None:
    """Raise UsageError, before the work is done, when a picture could not be written."""
    if path and not path.absolute().parent.is_dir():
        raise UsageError(f"{path.parent}: no such folder; make it first or name another")
    if path and path.suffix.lower() not in (".svg", ".png"):
        raise UsageError(f"{path}: a picture is .svg or .png; give the file one of these endings")


# ── output ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def print_json(facts: object) -> None:
    """Facts as JSON: letters as they are where the output takes them, else as JSON's own escapes."""
    plain = (getattr(sys.stdout, "encoding", None) or "utf-8").casefold().replace("-", "") not in ("utf8", "utf8sig")
    # A lone surrogate, which no encoding has, is written by the output itself as an escape that JSON reads.
    print(json.dumps(facts, indent=1, ensure_ascii=plain))


def number(value: float | None) -> str:
    """Two decimals, a dash where there is no number."""
    return "-" if value is None else f"{value:.2f}"


def progress(items: Iterable[Any], total: int, label: str, unit: str = "font") -> Iterable[Any]:
    """A progress bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty() or total == 0:
        return items
    from tqdm import tqdm  # only on a terminal

    bar: Iterable[Any] = tqdm(items, total=total, desc=label, unit=unit, leave=False)
    return bar
