"""Who is in the catalogue, and which of them can write which name: the soak's own knowledge, kept in its folder."""

from __future__ import annotations

import json
import random
from dataclasses import asdict, dataclass
from pathlib import Path

from soaking import ink
from soaking.child import Outcome, forked, started
from soaking.names import NAMES


@dataclass(frozen=True)
class Face:
    """One row of the catalogue, as ``inspect --json`` gives it."""

    id: int
    family: str
    style: str
    path: str
    index: int
    instance: str
    cap_height_em: float | None

    @property
    def called(self) -> str:
        return f"{self.family} {self.style}".strip()


@dataclass(frozen=True)
class World:
    """The catalogue under test and what may be asked of it."""

    catalogue: Path
    home: Path
    faces: dict[int, Face]
    lacks: dict[str, dict[int, str]]
    """Case of a name to face to the letters it lacks; faces that could not be opened here are absent."""
    options: dict[str, set[str]]
    """Command to its options, from its own ``--help``."""

    def covering(self, case: str) -> list[int]:
        """Faces that have every letter of the name, with ink."""
        return [face for face, lost in self.lacks.get(case, {}).items() if not lost]

    def at(self, *argv: str) -> list[str]:
        """The command with the catalogue; a name that starts with a hyphen goes last, as a shell user learns."""
        return [*argv[:1], "--catalogue", str(self.catalogue), *argv[1:]]


def commands_of(home: Path) -> dict[str, set[str]]:
    """Commands the product has and the options each lists."""
    known: dict[str, set[str]] = {}
    text = started(["--help"], home).stdout
    for line in text.split("COMMAND", 2)[-1].splitlines():
        word = line[4:].split(" ")[0] if line.startswith("    ") and line[4:5].strip() else ""
        if word.isalpha():
            said = forked([word, "--help"], home).stdout
            known[word] = {part.strip("[],|") for part in said.split() if part.strip("[],|").startswith("--")}
    return known


def listed(catalogue: Path, home: Path, keep: Path) -> tuple[dict[int, Face], list[Outcome]]:
    """Every face by ``inspect``, and what inspecting did; asked once and kept in ``keep``."""
    if keep.exists():
        return {row["id"]: Face(**row) for row in json.loads(keep.read_text())}, []
    health = json.loads(forked(["health", "--catalogue", str(catalogue), "--json"], home).stdout or "{}")
    total = int(health.get("faces", 0))
    faces: dict[int, Face] = {}
    outcomes: list[Outcome] = []
    number, gap = 0, 0
    while len(faces) < total and gap < 400:
        number += 1
        outcome = forked(["inspect", str(number), "--json", "--catalogue", str(catalogue)], home)
        try:
            row = json.loads(outcome.stdout)
        except ValueError:
            gap += 1
            if outcome.status != 2:
                outcomes.append(outcome)
            continue
        gap = 0
        outcomes.append(outcome)
        if len(faces) % 500 == 499:
            print(f"  {len(faces) + 1} of {total} faces inspected", flush=True)
        place = (row["path"], row["face_index"], row["instance"])
        faces[number] = Face(number, row["family"], row["style"], *place, row.get("cap_height_em"))
    keep.write_text(json.dumps([asdict(face) for face in faces.values()]))
    return faces, outcomes


def coverage(faces: dict[int, Face], keep: Path) -> dict[str, dict[int, str]]:
    """Letters each face lacks of each name; computed once and kept."""
    if keep.exists():
        kept = json.loads(keep.read_text())
        return {case: {int(face): lost for face, lost in row.items()} for case, row in kept.items()}
    found: dict[str, dict[int, str]] = {case: {} for case in NAMES}
    by_file: dict[tuple[str, int], list[int]] = {}
    for face in faces.values():
        by_file.setdefault((face.path, face.index), []).append(face.id)
    for (path, index), ids in by_file.items():
        try:
            with ink.opened(path, index) as font:
                for case, name in NAMES.items():
                    lost = ink.lacking(font, name) or _dropped(faces[ids[0]], name)
                    found[case].update(dict.fromkeys(ids, lost))
        except Exception as reason:  # a font this second reader cannot open is no fault of the product
            print(f"  no second opinion on {path}#{index}: {reason}")
    keep.write_text(json.dumps(found, ensure_ascii=False))
    return found


def _dropped(face: Face, name: str) -> str:
    """What the font made to drop it leaves out: by its ink alone a letter dropped looks like one of a ligature."""
    return "'" if face.family.startswith("Odd drops") and "'" in name else ""


def pairs(world: World, names: list[str], faces: list[int], seed: int) -> list[tuple[str, int]]:
    """Names and faces to check and cut: each name with at least 20 faces, each face at least once.

    Faces that cover the name come first; a name few of them cover is also asked of faces that do not.
    """
    draw = random.Random(seed)
    chosen: list[tuple[str, int]] = []
    for case in names:
        able = sorted(set(world.covering(case)) & set(faces))
        draw.shuffle(able)
        others = sorted(set(faces) - set(able))
        chosen += [(case, face) for face in able[:20]]
        chosen += [(case, face) for face in draw.sample(others, min(len(others), max(2, 20 - len(able))))]
    seen = {face for _, face in chosen}
    for face in faces:
        if face in seen:
            continue
        able_names = [case for case in names if world.lacks.get(case, {}).get(face) == ""]
        chosen.append((draw.choice(able_names or names), face))
    draw.shuffle(chosen)
    return chosen
