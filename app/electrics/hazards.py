"""Hazards of stored energy as data, with the cautions that go with them.

Thresholds differ between authorities; the stricter one is shown. They warn; none of them makes a thing safe.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.capacitors import stored_energy
from app.electrics.errors import ElectricsError, finite
from app.electrics.sourced import Sourced, Status

_LBNL = "US national laboratory electrical safety programme (electricalsafety.lbl.gov)"
_70E = "NFPA 70E (2021) article 360"


@dataclass(frozen=True)
class EnergyThreshold:
    """A hazard threshold: from from_v up to below_v, at joule or above (or only above it where not inclusive)."""

    name: str
    kind: str
    from_v: float
    below_v: float
    joule: float
    inclusive: bool
    status: Status
    source: str

    def reached(self, joule: float, volt: float) -> bool:
        """Whether so much energy at so many volts reaches this threshold."""
        enough = joule >= self.joule if self.inclusive else joule > self.joule
        return enough and self.from_v <= volt < self.below_v


@dataclass(frozen=True)
class CurrentThreshold:
    """A shock threshold: a source of volt or more able to deliver ampere or more."""

    kind: str
    volt: float
    ampere: float
    status: Status
    source: str


@dataclass(frozen=True)
class EnergyHazard:
    """A stored energy (J), the thresholds it reaches, and the cautions to show beside it."""

    joule: float
    reached: tuple[EnergyThreshold, ...]
    cautions: tuple[str, ...]

    @property
    def hazardous(self) -> bool:
        """True when any threshold is reached; False never means safe to touch."""
        return bool(self.reached)


_UNLIMITED = float("inf")
ENERGY_THRESHOLDS: tuple[EnergyThreshold, ...] = (
    EnergyThreshold("10 J at 100 V or more", "shock", 100.0, _UNLIMITED, 10.0, True, "S", _LBNL),
    EnergyThreshold("over 100 J below 100 V", "thermal", 0.0, 100.0, 100.0, False, "S", _LBNL),
    EnergyThreshold("over 1 J at 100 V or more", "shock", 100.0, _UNLIMITED, 1.0, False, "M", _70E),
    EnergyThreshold("over 0.25 J at 400 V or more", "shock", 400.0, _UNLIMITED, 0.25, False, "M", _70E),
    EnergyThreshold("over 100 J below 100 V", "thermal", 0.0, 100.0, 100.0, False, "M", _70E),
)
CURRENT_THRESHOLDS: tuple[CurrentThreshold, ...] = (
    CurrentThreshold("dc", 100.0, 0.040, "S", _LBNL),
    CurrentThreshold("ac", 50.0, 0.005, "S", _LBNL),
)
SAFE_TOUCH_DC = Sourced(60.0, unit="V", status="M", source="ES1 of IEC 62368-1; IEC 60065 figure seen")
SHOP_TOUCH_DC = Sourced(10.0, unit="V", status="M", source="common practice, no source")
ES1_CHARGE = Sourced(45e-6, unit="C", status="M", source="IEC 61010-1 / IEC 60335 type limit of 45 µC")

DISCHARGE_CAUTIONS: tuple[str, ...] = (
    "Mains off and unplugged; then measure: a bleeder may be open and a charged part gives no sign.",
    "Discharge through a voltage-rated resistor on an insulated lead, never with a screwdriver or a short.",
    "Measure again after a few minutes: dielectric absorption brings some of the voltage back. Leave the clip on.",
    "One hand, no jewellery, someone within call. Local rules and licensed practice come first.",
)


def energy_hazard(farad: float, volt: float) -> EnergyHazard:
    """Energy of a charged capacitor, every threshold it reaches and the cautions that go with it.

    farad zero or more, volt of either sign; else ElectricsError. Cautions from 10 V up (common practice).
    """
    joule = stored_energy(farad, volt)
    level = abs(finite("volt", volt))
    reached = tuple(limit for limit in ENERGY_THRESHOLDS if limit.reached(joule, level))
    shown = DISCHARGE_CAUTIONS if reached or level >= SHOP_TOUCH_DC else ()
    return EnergyHazard(joule, reached, shown)


def current_hazard(*, kind: str, volt: float, ampere: float) -> bool:
    """Whether a source reaches the shock threshold; kind is dc or ac, volts and amperes by magnitude (rms for ac)."""
    for limit in CURRENT_THRESHOLDS:
        if isinstance(kind, str) and limit.kind == kind:
            return abs(finite("volt", volt)) >= limit.volt and abs(finite("ampere", ampere)) >= limit.ampere
    raise ElectricsError("kind", kind, "dc or ac")
