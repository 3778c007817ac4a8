"""Workbench: one name in one face, its levers, the fit's proposal, the finished tag and its files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import streamlit as st

from catalogue.page import bar, making
from catalogue.page.catalogue_view import Job, Shelf
from catalogue.page.drawing import Solid, sheet, told
from catalogue.page.making import Hand
from catalogue.page.markup import Html, facts, join, listed, table, tag
from catalogue.page.parts import sheet as show_sheet
from catalogue.tag.ring import RingWish
from catalogue.tag.ring_places import SIDES
from catalogue.tag.tag import Look
from catalogue.text import clean
from catalogue.wording import count_of, sell

if TYPE_CHECKING:
    from catalogue.judge.check import WeakSpot
    from catalogue.store.database import Face
    from catalogue.tag.fit import Fit
    from catalogue.tag.tag import Tag

LAYERS = {3: "three colours", 2: "two colours", 1: "one colour"}
PARTS = ("base", "middle", "top")
DOWNLOADS = (
    ("tag.3mf", "3MF, bodies by colour", "model/3mf"),
    ("tag.stl", "STL, one body", "model/stl"),
    ("all.svg", "SVG, layers in colour", "image/svg+xml"),
    ("tag.dxf", "DXF, outlines in mm", "image/vnd.dxf"),
    ("preview.png", "PNG picture", "image/png"),
    ("job.html", "Job sheet", "text/html"),
    ("licence.zip", "Licence record", "application/zip"),
)


def show(shelf: Shelf) -> None:
    """The view."""
    job = bar.job_block(live=False, lines=True)
    face = _top_line(shelf)
    bar.tell_arrival()
    if not job.name:
        st.info("Type a name above to make its tag.")
        return
    if face is None:
        bar.pick_first(shelf, "make its tag")
        return
    hand, look = _levers(shelf, face)
    fit = making.as_set(shelf, face, job, hand)
    advice = making.proposal(shelf, face, job, hand.weight)
    made, trouble = None, ""
    if fit.holds:
        try:
            made = making.tag_of(fit, face, look)
        except ValueError as error:
            trouble = f"{error}."
    spots = fit.weak_spots()
    left, right = st.columns([3, 2], gap="medium")
    with left:
        show_sheet(_from_above(fit, made, spots, face), key="plan")
        _proposal(fit, advice, job, hand)
    with right:
        show_sheet(_state(fit, made, spots, trouble), key="state")
        if made is not None:
            show_sheet(_preview(made), key="preview")
    if made is not None:
        _downloads((shelf.stamp, face.id, job, hand, look), made, face)
        show_sheet(_facts(made, shelf.stored_verdict(face)), key="facts")
    else:
        st.info(
            trouble
            or "There is nothing to download yet: the tag has to hold first. Take the proposal, or move a lever."
        )
    _cautions(made)


def _top_line(shelf: Shelf) -> Face | None:
    with st.container(key="filters", horizontal=True, vertical_alignment="bottom"):
        face = bar.face_picker(shelf)
        if face is not None and st.button("Read its licence", key="to_licence"):
            bar.go("licence", face=face.id)
            st.rerun()
    return face


def _levers(shelf: Shelf, face: Face) -> tuple[Hand, Look]:
    from catalogue.tag.colours import COLOURS

    axis = making.weight_axis(shelf, face)
    for key, value in (
        ("w_thicken", 0.0), ("w_tracking", 0.0), ("w_ring", Look().ring.side), ("w_layers", Look().layers),
        *((f"w_colour_{part}", c) for part, c in zip(PARTS, Look().colours, strict=True)),
    ):  # fmt: skip
        bar.remembered(key, value)
    with st.container(key="levers", horizontal=True, vertical_alignment="bottom"):
        thicken = st.number_input("Thicken letters, mm", 0.0, 2.0, step=0.05, key="w_thicken", format="%.2f", width=145)
        tracking = st.number_input("Tracking, em", -0.3, 0.0, step=0.005, key="w_tracking", format="%.3f", width=135)
        weight = None
        if axis is not None:
            least, now, most = axis
            moved = st.slider("Weight", least, most, now, key=f"w_weight_{face.id}", width=140)
            weight = None if moved == now else moved
        ring = st.selectbox("Ring", list(SIDES), key="w_ring", width=130)
        layers = st.selectbox("Layers", list(LAYERS), key="w_layers", format_func=LAYERS.__getitem__, width=140)
        names = list(COLOURS)
        chosen = [
            st.selectbox(f"{part.capitalize()} colour", names, key=f"w_colour_{part}", width=112) for part in PARTS
        ]
    return Hand(thicken, tracking, weight), Look(RingWish(ring), layers, (chosen[0], chosen[1], chosen[2]))


def _from_above(fit: Fit, made: Tag | None, spots: tuple[WeakSpot, ...], face: Face) -> Html:
    words = f"{fit.name} in {clean(face.title)} from above, {'holds' if fit.holds else 'does not hold'}"
    if made is None:
        return sheet(Solid((("base", fit.base), ("middle", fit.middle), ("top", fit.top)), spots), words)
    x0, y0 = made.origin_mm
    moved = tuple(replace(s, x_mm=s.x_mm - x0, y_mm=s.y_mm - y0) for s in spots)
    return sheet(Solid(tuple((p.layer, p.region) for p in made.layers), moved), words, (made.ring.x_mm, made.ring.y_mm))


def _preview(made: Tag) -> Html:
    from catalogue.draw.picture import svg
    from catalogue.tag.exports.svg import preview

    return tag("div", Html(svg(preview(made))), class_="paper")


def _state(fit: Fit, made: Tag | None, spots: tuple[WeakSpot, ...], trouble: str) -> Html:
    hold = fit.hold
    word = "holds" if fit.holds else "does not hold"
    parts = [
        tag(
            "p",
            tag("span", f"As set it {word}, hold {hold.hold} of 100", class_=f"stamp {'good' if fit.holds else 'bad'}"),
        )
    ]
    if fit.misses:
        parts.append(listed([tag("span", m, class_="bad") for m in fit.misses]))
    if trouble:
        parts.append(tag("p", trouble, class_="bad"))
    if hold.reasons:
        parts.append(listed(r.sentence for r in hold.reasons))
    if spots:
        parts += [tag("h3", "Weak spots on the drawing"), listed(told(spots), ordered=True)]
    else:
        parts.append(tag("p", "No weak spot is left."))
    if made is not None:
        parts.append(
            facts([
                ("size", f"{made.size_mm[0]:.1f} × {made.size_mm[1]:.1f} × {made.size_mm[2]:g} mm"),
                ("mass", f"{made.mass_g:.2f} g"),
                ("ring bond", f"{made.ring.bond_mm:.2f} mm"),
                ("of the ring in the base", f"{made.ring.overlap_share:.0%}"),
                ("it hangs turned by", _turned(made.ring.tilt_deg)),
            ])
        )  # fmt: skip
    return join(parts)


def _turned(tilt_deg: float) -> str:
    """Degrees and which way round; see ``Ring``."""
    degrees = round(abs(tilt_deg))
    return f"{degrees}°" + (f" {'clockwise' if tilt_deg < 0 else 'counter-clockwise'}" if degrees else "")


def _proposal(fit: Fit, advice: Fit, job: Job, hand: Hand) -> None:
    now, then = fit.setting, advice.setting
    bought = {c.lever: c.bought for c in advice.changes}
    rows = [
        ("capitals", f"{fit.cap_height_mm:.2f} mm", f"{advice.cap_height_mm:.2f} mm", bought.get("cap height", "–")),
        ("base offset", f"{now.base_offset_mm:.2f} mm", f"{then.base_offset_mm:.2f} mm",
         bought.get("base offset", "–")),
        ("thickening", f"{now.thicken_mm:.2f} mm", f"{then.thicken_mm:.2f} mm", bought.get("thickening", "–")),
        ("tracking", f"{now.tracking_em:.3f} em", f"{then.tracking_em:.3f} em", bought.get("tracking", "–")),
    ]  # fmt: skip
    if "word space" in bought:
        rows.append(("word space", "", "narrower", bought["word space"]))
    told_so = tag("p", "The proposal is the least change that holds." if advice.holds
                  else f"Nothing the levers can do makes it hold: {'; '.join(advice.misses)}. Take another face.",
                  class_="note" if advice.holds else "bad")  # fmt: skip
    show_sheet(
        join([
            tag("h2", "Levers"),
            table(
                "As set, as proposed, what it buys", ("lever", "as set", "proposal", "buys"), rows, (1, 2), stacked=True
            ),
            told_so,
        ]),
        key="proposal",
    )  # fmt: skip
    same = now == then
    if same:
        st.caption("The levers stand where the proposal puts them.")
    with st.container(key="levers_taken", horizontal=True):
        st.button(
            "Take the proposal", key="take", disabled=same or not advice.holds, type="primary",
            on_click=_taker(advice, job),
        )  # fmt: skip
        if hand.thicken_mm or hand.tracking_em:
            st.button("Levers back to nothing", key="back", on_click=_back)


def _taker(advice: Fit, job: Job) -> Callable[[], None]:
    def take() -> None:
        setting = advice.setting
        st.session_state.w_thicken = round(setting.thicken_mm, 4)
        st.session_state.w_tracking = round(setting.tracking_em, 4)
        st.session_state.w_offset = f"{setting.base_offset_mm:.6g} mm"
        if any(c.lever == "cap height" for c in advice.changes):
            st.session_state.w_by = "cap-height"
            st.session_state.w_size = f"{advice.cap_height_mm:.6g} mm"

    return take


def _back() -> None:
    st.session_state.w_thicken = 0.0
    st.session_state.w_tracking = 0.0


def _downloads(key: object, made: Tag, face: Face) -> None:
    from catalogue.tag.orders import Order, folder_name

    stem = folder_name(Order(1, made.name.replace("\n", " ")[:40])) or "tag"

    def one(name: str) -> Callable[[], bytes]:
        return lambda: making.files_of(key, made, face)[name]

    def everything() -> bytes:
        return making.zipped(making.files_of(key, made, face))

    show_sheet(tag("h2", "Take away"), key="take_away")
    with st.container(key="downloads", horizontal=True):
        st.download_button(
            "Everything (.zip)",
            everything,
            f"{stem}.zip",
            "application/zip",
            key="d_all",
            on_click="ignore",
            type="primary",
        )
        for name, label, kind in DOWNLOADS:
            ending = name.rpartition(".")[2]
            file = name if name.startswith(("job", "licence")) else f"{stem}.{ending}"
            st.download_button(label, one(name), file, kind, key=f"d_{name}", on_click="ignore")


def _facts(made: Tag, verdict: dict[str, object]) -> Html:
    from catalogue.tag.printing import PRINT_MODEL, filament_m

    rows = [
        (
            p.layer, p.colour, f"{p.bottom_mm:.2f} to {p.top_mm:.2f}", f"{p.top_asked_mm:.3f}",
            "" if p.layer == "ring" else f"{p.offset_mm:.2f}", f"{p.mass_g:.2f}", f"{filament_m(p.volume_mm3):.2f}",
        )
        for p in made.layers
    ]  # fmt: skip
    seal = sell(verdict.get("verdict"))
    cylinder = "may fit into it" if made.may_fit_cylinder else "does not fit whole; parts that break off may"
    changes = f"Change to {', then '.join(made.change_lines)}." if made.colour_changes_mm else "No colour change."
    minutes = count_of(round(made.print_minutes), "minute")
    return join([
        tag("h2", "Layers"),
        table("Heights above the bed in mm, as printed in whole layers and as asked; offset from the letter; grams;"
              " metres of 1.75 mm filament",
              ("layer", "colour", "height", "asked", "offset", "g", "m"), rows, (2, 3, 4, 5, 6)),
        tag("p", f"{changes} About {minutes} by {PRINT_MODEL}."),
        tag("p", f"{seal.sign} {seal.sentence}: evidence, not legal advice; the licence view shows the quotes."),
        tag("p", f"Small-parts cylinder: the tag {cylinder}."),
    ])  # fmt: skip


def _cautions(made: Tag | None) -> None:
    from catalogue.tag.cautions import CAUTIONS

    large = made.bed_caution if made is not None else ""
    lines = [tag("span", large, class_="bad"), *CAUTIONS] if large else CAUTIONS
    show_sheet(join([tag("h2", "Cautions"), listed(lines)]), key="cautions")
