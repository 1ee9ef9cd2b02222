"""Capacitors: markings, leakage limits, stored energy, discharge, ESR and reforming."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from app.electrics.errors import ElectricsError, finite, not_negative, one_of, positive, within
from app.electrics.extremes import finite_result
from app.electrics.notation import parse

# Fractions (low, high); IEC 60062, letters Q S T Z P from memory.
_TOLERANCE: dict[str, tuple[float, float]] = {
    "B": (-0.001, 0.001), "C": (-0.0025, 0.0025), "D": (-0.005, 0.005), "F": (-0.01, 0.01),
    "G": (-0.02, 0.02), "H": (-0.03, 0.03), "J": (-0.05, 0.05),
    "K": (-0.10, 0.10), "M": (-0.20, 0.20), "N": (-0.30, 0.30),
    "Q": (-0.10, 0.30), "T": (-0.10, 0.50), "S": (-0.20, 0.50), "Z": (-0.20, 0.80), "P": (0.0, 1.0),
}  # fmt: skip
# Below 10 pF these letters are picofarads, not per cent (IEC 60062, from memory).
_TOLERANCE_PF: dict[str, float] = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0}
_LETTERS = "BCDFGHJKMNQTSZP"
_VOLTS = re.compile(r"\s*(?<![0-9])([0-9]+(?:\.[0-9]+)?)\s*V(?:DC)?$", re.IGNORECASE)
# 220p and 220n are values, 22 pF with an odd tolerance only on paper; so P and N do not follow a bare code.
_CODE = re.compile(r"([0-9]{2})([0-9])\s*([BCDFGHJKMQTSZ]?)", re.IGNORECASE)
_POINTED = re.compile(rf"([0-9]*)([RrpnNuUmµ]|P(?=[0-9]))([0-9]*)\s*([{_LETTERS}{_LETTERS.lower()}]?)")
_WITH_UNIT = re.compile(rf"(.*[0-9]\s*[pPnNuUmµ]?[fF])\s*([{_LETTERS}]?)")
_PLAIN = re.compile(r"([0-9]*\.?[0-9]+)\s*([BCDFGHJKMQTSZ]?)", re.IGNORECASE)
_POINT_POWER = {"R": -12, "r": -12, "P": -12, "p": -12, "n": -9, "N": -9, "u": -6, "U": -6, "µ": -6, "m": -3}
LEAKAGE_GRADES: dict[str, tuple[float, float, str]] = {
    "low": (0.01, 3.0, "floor"),
    "standard": (0.02, 3.0, "added"),
    "general": (0.03, 0.0, "added"),
}
_JAN_K = ((100.0, 0.01), (250.0, 0.02), (350.0, 0.025), (450.0, 0.04))


@dataclass(frozen=True)
class Marking:
    """What a capacitor's marking says: farads, tolerance as a fraction (the wider side), volts where printed."""

    farad: float
    tolerance: float | None
    tolerance_low: float | None = None
    tolerance_high: float | None = None
    rated_v: float | None = None


def marking(text: str) -> Marking:
    """Read a capacitor's marking: 473K, 104, 4p7, 2n2J, R47, .047, 0.1µF, 473K 630V.

    Three figures are two and a power of ten in pF (IEC 60062; last figure 8 is x 0.01 and 9 x 0.1, from
    memory), so 220 is 22 pF. R is the decimal point in pF, p n µ m the point in their own unit. A plain
    figure below one is in µF, whole numbers of one, two, four or more figures in pF (common practice, no
    source). Raises ElectricsError where the text cannot be read or has no single meaning, such as a bare 4.7.
    """
    if not isinstance(text, str) or not text.strip():
        raise ElectricsError("text", text, "a marking such as 473K, 4p7 or .047")
    mark, rated_v = text.strip().replace("\u03bc", "µ"), None
    volts = _VOLTS.search(mark)
    if volts and volts.start() > 0:
        mark, rated_v = mark[: volts.start()], positive("text", float(volts.group(1)))
    farad, letter = _farad_and_letter(text, mark)
    if not 0.0 < farad < math.inf:
        raise ElectricsError("text", text, "a marking of more than zero farads")
    low, high = _tolerance_of(letter, farad)
    widest = None if low is None or high is None else max(-low, high)
    return Marking(farad, widest, low, high, rated_v)


def _farad_and_letter(text: str, mark: str) -> tuple[float, str]:
    coded = _CODE.fullmatch(mark)
    if coded:
        figures, power, letter = coded.groups()
        return float(f"{figures}e{-12 + {'8': -2, '9': -1}.get(power, int(power))}"), letter.upper()
    united = _WITH_UNIT.fullmatch(mark)
    pointed = _POINTED.fullmatch(mark)
    if united and not (pointed and pointed.group(3)):
        return parse(united.group(1), unit="F"), united.group(2)
    if pointed and (pointed.group(1) or pointed.group(3)) and (pointed.group(2) != "m" or pointed.group(3)):
        whole, point, fraction, letter = pointed.groups()
        return float(f"{whole or 0}.{fraction or 0}e{_POINT_POWER[point]}"), letter.upper()
    plain = _PLAIN.fullmatch(mark)
    if plain is None:
        return parse(mark, unit="F"), ""
    figures, letter = plain.groups()
    if "." in figures and float(figures) >= 1.0:
        raise ElectricsError("text", text, "marked with its unit: pF and µF are both possible")
    return float(f"{figures}e{-6 if '.' in figures else -12}"), letter.upper()


def _tolerance_of(letter: str, farad: float) -> tuple[float | None, float | None]:
    if not letter:
        return None, None
    if farad < 9.9999e-12 and letter in _TOLERANCE_PF:
        share = _TOLERANCE_PF[letter] * 1e-12 / farad
        return -share, share
    return _TOLERANCE[letter]


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


@dataclass(frozen=True)
class ReformStep:
    """One step of reforming: volts, series resistor, current and watts of a short, least minutes, volts to accept.

    Move on when the volts across the resistor have fallen to accept_v and the least time has passed.
    """

    volt: float
    series_ohm: float
    short_a: float
    resistor_w: float
    minutes: float
    accept_v: float


@finite_result
def reform_steps(rated_v: float, *, limit_a: float, stored_months: float = 0.0) -> tuple[ReformStep, ...]:
    """Steps to re-form a stored electrolytic up to rated_v through a resistor that holds a short to limit_a.

    rated_v above zero to 1000 V, limit_a above zero to 0.05 A, stored_months zero or more. The resistor is
    rated_v / limit_a (450 V at 5 mA: 90 k, as practice notes have it), so no step can exceed limit_a even
    if the part is shorted. Accept a step when no more than 10 % of its volts stand across the resistor;
    reject the part if that takes over an hour at rated volts; 5 minutes, at rated volts plus one per month
    stored (a reforming note seen; the steps of 25, 50, 75, 90 % are common practice, no source).
    Charged parts kill: cover the part, stand clear, discharge through a resistor and measure before touching.
    """
    top = within("rated_v", positive("rated_v", rated_v), 0.0, 1000.0)
    limit = within("limit_a", positive("limit_a", limit_a), 0.0, 0.05)
    months = not_negative("stored_months", stored_months)
    ohm = top / limit
    steps = []
    for share in (0.25, 0.5, 0.75, 0.9, 1.0):
        volt = top * share
        minutes = 5.0 + (months if share == 1.0 else 0.0)
        current = min(volt / ohm, limit)
        steps.append(ReformStep(volt, ohm, current, volt * current, minutes, 0.1 * volt))
    return tuple(steps)


@finite_result
def reform_leakage(*, resistor_v: float, series_ohm: float) -> float:
    """Leakage (A) while reforming, from the volts across the series resistor; ohms above zero."""
    return finite("resistor_v", resistor_v) / positive("series_ohm", series_ohm)
