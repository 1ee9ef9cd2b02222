"""What the sums refuse, and the few checks that every sum makes on its input."""

from __future__ import annotations

import math
from collections.abc import Iterable
from numbers import Integral, Real
from typing import Any


class ElectricsError(ValueError):
    """An argument outside the range a sum is valid for.

    Names the argument, the value given and the allowed range, in words for a person at the bench.
    """

    def __init__(self, argument: str, value: object, allowed: str) -> None:
        self.argument = argument
        self.value = value
        self.allowed = allowed
        super().__init__(f"{argument} is {value!r}; it must be {allowed}.")


def finite(argument: str, value: object) -> float:
    """Return value, numpy's scalars too, as a float; refuse what is not a number, NaN and infinity."""
    try:
        plain = float(value) if not isinstance(value, bool) and isinstance(value, Real) else math.nan
    except OverflowError:  # a whole number beyond the largest float
        plain = math.inf
    if not math.isfinite(plain):
        raise ElectricsError(argument, value, "a finite number")
    return plain


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


def whole(argument: str, value: object, low: int, high: int) -> int:
    """Return value, numpy's whole numbers too, as an int; refuse anything else and anything outside low to high."""
    if isinstance(value, bool) or not isinstance(value, Integral) or not low <= int(value) <= high:
        raise ElectricsError(argument, value, f"a whole number from {low} to {high}")
    return int(value)


def yes_or_no(argument: str, value: object) -> bool:
    """Return value, numpy's truth values too, as a bool; refuse an array of them and anything else."""
    if getattr(value, "ndim", 0) != 0 or value not in (True, False):
        raise ElectricsError(argument, value, "True or False")
    return bool(value)


def several(argument: str, value: object, of: str) -> tuple[Any, ...]:
    """Return the items of value; refuse what has none to give, a bare number or None."""
    try:
        return tuple(value) if isinstance(value, Iterable) else _none_to_give(argument, value, of)
    except TypeError:  # an array of no dimension says that it can be gone through, and cannot
        return _none_to_give(argument, value, of)


def _none_to_give(argument: str, value: object, of: str) -> tuple[Any, ...]:
    raise ElectricsError(argument, value, of)


def reals(argument: str, value: object) -> Any:
    """Return value, a number or an array of numbers of any shape, as a numpy array of floats; refuse anything else."""
    import numpy as np  # here: a page that asks for no sum must not wait for numpy

    given = np.asarray(value) if not isinstance(value, (str, bytes)) else np.asarray(None)
    if given.dtype.kind not in "fiu" or given.size == 0:
        raise ElectricsError(argument, value, "a number or an array of numbers")
    return given.astype(np.float64)


def one_of(argument: str, value: str, allowed: tuple[str, ...]) -> str:
    """Return value; refuse a word that is not in the list."""
    if not isinstance(value, str) or value not in allowed:
        raise ElectricsError(argument, value, "one of " + ", ".join(allowed))
    return value
