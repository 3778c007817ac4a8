"""What a tag costs and sells for, by the shop's own numbers; the formula is shown with the answer. Money as numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any

from catalogue.page.desk import Desk
from catalogue.page.filaments import Filament
from catalogue.tag.colours import hex_of
from catalogue.tag.tag import Tag

NAME = "price"


@dataclass(frozen=True, slots=True)
class Rates:
    """Set once by the shop."""

    currency: str = "EUR"
    filament_per_kg: float = 25.0
    """For colours that are none of the shop's filaments."""
    machine_hour: float = 1.5
    """Wear and power."""
    fixed_parts: float = 0.4
    """Key ring, bag, card: once a tag."""
    margin_percent: float = 60.0
    """On top of the cost, for work and profit."""


@dataclass(frozen=True, slots=True)
class Quote:
    """Price of one tag and where it comes from."""

    currency: str
    filament: float
    machine: float
    fixed: float
    margin: float
    formula: str

    @property
    def cost(self) -> float:
        """Without the margin."""
        return self.filament + self.machine + self.fixed

    @property
    def price(self) -> float:
        """With the margin."""
        return self.cost + self.margin

    @property
    def words(self) -> str:
        """The price as shown."""
        return f"{self.price:.2f} {self.currency}"


def rates(desk: Desk) -> Rates:
    """The shop's rates; what is missing or no number stands at its first value."""
    found: dict[str, Any] = desk.read(NAME, {})
    kept: dict[str, Any] = {}
    for field in fields(Rates):
        value = found.get(field.name)
        if field.name == "currency" and isinstance(value, str) and value.strip():
            kept["currency"] = value.strip()[:8]
        elif field.name != "currency" and isinstance(value, (int, float)) and 0 <= value < 1e6:
            kept[field.name] = float(value)
    return Rates(**kept)


def keep(desk: Desk, found: Rates) -> None:
    """Keep the rates."""
    desk.write(NAME, asdict(found))


def quote(made: Tag, own: Sequence[Filament], found: Rates) -> Quote:
    """Price of a finished tag: each layer's grams at its filament's price, minutes, fixed parts, margin."""
    per_kg = {f.colour: f.price_per_kg for f in own if f.price_per_kg}
    layers = [(layer.mass_g, per_kg.get(hex_of(layer.colour), found.filament_per_kg)) for layer in made.layers]
    filament = sum(mass * price for mass, price in layers) / 1000
    minutes = made.print_minutes
    machine = minutes / 60 * found.machine_hour
    margin = (filament + machine + found.fixed_parts) * found.margin_percent / 100
    mass = sum(m for m, _ in layers)
    formula = (
        f"filament {mass:.1f} g = {filament:.2f}, machine {minutes:.0f} min × {found.machine_hour:g} an hour ="
        f" {machine:.2f}, ring and bag {found.fixed_parts:.2f}, and {found.margin_percent:g} % on top = {margin:.2f}"
    )
    return Quote(found.currency, filament, machine, found.fixed_parts, margin, formula)
