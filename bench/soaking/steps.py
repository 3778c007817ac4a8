"""Tasks about one name in one face, and one name in the whole catalogue."""

from __future__ import annotations

import json
import random
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from soaking import ink, judge, made
from soaking.child import Outcome, forked, started
from soaking.judge import Fault
from soaking.names import NAMES, ODD_SIZES, PROCESSES, SIZES
from soaking.world import World


@dataclass
class Session:
    """What one task runs its commands with, and what it found."""

    world: World
    scratch: Path
    draw: random.Random
    only: set[str]
    true_share: float = 0.03
    """Share of commands that run again as a true process, whose output must be the same."""
    faults: list[Fault] = field(default_factory=list)
    notes: list[Fault] = field(default_factory=list)
    commands: int = 0

    def wants(self, command: str) -> bool:
        return (not self.only or command in self.only) and command in self.world.options

    def run(self, argv: list[str], case: str = "", face: int | None = None, mistake: bool = False) -> Outcome:
        """One command, judged as any command is."""
        outcome = forked(argv, self.world.home)
        self.commands += 1
        self.add(judge.outcome_faults(outcome, mistake), outcome, case, face)
        if self.draw.random() < self.true_share:
            self.again(outcome, case, face)
        return outcome

    def again(self, first: Outcome, case: str, face: int | None) -> None:
        """The same command as a process with hashes of its own: the same words and status."""
        second = started(first.argv, self.world.home, PYTHONHASHSEED=str(self.draw.randrange(1, 1000)))
        self.commands += 1
        self.add(judge.outcome_faults(second), second, case, face)
        said = [(o.status, judge.steady(o.stdout), judge.steady(o.stderr)) for o in (first, second)]
        broken = any("Traceback" in said_err or "Warning" in said_err for _, _, said_err in said)
        if said[0] != said[1] and None not in (first.status, second.status) and not broken:
            part = next(k for k in range(3) if said[0][k] != said[1][k])
            what = f"{first.argv[0]}: {('exit status', 'output', 'errors')[part]} differs"
            self.add([("two runs that differ", what)], first, case, face)

    def json(self, argv: list[str], case: str = "", face: int | None = None) -> tuple[Outcome, Any]:
        """One command with ``--json`` and what it printed."""
        outcome = self.run([*argv[:1], "--json", *argv[1:]], case, face)
        row, wrong = judge.data(outcome)
        self.add(wrong, outcome, case, face)
        if row is not None:
            self.add(dict.fromkeys(judge.figures(row)), outcome, case, face)
        return outcome, row

    def add(self, found: Any, outcome: Outcome, case: str = "", face: int | None = None) -> None:
        """Keeps what was found wrong with this outcome."""
        for kind, message in found:
            self.faults.append(Fault(kind, judge.signature(message), message[:500], self._shown(outcome), face, case))

    def note(self, kind: str, outcome: Outcome, case: str, face: int | None = None) -> None:
        """Keeps what is no fault but should be looked at."""
        said = outcome.stderr.strip()[:300]
        self.notes.append(Fault(kind, judge.signature(said), said, self._shown(outcome), face, case))

    def _shown(self, outcome: Outcome) -> str:
        return outcome.shown.replace(str(self.world.catalogue), "$CATALOGUE").replace(str(self.scratch), "$SCRATCH")


def named(name: str) -> list[str]:
    """The name as the last words of a command."""
    return ["--", name] if name.startswith("-") else [name]


def face_task(session: Session, case: str, face: int) -> None:
    """One name in one face by every command that takes a face."""
    size = [*session.draw.choice(SIZES if session.draw.random() < 0.7 else ODD_SIZES)]
    process = ["--process", session.draw.choice(PROCESSES)]
    how = [*size, *process]
    if session.wants("check"):
        row = check(session, case, face, how)
        if session.draw.random() < 0.3:
            picture(session, case, face, how)
        if session.wants("tag"):
            tag(session, case, face, how, row)
    elif session.wants("tag"):
        tag(session, case, face, how, None)
    if session.wants("licence"):
        licence(session, face)
    if session.wants("like"):
        _outcome, rows = session.json(session.world.at("like", str(face), "--top", "5"), face=face)
        near = [row["face"] for row in rows or []]
        if len(set(near)) != len(near) or face in near:
            session.add([("like: a face twice, or itself", "like")], _outcome, face=face)


def check(session: Session, case: str, face: int, how: list[str]) -> dict[str, Any] | None:
    """``check`` as JSON and, of some, as text, which must say the same."""
    lost = session.world.lacks.get(case, {}).get(face)
    argv = session.world.at("check", "--face", str(face), *how, *named(NAMES[case]))
    outcome, row = session.json(argv, case, face)
    if row is not None:
        session.add(judge.check_faults(row, outcome.status, lost), outcome, case, face)
    elif outcome.status == 2 and lost == "" and ink.wanted(NAMES[case]) and "\\n" not in NAMES[case]:
        session.note("check refuses a name the face covers", outcome, case, face)
    if row is not None and session.draw.random() < 0.2:
        words = session.run(argv, case, face)
        holds = "does not hold" not in words.stdout
        if words.status != outcome.status or holds != row["holds"] or f"hold {row['hold']} of" not in words.stdout:
            session.add([("text against JSON", "check")], words, case, face)
    return row if isinstance(row, dict) else None


def picture(session: Session, case: str, face: int, how: list[str]) -> None:
    """The picture of the weak spots."""
    target = session.scratch / f"weak.{session.draw.choice(('svg', 'png'))}"
    argv = session.world.at("check", "--face", str(face), "--picture", str(target), *how, *named(NAMES[case]))
    outcome = session.run(argv, case, face)
    if outcome.status in (0, 1):
        session.add(made.picture_faults(target), outcome, case, face)
    target.unlink(missing_ok=True)


def tag(session: Session, case: str, face: int, how: list[str], checked: dict[str, Any] | None) -> None:
    """``tag`` in all formats, its files, and every letter in them."""
    lost = session.world.lacks.get(case, {}).get(face)
    out = session.scratch / "tag"
    shutil.rmtree(out, ignore_errors=True)
    argv = session.world.at("tag", "--face", str(face), "--out", str(out), *how, *named(NAMES[case]))
    outcome, row = session.json(argv, case, face)
    if row is None:
        if outcome.status == 2 and out.exists() and any(out.iterdir()):
            session.add([("files made by a command that says it failed", "tag")], outcome, case, face)
        if outcome.status == 2 and lost == "" and ink.wanted(NAMES[case]):
            session.note("tag refuses a name the face covers", outcome, case, face)
        return
    session.add(judge.tag_faults(row, outcome.status, lost), outcome, case, face)
    if not row["files"] and not row["holds"]:
        if out.exists() and any(out.iterdir()):
            session.add([("file made and not promised", "tag: does not hold")], outcome, case, face)
        return
    session.add(made.file_faults(row["files"], out), outcome, case, face)
    session.add(_seen(session, case, face, out, row, checked), outcome, case, face)
    if session.draw.random() < 0.03:
        before = made.digests(out)
        shutil.rmtree(out)
        second = started(outcome.argv, session.world.home, PYTHONHASHSEED="7")
        session.commands += 1
        after = made.digests(out) if out.exists() else {}
        differ = sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))
        if differ:
            session.add([("two runs that differ", f"tag: {', '.join(differ)}")], second, case, face)
    shutil.rmtree(out, ignore_errors=True)


def _seen(
    session: Session, case: str, face: int, out: Path, row: dict[str, Any], checked: dict[str, Any] | None
) -> Iterator[tuple[str, str]]:
    """The ink of the tag, where our own shaping can say what it must be."""
    who, name = session.world.faces[face], NAMES[case]
    plain = "\\n" not in name and not (any("\u0590" <= c <= "\u08ff" for c in name) and any(c.isascii() for c in name))
    lost = session.world.lacks.get(case, {}).get(face)
    changed = who.instance or row.get("weight") or _is_moved(row.get("by_hand", {}))
    if not plain or changed or not checked or lost:
        return
    if not (out / "layer-top.svg").exists():
        return
    em_mm = checked["em_mm"] * row["cap_height_mm"] / checked["cap_height_mm"] if checked["cap_height_mm"] else 0
    if not em_mm or em_mm != em_mm:
        return
    with ink.opened(who.path, who.index) as font:
        yield from made.lost_ink(font, name, out, row, em_mm)


def _is_moved(by_hand: dict[str, Any]) -> bool:
    """Whether single letters stand elsewhere, or are drawn otherwise, than our own shaping has them."""
    return bool(by_hand.get("forms_off") or by_hand.get("gaps"))


def licence(session: Session, face: int) -> None:
    """The verdict and, of some, the record."""
    outcome, row = session.json(session.world.at("licence", str(face)), face=face)
    if row is not None:
        if row["verdict"] not in {"yes", "yes-conditions", "ask", "no", "unknown"}:
            session.add([("verdict outside the contract", f"licence: {row['verdict']}")], outcome, face=face)
        if not row["reasons"]:
            session.add([("no reason given", "licence: no reasons")], outcome, face=face)
    if session.draw.random() < 0.3:
        target = session.scratch / "record.zip"
        record = session.run(session.world.at("licence", str(face), "--record", str(target)), face=face)
        if record.status in (0, 1):
            session.add(made.picture_faults(target), record, face=face)
        if row is not None and record.status != outcome.status:
            session.add([("exit status differs between --json and --record", "licence")], record, face=face)
        target.unlink(missing_ok=True)


def rank_task(session: Session, case: str, size: int, process: int) -> None:
    """The whole catalogue ranked for one name in one way."""
    name, full = NAMES[case], size == 0 and process == 0
    extra: list[str] = ["--top", "0"] if full else ["--top", "40"]
    extra += ["--verify", str(8 if full else session.draw.choice((0, 3)))]
    variant = _variant(session) if not full else []
    extra += variant
    argv = session.world.at("rank", *SIZES[size], "--process", PROCESSES[process], *extra, *named(name))
    outcome, rows = session.json(argv, case)
    if rows is None:
        if outcome.status == 2 and session.world.covering(case) and ink.wanted(name):
            session.note("rank refuses a name that faces cover", outcome, case)
        return
    session.add(_rank_faults(session, case, rows, argv), outcome, case)
    words = session.run(argv, case)
    if words.status != outcome.status:
        session.add([("text against JSON", f"rank: status {words.status}, JSON {outcome.status}")], words, case)
    if full:
        session.add(_left_out(session, case, rows, words.stdout + words.stderr), words, case)
    if rows and rows[0].get("verified") and not variant:
        _same_by_check(session, case, rows[0], [*SIZES[size], "--process", PROCESSES[process]])


def _variant(session: Session) -> list[str]:
    """One more option of rank, of those it has."""
    groups = ["joined script", "serif", "heavy block"]
    choices = [[], [], ["--sell"], ["--group", session.draw.choice(groups)], ["--offset", "0.5mm"], ["--as-set"],
               ["--change", "thicken,offset"], ["--most-offset", "1.4mm"], ["--keep-weight"]]  # fmt: skip
    known = session.world.options["rank"]
    return session.draw.choice([choice for choice in choices if not choice or choice[0] in known])


def _rank_faults(session: Session, case: str, rows: list[dict[str, Any]], argv: list[str]) -> Iterator[tuple[str, str]]:
    if len({row["face"] for row in rows}) != len(rows):
        yield "rank: a face twice", "rank"
    holds = [row["hold"] for row in rows]
    ordered = "--as-set" in argv or not rows or "made_hold" not in rows[0]  # else in bands, styles in turn
    if ordered and any(a < b for a, b in zip(holds, holds[1:], strict=False)):
        yield "rank out of order", "rank: by hold"
    if "--sell" in argv and any(row["sell"] not in {"yes", "yes-conditions"} for row in rows):
        yield "rank --sell lists what may not be sold", "rank"
    lacks = session.world.lacks.get(case, {})
    for row in rows:
        if lacks.get(row["face"]):
            yield "letter lost in silence", "rank: lists a face that lacks a letter"
    for row in rows:
        if row["pieces"] != 1 and row["hold"] >= 50 and row.get("verified"):
            yield "holds against its own number", f"rank: hold {row['hold']} in {row['pieces']} pieces"


def _left_out(session: Session, case: str, rows: list[dict[str, Any]], said: str) -> Iterator[tuple[str, str]]:
    """Faces that cover the name and are neither ranked nor counted in words."""
    absent = set(session.world.covering(case)) - {row["face"] for row in rows}
    if not ink.wanted(NAMES[case]) or not absent:
        return
    if not rows and len(absent) > 5:
        yield "rank lists nothing though faces cover the name", f"rank: {len(absent)} faces cover it"
    elif "not scored" not in said and "no capitals" not in said and "faces" not in said:
        yield "faces left out in silence", f"rank: {len(absent)} faces"


def _same_by_check(session: Session, case: str, row: dict[str, Any], how: list[str]) -> None:
    """A verified row is what ``check`` says of the face."""
    argv = session.world.at("check", "--face", str(row["face"]), *how, *named(NAMES[case]))
    outcome, checked = session.json(argv, case, row["face"])
    if checked is None or checked["hold"] != row["hold"]:
        what = "refuses" if checked is None else f"hold {checked['hold']}, rank said {row['hold']}"
        session.add([("rank and check differ", f"check: {what}")], outcome, case, row["face"])
    elif checked["pieces"] != row["pieces"]:
        what = f"pieces {checked['pieces']}, rank said {row['pieces']}"
        session.add([("pieces of rank and check differ", f"check: {what}")], outcome, case, row["face"])


def mistake_task(session: Session, number: int, words: list[str]) -> None:
    """One mistake: status 2, one line, nothing written."""
    face = str(min(session.world.faces))
    empty = session.scratch / f"mistake{number}"
    empty.mkdir(parents=True, exist_ok=True)
    argv: list[str] = []
    for word in words:
        if word == "@":
            argv += ["--catalogue", str(session.world.catalogue)]
        else:
            argv.append(face if word == "#" else word.replace("*", str(empty)))
    session.run(argv, "mistake", mistake=True)
    left = sorted(path.name for path in empty.rglob("*"))
    if left:
        shown = Outcome(argv, 2, b"", json.dumps(left).encode(), 0)
        session.add([("a mistake leaves files", f"{argv[0]}: {', '.join(left)[:80]}")], shown, "mistake")
    shutil.rmtree(empty, ignore_errors=True)
