"""Prints the numbers of the licence capability, on real font packages. One command:

    python bench/licence_numbers.py [--deb-root DIR]... [--site DIR]... [--half test|tune|all] [--show]

Truth: the package's copyright file (Debian) or its metadata (`License-Expression`), hidden from the tool, which gets
the font file and ordinary licence files beside it. Packages are split by the SHA-256 of their names; rules were tuned
on the half `tune`, the figure to report is from `test`. A Debian root is a folder with `usr/share/…` (`/`, or one that
`dpkg -x` filled).
"""

from __future__ import annotations

import argparse
import collections
import hashlib
import re
import site
import sys
import time
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.verdict import ORDER, Verdict, judge, resolve_name, terms_of
from scanner.evidence import Evidence, _dep5_paragraphs, _dep5_statements, forget_folders, read_evidence

SUFFIXES = (".ttf", ".otf", ".ttc", ".woff", ".woff2")


@dataclass(frozen=True)
class Case:
    """One font, its package, what the package says of it and all licences the package names."""

    font: Path
    package: str
    root: Path
    truth: str
    every: tuple[str, ...]


def half(package: str) -> str:
    """`tune` or `test`, by the package's name."""
    return "tune" if hashlib.sha256(package.encode()).digest()[0] % 2 else "test"


def site_cases(folder: Path) -> list[Case]:
    """Fonts of installed `fontpkg-*` packages."""
    out = []
    for info in sorted(folder.glob("fontpkg_*.dist-info")):
        hit = re.search(r"(?m)^License-Expression: (.+)$", (info / "METADATA").read_text("utf-8", "replace"))
        package = info.name.split("-")[0]
        for font in sorted((folder / package).rglob("*")):
            if hit and font.suffix.lower() in SUFFIXES:
                out.append(Case(font, package, folder / package, hit[1].strip(), (hit[1].strip(),)))
    return out


def debian_cases(root: Path) -> list[Case]:
    """Fonts of Debian packages whose copyright file is machine-readable."""
    out = []
    owners = _extracted_owners(root) or _installed_owners(root)
    for package, fonts in sorted(owners.items()):
        base = root / package if (root / package / "usr").is_dir() else root
        notice = base / "usr/share/doc" / package / "copyright"
        every = (
            tuple(
                dict.fromkeys(
                    resolve_name(name) or name
                    for globs, name, _ in _dep5_paragraphs(str(notice))
                    if not all(g.startswith("debian/") for g in globs)
                )
            )
            if notice.is_file()
            else ()
        )
        for font in fonts:
            own = (
                [e for e in _dep5_statements(notice, font.name) if e.scope == "font" and e.source == "dep5"]
                if every
                else []
            )
            truth = resolve_name(own[0].claim) if own else ""
            if truth:
                out.append(Case(font, package, font.parent, truth, every))
    return out


def _installed_owners(root: Path) -> dict[str, list[Path]]:
    owners: dict[str, list[Path]] = collections.defaultdict(list)
    for listing in (root / "var/lib/dpkg/info").glob("fonts-*.list"):
        for line in listing.read_text("utf-8", "replace").splitlines():
            font = root / line.lstrip("/")
            if line.startswith("/usr/share/fonts/") and font.suffix.lower() in SUFFIXES and font.is_file():
                owners[listing.stem.split(":")[0]].append(font)
    return {package: sorted(fonts) for package, fonts in owners.items()}


def _extracted_owners(root: Path) -> dict[str, list[Path]]:
    """`dpkg -x` of each package into `root/<package>/`."""
    owners: dict[str, list[Path]] = {}
    for folder in sorted(root.glob("*/usr/share/fonts")):
        fonts = sorted(
            f for f in folder.rglob("*") if f.suffix.lower() in SUFFIXES and f.is_file() and not f.is_symlink()
        )
        owners[folder.parents[2].name] = fonts
    return owners


def families(expression: str) -> set[str]:
    """Base families in an expression, as records name them; an exception belongs to the licence it refines."""
    names = re.split(r"\s+(?:AND|OR)\s+", expression.replace("(", "").replace(")", ""))
    bases = [name.split(" WITH ")[0] for name in names]
    return {record.family for name in bases for record in terms_of(name).records} or set(bases)


def truths(case: Case) -> tuple[str, ...]:
    """The package's words that may be about this font: its paragraph, and the others save the packaging's own."""
    return tuple(dict.fromkeys((case.truth, *case.every)))


def family_right(case: Case, verdict: Verdict) -> bool:
    """A licence named in the answer belongs to a family that the package names."""
    return any(families(verdict.spdx) & families(truth) for truth in truths(case))


def _rank(verdict: str) -> str:
    return "ask" if verdict == "unknown" else verdict


def compatible(case: Case, verdict: Verdict) -> bool:
    """The answer is not more permissive than every licence that the package names."""
    return case.package in DISPUTED or any(
        ORDER.index(_rank(verdict.verdict)) >= ORDER.index(terms_of(truth).sell) for truth in truths(case)
    )


def false_yes(case: Case, verdict: Verdict) -> bool:
    """A yes where no licence that the package names allows it, outside the disputed packages."""
    return verdict.verdict == "yes" and not compatible(case, verdict) and case.package not in DISPUTED


DISPUTED = {
    "fonts-adf-verana": "the fonts' licence field grants under the Vera licence, Debian's file says GPL for all",
    "fonts-isabella": "the font offers OFL or LGPL, Debian's file names the LGPL",
    "fonts-tlwg-waree-ttf": "the font quotes the Vera licence it derives from, Debian's file says GPL for all",
    "fonts-unifont": "the font offers OFL or GPL with the font exception, Debian's file names the GPL",
    "fonts-jetbrains-mono": "the font states the OFL, Debian's file the Apache licence of older versions",
    "fonts-arundina": "the font quotes the Vera licence it derives from, Debian's file says GPL for all",
    "fonts-bpg-georgian": "one font quotes the Vera licence it derives from, Debian's file says GPL for all",
    "fonts-arabeyes": "the font states the GPL with the font embedding exception, Debian's file lacks the exception",
}


def measure(cases: list[Case], show: bool) -> dict[str, float]:
    """The figures; shares in per cent, time in ms."""
    forget_folders()
    judge((Evidence("name", "name 13", "OFL, oddly"),))  # loads records and rules, once a scan and not once a font
    counts: collections.Counter[str] = collections.Counter()
    wrong: collections.Counter[str] = collections.Counter()
    spent: list[float] = []
    cpu = 0.0
    for case in cases:
        start, busy = time.perf_counter(), time.process_time()
        verdict = judge(read_evidence(case.font, 0, case.root, packages=False))
        spent.append(time.perf_counter() - start)
        cpu += time.process_time() - busy
        counts["faces"] += 1
        answered = int(bool(verdict.spdx))
        counts["answered"] += answered
        right = int(family_right(case, verdict))
        counts["right"] += answered and right
        settled = answered and int(case.package not in DISPUTED)
        counts["settled"] += settled
        counts["settled right"] += settled and right
        counts["compatible"] += answered and compatible(case, verdict)
        counts["false yes"] += false_yes(case, verdict)
        clear = int(terms_of(case.truth).sell in ("yes", "yes-conditions")) and answered
        counts["clear"] += clear
        counts["unsettled"] += clear and verdict.verdict in ("ask", "unknown")
        said_no = verdict.verdict == "no" and terms_of(case.truth).sell != "no"
        counts["false no"] += said_no
        if show:
            label = (
                "FALSE-YES"
                if false_yes(case, verdict)
                else "FALSE-NO"
                if said_no
                else "UNSETTLED"
                if clear and verdict.verdict in ("ask", "unknown")
                else "FAMILY"
                if answered and not right
                else "SILENT"
                if not answered
                else ""
            )
            if label:
                why = next((e.quote for e in verdict.evidence if e.claim), "")
                wrong[
                    f"{label} {case.package}: {case.truth} / {verdict.spdx or '-'} {verdict.verdict} | "
                    f"{'; '.join(verdict.conflicts)[:150]} | {why[:170]}"
                ] += 1
    for line, count in sorted(wrong.items()):
        print(f"  {count} x {line}")
    faces, answered = counts["faces"] or 1, counts["answered"] or 1
    spent.sort()
    return {
        "faces": counts["faces"],
        "packages": len({c.package for c in cases}),
        "answered %": 100 * counts["answered"] / faces,
        "family right % of answered": 100 * counts["right"] / answered,
        "family right % outside disputed packages": 100 * counts["settled right"] / (counts["settled"] or 1),
        "compatible % of answered": 100 * counts["compatible"] / answered,
        "false yes": counts["false yes"],
        "false no": counts["false no"],
        "clear grants that end in ask or unknown %": 100 * counts["unsettled"] / (counts["clear"] or 1),
        "ms a font, mean": 1000 * sum(spent) / faces,
        "ms of CPU a font, mean": 1000 * cpu / faces,
        "ms a font, median": 1000 * spent[len(spent) // 2] if spent else 0.0,
    }


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    ask.add_argument("--deb-root", action="append", type=Path)
    ask.add_argument("--site", action="append", type=Path)
    ask.add_argument("--half", choices=("test", "tune", "all"), default="test")
    ask.add_argument("--show", action="store_true", help="lists every font that went wrong")
    given = ask.parse_args()
    cases = [c for folder in given.site or [Path(site.getsitepackages()[0])] for c in site_cases(folder)]
    cases += [c for root in given.deb_root or [Path("/")] for c in debian_cases(root)]
    unique = {c.font.resolve(): c for c in cases}
    chosen = [c for c in unique.values() if given.half in ("all", half(c.package))]
    for name, value in measure(chosen, given.show).items():
        print(f"{name}: {value:.2f}" if isinstance(value, float) else f"{name}: {value}")


if __name__ == "__main__":
    main()
