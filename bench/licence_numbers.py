"""Prints the numbers of the licence capability, on real font packages. One command:

    python bench/licence_numbers.py --get FOLDER

downloads the packages of `licence_packages.txt` and `licence_elsewhere.txt` into FOLDER (those not there yet; some GB
unpacked) with pip and `apt-get download`, and measures. Without `--get` it measures what is installed here
(`fontpkg-*`, Debian `fonts-*`).

Truth is the package's copyright file (Debian) or its metadata (`License-Expression`). Both are hidden from the tool,
which gets the font file and ordinary licence files beside it. The figures to report are those of the packages marked
`unseen` in the list, which no rule was written from.
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
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from catalogue.licence.expressions import ORDER, resolve_name, terms_of
from catalogue.licence.verdict import Verdict, forget_texts, judge
from scanner.evidence import Evidence, _dep5_paragraphs, _dep5_statements, forget_folders, read_evidence

YARDSTICK = "for comparison, ms for a loop of a million steps here and now (about 50 on an idle desktop, from memory)"
LIST = Path(__file__).with_name("licence_packages.txt")
ELSEWHERE = Path(__file__).with_name("licence_elsewhere.txt")
SUFFIXES = (".ttf", ".otf", ".ttc", ".woff", ".woff2")


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
    """tuned, read or unseen: what was seen of it when rules were written; the list says more."""
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
                    for globs, name, _ in _dep5_paragraphs(str(notice))
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
                [e for e in _dep5_statements(notice, font.name) if e.scope == "font" and e.source == "dep5"]
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
        ORDER.index(_rank(verdict.verdict)) >= ORDER.index(terms_of(truth).sell) for truth in truths(case)
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


def _mean(values: list[float]) -> float:
    return sum(values) / (len(values) or 1)


def measure(cases: list[Case], show: bool) -> dict[str, float | str]:
    """The figures; shares in per cent, time in ms."""
    forget_folders()
    forget_texts()
    judge((Evidence("name", "name 13", "OFL, oddly"),))  # loads records and rules, once a scan and not once a font
    counts: collections.Counter[str] = collections.Counter()
    wrong: collections.Counter[str] = collections.Counter()
    answered_by: dict[str, list[int]] = collections.defaultdict(list)
    asked_by: dict[str, list[int]] = collections.defaultdict(list)
    spent: list[float] = []
    for case in cases:
        start = time.process_time()
        verdict = judge(read_evidence(case.font, 0, case.root, packages=False))
        spent.append(time.process_time() - start)
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
        granted = int(terms_of(case.truth).sell in GRANTING) and answered
        clear = granted and int(terms_of(verdict.spdx).sell in GRANTING)  # the font, too, names a licence that grants
        asks = int(verdict.verdict in ("ask", "unknown"))
        counts["granted"] += granted
        counts["granted asks"] += granted and asks
        counts["clear"] += clear
        counts["unsettled"] += clear and asks
        said_no = verdict.verdict == "no" and terms_of(case.truth).sell != "no"
        counts["false no"] += said_no
        answered_by[case.package].append(answered)
        if clear:
            asked_by[case.package].append(asks)
        if show:
            label = (
                "FALSE-YES"
                if false_yes(case, verdict)
                else "FALSE-NO"
                if said_no
                else "UNSETTLED"
                if granted and asks
                else "FAMILY"
                if answered and not right
                else "SILENT"
                if not answered
                else ""
            )
            if label:
                why = (
                    verdict.reasons[0]
                    if label == "UNSETTLED"
                    else next((e.quote for e in verdict.evidence if e.claim), "")
                )
                wrong[
                    f"{label} {case.package}: {case.truth} / {verdict.spdx or '-'} {verdict.verdict} | "
                    f"{'; '.join(verdict.conflicts)[:150]} | {why[:300]}"
                ] += 1
    for line, count in sorted(wrong.items()):
        print(f"  {count} x {line}")
    faces, answered = counts["faces"] or 1, counts["answered"] or 1
    spent.sort()
    return {
        "faces": counts["faces"],
        "packages": len({c.package for c in cases}),
        "answered %": 100 * counts["answered"] / faces,
        "answered %, each package counting once": 100 * _mean([sum(a) / len(a) for a in answered_by.values()]),
        "family right % of answered": 100 * counts["right"] / answered,
        "family right % outside disputed packages": 100 * counts["settled right"] / (counts["settled"] or 1),
        "compatible % of answered": 100 * counts["compatible"] / answered,
        "false yes": counts["false yes"],
        "false no": counts["false no"],
        "clear grants that end in ask or unknown %": 100 * counts["unsettled"] / (counts["clear"] or 1),
        "packages with such fonts": f"{sum(map(any, asked_by.values()))} of {len(asked_by)}",
        "the same, each package counting once %": 100 * _mean([sum(a) / len(a) for a in asked_by.values()]),
        "clear grants, with fonts that name a stricter licence than their package %": 100
        * counts["granted asks"]
        / (counts["granted"] or 1),
        "ms of CPU a font, mean": 1000 * sum(spent) / faces,
        "ms of CPU a font, median": 1000 * spent[len(spent) // 2] if spent else 0.0,
    }


def sentences() -> dict[str, str]:
    """Sentences of our own that name a licence and do not grant: how many came out as a yes."""
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))
    from licence_sentences import BATCHES, GRANTS, UNSEEN_GRANTS, named, placed

    out = {}
    for name, batch in BATCHES.items():
        wrong = [text for where, text in batch if placed(where, text).verdict in GRANTING]
        out[f"{name}: false yes"] = f"{len(wrong)} of {len(batch)}"
    for name, rows in (("tuned on", GRANTS), ("that no rule was written from", UNSEEN_GRANTS)):
        wrong = [text for where, text in rows if named(where, text).verdict not in GRANTING]
        out[f"clear grants {name}, that end in ask or unknown"] = f"{len(wrong)} of {len(rows)}"
    return out


def _show(title: str, numbers: Mapping[str, object]) -> None:
    print(title)
    for name, value in numbers.items():
        print(f"  {name}: {value:.2f}" if isinstance(value, float) else f"  {name}: {value}")


def main() -> None:
    """Measures and prints."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--get", type=Path, metavar="FOLDER", help="download the listed packages here and measure them")
    ask.add_argument("--first", type=int, metavar="N", help="only every so many-th package of the list, N in all")
    ask.add_argument("--show", action="store_true", help="list every font that went wrong, save the unseen")
    given = ask.parse_args()
    if given.get:
        packages = listed()
        packages = packages[:: max(1, len(packages) // given.first)] if given.first else packages
        fetch(given.get, packages)
        keys = {package.key for package in packages}
        cases = [*site_cases(given.get / "site"), *debian_cases(given.get / "debs")]
        cases = [case for case in cases if case.package in keys]
    else:
        cases = [*site_cases(Path(site.getsitepackages()[0])), *debian_cases(Path("/"))]
    use = {package.key: package.use for package in listed()}
    of = {kind: [c for c in cases if use.get(c.package, "tuned") == kind] for kind in ("unseen", "read", "tuned")}
    _show("Packages that no rule was written from (unseen)", measure(of["unseen"], False))
    _show("The newest packages that were read after they had been measured (read)", measure(of["read"], given.show))
    _show("Packages that rules were written from (tuned)", measure(of["tuned"], given.show))
    if given.get and not given.first:
        others = elsewhere()
        fetch(given.get / "elsewhere", list({package.name: package for package in others}.values()))
        kind = {package.name: package.use for package in others}
        strays = elsewhere_cases(given.get / "elsewhere")
        for name, show in (("unseen", False), ("read", given.show)):
            part = [case for case in strays if kind[case.package] == name]
            _show(f"Fonts that came with something else ({name})", measure(part, show))
    demo = [case for case in of["tuned"] if case.package.startswith("fontpkg_")][:100]
    _show(
        "Packages of the pip kind, as in the demo",
        {"ms of CPU a font, mean": measure(demo, False)["ms of CPU a font, mean"]},
    )
    _show("Sentences of our own", sentences())


if __name__ == "__main__":
    main()
