"""What the sums refuse, and the few checks that every sum makes on its input."""

from __future__ import annotations

import math


class ElectricsError(ValueError):
    """An argument outside the range a sum is valid for.

    Names the argument, the value given and the allowed range, in words for a person at the bench.
    """

    def __init__(self, argument: str, value: object, allowed: str) -> None:
        self.argument = argument
        self.value = value
        self.allowed = allowed
        super().__init__(f"{argument} is {value!r}; it must be {allowed}.")


def finite(argument: str, value: float) -> float:
    """Return value as a float; refuse what is not a number, NaN and infinity."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ElectricsError(argument, value, "a finite number")
    return float(value)


def positive(argument: str, value: float) -> float:
    """Return value; refuse anything not above zero."""
    number = finite(argument, value)
    if number <= 0.0:
        raise ElectricsError(argument, value, "above zero")
    return number


def not_negative(argument: str, value: float) -> float:
    """Return value; refuse anything below zero."""
    number = finite(argument, value)
    if number < 0.0:
        raise ElectricsError(argument, value, "zero or more")
    return number


def within(argument: str, value: float, low: float, high: float) -> float:
    """Return value; refuse anything outside low to high, both included."""
    number = finite(argument, value)
    if not low <= number <= high:
        raise ElectricsError(argument, value, f"from {low:g} to {high:g}")
    return number


def one_of(argument: str, value: str, allowed: tuple[str, ...]) -> str:
    """Return value; refuse a word that is not in the list."""
    if value not in allowed:
        raise ElectricsError(argument, value, "one of " + ", ".join(allowed))
    return value
