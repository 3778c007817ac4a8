"""The sheets of Make: state, proposal, layers, cautions as markup. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from catalogue.judge.weak_spots import WeakSpot
from catalogue.page.drawing import Solid, sheet, spot_lines
from catalogue.page.markup import Html, facts, join, listed, table, tag
from catalogue.page.place import Hand, Look
from catalogue.page.price import Quote
from catalogue.page.terms import term
from catalogue.store.face import Face
from catalogue.tag.cautions import CAUTIONS
from catalogue.tag.fit import Fit
from catalogue.tag.printing import PRINT_MODEL, filament_m
from catalogue.tag.tag import Tag
from catalogue.text import clean
from catalogue.wording import count_of, sell

Spots = tuple[WeakSpot, ...]


def from_above(fit: Fit, made: Tag | None, spots: Spots, face: Face, look: Look) -> Html:
    """The tag with its sizes, in the colours chosen."""
    words = f"{fit.name} in {clean(face.title)} from above, {'holds' if fit.holds else 'does not hold'}"
    if made is None:
        layers = (("base", fit.base), ("middle", fit.middle), ("top", fit.top))
        return sheet(Solid(layers, spots, look.colours), words)
    x0, y0 = made.origin_mm
    moved = tuple(replace(s, x_mm=s.x_mm - x0, y_mm=s.y_mm - y0) for s in spots)
    solid = Solid(tuple((p.layer, p.region) for p in made.layers), moved, look.colours)
    return sheet(solid, words, (made.ring.x_mm, made.ring.y_mm))


def stamp(fit: Fit) -> Html:
    """Whether it holds as set."""
    word = "holds" if fit.holds else "does not hold"
    line = f"As set it {word}, hold {fit.hold.hold} of 100"
    return tag("p", tag("span", line, class_=f"stamp {'good' if fit.holds else 'bad'}"), term("hold"))


def state(fit: Fit, made: Tag | None, spots: Spots, trouble: str) -> Html:
    """What is missing, what is weak, and the tag's measures."""
    hold = fit.hold
    parts: list[Html] = []
    if fit.misses:
        parts.append(listed([tag("span", m, class_="bad") for m in fit.misses]))
    if trouble:
        parts.append(tag("p", trouble, class_="bad"))
    if hold.reasons:
        parts.append(listed(r.sentence for r in hold.reasons))
    if spots:
        parts += [tag("h2", "Weak spots on the drawing"), listed(spot_lines(spots), ordered=True)]
    else:
        parts.append(tag("p", "No weak spot is left."))
    if made is not None:
        size = f"{made.size_mm[0]:.1f} × {made.size_mm[1]:.1f} × {made.size_mm[2]:g} mm"
        parts.append(
            facts([
                ("size", size), ("mass", f"{made.mass_g:.2f} g"),
                (join(["ring bond", term("bond")]), f"{made.ring.bond_mm:.2f} mm"),
                ("of the ring in the base", f"{made.ring.overlap_share:.0%}"),
                ("it hangs turned by", turned(made.ring.tilt_deg)),
            ])
        )  # fmt: skip
    return join(parts)


def turned(tilt_deg: float) -> str:
    """Degrees and which way round; see ``Ring``."""
    degrees = round(abs(tilt_deg))
    return f"{degrees}°" + (f" {'clockwise' if tilt_deg < 0 else 'counter-clockwise'}" if degrees else "")


def proposal(fit: Fit, advice: Fit, name: str) -> Html:
    """Levers as set and as proposed, and what each change brings; once taken, that they stand there."""
    now, then = fit.setting, advice.setting
    taken = at_proposal(fit, advice)
    brings = {} if taken else {c.lever: c.bought for c in advice.changes}
    rows: list[tuple[object, ...]] = [
        ("height of capitals", f"{fit.cap_height_mm:.2f} mm", f"{advice.cap_height_mm:.2f} mm", "cap height"),
        (join(["outline of the base", term("outline")]), f"{now.base_offset_mm:.2f} mm",
         f"{then.base_offset_mm:.2f} mm", "base offset"),
        (join(["thicker letters", term("thickening")]), f"{now.thicken_mm:.2f} mm", f"{then.thicken_mm:.2f} mm",
         "thickening"),
        (join(["letters closer", term("tracking")]), f"{now.tracking_em:.3f} em", f"{then.tracking_em:.3f} em",
         "tracking"),
    ]  # fmt: skip
    if " " in name and "word space" in {c.lever for c in advice.changes}:
        rows.append(("words closer", "", "narrower", "word space"))
    rows += [(c.said, "", "yes", c.lever) for c in advice.changes if c.said]
    shown = [(*row[:3], brings.get(str(row[3]), "")) for row in rows]
    if taken:
        line = tag("p", "The levers stand where the proposal puts them.", class_="note")
    elif advice.holds:
        line = tag("p", "The proposal is the least change that holds.", class_="note")
    else:
        misses = "; ".join(advice.misses)
        line = tag("p", f"Nothing the levers can do makes it hold: {misses}. Take other letters.", class_="bad")
    head = ("lever", "as set", "proposal", "what it brings")
    return join([tag("h2", "Levers"), table("As set and as proposed", head, shown, (1, 2), stacked=True), line])


def at_proposal(fit: Fit, advice: Fit) -> bool:
    """Whether the levers stand where the proposal puts them, as finely as they can be set."""
    now, then = fit.setting, advice.setting
    pairs = (
        (now.em_mm, then.em_mm), (now.tracking_em, then.tracking_em), (now.thicken_mm, then.thicken_mm),
        (now.base_offset_mm, then.base_offset_mm),
    )  # fmt: skip
    return all(abs(a - b) < STEP for a, b in pairs)


STEP = 1e-3
"""How finely levers are compared; addresses and boxes keep four digits."""


def layers(made: Tag, verdict: dict[str, Any], quote: Quote, strength: Sequence[str]) -> Html:
    """Layers with heights and filament, minutes, price, licence."""
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
        table("Heights above the bed in mm, as printed in whole layers and as asked; outline beyond the letter; grams;"
              " metres of 1.75 mm filament",
              ("layer", "colour", "height", "asked", "outline", "g", "m"), rows, (2, 3, 4, 5, 6)),
        tag("p", f"{changes} About {minutes} by {PRINT_MODEL}."),
        tag("p", tag("b", f"Price {quote.words}"), f": {quote.formula}. Set these numbers in Shop."),
        tag("p", f"{seal.sign} {seal.sentence}: evidence, not legal advice; the licence view shows the quotes."),
        tag("p", f"Small-parts cylinder: the tag {cylinder}."),
        *([tag("h2", "Strength, an estimate"), listed(strength)] if strength else []),
    ])  # fmt: skip


def cautions(made: Tag | None) -> Html:
    """The usual cautions, the bed's first."""
    large = made.bed_caution if made is not None else ""
    lines = [tag("span", large, class_="bad"), *CAUTIONS] if large else CAUTIONS
    return join([tag("h2", "Cautions"), listed(lines)])


def moved(hand: Hand) -> bool:
    """Whether a lever was moved by hand."""
    return hand != Hand()
