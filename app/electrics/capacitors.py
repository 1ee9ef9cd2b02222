"""Capacitors: leakage limits, stored energy, discharge and ESR."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.electrics.errors import ElectricsError, finite, not_negative, one_of, positive
from app.electrics.extremes import finite_result

LEAKAGE_GRADES: dict[str, tuple[float, float, str]] = {
    "low": (0.01, 3.0, "floor"),
    "standard": (0.02, 3.0, "added"),
    "general": (0.03, 0.0, "added"),
}
_JAN_K = ((100.0, 0.01), (250.0, 0.02), (350.0, 0.025), (450.0, 0.04))


@finite_result
def leakage_limit(farad: float, rated_v: float, *, grade: str = "low") -> float:
    """Leakage limit (A) of a new aluminium electrolytic after 2 to 5 minutes at rated volts.

    Form of the IEC 60384-4 leakage clause, whose figures the detail specification sets; grades as data
    sheets print them, C in µF, V in volts, result in µA: low is 0.01 CV or 3, whichever is greater;
    standard 0.02 CV + 3; general 0.03 CV. farad and rated_v above zero; else ElectricsError.
    The 0.01 CV rule was seen in a general article, the other two are from memory.
    """
    product = positive("farad", farad) * 1e6 * positive("rated_v", rated_v)
    factor, constant, how = LEAKAGE_GRADES[one_of("grade", grade, tuple(LEAKAGE_GRADES))]
    microamp = max(factor * product, constant) if how == "floor" else factor * product + constant
    return microamp * 1e-6


@finite_result
def vintage_leakage_limit(farad: float, rated_v: float) -> float:
    """Acceptance leakage (A) of a vintage electrolytic: I(mA) = K C + 0.3, C in µF (JAN-C-62).

    K is 0.01, 0.02, 0.025, 0.04 to 100, 250, 350, 450 V rated; above 450 V the rule has no figure and
    ElectricsError is raised, as for values not above zero. Source: JAN-C-62 quoted in a radio mail archive.
    """
    volt = positive("rated_v", rated_v)
    microfarad = positive("farad", farad) * 1e6
    for top, factor in _JAN_K:
        if volt <= top:
            return (factor * microfarad + 0.3) * 1e-3
    raise ElectricsError("rated_v", rated_v, "above 0 to 450, where the rule ends")


@finite_result
def stored_energy(farad: float, volt: float) -> float:
    """Energy (J) in a charged capacitor, C V² / 2; farad zero or more, volt of either sign."""
    return 0.5 * not_negative("farad", farad) * finite("volt", volt) ** 2


@finite_result
def stored_charge(farad: float, volt: float) -> float:
    """Charge (coulomb) on a capacitor, C times the volts' magnitude; farad zero or more."""
    return not_negative("farad", farad) * abs(finite("volt", volt))


@finite_result
def holding_volt(joule: float, farad: float) -> float:
    """Volts at which a capacitor holds so many joules, sqrt(2 W / C); joule zero or more, farad above zero."""
    return math.sqrt(2.0 * not_negative("joule", joule) / positive("farad", farad))


@finite_result
def discharge_time(*, from_v: float, to_v: float, ohm: float, farad: float) -> float:
    """Seconds for a capacitor to fall from from_v to to_v through a resistor, R C ln(from/to).

    All above zero and to_v at most from_v, else ElectricsError. An estimate before the work: measure the
    volts before touching, and again later, since dielectric absorption brings some back.
    """
    start, end = positive("from_v", from_v), positive("to_v", to_v)
    if end > start:
        raise ElectricsError("to_v", to_v, f"at most from_v, {start:g}")
    return positive("ohm", ohm) * positive("farad", farad) * math.log(start / end)


@dataclass(frozen=True)
class Discharge:
    """A discharge through a resistor: time constant (s), current (A) and watts at the start, energy (J) it takes."""

    tau_s: float
    start_a: float
    start_w: float
    joule: float


@finite_result
def discharge(*, from_v: float, ohm: float, farad: float) -> Discharge:
    """What the discharge resistor has to bear from from_v down to nothing; all above zero."""
    volt, resistance, capacity = positive("from_v", from_v), positive("ohm", ohm), positive("farad", farad)
    return Discharge(
        resistance * capacity, volt / resistance, volt * volt / resistance, stored_energy(capacity, volt)
    )


@finite_result
def esr(*, tan_delta: float, farad: float, hertz: float) -> float:
    """Equivalent series resistance (ohm) from the loss factor, tan delta / (2 pi f C).

    All above zero: a capacitor without loss has no limit to hold a reading against. ElectricsError otherwise.
    """
    loss = positive("tan_delta", tan_delta)
    return loss / (2.0 * math.pi * positive("hertz", hertz) * positive("farad", farad))


@finite_result
def tan_delta(*, esr_ohm: float, farad: float, hertz: float) -> float:
    """Loss factor from a measured ESR (ohm), the inverse of esr; C and f above zero, ESR zero or more."""
    resistance = not_negative("esr_ohm", esr_ohm)
    return resistance * 2.0 * math.pi * positive("hertz", hertz) * positive("farad", farad)
