"""Resistor colours after IEC 60062: two digits, a multiplier and a tolerance."""

from __future__ import annotations

import math

RGB = tuple[int, int, int]

BAND_RGB: dict[str, RGB] = {
    "black": (24, 22, 22),
    "brown": (96, 52, 26),
    "red": (190, 30, 32),
    "orange": (232, 112, 28),
    "yellow": (236, 204, 48),
    "green": (36, 128, 62),
    "blue": (36, 74, 170),
    "violet": (124, 52, 148),
    "grey": (128, 130, 134),
    "white": (236, 236, 232),
    "gold": (190, 148, 52),
    "silver": (184, 188, 192),
}
DIGITS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
TOLERANCES = {1: "brown", 2: "red", 5: "gold", 10: "silver"}


def bands(ohms: float, tolerance_percent: int = 5) -> tuple[str, str, str, str]:
    """The four colours of a value of 0.1 Ω to 99 GΩ in two significant digits.

    Raises ValueError for a value or a tolerance that four bands cannot say.
    """
    if not 0.1 <= ohms < 1e11 or tolerance_percent not in TOLERANCES:
        raise ValueError(f"four bands cannot say {ohms} Ω ± {tolerance_percent} %")
    power = math.floor(math.log10(ohms) + 1e-9) - 1
    digits = round(ohms / 10.0**power)
    if abs(digits * 10.0**power - ohms) > 1e-6 * ohms:
        raise ValueError(f"four bands cannot say {ohms} Ω: more than two digits")
    multiplier = {-1: "gold", -2: "silver"}.get(power) or DIGITS[power]
    return DIGITS[digits // 10], DIGITS[digits % 10], multiplier, TOLERANCES[tolerance_percent]
