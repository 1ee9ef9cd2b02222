"""What the mains and the selector's tap do to every voltage in the amplifier, the heaters first.

Sources for the heater's tolerances:
[1] Tube CAD Journal, October 2000, quoting a valve handbook: oxide cathodes stand +/-10 % fluctuation without
    serious harm (5.67 to 6.93 V on 6.3 V).
[2] Maker's data sheet of a directly heated rectifier (5U4G type): filament +/-5 % for full life
    (5.985 to 6.615 V on 6.3 V).
A limit is inclusive.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.electrics.errors import positive
from app.electrics.extremes import finite_result

FULL_LIFE = 0.05
TOLERABLE = 0.10
_ROUNDING = 1e-12


@dataclass(frozen=True)
class HeaterVoltage:
    """Heater volts, their signed departure from nominal as a fraction, and the verdict in three forms.

    verdict: "pass" within 10 % [1], else "fail".  band: "full_life" within 5 % [2], "tolerable" within 10 %,
    "too_low" or "too_high" beyond.  words: the same for a person.
    """

    heater_v: float
    departure: float
    verdict: Literal["pass", "fail"]
    band: Literal["full_life", "tolerable", "too_low", "too_high"]
    words: str


@finite_result
def mains_factor(*, measured_v: float, tap_v: float) -> float:
    """By how much every transformer voltage is scaled: measured mains volts over the selector tap's (both
    above 0).

    A transformer's voltages are proportional at equal load: 240 V on a 220 V tap gives 1.0909.
    """
    return positive("measured_v", measured_v) / positive("tap_v", tap_v)


@finite_result
def heater_voltage(*, nominal_v: float, measured_mains_v: float, tap_v: float) -> HeaterVoltage:
    """Heater volts to expect at the measured mains on this tap, judged by [1] and [2].

    All volts rms, above zero.  The winding is taken to give nominal_v at tap_v with its heaters connected.
    """
    factor = mains_factor(measured_v=positive("measured_mains_v", measured_mains_v), tap_v=tap_v)
    heater_v = positive("nominal_v", nominal_v) * factor
    departure = factor - 1.0
    size = abs(departure) - _ROUNDING
    said = f"{heater_v:.2f} V, {departure:+.1%} of {nominal_v:g} V"
    if size <= FULL_LIFE:
        return HeaterVoltage(heater_v, departure, "pass", "full_life", f"{said}: within 5 %, full life.")
    if size <= TOLERABLE:
        words = f"{said}: within 10 %, tolerable, outside the 5 % for full life."
        return HeaterVoltage(heater_v, departure, "pass", "tolerable", words)
    if departure < 0.0:
        words = f"{said}: more than 10 % low; cathodes run cold. Check the tap and the wiring."
        return HeaterVoltage(heater_v, departure, "fail", "too_low", words)
    words = f"{said}: more than 10 % high; heaters age fast. Choose a higher tap."
    return HeaterVoltage(heater_v, departure, "fail", "too_high", words)
