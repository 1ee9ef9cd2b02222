"""What to expect before a supply is discharged. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics import discharge, discharge_time, energy_hazard


@dataclass(frozen=True)
class Expectation:
    """Stored energy (J), seconds to the shop's limit, watts and ampere that the resistor bears first, thresholds reached."""

    joule: float
    seconds: float
    watt: float
    ampere: float
    reached: tuple[str, ...]


def expect(*, farad: float, volt: float, ohm: float, limit_v: float) -> Expectation:
    """For capacitance in F, volts, a discharge resistor in ohm and a limit in volts, all above zero.

    Seconds are nought when the volts are below the limit already. ElectricsError for values out of range.
    """
    first = discharge(from_v=volt, ohm=ohm, farad=farad)
    seconds = discharge_time(from_v=volt, to_v=limit_v, ohm=ohm, farad=farad) if volt > limit_v else 0.0
    hazard = energy_hazard(farad, volt)
    names = tuple(dict.fromkeys(one.name for one in hazard.reached))
    return Expectation(hazard.joule, seconds, first.start_w, first.start_a, names)
