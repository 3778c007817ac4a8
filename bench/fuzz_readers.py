"""Coverage-guided fuzzing of our own readers of foreign bytes: licence evidence in fonts, and orders.

    python bench/fuzz_readers.py [--seconds 60] [--seed 1] [--only evidence|orders]

Each reader runs so long in a process of its own and starts from sound inputs (small fonts, order files). Both promise
to take any bytes: the evidence reader raises nothing, the orders reader nothing but OrdersError. Prints inputs tried
and the coverage that libFuzzer counts; exit status 1 when a promise was broken, with the input's path. Needs atheris.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]
READERS = ("evidence", "orders")
LONGEST_BYTES = 8192


def seeds(reader: str, folder: Path) -> None:
    """Sound inputs to start from."""
    if reader == "orders":
        head = b"order,name,face,cap_height,colours,quantity,note\n"
        (folder / "plain").write_bytes(head + b"7,Marlie,best,14mm,navy sky cream,2,\n")
        (folder / "other").write_bytes('name;width\n"Zoë ""Z""";70mm\n'.encode())
        return
    from conftest import font_bytes, tiny_font, tiny_variable_font
    from hostile import collection

    plain, cff = font_bytes(tiny_font()), font_bytes(tiny_font(cff=True))
    (folder / "ttf").write_bytes(plain)
    (folder / "otf").write_bytes(cff)
    (folder / "ttc").write_bytes(collection(plain, cff))
    (folder / "variable").write_bytes(font_bytes(tiny_variable_font()))
    (folder / "woff").write_bytes(font_bytes(tiny_font(), "woff"))
    (folder / "woff2").write_bytes(font_bytes(tiny_font(), "woff2"))


def serve(reader: str, arguments: Sequence[str]) -> None:
    """Hand libFuzzer's bytes to one reader; does not return."""
    import atheris

    with atheris.instrument_imports(include=["scanner.evidence", "scanner.webfont", "catalogue.tag.orders"]):
        from catalogue.tag.orders import OrdersError, Result, folder_name, read_orders, results_csv
        from scanner.evidence import forget_folders, read_evidence, read_names

    place = Path(tempfile.mkdtemp(dir="/dev/shm" if Path("/dev/shm").is_dir() else None)) / "x.ttf"

    def evidence(data: bytes) -> None:
        place.write_bytes(data)
        forget_folders()
        for statement in (*read_evidence(place, 0, place.parent, packages=False), *read_evidence(place, 1)):
            assert statement.source and statement.locator
        read_names(place)

    def orders(data: bytes) -> None:
        try:
            rows = read_orders(data)
        except OrdersError:
            return
        for order in rows:
            assert order.reason or 1 <= order.quantity <= 1000
            name = folder_name(order)
            assert name and "/" not in name and len(name.encode("utf-8", "replace")) <= 255
        results_csv([Result(order) for order in rows])

    atheris.Setup([sys.argv[0], *arguments], {"evidence": evidence, "orders": orders}[reader])
    atheris.Fuzz()


def fuzz(reader: str, seconds: int, seed: int) -> bool:
    """Run one reader in its own process and print what came of it."""
    with tempfile.TemporaryDirectory(prefix="letterhold-fuzz-") as work:
        corpus = Path(work, "corpus")
        corpus.mkdir()
        seeds(reader, corpus)
        kept = Path(tempfile.gettempdir(), f"letterhold-fuzz-{reader}-")
        done = subprocess.run(
            [
                sys.executable, __file__, "--serve", reader, str(corpus), f"-max_total_time={seconds}", f"-seed={seed}",
                f"-max_len={LONGEST_BYTES}", f"-artifact_prefix={kept}", "-timeout=10", "-rss_limit_mb=1024",
            ],
            capture_output=True, text=True, errors="replace", cwd=work,
        )  # fmt: skip
    tried = re.findall(r"#(\d+)", done.stderr)
    covered = re.findall(r"cov: (\d+)", done.stderr)
    print(f"{reader}: {int(tried[-1]) if tried else 0} inputs, coverage {covered[-1] if covered else '0'}", end="; ")
    if done.returncode == 0:
        print("no promise broken")
        return True
    told = [line for line in done.stderr.splitlines() if "Error" in line or "Exception" in line or "artifact" in line]
    print("broken:", *(told[-6:] or done.stderr.splitlines()[-8:]), sep="\n  ")
    return False


def main() -> int:
    """Fuzz the readers one after the other."""
    if sys.argv[1:2] == ["--serve"]:
        serve(sys.argv[2], sys.argv[3:])
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=READERS)
    options = parser.parse_args()
    results = [fuzz(r, options.seconds, options.seed) for r in READERS if options.only in (None, r)]
    return 0 if all(results) else 1


if __name__ == "__main__":
    raise SystemExit(main())
