"""All commands over a whole catalogue and many names, from the outside: faults in groups, with a command for each.

    python bench/soak.py CATALOGUE [--faces N] [--names N] [--seed 1] [--workers 1] [--only rank,check,tag]
                         [--work FOLDER] [--fresh] [--minutes M] [--sample awkward]

A fault is a traceback, an exit status outside the contract (3 is one), more than one line for a person's mistake, NaN
in JSON or no JSON, a file promised and missing or damaged, ``holds`` against its own number, two runs that differ, or a
letter lost in silence. Every name ranks the whole catalogue by each size kind and process; every face is checked and
cut with a name drawn by the seed, every name with at least 20 faces. The catalogue is copied first, never written to.

Results are kept in the work folder as they come: the same command again goes on where it stopped. ``--minutes`` stops
early and reports what was done. ``--sample awkward`` scans a fixed list of awkward fonts into CATALOGUE first (those of
Debian's packages and Python packages that are installed, and some made on the spot) and takes under three minutes.

Exit status 1 when there was a fault. Needs Linux (/proc, fork).
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "bench")]

from soaking import awkward, child, journal, steps, wide, world  # noqa: E402 - the path comes first
from soaking.mistakes import MISTAKES  # noqa: E402
from soaking.names import NAMES, PROCESSES, SIZES  # noqa: E402

Task = Callable[[steps.Session], None]


def main() -> int:
    args = _arguments()
    work: Path = args.work
    if args.fresh:
        shutil.rmtree(work, ignore_errors=True)
    (work / "home").mkdir(parents=True, exist_ok=True)
    began = time.monotonic()
    before = awkward.scanned(args.catalogue, work) if args.sample else []
    catalogue = _copy(args.catalogue, work)
    child.warm(catalogue, work / "warm", work / "home")
    faces, inspections = world.listed(catalogue, work / "home", work / "faces.json")
    print(f"{len(faces)} faces listed, {time.monotonic() - began:.0f} s", flush=True)
    at = world.World(
        catalogue, work / "home", faces, world.coverage(faces, work / "coverage.json"), world.commands_of(work / "home")
    )
    print(f"letters of {len(NAMES)} names looked up, {time.monotonic() - began:.0f} s", flush=True)
    some = random.Random(args.seed).sample(sorted(NAMES), min(args.names, len(NAMES)))
    names = awkward.NAMES if args.sample else some
    chosen = sorted(random.Random(args.seed).sample(sorted(faces), min(args.faces or len(faces), len(faces))))
    tasks = _tasks(at, names, chosen, args)
    tasks["inspect"] = lambda session: wide.inspected(session, [*before, *inspections])
    ran = _run(at, tasks, args)
    results = [result for result in journal.read(work / "journal.jsonl") if result["task"] in tasks]
    reached = {task.split("|")[1] for task in (r["task"] for r in results) if task.startswith("face|")}
    if ran < len(tasks):
        print(f"{len(tasks) - ran} of {len(tasks)} tasks not done yet; the same command goes on")
    return int(journal.report(results, len(reached), len(names), work / "faults.jsonl") > 0)


def _arguments() -> argparse.Namespace:
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("catalogue", type=Path)
    asked.add_argument("--faces", type=int, default=0, help="of the faces, so many (0: all)")
    asked.add_argument("--names", type=int, default=1000, help="of the names, so many")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--workers", type=int, default=1)
    asked.add_argument("--only", default="", help="of the commands, these: rank,check,tag,...")
    asked.add_argument("--sample", choices=["awkward"], help="the short run over a fixed list of awkward faces")
    asked.add_argument("--work", type=Path, help="folder of the run (default: CATALOGUE.soak)")
    asked.add_argument("--fresh", action="store_true", help="forget what an earlier run did")
    asked.add_argument("--minutes", type=float, default=0, help="stop after so many minutes (0: at the end)")
    args = asked.parse_args()
    args.work = (args.work or args.catalogue.with_suffix(".soak")).resolve()
    args.catalogue = args.catalogue.resolve()
    args.only = set(filter(None, args.only.split(",")))
    return args


def _copy(catalogue: Path, work: Path) -> Path:
    """The catalogue under test: a copy, with what lies beside it, made once a work folder."""
    target = work / "catalogue.sqlite"
    if not target.exists():
        for path in catalogue.parent.glob(catalogue.name + "*"):
            if path.is_file() and not path.name.endswith(".lock"):
                shutil.copy2(path, work / path.name.replace(catalogue.name, target.name))
    return target


def _tasks(at: world.World, names: list[str], faces: list[int], args: argparse.Namespace) -> dict[str, Task]:
    """Key to task, in the order they run: what is quick or wide first."""
    tasks: dict[str, Task] = {}
    only = args.only

    def some(*commands: str) -> bool:
        return not only or bool(only & set(commands))

    if some("mistakes"):
        for k, words in enumerate(MISTAKES):
            tasks[f"mistake|{k}"] = lambda session, k=k, words=words: steps.mistake_task(session, k, words)
    singles: dict[str, Task] = {
        "licence": wide.ledger_task, "process": wide.process_task, "demo": wide.demo_task,
        "output": wide.odd_output_task,
    }  # fmt: skip
    for command, task in singles.items():
        if some(command) and (command in at.options or command == "output") and not (args.sample and command == "demo"):
            tasks[command] = task
    for command, many in (("scan", wide.scan_task), ("orders", wide.orders_task)):
        for k in range((1 if args.sample else 2) if some(command) else 0):
            tasks[f"{command}|{k}"] = lambda session, k=k, many=many: many(session, k)
    by_name: dict[str, Task] = {}
    for case in names:
        if some("compare"):
            by_name[f"compare|{case}"] = lambda session, case=case: wide.compare_task(session, case)
        if some("groups") and (not args.sample or case == names[0]):
            by_name[f"groups|{case}"] = lambda session, case=case: wide.groups_task(session, case)
        for size in range(len(SIZES)) if some("rank") else ():
            for process in range(1 if args.sample else len(PROCESSES)):
                by_name[f"rank|{case}|{size}|{process}"] = lambda session, case=case, size=size, process=process: (
                    steps.rank_task(session, case, size, process)
                )
    pairs = awkward.pairs(at, faces) if args.sample else world.pairs(at, names, faces, args.seed)
    for case, face in pairs if some("check", "tag", "licence", "like") else ():
        by_name[f"face|{face}|{case}"] = lambda session, case=case, face=face: steps.face_task(session, case, face)
    keys = sorted(by_name)
    random.Random(args.seed).shuffle(keys)
    return tasks | {key: by_name[key] for key in keys}


def _run(at: world.World, tasks: dict[str, Task], args: argparse.Namespace) -> int:
    """Runs what the journal lacks, ``--workers`` tasks at a time, each in its own process; how many are done now."""
    path = args.work / "journal.jsonl"
    done = journal.done(path) & set(tasks)
    waiting = [key for key in tasks if key not in done]
    end = time.monotonic() + args.minutes * 60 if args.minutes else float("inf")
    running: dict[int, str] = {}
    count, failed, said = len(done), 0, time.monotonic()
    while waiting or running:
        if failed > 20:
            raise RuntimeError("the soak itself fails; see above")
        if time.monotonic() > end:
            waiting = []
        while waiting and len(running) < max(1, args.workers):
            key = waiting.pop(0)
            running[_start(at, key, tasks[key], path, args)] = key
        if not running:
            break
        pid, status = os.wait()
        if pid in running:
            key = running.pop(pid)
            count += not status
            if status:
                failed += 1
                how = os.waitstatus_to_exitcode(status)
                print(f"  the soak itself failed in task {key}: status {how}", flush=True)
        if time.monotonic() - said > 60:
            said = time.monotonic()
            print(f"  {count} of {len(tasks)} tasks", flush=True)
    return count


def _start(at: world.World, key: str, task: Task, path: Path, args: argparse.Namespace) -> int:
    """One task in a process of its own, which writes its line into the journal."""
    pid = os.fork()
    if pid:
        return pid
    status = 1
    try:
        scratch = args.work / "scratch" / key.replace("/", "-").replace("|", "-").replace(" ", "-")[:80]
        shutil.rmtree(scratch, ignore_errors=True)
        scratch.mkdir(parents=True)
        session = steps.Session(at, scratch, random.Random(f"{args.seed} {key}"), args.only)
        start = time.monotonic()
        task(session)
        row = journal.line(key, session.commands, time.monotonic() - start, session.faults, session.notes)
        with path.open("a") as file:
            file.write(row + "\n")
        shutil.rmtree(scratch, ignore_errors=True)
        status = 0
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        os._exit(status)


if __name__ == "__main__":
    sys.exit(main())
