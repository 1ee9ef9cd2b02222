"""What a rectifier passes for the volts across it: silicon, a valve rectifier of the table, and an ideal one.

Every law answers one question, vectorised: with `u` volts across the rectifier and the resistance in series
with it, what current flows and how steeply does it change with `u`?  `u` may be negative.

Sources:
[1] W. Shockley's junction law I = Is*(exp(V/(n*Vt)) - 1) with a series resistance.  The constants are the set
    widely shipped for the type 1N4007 in circuit simulators: Is 14.11 nA, n 1.984, Rs 33.89 milliohm, at 27
    C.
[2] The 3/2-power law of a space-charge limited diode, I = G*V^1.5 a plate.  G is the perveance of the valve's entry
    (app.electrics.valves.rectifiers), which names its source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError
from app.electrics.valves import Valve
from app.electrics.valves.lookup import find, valve, valve_names

THERMAL_V = 1.380649e-23 * 300.15 / 1.602176634e-19  # kT/q at 27 C, the simulators' standard temperature
SILICON_IS = 14.11e-9
SILICON_N = 1.984
SILICON_OHM = 0.03389

# Chord of a curved drop over one current pulse, taken as the parabola i = ipk*(1 - x^2), by least squares in
# x:
# drop(p) = at_zero + slope*p with p = i/ipk.  The means over the parabola are E[p] = 2/3, E[p^2] = 8/15.
_P1, _P2 = 2.0 / 3.0, 8.0 / 15.0


def _chord(mean_y: float, mean_py: float) -> tuple[float, float]:
    slope = (mean_py - _P1 * mean_y) / (_P2 - _P1 * _P1)
    return mean_y - slope * _P1, slope


def _beta_mean(power: float) -> float:
    """Mean of (1 - x^2)^power for x from 0 to 1."""
    return math.sqrt(math.pi) / 2.0 * math.gamma(power + 1.0) / math.gamma(power + 1.5)


_VALVE_CHORD = _chord(_beta_mean(2.0 / 3.0), _beta_mean(5.0 / 3.0))
# Means of ln(1 - x^2) and (1 - x^2)*ln(1 - x^2): 2 ln 2 - 2 and (4 ln 2)/3 - 10/9.
_LOG_CHORD = _chord(2.0 * math.log(2.0) - 2.0, 4.0 * math.log(2.0) / 3.0 - 10.0 / 9.0)


class Law(Protocol):
    """A rectifier path: one or more rectifiers in series."""

    def current(self, u: Array, series_ohm: float) -> tuple[Array, Array]:
        """Current (A) and its slope (A/V) for `u` volts across rectifier and series resistance (ohm)."""
        ...

    def passed(self, u: float, series_ohm: float) -> float:
        """The current alone for one value of `u` above zero, without numpy: for a walk step by step."""
        ...

    def chord(self, peak_a: Array) -> tuple[Array, Array]:
        """Threshold (V) and slope (ohm) that stand for the path over a pulse of `peak_a`."""
        ...

    def width_v(self) -> float:
        """Volts over which the knee is rounded; zero for a law that cuts off sharply."""
        ...


@dataclass(frozen=True)
class Silicon:
    """`count` silicon diodes in series [1]."""

    count: int

    def current(self, u: Array, series_ohm: float) -> tuple[Array, Array]:
        """See `Law.current`; the Wright omega function solves junction and resistance together."""
        from scipy.special import wrightomega  # here: a page that asks for no sum must not wait for scipy

        ohm = series_ohm + self.count * SILICON_OHM
        scale = self.width_v()
        omega = wrightomega((u + SILICON_IS * ohm) / scale + math.log(SILICON_IS * ohm / scale))
        return scale / ohm * omega - SILICON_IS, omega / (1.0 + omega) / ohm

    def passed(self, u: float, series_ohm: float) -> float:
        """See `Law.passed`; omega + ln(omega) = z, from a start on the right side of it, by Halley."""
        ohm = series_ohm + self.count * SILICON_OHM
        scale = self.width_v()
        z = (u + SILICON_IS * ohm) / scale + math.log(SILICON_IS * ohm / scale)
        if z < -30.0:
            return scale / ohm * math.exp(z) - SILICON_IS
        omega = z - math.log(z) if z > 3.0 else math.log1p(math.exp(z)) if z > -2.0 else math.exp(z)
        for _ in range(4):
            off = z - omega - math.log(omega)
            more = 1.0 + omega
            omega *= 1.0 + off / more * (2.0 * more * more + off) / (2.0 * more * more + 2.0 * off)
        return scale / ohm * omega - SILICON_IS

    def chord(self, peak_a: Array) -> tuple[Array, Array]:
        """See `Law.chord`."""
        scale = self.width_v()
        at_peak = scale * np.log1p(peak_a / SILICON_IS)
        zero, slope = _LOG_CHORD
        return at_peak + scale * zero, scale * slope / peak_a + self.count * SILICON_OHM

    def width_v(self) -> float:
        """See `Law.width_v`."""
        return self.count * SILICON_N * THERMAL_V


@dataclass(frozen=True)
class SpaceCharge:
    """`count` valve rectifiers in series, each passing `perveance`*V^1.5 [2]."""

    perveance: float
    count: int

    def current(self, u: Array, series_ohm: float) -> tuple[Array, Array]:
        """See `Law.current`; Newton on the current's cube root, which falls to it without overshoot."""
        drop = self.count * self.perveance ** (-2.0 / 3.0)
        forward = np.maximum(u, 0.0)
        root = np.minimum(np.cbrt(forward / series_ohm), np.sqrt(forward / drop))
        for _ in range(6):
            excess = (series_ohm * root + drop) * root * root - forward
            root -= excess / ((3.0 * series_ohm * root + 2.0 * drop) * root + 1e-300)
        return root**3, 3.0 * root / (3.0 * series_ohm * root + 2.0 * drop)

    def passed(self, u: float, series_ohm: float) -> float:
        """See `Law.passed`; the same Newton as `current`."""
        drop = self.count / math.cbrt(self.perveance) ** 2
        root = min(math.cbrt(u / series_ohm), math.sqrt(u / drop))
        for _ in range(6):
            excess = (series_ohm * root + drop) * root * root - u
            root -= excess / ((3.0 * series_ohm * root + 2.0 * drop) * root + 1e-300)
        return root * root * root

    def chord(self, peak_a: Array) -> tuple[Array, Array]:
        """See `Law.chord`."""
        at_peak = self.count * (peak_a / self.perveance) ** (2.0 / 3.0)
        zero, slope = _VALVE_CHORD
        return zero * at_peak, slope * at_peak / peak_a

    def width_v(self) -> float:
        """See `Law.width_v`."""
        return 0.0


@dataclass(frozen=True)
class Ideal:
    """A rectifier without any drop, for the handbook's tables."""

    def current(self, u: Array, series_ohm: float) -> tuple[Array, Array]:
        """See `Law.current`."""
        return np.maximum(u, 0.0) / series_ohm, np.where(u > 0.0, 1.0 / series_ohm, 0.0)

    def passed(self, u: float, series_ohm: float) -> float:
        """See `Law.passed`."""
        return u / series_ohm

    def chord(self, peak_a: Array) -> tuple[Array, Array]:
        """See `Law.chord`."""
        return np.zeros_like(peak_a), np.zeros_like(peak_a)

    def width_v(self) -> float:
        """See `Law.width_v`."""
        return 0.0


def law(drop: str | Valve | None, count: int) -> Law:
    """The law of `count` rectifiers in series; `drop` as `capacitor_input` takes it."""
    if drop is None:
        return Silicon(count)
    name = drop.upper().replace("-", "").replace(" ", "") if isinstance(drop, str) else ""
    if name in ("SILICON", "1N4007"):
        return Silicon(count)
    if name == "IDEAL":
        return Ideal()
    entry = drop if isinstance(drop, Valve) else _named(drop)
    if entry is None or entry.rectifier is None:
        raise ElectricsError("drop", drop, f"None or silicon (a silicon diode), ideal, or one of {', '.join(_known())}")
    if entry.rectifier.perveance is None:
        raise ElectricsError("drop", entry.name, "a rectifier whose drop is known here: of this valve only some limits are")
    return SpaceCharge(entry.rectifier.perveance, count)


def _named(drop: object) -> Valve | None:
    """The valve of that name; None where there is none."""
    try:
        return find("drop", drop)
    except ElectricsError:
        return None


def _known() -> list[str]:
    """Every rectifier whose drop is known, by all its names."""
    entries = [entry for entry in map(valve, valve_names()) if entry.rectifier is not None and entry.rectifier.perveance]
    return sorted(name for entry in entries for name in (entry.name, *entry.also))
