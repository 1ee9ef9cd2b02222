"""What the estimates refuse."""

from __future__ import annotations

import math
from collections.abc import Iterable
from decimal import Decimal
from numbers import Integral, Real
from typing import Any


class EstimateError(ValueError):
    """An argument outside the range an estimate is valid for; names it, its value and the allowed range."""

    def __init__(self, argument: str, value: object, allowed: str) -> None:
        self.argument = argument
        self.value = value
        self.allowed = allowed
        super().__init__(f"{argument} is {value!r}; it must be {allowed}.")


def number(argument: str, value: object) -> float:
    """Return value as a float; refuse what is not a number, NaN and infinity."""
    try:
        plain = float(value) if not isinstance(value, bool) and isinstance(value, Real | Decimal) else math.nan
    except (OverflowError, ValueError):  # beyond the largest float; a signalling NaN
        plain = math.inf
    if not math.isfinite(plain):
        raise EstimateError(argument, value, "a finite number")
    return plain


def several(argument: str, value: object, of: str) -> tuple[Any, ...]:
    """Return the items of value; refuse what has none to give, a bare number or None."""
    if isinstance(value, Iterable):
        return tuple(value)
    raise EstimateError(argument, value, of)


def hours(argument: str, value: object) -> float:
    """Return value; refuse anything below zero."""
    plain = number(argument, value)
    if plain < 0.0:
        raise EstimateError(argument, value, "zero or more")
    return plain


def above_zero(argument: str, value: object) -> float:
    """Return value; refuse anything not above zero."""
    plain = number(argument, value)
    if plain <= 0.0:
        raise EstimateError(argument, value, "above zero")
    return plain


def spread(argument: str, value: object) -> float:
    """Return a standard deviation of logarithms; refuse anything outside 0 to 10 (a factor of 22,000)."""
    plain = number(argument, value)
    if not 0.0 <= plain <= 10.0:
        raise EstimateError(argument, value, "from 0 to 10")
    return plain


def share(argument: str, value: object) -> float:
    """Return value; refuse anything not between 0 and 1, both excluded."""
    plain = number(argument, value)
    if not 0.0 < plain < 1.0:
        raise EstimateError(argument, value, "between 0 and 1")
    return plain


def whole(argument: str, value: object, least: int) -> int:
    """Return value; refuse what is no whole number of at least `least`."""
    if isinstance(value, bool) or not isinstance(value, Integral) or value < least:
        raise EstimateError(argument, value, f"a whole number of at least {least}")
    return int(value)
