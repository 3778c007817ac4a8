"""From volumes and heights to what a printer makes of them: whole layers, grams, metres of filament, minutes."""

from __future__ import annotations

import math

from catalogue.judge.process import Process

FILAMENT_MM = 1.75
"""Diameter of common filament."""

PRINT_SPEED_MM_S, TRAVEL_SHARE, LAYER_CHANGE_S, START_MIN, COLOUR_CHANGE_MIN = 50.0, 0.3, 3.0, 5.0, 2.0
"""Of common desk printers (common practice, no source)."""

PRINT_MODEL = (
    f"volume / (line width × layer height × {PRINT_SPEED_MM_S:g} mm/s), {TRAVEL_SHARE:.0%} more for travel,"
    f" {LAYER_CHANGE_S:g} s a layer, {START_MIN:g} min to start, {COLOUR_CHANGE_MIN:g} min a colour change; solid print"
)


def snapped_height(height_mm: float, layer_height_mm: float) -> float:
    """The nearest whole number of layers, at least one.

    >>> [snapped_height(h, 0.2) for h in (2.032, 2.794, 4.572, 6.350)]
    [2.0, 2.8, 4.6, 6.4]
    """
    return round(max(1, round(height_mm / layer_height_mm)) * layer_height_mm, 6)


def mass_of(volume_mm3: float, process: Process) -> float:
    """Grams of a solid volume: 60 × 20 × 2.794 mm of PLA weigh 4.16 g.

    >>> from catalogue.judge.process import load_process
    >>> round(mass_of(60 * 20 * 2.794, load_process("nozzle-0.4")), 2)
    4.16
    """
    return volume_mm3 / 1000 * process.density_g_cm3


def filament_m(volume_mm3: float) -> float:
    """Metres of 1.75 mm filament in a volume."""
    return volume_mm3 / (math.pi * FILAMENT_MM**2 / 4) / 1000


def minutes_of(volume_mm3: float, height_mm: float, colour_changes: int, process: Process) -> float:
    """Rough minutes of a solid print; the model is ``PRINT_MODEL``."""
    seconds = volume_mm3 / (process.line_width_mm * process.layer_height_mm * PRINT_SPEED_MM_S)
    count = height_mm / process.layer_height_mm
    return START_MIN + colour_changes * COLOUR_CHANGE_MIN + (seconds * (1 + TRAVEL_SHARE) + count * LAYER_CHANGE_S) / 60
