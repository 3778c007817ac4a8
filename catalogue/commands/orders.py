"""The ``orders`` command: a CSV of orders to a folder a tag, with results, a contact sheet and plates.

Different tags are made by a process a core; equal orders are made once; a folder that an earlier run finished is kept.
"""

from __future__ import annotations

import argparse
import hashlib
import multiprocessing
import os
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from catalogue.commands.options import catalogue_of, length_or_zero, print_json, progress
from catalogue.errors import UsageError

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from catalogue.judge.process import Process
    from catalogue.store.database import Face, Store
    from catalogue.tag.orders import Order, Result
    from catalogue.tag.tag import Tag

FEW = 3
"""So few different tags are made in this process: starting others takes longer."""

_OURS = re.compile(r"results\.csv|contact\.(png|svg)|plate-\d+\.(svg|3mf)|\.letterhold-.*")


def add_arguments(orders: argparse.ArgumentParser) -> None:
    """The options of ``orders``."""
    orders.add_argument(
        "file", type=Path, nargs="?", metavar="FILE.csv", help="columns: name, face, cap_height, width, colours ..."
    )
    orders.add_argument("--demo", action="store_true", help="take the 40 orders of an invented shop; see --save-demo")
    orders.add_argument("--save-demo", type=Path, metavar="OUT.csv", help="write these orders as a file to start from")
    orders.add_argument("--out", type=Path, metavar="DIR", help="folder to write into")
    orders.add_argument("--process", default="nozzle-0.4", metavar="NAME", help="process where a row names none")
    orders.add_argument(
        "--formats", default="3mf,svg", metavar="LIST", help="any of svg,dxf,stl,3mf,png (default: 3mf,svg)"
    )
    orders.add_argument(
        "--bed", type=length_or_zero, metavar="LENGTH", help="side of a square bed (default: the process's own bed)"
    )
    orders.add_argument("--workers", type=int, default=0, metavar="N", help="processes to use (default: one a core)")
    orders.add_argument("--json", action="store_true", help="print a row an order as JSON")


@dataclass(frozen=True, slots=True)
class Shop:
    """What all orders share; goes to every worker."""

    catalogue: Path
    out: Path
    process: str
    formats: tuple[str, ...]
    bed_side_mm: float | None = None
    """Of a square bed; None for the bed of the process."""

    def bed_mm(self, process: Process) -> tuple[float, float]:
        """Width and depth of the bed."""
        return (self.bed_side_mm, self.bed_side_mm) if self.bed_side_mm else process.bed_mm


@dataclass(frozen=True, slots=True)
class Made:
    """One different tag, made or not."""

    result: Result
    tag: Tag | None = None
    drawn: BaseGeometry | None = None
    """The name in one line as its face draws it, in font units."""
    kept: bool = False
    """Whether an earlier run had finished its folder."""


def demo_csv() -> bytes:
    """Forty orders of Harbour Finch Goods, a shop that does not exist, in faces of the demo."""
    return resources.files("catalogue.tag").joinpath("demo_orders.csv").read_bytes()


def run(options: argparse.Namespace) -> int:
    """Make what is not made yet, then the results, the contact sheet and the plates."""
    from catalogue.atomic import write_file
    from catalogue.folders import demo_catalogue
    from catalogue.judge.process import load_process
    from catalogue.store.database import Store
    from catalogue.tag.exports.files import formats_of
    from catalogue.tag.orders import Result, read_orders, results_csv

    if options.save_demo:
        write_file(options.save_demo, demo_csv())
        print(f"40 orders written to {options.save_demo}; next: letterhold orders {options.save_demo} --out shop")
        return 0
    if not options.out:
        raise UsageError("no folder to write into; give --out DIR")
    if bool(options.file) == options.demo:
        raise UsageError("give a FILE.csv of orders, or --demo for the orders of an invented shop")
    formats = formats_of(options.formats)
    load_process(options.process)
    _check_out(options.out)
    catalogue = catalogue_of(options)
    if options.demo and not options.catalogue:
        catalogue = demo_catalogue()
        if not catalogue.is_file():
            raise UsageError("the demo fonts are not scanned yet; run: letterhold demo")
    orders = read_orders(demo_csv() if options.demo else options.file.read_bytes())
    if not orders:
        raise UsageError(f"{options.file}: no orders in it; add a row under the column names")
    Store(catalogue).close()  # a catalogue that is not there is told before anything is made
    options.out.mkdir(parents=True, exist_ok=True)
    shop = Shop(catalogue.absolute(), options.out, options.process, formats, options.bed)
    made = _make_all(_different(orders), shop, options.workers)
    results = []
    for order in orders:
        one = made[order.key].result if not order.reason else Result(order, reason=order.reason)
        results.append(Result(order, one.face, one.hold, one.size_mm, one.mass_g, one.folder, one.reason))
    write_file(options.out / "results.csv", results_csv(results).encode())
    pictured = [(r.order, made[r.order.key]) for r in results if not r.reason]
    plates = write_sheets(pictured, shop)
    if options.json:
        rows = [
            {"order": r.order.order, "done": not r.reason, "face": r.told_face, "folder": r.folder, "reason": r.reason}
            for r in results
        ]
        print_json(rows)
    else:
        _tell(results, made, plates, options.out)
    return 1 if any(r.reason for r in results) else 0


def _different(orders: Sequence[Order]) -> dict[str, tuple[Order, str]]:
    """The orders that have to be made, by key, each with a folder of its own."""
    from catalogue.tag.orders import folder_name

    different: dict[str, tuple[Order, str]] = {}
    taken: set[str] = set()
    for order in orders:
        if not order.reason and order.key not in different:
            folder = folder_name(order)
            if folder in taken:  # two orders of one number and name
                folder += f"-{order.key[:4]}"
            taken.add(folder)
            different[order.key] = order, folder
    return different


def _make_all(different: dict[str, tuple[Order, str]], shop: Shop, workers: int) -> dict[str, Made]:
    count = min(workers or os.cpu_count() or 1, len(different))
    found = _here(different, shop) if count < 2 or len(different) <= FEW else _elsewhere(different, shop, count)
    return dict(progress(found, len(different), "orders", "tag"))


def _here(different: dict[str, tuple[Order, str]], shop: Shop) -> Iterator[tuple[str, Made]]:
    from catalogue.store.database import Store

    with Store(shop.catalogue) as store:
        for key, (order, folder) in different.items():
            yield key, make_order(store, order, shop, folder)


def _elsewhere(different: dict[str, tuple[Order, str]], shop: Shop, count: int) -> Iterator[tuple[str, Made]]:
    from concurrent.futures.process import BrokenProcessPool

    # Spawned as everywhere: a forked child would share the open catalogue.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, context, _start, (shop,)) as pool:
        waiting = {pool.submit(_make, order, folder): key for key, (order, folder) in different.items()}
        try:
            for done in as_completed(waiting):
                yield waiting[done], done.result()
        except BrokenProcessPool as cause:
            raise UsageError(
                "a worker process ended by itself, perhaps for want of memory; what was done is kept, run again with"
                " --workers 1"
            ) from cause
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


_worker: list[tuple[Store, Shop]] = []
"""The open catalogue of a worker process."""


def _start(shop: Shop) -> None:
    from catalogue.store.database import Store

    _worker.append((Store(shop.catalogue), shop))


def _make(order: Order, folder: str) -> Made:
    store, shop = _worker[0]
    return make_order(store, order, shop, folder)


def make_order(store: Store, order: Order, shop: Shop, folder_name: str) -> Made:
    """Make one order's tag; whatever is wrong with it becomes its reason. A full disk is no order's fault: OSError."""
    from catalogue.atomic import write_file
    from catalogue.judge.check import typesetter
    from catalogue.judge.process import load_process
    from catalogue.judge.request import DEFAULT_CAP_HEIGHT_MM, Request, Size
    from catalogue.judge.stack import default_stack
    from catalogue.tag import making
    from catalogue.tag.choosing import best
    from catalogue.tag.colours import hex_of
    from catalogue.tag.levers import Levers
    from catalogue.tag.orders import Result, plate
    from catalogue.tag.ring import RingWish
    from catalogue.tag.tag import Look
    from scanner.units import parse_length_mm

    try:
        for colour in order.colours:
            hex_of(colour)
        process = load_process(order.process or shop.process)
        size = Size("cap-height", parse_length_mm(order.cap_height) if order.cap_height else DEFAULT_CAP_HEIGHT_MM)
        if order.width:
            size = Size("width", parse_length_mm(order.width))
        levers = Levers(size_fixed=bool(order.cap_height or order.width), weight_free=True)
        asked = Request.of(order.name, size, process, default_stack())
        if order.face.casefold() == "best":
            choice = best(store, asked, levers)
            face, solved = choice.face, choice.fit
        else:
            face = store.find(order.face)
            without = making.lacking(face, asked.text, store.faces)
            if without:
                raise UsageError(without)
            solved = making.fit_face(face, asked, levers)
        if not solved.holds:
            reason = f"does not hold: {'; '.join(solved.misses)}; take another face"
            return Made(Result(order, face.title, reason=reason))
        tag = making.tag_of(face, solved, Look(RingWish(order.ring), 3, order.colours))
        bed = shop.bed_mm(process)
        if plate([tag.size_mm[:2]], bed) == [None]:
            large = f"{tag.size_mm[0]:.0f} × {tag.size_mm[1]:.0f} mm"
            raise UsageError(f"{large} does not lie on the bed of {bed[0]:g} × {bed[1]:g} mm; make it smaller")
        drawn = typesetter(face).set(" ".join(order.name.split())).region
        folder = shop.out / folder_name
        stamp = _stamp(order, face, process, shop.formats)
        kept = _finished(folder, stamp)
        if not kept:
            making.check_folder(folder)
            (folder / "made.txt").unlink(missing_ok=True)
            making.write(making.bundle(tag, face, shop.formats), folder)
            # Last of all: a folder without it is made anew.
            write_file(folder / "made.txt", "\n".join([stamp, *sorted(p.name for p in folder.iterdir()), ""]).encode())
        return Made(Result(order, tag.face, solved.hold.hold, tag.size_mm, tag.mass_g, folder.name), tag, drawn, kept)
    except ValueError as error:
        return Made(Result(order, reason=str(error)))


def _stamp(order: Order, face: Face, process: Process, formats: tuple[str, ...]) -> str:
    """The same only where the same files would be written."""
    font = (face.digest, str(face.face_index), repr(sorted(face.coordinates.items())))
    parts = (order.key, *font, repr(process), *formats)
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()


def _finished(folder: Path, stamp: str) -> bool:
    """Whether an earlier run wrote this very tag here and all its files are still there."""
    path = folder / "made.txt"
    lines = path.read_text(encoding="utf-8").splitlines() if path.is_file() else [""]
    return lines[0] == stamp and all((folder / name).is_file() for name in lines[1:])


def _check_out(out: Path) -> None:
    """Raise UsageError unless the folder is new, empty, or holds only what this command writes."""
    from catalogue.tag.making import strangers

    if out.exists() and not out.is_dir():
        raise UsageError(f"{out}: a file of that name is there; give a folder")
    for path in sorted(out.iterdir()) if out.is_dir() else ():
        if path.is_dir() and not strangers(path):
            continue
        if not _OURS.fullmatch(path.name):
            raise UsageError(f"{out}: holds other files ({path.name}); give a new or empty folder")


def _tell(results: Sequence[Result], made: dict[str, Made], plates: int, out: Path) -> None:
    done = [r for r in results if not r.reason]
    kept = sum(m.kept for m in made.values())
    fresh = sum(m.tag is not None for m in made.values()) - kept
    pieces = sum(r.order.quantity for r in done)
    from catalogue.wording import CAUTION, count_of

    print(
        f"{len(done)} of {count_of(len(results), 'order')} done, {count_of(pieces, 'piece')}:"
        f" {count_of(fresh, 'tag')} made, {kept} kept from an earlier run, {count_of(plates, 'plate')}; see {out}"
    )
    chosen = Counter(r.face for r in done if r.order.face.casefold() == "best")
    if chosen:
        print("  best chose " + ", ".join(f"{f} for {count_of(n, 'order')}" for f, n in chosen.most_common()))
    for r in results:
        if r.reason:
            print(f"  row {r.order.row}, order {r.order.order}: {r.reason}")
    if done:
        ready = "plate-1.3mf is" if plates == 1 else f"plate-1.3mf to plate-{plates}.3mf are"
        print(f"  contact.png shows all tags, results.csv lists them, {ready} ready to slice")
        print(CAUTION)


def write_sheets(done: Sequence[tuple[Order, Made]], shop: Shop) -> int:
    """The contact sheet, and plates with every piece that was ordered, as SVG and 3MF; returns how many plates.

    Tags of other colours or another process never share a plate: the colour changes at a height, for all of it.
    """
    from catalogue.atomic import write_file
    from catalogue.draw.picture import png, svg
    from catalogue.tag.exports.threemf import plate_threemf
    from catalogue.tag.orders import contact_sheet, plate, plate_scene
    from catalogue.wording import count_of

    made = [(order, one.tag, one.drawn) for order, one in done if one.tag is not None and one.drawn is not None]
    files: dict[str, bytes] = {}
    if made:
        sheet = contact_sheet(made)
        files = {"contact.png": png(sheet), "contact.svg": svg(sheet).encode()}
    groups: dict[tuple[str, tuple[str, ...]], list[Tag]] = {}
    for order, tag, _ in made:
        key = tag.process.name, tuple(dict.fromkeys(p.colour for p in tag.layers))
        groups.setdefault(key, []).extend([tag] * order.quantity)
    number = 0
    for (_, colours), tags in groups.items():
        bed = shop.bed_mm(tags[0].process)
        places = plate([(t.size_mm[0], t.size_mm[1]) for t in tags], bed)
        for k in range(max((p.plate for p in places if p is not None), default=-1) + 1):
            number += 1
            here = [(t, p.x_mm, p.y_mm) for t, p in zip(tags, places, strict=True) if p is not None and p.plate == k]
            title = f"plate {number}: {count_of(len(here), 'tag')}, {tags[0].process.name}, {', '.join(colours)}"
            files[f"plate-{number}.svg"] = svg(plate_scene(here, bed, title, sum(p is None for p in places))).encode()
            files[f"plate-{number}.3mf"] = plate_threemf(here, title)
    for name, data in files.items():
        write_file(shop.out / name, data)
    for path in shop.out.glob("plate-*"):
        if path.name not in files and _OURS.fullmatch(path.name):
            path.unlink()
    return number
