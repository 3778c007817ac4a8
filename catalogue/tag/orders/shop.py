"""One order to its folder: asked, looked up in what an earlier run finished, else chosen, fitted, made and written."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from shapely.geometry.base import BaseGeometry

from catalogue.errors import LetterholdError
from catalogue.faults import keep_details
from catalogue.judge.process import Process, load_process
from catalogue.judge.request import DEFAULT_CAP_HEIGHT_MM, Request, Size
from catalogue.judge.spacing import set_words, word_space
from catalogue.judge.stack import default_stack
from catalogue.judge.typesetters import typesetter
from catalogue.store.database import Store
from catalogue.store.face import Face, find_face
from catalogue.store.font_cache import font_file
from catalogue.tag import making
from catalogue.tag.choosing import Choice, best
from catalogue.tag.colours import hex_of
from catalogue.tag.levers import USUAL_BY_HAND, Levers, by_hand_of
from catalogue.tag.orders.body import Body, body_of
from catalogue.tag.orders.finished import Finished, finished_in, keep, sizes_of
from catalogue.tag.orders.order import Order, Result
from catalogue.tag.orders.plates import lies_on
from catalogue.tag.ring import RingWish
from catalogue.tag.tag import Look
from scanner.units import parse_length_mm

REVISION = 1
"""Of what is written for an order; another number makes all folders again."""


class OrderError(LetterholdError):
    """An order that cannot be made; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class Shop:
    """What all orders of a run share; goes to every worker."""

    catalogue: Path
    out: Path
    process: str
    """Where an order names none."""
    formats: tuple[str, ...]
    bed_side_mm: float | None = None
    """Of a square bed; None for the bed of the process."""

    def bed_mm(self, process: Process) -> tuple[float, float]:
        """Width and depth of the bed."""
        return (self.bed_side_mm, self.bed_side_mm) if self.bed_side_mm else process.bed_mm


@dataclass(frozen=True, slots=True)
class Task:
    """An order that has to be made, and the name of its folder."""

    order: Order
    folder: str


@dataclass(frozen=True, slots=True)
class Made:
    """One different tag, made or not."""

    result: Result
    body: Body | None = None
    bed_mm: tuple[float, float] = (0.0, 0.0)
    made: str = ""
    """Digest of what was made, on which font."""
    kept: bool = False
    """Whether an earlier run had finished its folder."""


def make_order(store: Store, task: Task, shop: Shop) -> Made:
    """Make one order's tag; whatever is wrong with it becomes its reason. A full disk is no order's fault: OSError."""
    attempt = _Attempt(store, task, shop)
    try:
        return attempt.kept() or attempt.made()
    except LetterholdError as error:
        reason = str(error)
    except OSError:
        raise
    except Exception as error:  # one order's fault must not stop the others
        reason = f"this is a fault in letterhold, not in the order; details in {keep_details(error)}"
    return Made(Result(task.order, attempt.title, reason=reason))


def kept_order(store: Store, task: Task, shop: Shop) -> Made | None:
    """What an earlier run finished of an order that is as it was; None for one that has to be made."""
    try:
        return _Attempt(store, task, shop).kept()
    except LetterholdError:
        return None  # making it will say why


class _Attempt:
    """One order on its way; knows the face as soon as there is one."""

    def __init__(self, store: Store, task: Task, shop: Shop) -> None:
        self.store, self.order, self.shop = store, task.order, shop
        self.folder = shop.out / task.folder
        self.title = ""

    def kept(self) -> Made | None:
        """The tag of an earlier run, where order, font and process are as they were; nothing is fitted."""
        request = request_of(self.order, self.shop)
        earlier = finished_in(self.folder)
        if earlier is None or earlier.asked != self._digest("asked", request, self._origin(self._named_face())):
            return None
        face = next((f for f in _faces(self.store) if f.id == earlier.face_id), None)
        if face is None:
            return None
        font_file(face)  # gone or changed since the scan: refused as for a new tag
        return self._done(earlier, request, kept=True)

    def _named_face(self) -> Face | None:
        """The face that the order names; None where it is to be chosen."""
        if self.order.takes_best:
            return None
        face = find_face(_faces(self.store), self.order.face)
        self.title = face.title
        return face

    def made(self) -> Made:
        """The tag, fitted now; its files are written where they are not as they would be. Raises LetterholdError."""
        request, face = request_of(self.order, self.shop), self._named_face()
        asked = self._digest("asked", request, self._origin(face))
        earlier = finished_in(self.folder)
        choice = self._chosen(request, face)
        tag = making.tag_of(choice.face, choice.fit, Look(RingWish(self.order.ring), 3, self.order.colours))
        self._check_bed(tag.size_mm, request.process)
        made = self._digest("made", request, self._origin(choice.face))
        done = Finished(
            asked, made, choice.face.id, choice.fit.hold.hold, tag.mass_g,
            body_of(tag, lettering_of(choice.face, self.order.name)),
        )  # fmt: skip
        if earlier is not None and earlier.made == made:
            files = {p.name: p.stat().st_size for p in self.folder.iterdir() if p.name != making.MADE}
            keep(self.folder, done, files)
            return self._done(done, request, kept=True)
        making.check_folder(self.folder)
        making.clear_unfinished(self.folder)
        (self.folder / making.MADE).unlink(missing_ok=True)
        bundle = making.bundle(tag, choice.face, self.shop.formats)
        making.write(bundle, self.folder)
        keep(self.folder, done, sizes_of(bundle.files))
        return self._done(done, request, kept=False)

    def _chosen(self, request: Request, face: Face | None) -> Choice:
        levers = levers_of(self.order)
        if face is None:
            choice = best(self.store, request, levers)
            self.title = choice.face.title
            return choice
        without = making.lacking(face, request, lambda: _faces(self.store))
        if without:
            raise OrderError(without)
        solved = making.fit_face(face, request, levers)
        if not solved.holds:
            raise OrderError(f"does not hold: {'; '.join(solved.misses)}; take another face")
        return Choice(face, solved)

    def _done(self, done: Finished, request: Request, kept: bool) -> Made:
        body = done.body
        self.title = body.face
        self._check_bed(body.size_mm, request.process)
        result = Result(self.order, body.face, done.hold, body.size_mm, done.mass_g, self.folder.name)
        return Made(result, body, self.shop.bed_mm(request.process), done.made, kept)

    def _check_bed(self, size_mm: tuple[float, float, float], process: Process) -> None:
        bed = self.shop.bed_mm(process)
        if not lies_on(size_mm[:2], bed):
            raise OrderError(
                f"{size_mm[0]:.0f} × {size_mm[1]:.0f} mm does not lie on the bed of {bed[0]:g} × {bed[1]:g} mm; make"
                " it smaller"
            )

    def _origin(self, face: Face | None) -> tuple[str, ...]:
        """What the tag depends on besides the order: the font, or the catalogue where the face is to be chosen."""
        if face is None:
            return ("best", str(self.store.stamp()))
        return (face.digest, str(face.face_index), repr(sorted(face.coordinates.items())))

    def _digest(self, kind: str, request: Request, origin: tuple[str, ...]) -> str:
        parts = (kind, str(REVISION), self.order.key, *origin, repr(request.process), *self.shop.formats)
        return hashlib.sha256("\x1f".join(parts).encode("utf-8", "surrogatepass")).hexdigest()


@lru_cache(maxsize=1)
def _faces(store: Store) -> list[Face]:
    """All faces of the catalogue, read once a run."""
    return store.faces()


def request_of(order: Order, shop: Shop) -> Request:
    """What an order asks for. Raises LetterholdError for a colour, process or size that is not known."""
    for colour in order.colours:
        hex_of(colour)
    process = load_process(order.process or shop.process)
    size = Size("cap-height", parse_length_mm(order.cap_height) if order.cap_height else DEFAULT_CAP_HEIGHT_MM)
    if order.width:
        size = Size("width", parse_length_mm(order.width))
    bed = shop.bed_mm(process)
    if size.mm > max(bed):  # no name of that size can lie on it: said before it is fitted
        raise OrderError(f"{size.mm:g} mm does not lie on the bed of {bed[0]:g} × {bed[1]:g} mm; make it smaller")
    return Request.of(order.name, size, process, default_stack())


def levers_of(order: Order) -> Levers:
    """What may change for an order. Raises LetterholdError for a change by hand or a line spacing that is none."""
    return Levers(
        size_fixed=bool(order.cap_height or order.width), weight_free=True, backing=order.behind,
        line_spacing_mm=parse_length_mm(order.line_spacing) if order.line_spacing else None,
        by_hand=by_hand_of(order.by_hand) if order.by_hand else USUAL_BY_HAND, by_hand_first=bool(order.by_hand),
    )  # fmt: skip


def lettering_of(face: Face, name: str) -> BaseGeometry:
    """The name in one line as its face draws it, its words a word space apart, in font units."""
    setter = typesetter(face)
    return set_words(setter, " ".join(name.split()), word_space(setter))[0].region


def for_order(made: Made, order: Order) -> Result:
    """The result of an equal order."""
    return replace(made.result, order=order)
