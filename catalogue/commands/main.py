"""Entry point of the ``letterhold`` command: the table of commands, and every error to an exit status in one place.

Exit status: 0 done; 1 done, but the answer is "no"; 2 wrong use or unreadable input, with one line on what to do; 3 a
fault of the program, with one line and the file that holds the details.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from catalogue.errors import LetterholdError

DONE, NO, WRONG_USE, FAULT = range(4)
"""The exit statuses."""


@dataclass(frozen=True, slots=True)
class Command:
    """What ``--help`` shows of a command. Its module of the same name adds its options and runs it."""

    summary: str
    example: str


COMMANDS = {
    "scan": Command("read every font under the paths into the catalogue", "scan ~/fonts"),
    "rank": Command("order the faces by hold for a name", 'rank "Marlie" --cap-height 14mm'),
    "inspect": Command("show one face: measures, coverage, licence", 'inspect "Lobster Regular"'),
    "check": Command("measure one name in one face in full", 'check Marlie --face "Lobster Regular"'),
    "licence": Command("evidence and sell verdict of a font", "licence ~/fonts/Some.ttf"),
    "tag": Command(
        "make a name hold and write the files to print it", 'tag Marlie --face "Lobster Regular" --out marlie'
    ),
    "orders": Command("make the tags of a CSV of orders", "orders orders.csv --out shop"),
    "groups": Command("style groups, each with what speaks for it", "groups --picture groups.png"),
    "like": Command("faces that look like one", 'like "Lobster Regular"'),
    "compare": Command(
        "chosen faces side by side on one millimetre scale and baseline, with their measures",
        'compare "Lobster Regular" "Anton Regular" --name Marlie --picture both.svg',
    ),
    "process": Command("profiles of printers, and a test print to measure your own", "process coupon --out coupon"),
    "printed": Command("keep what became of a print; how often each hold held", "printed marlie --result held"),
    "page": Command("browse, compare and take away in the browser, on this machine only", "page"),
    "health": Command("check the installation and the catalogue", "health"),
    "merge": Command("put the partitions of 'scan --parts' into the catalogue", "merge /mnt/share/parts"),
    "demo": Command("scan the demo fonts that came with the install and rank a name", "demo"),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status. Raises SystemExit for ``--help`` and for wrong options."""
    try:
        _prepare_output()
        parser = parser_of(sys.argv[1:] if arguments is None else arguments)
        options = parser.parse_args(arguments)
        if not hasattr(options, "run"):
            parser.print_help()
            return DONE
        status = int(options.run(options))
        sys.stdout.flush()  # here, where a full disk or a closed pipe is still reported
        return status
    except SystemExit:
        raise
    except BaseException as error:
        return _ended_by(error)


def parser_of(arguments: Sequence[str]) -> argparse.ArgumentParser:
    """The parser of all commands; only the command that ``arguments`` ask for is loaded and has its options."""
    parser = _Parser(
        prog="letterhold",
        description="Finds fonts whose letters hold together when a name is cut as a solid tag and printed.",
        epilog="Start with: letterhold demo",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Parser)
    asked = next((a for a in arguments if not a.startswith("-")), "")
    for name, facts in COMMANDS.items():
        command = commands.add_parser(
            name, help=facts.summary, description=facts.summary, epilog=f"Example: letterhold {facts.example}"
        )
        if name == asked:
            module = importlib.import_module(f"catalogue.commands.{name}")
            command.add_argument(
                "--catalogue", type=Path, metavar="FILE", help="catalogue file (default: in your data folder)"
            )
            module.add_arguments(command)
            command.set_defaults(run=module.run)
    return parser


class _Parser(argparse.ArgumentParser):
    """Names the nearest command or choice in its complaint, in one line."""

    def error(self, message: str) -> NoReturn:
        import difflib  # only for a slip of the pen
        import re

        match = re.search(r"(argument -\S+: )?[^:]*invalid choice: '?([^']*?)'? \(choose from (.*)\)", message)
        if match:
            choices = [c.strip(" '") for c in match[3].split(",")]
            near = difflib.get_close_matches(match[2], choices, 1, 0.5)
            hint = f"did you mean {near[0]}?" if near else f"use one of {', '.join(choices)}"
            message = f"{match[1] or ''}{match[2]!r} is not known; {hint}"
        self.exit(WRONG_USE, f"{self.prog}: {' '.join(message.split())}; see {self.prog} --help\n")


def _prepare_output() -> None:
    """Letters that the output's encoding lacks are written as escapes; what goes to a closed output is dropped."""
    # Open as long as the program runs.
    sys.stdout = sys.stdout or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError, ValueError):  # a stream that another program put there
            stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]


def _ended_by(error: BaseException) -> int:
    """One line on what ended the command, and the exit status."""
    if isinstance(error, BrokenPipeError):  # the reader of our output has seen enough
        # Python would complain once more at its end, when it flushes what nobody reads.
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    if isinstance(error, KeyboardInterrupt):
        _say("stopped; what was done is kept, run the same command to go on")
    elif isinstance(error, LetterholdError):
        _say(str(error))
    elif isinstance(error, OSError) and error.errno:
        where = f"{error.filename}: " if error.filename else ""
        _say(f"{where}{(error.strerror or str(error)).lower()}; check the path, its rights and the free space")
    else:
        from catalogue.faults import keep_details  # only for a fault

        _say(f"this is a fault in letterhold, not in your input; details in {keep_details(error)}")
        return FAULT
    return WRONG_USE


def _say(line: str) -> None:
    """One line on standard error, whatever the text contains."""
    with contextlib.suppress(OSError, ValueError):  # nobody listens
        print(f"letterhold: {' '.join(line.split())}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    raise SystemExit(main())
