"""Tasks about many faces at once, the catalogue itself, and a scan of one's own."""

from __future__ import annotations

import csv
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from soaking import judge, made
from soaking.child import Outcome, started
from soaking.names import NAMES, PROCESSES
from soaking.steps import Session

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet runs cells that start so (OWASP, CSV injection)."""


def compare_task(session: Session, case: str) -> None:
    """Four faces that cover the name, where there are, side by side, with a picture."""
    able = session.world.covering(case) or sorted(session.world.faces)
    faces = [str(face) for face in session.draw.sample(able, min(4, len(able)))]
    target = session.scratch / f"compare.{session.draw.choice(('svg', 'png'))}"
    argv = session.world.at("compare", *faces, "--process", session.draw.choice(PROCESSES), f"--name={NAMES[case]}")
    outcome, rows = session.json(argv, case)
    for row in rows or []:
        lost = session.world.lacks.get(case, {}).get(row["face"])
        session.add(judge.check_faults(row, None, lost), outcome, case, row["face"])
    if rows is not None and len(rows) != len(faces):
        session.add([("faces left out in silence", f"compare: {len(faces)} asked, {len(rows)} rows")], outcome, case)
    drawn = session.run([*argv, "--picture", str(target)], case)
    if drawn.status in (0, 1):
        session.add(made.picture_faults(target), drawn, case)
    target.unlink(missing_ok=True)


def groups_task(session: Session, case: str) -> None:
    """Style groups, each face in one of them at most; the sheet drawn with this name."""
    outcome, rows = session.json(session.world.at("groups"), case)
    if rows is not None:
        faces = [face for row in rows for face in row["faces"]]
        if len(set(faces)) != len(faces):
            session.add([("groups: a face in two groups", "groups")], outcome, case)
        if set(faces) - set(session.world.faces):
            session.add([("groups: a face that is not in the catalogue", "groups")], outcome, case)
    session.run(session.world.at("groups"), case)
    target = session.scratch / f"groups.{session.draw.choice(('svg', 'png'))}"
    drawn = session.run(session.world.at("groups", "--picture", str(target), f"--name={NAMES[case]}"), case)
    if drawn.status in (0, 1):
        session.add(made.picture_faults(target), drawn, case)
    target.unlink(missing_ok=True)


def ledger_task(session: Session) -> None:
    """Verdicts of the whole catalogue and of a folder as CSV, one row a face, each a verdict; health well."""
    target = session.scratch / "ledger.csv"
    outcome = session.run(session.world.at("licence", "--ledger", str(target)))
    if outcome.status in (0, 1) and target.exists():
        with target.open(newline="", encoding="utf-8-sig") as file:
            session.add(_csv_faults(list(csv.reader(file)), len(_files(session))), outcome)
    else:
        session.add([("file promised and missing", "ledger.csv")], outcome)
    folders = sorted({str(Path(face.path).parent) for face in session.world.faces.values()})
    for folder in session.draw.sample(folders, min(12, len(folders))):
        listed = session.run(session.world.at("licence", folder, "--csv"))
        if listed.status in (0, 1):
            session.add(_csv_faults(list(csv.reader(listed.stdout.splitlines())), None), listed)
    outcome, row = session.json(session.world.at("health"))
    if row is not None and not row["well"]:
        session.note("health finds something", outcome, "")
    session.run(session.world.at("health"))


def orders_task(session: Session, number: int) -> None:
    """Sixty rows of names and faces in one file, twice: a row each, files as promised, the second run the same.

    Even numbers also ask for the best face, which ranks; odd ones do not, so that a fault of ranking hides nothing.
    """
    sheet, out = session.scratch / f"orders{number}.csv", session.scratch / f"orders{number}"
    cases = session.draw.sample(sorted(NAMES), 60)
    with sheet.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file)
        rows.writerow(["order", "name", "face", "cap_height", "process", "quantity"])
        for k, case in enumerate(cases):
            able = session.world.covering(case) or sorted(session.world.faces)
            face = "best" if k % 7 == 0 and number % 2 == 0 else str(session.draw.choice(able))
            rows.writerow([f"T-{k}", NAMES[case], face, session.draw.choice(("", "12mm", "20mm")), "", "1"])
    argv = session.world.at("orders", str(sheet), "--out", str(out), "--workers", "1")
    outcome, answer = session.json(argv)
    _orders_answer(session, outcome, answer, out, len(cases))
    _second, again = session.json(argv)
    if answer is not None and again is not None and _plain(answer) != _plain(again):
        session.add([("two runs that differ", "orders: rows of the second run")], _second)
    shutil.rmtree(out, ignore_errors=True)
    sheet.unlink()


def scan_task(session: Session, number: int) -> None:
    """Forty files of the catalogue scanned anew with one and with two workers: the same rows, then nothing to do."""
    files = session.draw.sample(_files(session), min(40, len(_files(session))))
    told: list[Any] = []
    for workers in ("1", "2"):
        target = session.scratch / f"scan{number}-{workers}.sqlite"
        argv = ["scan", *files, "--catalogue", str(target), "--workers", workers]
        outcome, counts = session.json(argv)
        if counts is not None and counts["files"] != len(files):
            session.add([("files left out in silence", f"scan: {counts['files']} of {len(files)}")], outcome)
        _, again = session.json(argv)
        if counts is not None and again is not None and again["skipped_unchanged"] < counts["files"] - counts["failed"]:
            session.add([("an unchanged file is read again", f"scan: {again}")], outcome)
        ranked, rows = session.json(["rank", "Marlie", "--top", "0", "--verify", "0", "--catalogue", str(target)])
        told.append(sorted((row["path"], row["style"], row["hold"], row["neck_mm"]) for row in rows or []))
        if len(told) == 2 and told[0] != told[1]:
            session.add([("two runs that differ", "scan: with one worker and with two")], ranked)
        for path in session.scratch.glob(f"scan{number}-*"):
            path.unlink()


def process_task(session: Session) -> None:
    """Profiles listed, the test print written, one saved and used."""
    session.run(["process", "list"])
    session.json(["process", "list"])
    out = session.scratch / "coupon"
    outcome = session.run(["process", "coupon", "--out", str(out)])
    if outcome.status == 0 and not (out.is_dir() and any(out.iterdir())):
        session.add([("file promised and missing", "coupon")], outcome)
    session.run(["process", "save", "soak", "--least-wall", "0.7mm", "--least-gap", "0.4mm", "--least-hole", "1mm"])
    session.run(session.world.at("rank", "Marlie", "--process", "soak", "--top", "3"))


def demo_task(session: Session) -> None:
    """The first command of a new user, in a catalogue of its own."""
    target = session.scratch / "demo.sqlite"
    session.run(["demo", "--catalogue", str(target)])
    session.json(["demo", "Zoë", "--catalogue", str(target)])


def inspected(session: Session, outcomes: list[Outcome]) -> None:
    """What ``inspect`` of every face did when the faces were listed."""
    for outcome in outcomes:
        session.commands += 1
        face = int(outcome.argv[1])
        session.add(judge.outcome_faults(outcome), outcome, face=face)
        row, wrong = judge.data(outcome)
        session.add([*wrong, *dict.fromkeys(judge.figures(row))], outcome, face=face)
    for face in session.draw.sample(sorted(session.world.faces), min(60, len(session.world.faces))):
        session.run(session.world.at("inspect", str(face)), face=face)


def odd_output_task(session: Session) -> None:
    """Output to a place that takes ASCII alone."""
    for argv in (["rank", "Zoë", "--top", "5"], ["check", "Zoë", "--face", str(min(session.world.faces))], ["groups"]):
        ascii_only = {"PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PYTHONUTF8": "0"}
        outcome = started(session.world.at(*argv), session.world.home, **ascii_only)
        session.commands += 1
        session.add(judge.outcome_faults(outcome), outcome)


def _files(session: Session) -> list[str]:
    return sorted({face.path for face in session.world.faces.values()})


def _csv_faults(rows: list[list[str]], files: int | None) -> Iterator[tuple[str, str]]:
    if not rows or rows[0] != ["path", "face_index", "family", "style", "spdx", "verdict"]:
        yield "columns outside the contract", f"licence CSV: {rows[0] if rows else 'empty'}"
        return
    for row in rows[1:]:
        if len(row) != 6:
            yield "invalid CSV", f"licence CSV: {len(row)} cells"
        elif row[5] not in {"yes", "yes-conditions", "ask", "no", "unknown"}:
            yield "verdict outside the contract", f"licence CSV: {row[5]}"
        elif any(cell.startswith(FORMULA_STARTS) and not cell.startswith("-0") for cell in row):
            yield "a cell a spreadsheet would run", f"licence CSV: {row[2]}"
    if files is not None and len(rows) - 1 < files:
        yield "faces left out in silence", f"licence --ledger: {len(rows) - 1} rows of {files} files"


def _orders_answer(session: Session, outcome: Outcome, answer: Any, out: Path, count: int) -> None:
    """A row for each order and what it promises."""
    if answer is None:
        return
    if len(answer) != count:
        session.add([("faces left out in silence", f"orders: {len(answer)} rows for {count} orders")], outcome)
    for name in ("results.csv",):
        if not (out / name).exists():
            session.add([("file promised and missing", f"orders: {name}")], outcome)
    for archive in out.rglob("*.zip"):
        if not zipfile.is_zipfile(archive):
            session.add([("damaged file", "orders: zip")], outcome)
    for path in out.rglob("*"):
        if path.is_file() and path.suffix in {".svg", ".3mf", ".json", ".html"}:
            session.add(made.picture_faults(path), outcome)


def _plain(rows: Any) -> Any:
    """Rows without what the second run may say otherwise."""
    volatile = {"seconds", "state", "status", "result", "made", "kept", "when", "note"}
    return [{key: cell for key, cell in row.items() if key not in volatile} for row in rows]
