"""The ``printed`` command: keeps what became of a print; reports how often each level of hold held."""

from __future__ import annotations

import argparse
import datetime
import sys
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path

from catalogue.commands.options import as_json, catalogue_of, print_json
from catalogue.errors import LetterholdError, UsageError
from catalogue.judge.process import Process, load_process
from catalogue.tag.printed import kept
from catalogue.tag.printed.jobs import job_facts
from catalogue.tag.printed.outcome import MOST_WHERE, RESULTS, Outcome, Seen, outcome_of
from catalogue.tag.printed.report import Level, against, levels_of
from catalogue.wording import CAUTION, count_of


def add_arguments(printed: argparse.ArgumentParser) -> None:
    """The options of ``printed``."""
    printed.add_argument(
        "tag", nargs="?", metavar="TAG", help="folder of a tag or its job.json; with --in an order's number"
    )
    printed.add_argument("--in", dest="orders", type=Path, metavar="DIR", help="folder that 'orders' wrote")
    printed.add_argument("--result", choices=tuple(RESULTS), help="what became of it")
    printed.add_argument("--where", default="", metavar="TEXT", help="where it broke or closed, in your words")
    printed.add_argument("--report", action="store_true", help="how often each level of hold held")
    printed.add_argument("--process", metavar="NAME", help="with --report: only prints of this profile")
    printed.add_argument("--undo", action="store_true", help="take back what was kept last")
    as_json(printed)


def run(options: argparse.Namespace) -> int:
    """Keep, take back, or report."""
    catalogue = catalogue_of(options)
    if not catalogue.is_file():
        raise UsageError(f"{catalogue}: no catalogue there yet; run 'letterhold scan FOLDER' first")
    if sum((bool(options.tag), options.report, options.undo)) != 1:
        raise UsageError("give the TAG that was printed with --result, or --report, or --undo")
    if options.report:
        return _report(options, catalogue)
    if options.undo:
        return _show(options, kept.take_back(catalogue), "taken back")
    if options.result is None:
        raise UsageError(f"what became of it? Give --result with one of {', '.join(RESULTS)}")
    facts = job_facts(options.tag, options.orders)
    seen = Seen(options.result, options.where[:MOST_WHERE], datetime.date.today().isoformat())
    outcome = outcome_of(facts, _process(str(facts.get("process", ""))), seen)
    kept.add(catalogue, outcome)
    return _show(options, outcome, "kept")


def _process(name: str) -> Process | None:
    """The profile as it is now; None where it is gone."""
    with suppress(LetterholdError):
        return load_process(name)
    return None


def _show(options: argparse.Namespace, outcome: Outcome, done: str) -> int:
    if options.json:
        print_json(outcome.as_json())
    else:
        where = f", {outcome.where}" if outcome.where else ""
        print(f"{done}: “{outcome.name}” in {outcome.face} on {outcome.process}, hold {outcome.hold}: "
              f"{RESULTS[outcome.result]}{where}")  # fmt: skip
    return 0


def _report(options: argparse.Namespace, catalogue: Path) -> int:
    found = kept.read(catalogue)
    chosen = [o for o in found.outcomes if options.process in (None, o.process)]
    levels = levels_of(chosen)
    lines = against(levels)
    if options.json:
        print_json({
            "prints": len(chosen), "unreadable": found.unreadable, "file": str(kept.path_of(catalogue)),
            "levels": [asdict(v) | {"printed": v.printed, "interval": asdict(v.interval)} for v in levels],
            "against": list(lines),
        })  # fmt: skip
    else:
        _print_report(chosen, levels, lines)
    if found.unreadable:
        print(
            f"letterhold: {count_of(found.unreadable, 'line')} of {kept.path_of(catalogue)} cannot be read and count"
            " for nothing; mend or delete them in a text editor",
            file=sys.stderr,
        )
    return 0


def _print_report(chosen: list[Outcome], levels: tuple[Level, ...], lines: tuple[str, ...]) -> None:
    if not chosen:
        print("no print is kept yet; after the next one: letterhold printed TAG --result held")
        return
    print(f"{count_of(len(chosen), 'print')}; the interval holds the true share in 95 of 100 such counts (Wilson)")
    print(f"  {'hold':<11}{'printed':>8}{'held':>6}{'broke':>7}{'closed':>8}   share that held")
    for level in reversed(levels):
        row = f"  {level.words:<11}{level.printed:>8}{level.held:>6}{level.broke:>7}{level.closed:>8}"
        if level.printed:
            low, high = level.interval.low, level.interval.high
            row += f"   {level.held / level.printed:.0%}, {low:.0%} to {high:.0%}"
        print(row)
    for line in lines or ("nothing in these counts speaks against the weights of hold",):
        print(f"  {line}")
    print("  no outcome changes hold; the counts stay on this machine")
    print(CAUTION)
