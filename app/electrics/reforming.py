"""Re-forming a stored electrolytic through a resistor."""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.capacitors import LEAKAGE_GRADES, leakage_limit, vintage_leakage_limit
from app.electrics.errors import finite, not_negative, one_of, positive, within
from app.electrics.extremes import finite_result

LIMIT_A = 0.015  # a short at the most: common practice, no source
CAN_W = 1.0  # heat inside the can while it forms: no more than warm to the hand; common practice, no source
_TENTH = 0.1


@dataclass(frozen=True)
class ReformStep:
    """One step of reforming: volts, series resistor, current and watts of a short, least minutes, volts to accept.

    Move on when the volts across the resistor have fallen to accept_v, where the part leaks accept_a, and the least time has
    passed. can_w: the most heat that the part itself can be given, when it stands at half the volts.
    """

    volt: float
    series_ohm: float
    short_a: float
    resistor_w: float
    minutes: float
    accept_v: float
    accept_a: float
    can_w: float


@finite_result
def reform_steps(
    rated_v: float, *, limit_a: float = LIMIT_A, stored_months: float = 0.0, farad: float | None = None, grade: str = "general",
    can_w: float | None = None,
) -> tuple[ReformStep, ...]:
    """Steps to re-form a stored electrolytic up to rated_v through a resistor that holds a short to limit_a.

    rated_v above zero to 1000 V, limit_a above zero to 0.05 A, stored_months zero or more. The resistor is
    rated_v / limit_a (450 V at 5 mA: 90 k, as practice notes have it), so no step can exceed limit_a even
    if the part is shorted; with can_w (above zero) it is no less than rated_v² / (4 can_w), since a part that
    stands at half the volts takes the most heat (matched load). With farad a step is accepted at the part's
    leakage limit at that step's volts (`leakage_limit`, or grade "vintage"), and never with more than 10 % of
    its volts across the resistor; without it, at those 10 %. Reject the part if that takes over an hour at
    rated volts; 5 minutes, at rated volts plus one per month stored (a reforming note seen; the steps of 25,
    50, 75, 90 % are common practice, no source). Charged parts kill: cover the part, stand clear, discharge
    through a resistor and measure before touching.
    """
    top = within("rated_v", positive("rated_v", rated_v), 0.0, 1000.0)
    limit = within("limit_a", positive("limit_a", limit_a), 0.0, 0.05)
    months = not_negative("stored_months", stored_months)
    one_of("grade", grade, (*LEAKAGE_GRADES, "vintage"))
    ohm = top / limit
    if can_w is not None:
        ohm = max(ohm, top * top / (4.0 * positive("can_w", can_w)))
    steps = []
    for share in (0.25, 0.5, 0.75, 0.9, 1.0):
        volt = top * share
        minutes = 5.0 + (months if share == 1.0 else 0.0)
        current = min(volt / ohm, limit)
        accept_v = _TENTH * volt if farad is None else min(_TENTH * volt, ohm * _leakage(farad, volt, grade))
        steps.append(ReformStep(volt, ohm, current, volt * current, minutes, accept_v, accept_v / ohm, volt * volt / (4.0 * ohm)))
    return tuple(steps)


def _leakage(farad: float, volt: float, grade: str) -> float:
    return vintage_leakage_limit(farad, volt) if grade == "vintage" else leakage_limit(farad, volt, grade=grade)


@finite_result
def reform_leakage(*, resistor_v: float, series_ohm: float) -> float:
    """Leakage (A) while reforming, from the volts across the series resistor; ohms above zero."""
    return finite("resistor_v", resistor_v) / positive("series_ohm", series_ohm)
