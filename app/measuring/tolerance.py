"""What a calibration found, and what a reading comes to if the instrument was wrong by that much. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from app.measuring.rules import Inputs, Quantity, Verdict, judged, say

MOST_PERCENT = 90.0  # beyond it an instrument measures nothing that could be judged again


class Calibrated(StrEnum):
    """What a calibration found before anything was adjusted."""

    WITHIN = "within tolerance"
    OUTSIDE = "out of tolerance"


class Settled(StrEnum):
    """What settles a reading in doubt."""

    MEASURED = "measured again"
    CALLED = "customer called"
    HARMLESS = "shown harmless"


@dataclass(frozen=True)
class ErrorFound:
    """How far an instrument was out on one range: per cent of reading and a fixed part, either way.

    `above` and `up_to` bound the readings that it concerns, by magnitude and in the quantity's unit, as `fixed` is.
    """

    quantity: Quantity
    above: float
    up_to: float
    percent: float
    fixed: float

    def covers(self, quantity: Quantity, value: float) -> bool:
        """Whether a reading lies in this range; both ends count, as either range may have been used there."""
        return quantity is self.quantity and self.above <= abs(value) <= self.up_to

    @property
    def words(self) -> str:
        unit = self.quantity.unit
        fixed = say(self.fixed, unit)
        found = " + ".join(one for one in (f"{self.percent:g} %" if self.percent else "", fixed if self.fixed else "") if one)
        return f"{self.quantity.value}, {say(self.above, unit)} to {say(self.up_to, unit)}: ±({found})"


def could_have_been(value: float, error: ErrorFound) -> tuple[float, float]:
    """The least and the greatest that a reading of `value` can have stood for: shown = true × (1 ± e) ± fixed, solved for true."""
    share = min(error.percent, MOST_PERCENT) / 100
    found = [(value + sign * error.fixed) / (1 + scale * share) for sign in (-1, 1) for scale in (-1, 1)]
    return min(found), max(found)


def worst_of(given: Inputs, errors: Iterable[ErrorFound]) -> Verdict:
    """The worst verdict that a reading comes to under any of the errors that concern it."""
    verdicts = {judged(given).verdict}
    for error in errors:
        verdicts |= {judged(replace(given, value=value)).verdict for value in could_have_been(given.value, error)}
    return next(one for one in (Verdict.FAIL, Verdict.UNDECIDED, Verdict.NOT_JUDGED, Verdict.PASS) if one in verdicts)


def margin(given: Inputs) -> float:
    """How far a reading lies inside its limits, as a share of the nearest one; the least margin is the first to flip."""
    found = [abs(given.value - limit) / abs(limit) for limit in (given.lower, given.upper) if limit]
    return min(found, default=math.inf)
