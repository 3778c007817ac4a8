"""Measures the reading of licences on real fonts. One command:

    python bench/licence_numbers.py --get FOLDER

downloads the packages of `licence_packages.txt` and `licence_elsewhere.txt` into FOLDER (those not there yet; some GB
unpacked) with pip and `apt-get download`, and measures. Without `--get` it measures what is installed here
(`fontpkg-*`, Debian `fonts-*`). `--skip FILE` leaves out fonts of the families named in a file, one a line.

Truth is the package's copyright file (Debian) or its metadata (`License-Expression`). Both are hidden from the tool,
which gets the font file and ordinary files beside it. The lists split the packages into three: tables were written from
the first, mended on the second after it had been measured, and the third is only ever measured, never looked at.
"""

from __future__ import annotations

import argparse
import collections
import fnmatch
import re
import shutil
import site
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.licence.expressions import resolve_name, terms_of
from catalogue.licence.verdict import Verdict, judge
from catalogue.permission import STRICTER
from scanner.evidence import Evidence, family_and_style, forget_folders, read_evidence
from scanner.evidence.debian import dep5_paragraphs, dep5_statements

LIST = Path(__file__).with_name("licence_packages.txt")
ELSEWHERE = Path(__file__).with_name("licence_elsewhere.txt")
SUFFIXES = (".ttf", ".otf", ".ttc", ".woff", ".woff2")
PARTS = {
    "written": "Packages that tables were written from (written)",
    "read": "Packages that were read after they had been measured (read)",
    "never": "Packages that nobody read (never)",
}


@dataclass(frozen=True)
class Case:
    """One font, its package, what the package says of it and all licences the package names."""

    font: Path
    package: str
    root: Path
    truth: str
    every: tuple[str, ...]


@dataclass(frozen=True)
class Package:
    """A line of the list."""

    kind: str
    """pip or deb."""
    name: str
    version: str
    use: str
    """written, read or never: what was seen of it when tables were written; the list says more."""
    truth: str = ""
    """SPDX expression, where the copyright file is not machine-readable."""
    fonts: str = "*"
    """Globs of the font files meant, apart by commas; for packages that are no font packages."""

    @property
    def key(self) -> str:
        """The name that cases carry: a pip package's import name."""
        return self.name.replace("-", "_") if self.kind == "pip" else self.name


def listed() -> list[Package]:
    """The packages of the list."""
    lines = (line.split(maxsplit=4) for line in LIST.read_text("utf-8").splitlines() if not line.startswith("#"))
    return [Package(*line) for line in lines if line]


def elsewhere() -> list[Package]:
    """The lines of the list of fonts that came with something else."""
    lines = (line.split(maxsplit=5) for line in ELSEWHERE.read_text("utf-8").splitlines() if not line.startswith("#"))
    return [Package(kind, name, version, use, truth, fonts) for kind, name, version, use, fonts, truth in lines]


def fetch(folder: Path, packages: list[Package]) -> None:
    """Downloads and unpacks what is not in `folder` yet: wheels into `site/`, Debian packages into `debs/NAME/`."""
    where, debs, down = folder / "site", folder / "debs", folder / "down"
    for place in (where, debs, down):
        place.mkdir(parents=True, exist_ok=True)
    wheels = [p for p in packages if p.kind == "pip" and not any(where.glob(f"{p.key}-*.dist-info"))]
    if wheels:
        pip = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(down)]
        subprocess.run([*pip, *(f"{p.name}=={p.version}" for p in wheels)], check=True)
    for wheel in down.glob("*.whl"):
        with zipfile.ZipFile(wheel) as archive:
            archive.extractall(where)
        wheel.unlink()
    missing = [p for p in packages if p.kind == "deb" and not (debs / p.name).is_dir()]
    if missing and shutil.which("apt-get") is None:
        print(f"{len(missing)} Debian packages left out: apt-get is not on this machine", file=sys.stderr)
        return
    for package in missing:
        named = [f"{package.name}={package.version}", package.name]  # the pinned version, else what the archive has
        if not any(subprocess.run(["apt-get", "download", "-qq", n], cwd=down).returncode == 0 for n in named):
            print(f"{package.name}: apt-get cannot download it; run apt-get update, or leave it out", file=sys.stderr)
            continue
        for deb in down.glob("*.deb"):
            subprocess.run(["dpkg", "-x", str(deb), str(debs / package.name)], check=True)
            deb.unlink()


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
    """Fonts of Debian packages whose copyright file is machine-readable, or whose truth stands in the list."""
    out = []
    told = {package.name: package.truth for package in listed() if package.truth}
    owners = _extracted_owners(root) or _installed_owners(root)
    for package, fonts in sorted(owners.items()):
        base = root / package if (root / package / "usr").is_dir() else root
        notice = base / "usr/share/doc" / package / "copyright"
        every = (
            tuple(
                dict.fromkeys(
                    resolve_name(name) or name
                    for globs, name, _ in dep5_paragraphs(str(notice))
                    if not all(g.startswith("debian/") for g in globs)
                )
            )
            if notice.is_file()
            else ()
        )
        if package in told:
            out += [Case(font, package, font.parent, told[package], (told[package],)) for font in fonts]
            continue
        for font in fonts:
            own = (
                [e for e in dep5_statements(notice, font.name) if e.scope == "font" and e.source == "dep5"]
                if every
                else []
            )
            truth = resolve_name(own[0].claim) if own else ""
            if truth:
                out.append(Case(font, package, font.parent, truth, every))
    return out


def elsewhere_cases(folder: Path) -> list[Case]:
    """Fonts of those packages, of which each came with its truth."""
    out = []
    for package in elsewhere():
        if package.kind == "deb":
            files = sorted((folder / "debs" / package.name).rglob("*"))
        else:
            records = folder.glob(f"site/{package.key}-*.dist-info/RECORD")
            rows = (line.split(",")[0] for record in records for line in record.read_text("utf-8").splitlines())
            files = sorted(folder / "site" / row for row in rows)
        for font in files:
            meant = any(fnmatch.fnmatchcase(font.name, glob) for glob in package.fonts.split(","))
            if meant and font.suffix.lower() in SUFFIXES and font.is_file() and not font.is_symlink():
                out.append(Case(font, package.name, font.parent, package.truth, (package.truth,)))
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
        STRICTER.index(_rank(verdict.verdict)) >= STRICTER.index(terms_of(truth).sell) for truth in truths(case)
    )


def false_yes(case: Case, verdict: Verdict) -> bool:
    """A yes where no licence that the package names allows it, outside the disputed packages."""
    return verdict.verdict == "yes" and not compatible(case, verdict) and case.package not in DISPUTED


GRANTING = ("yes", "yes-conditions")
DISPUTED = {
    "fonts-adf-verana": "the fonts' licence field grants under the Vera licence, Debian's file says GPL for all",
    "fonts-isabella": "the font offers OFL or LGPL, Debian's file names the LGPL",
    "fonts-tlwg-waree-ttf": "the font quotes the Vera licence it derives from, Debian's file says GPL for all",
    "fonts-oradano-mincho-gsrr": "the font states the public domain, Debian's file that anybody may use it for free",
    "fonts-unifont": "the font offers OFL or GPL with the font exception, Debian's file names the GPL",
    "fonts-jetbrains-mono": "the font states the OFL, Debian's file the Apache licence of older versions",
    "fonts-arundina": "the font quotes the Vera licence it derives from, Debian's file says GPL for all",
    "fonts-bpg-georgian": "one font quotes the Vera licence it derives from, Debian's file says GPL for all",
    "fonts-arabeyes": "the font states the GPL with the font embedding exception, Debian's file lacks the exception",
}


@dataclass
class Figures:
    """Counts over the fonts of one part, and the same a package."""

    fonts: int = 0
    answered: int = 0
    right: int = 0
    settled: int = 0
    settled_right: int = 0
    compatible: int = 0
    false_yes: list[str] = field(default_factory=list)
    false_no: int = 0
    seconds: float = 0.0
    asked: dict[str, list[bool]] = field(default_factory=lambda: collections.defaultdict(list))
    """Of each package, for each font with a clear grant, whether the answer asks."""
    spoken: dict[str, list[bool]] = field(default_factory=lambda: collections.defaultdict(list))
    """Of each package, for each font, whether a licence was named."""
    wrong: collections.Counter[str] = field(default_factory=collections.Counter)

    def count(self, case: Case, verdict: Verdict) -> None:
        """Adds one font."""
        named = bool(verdict.spdx)
        right = named and family_right(case, verdict)
        settled = named and case.package not in DISPUTED
        self.fonts += 1
        self.answered += named
        self.right += right
        self.settled += settled
        self.settled_right += settled and right
        self.compatible += named and compatible(case, verdict)
        self.spoken[case.package].append(named)
        if false_yes(case, verdict):
            self.false_yes.append(f"{case.package} {case.font.name}: {case.truth} / {verdict.spdx} {verdict.verdict}")
        said_no = verdict.verdict == "no" and terms_of(case.truth).sell != "no"
        self.false_no += said_no
        asks = verdict.verdict in ("ask", "unknown", "no")
        if is_clear(case, verdict):
            self.asked[case.package].append(asks)
        label = "FALSE-NO" if said_no else "ASKS" if asks and is_clear(case, verdict) else "" if right else "FAMILY"
        label = label if named or label == "ASKS" else "SILENT"
        if label:
            why = "; ".join(verdict.not_understood[:2]) or verdict.reasons[0]
            self.wrong[
                f"{label} {case.package}: {case.truth} / {verdict.spdx or '-'} {verdict.verdict} | {why[:400]}"
            ] += 1

    def table(self) -> dict[str, object]:
        """The figures; shares in per cent, time in ms."""
        asked = [asks for each in self.asked.values() for asks in each]
        answered = self.answered or 1
        return {
            "fonts": self.fonts,
            "packages": len(self.spoken),
            "licence named, %": 100 * self.answered / (self.fonts or 1),
            "licence named, each package counting once, %": 100
            * _mean([sum(a) / len(a) for a in self.spoken.values()]),
            "family right, % of named": 100 * self.right / answered,
            "family right outside disputed packages, %": 100 * self.settled_right / (self.settled or 1),
            "compatible, % of named": 100 * self.compatible / answered,
            "false yes": len(self.false_yes),
            "false no": self.false_no,
            "fonts with a clear grant": len(asked),
            "needless ask, % of fonts with a clear grant": 100 * sum(asked) / (len(asked) or 1),
            "needless ask, % of packages with such fonts": 100 * _mean([any(a) for a in self.asked.values()]),
            "needless ask, each package counting once, %": 100 * _mean([sum(a) / len(a) for a in self.asked.values()]),
            "ms of CPU a font, mean": 1000 * self.seconds / (self.fonts or 1),
        }


def is_clear(case: Case, verdict: Verdict) -> bool:
    """Whether font and package both name a licence that grants: an ask is needless then."""
    granted = terms_of(case.truth).sell in GRANTING and bool(verdict.spdx)
    limit = verdict.verdict == "no"
    return granted and (limit or terms_of(verdict.spdx).sell in GRANTING)


def _mean(values: Iterable[float]) -> float:
    kept = list(values)
    return sum(kept) / (len(kept) or 1)


def measure(cases: Iterable[Case]) -> Figures:
    """The figures of some fonts."""
    forget_folders()
    judge((Evidence("name", "name 13", "OFL, oddly"),))  # loads tables, once a scan and not once a font
    out = Figures()
    for case in cases:
        start = time.process_time()
        verdict = judge(read_evidence(case.font, 0, case.root, packages=False))
        out.seconds += time.process_time() - start
        out.count(case, verdict)
    return out


def _show(title: str, numbers: Mapping[str, object]) -> None:
    print(title)
    for name, value in numbers.items():
        print(f"  {name}: {value:.2f}" if isinstance(value, float) else f"  {name}: {value}")


def _report(part: str, figures: Figures, show: bool) -> None:
    _show(PARTS[part], figures.table())
    for line in figures.false_yes:
        print(f"  FALSE YES {line}")
    if show and part != "never":
        for line, count in sorted(figures.wrong.items()):
            print(f"    {count} x {line}")


def without(cases: list[Case], skip: Path | None) -> list[Case]:
    """Cases whose family is not named in a file."""
    if skip is None:
        return cases
    lines = (line for line in skip.read_text("utf-8").splitlines() if line and not line.startswith("#"))
    names = {_plain(line) for line in lines}
    return [case for case in cases if _plain(family_and_style(case.font)[0]) not in names]


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", "", name).lower()


def main() -> None:
    """Measures and prints."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--get", type=Path, metavar="FOLDER", help="download the listed packages here and measure them")
    ask.add_argument("--skip", type=Path, metavar="FILE", help="leave out the font families named in this file")
    ask.add_argument("--part", choices=list(PARTS), action="append", help="measure this part only; may be repeated")
    ask.add_argument("--show", action="store_true", help="list every font that went wrong, save those never read")
    given = ask.parse_args()
    if given.get:
        fetch(given.get, listed())
        cases = [*site_cases(given.get / "site"), *debian_cases(given.get / "debs")]
    else:
        cases = [*site_cases(Path(site.getsitepackages()[0])), *debian_cases(Path("/"))]
    use = {package.key: package.use for package in listed()}
    cases = [case for case in without(cases, given.skip) if case.package in use]
    parts = given.part or list(PARTS)
    for part in parts:
        _report(part, measure(c for c in cases if use[c.package] == part), given.show)
    if given.get:
        others = elsewhere()
        fetch(given.get / "elsewhere", list({package.name: package for package in others}.values()))
        kind = {package.name: package.use for package in others}
        strays = without(elsewhere_cases(given.get / "elsewhere"), given.skip)
        for part in parts:
            print("Fonts that came with something else than a font package:")
            _report(part, measure(c for c in strays if kind[c.package] == part), given.show)


if __name__ == "__main__":
    main()
