"""Many supplies at once: the steady state of a whole array of part values, for tolerances and Monte Carlo.

With the rectifier's curve replaced by the chord that fits it over the current pulse (least squares over a
parabolic pulse, found anew for each sample's own peak), conduction and discharge both have exact solutions: a
sine plus an exponential, and an exponential.  What is left are the two instants, turn-on and turn-off, and
Newton finds them for all samples together.  How near the mean comes to `capacitor_input`: see `mean_volts`.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.arrays import Array, ArrayLike, np
from app.electrics.errors import ElectricsError, one_of, reals, within
from app.electrics.extremes import finite_result
from app.electrics.supply.rectifiers import Law, law
from app.electrics.supply.reservoir import RECTIFIERS, conduction_angles
from app.electrics.valves import Valve

_STEPS = 14
_TOLERANCE = 1e-9


@dataclass(frozen=True)
class _Circuit:
    """One array a quantity; times are angles of the mains."""

    peak_v: Array
    ohm: Array
    omega_farad: Array
    siemens: Array
    ampere: Array
    angle: float  # from one pulse to the next


@dataclass(frozen=True)
class _Pulse:
    """Conduction between angles on and off, through a threshold and a total resistance."""

    on: Array
    off: Array
    threshold_v: Array
    ohm: Array


def _decay(x: Array) -> tuple[Array, Array]:
    """(1 - exp(-x))/x and (x - 1 + exp(-x))/x^2, without loss for small x."""
    small = x < 1e-3
    safe = np.where(small, 1.0, x)
    first = np.where(small, 1.0 - x / 2.0 + x * x / 6.0, -np.expm1(-safe) / safe)
    second = np.where(small, 0.5 - x / 6.0 + x * x / 24.0, (safe + np.expm1(-safe)) / (safe * safe))
    return first, second


@dataclass(frozen=True)
class _Charging:
    """While it conducts: v = p sin + q cos + level + (v_on - that at on)*exp(-rate*(angle - on))."""

    p: Array
    q: Array
    level: Array
    rate: Array

    def forced(self, angle: Array) -> Array:
        return self.p * np.sin(angle) + self.q * np.cos(angle) + self.level

    def forced_slope(self, angle: Array) -> Array:
        return self.p * np.cos(angle) - self.q * np.sin(angle)


def _charging(c: _Circuit, pulse: _Pulse) -> _Charging:
    gain = 1.0 / (c.omega_farad * pulse.ohm)
    rate = gain + c.siemens / c.omega_farad
    scale = gain * c.peak_v / (1.0 + rate * rate)
    level = -(gain * pulse.threshold_v + c.ampere / c.omega_farad) / rate
    return _Charging(rate * scale, -scale, level, rate)


def _step(c: _Circuit, pulse: _Pulse) -> tuple[Array, Array, Array]:
    """Newton's change of turn-on and turn-off, and the size of what is unsatisfied (V)."""
    net, width = _charging(c, pulse), pulse.off - pulse.on
    v_on = c.peak_v * np.sin(pulse.on) - pulse.threshold_v
    v_off = c.peak_v * np.sin(pulse.off) - pulse.threshold_v
    slope_on, slope_off = c.peak_v * np.cos(pulse.on), c.peak_v * np.cos(pulse.off)
    fade = np.exp(-net.rate * width)
    free = v_on - net.forced(pulse.on)
    charged = net.forced(pulse.off) + free * fade
    ends = v_off - charged
    ends_off = slope_off - net.forced_slope(pulse.off) + net.rate * free * fade
    ends_on = -(slope_on - net.forced_slope(pulse.on) + net.rate * free) * fade
    # Divided by the width, so that the root with no pulse at all is not one.
    f, f_off, f_on = ends / width, (ends_off - ends / width) / width, (ends_on + ends / width) / width
    leak, pull = c.siemens / c.omega_farad, c.ampere / c.omega_farad
    rest = c.angle - width
    keep = np.exp(-leak * rest)
    left = v_off * keep - pull * rest * _decay(leak * rest)[0]
    g = left - v_on
    fall = -(leak * left + pull)
    g_off, g_on = slope_off * keep - fall, fall - slope_on
    det = f_on * g_off - f_off * g_on
    return (f_off * g - g_off * f) / det, (g_on * f - f_on * g) / det, np.abs(ends) + np.abs(g)


def _chord(c: _Circuit, rectifier: Law, pulse: _Pulse) -> _Pulse:
    """The pulse with the rectifier's chord renewed from its present peak current."""
    net, middle = _charging(c, pulse), 0.5 * (pulse.on + pulse.off)
    free = c.peak_v * np.sin(pulse.on) - pulse.threshold_v - net.forced(pulse.on)
    volts = net.forced(middle) + free * np.exp(-net.rate * (middle - pulse.on))
    peak_a = (c.peak_v * np.sin(middle) - pulse.threshold_v - volts) / pulse.ohm
    threshold, slope = rectifier.chord(np.maximum(peak_a, 1e-12))
    return _Pulse(pulse.on, pulse.off, threshold, c.ohm + slope)


def _first_guess(c: _Circuit, rectifier: Law, pulses: int) -> _Pulse:
    volt = 0.8 * c.peak_v
    phi = np.zeros_like(volt)
    for _ in range(4):
        load = c.siemens * volt + c.ampere
        phi = conduction_angles(np.pi * c.ohm * load / (volt * pulses))
        volt = c.peak_v * np.maximum(np.cos(phi), 0.05)
    load = c.siemens * volt + c.ampere
    # Half of what the reservoir loses between pulses moves the turn-on to an earlier, lower point of the
    # sine.
    sag = 0.5 * load * (c.angle - 2.0 * phi) / c.omega_farad
    on = np.arcsin(np.clip((volt - sag) / c.peak_v, 0.05, 0.999999))
    off = np.pi - np.arcsin(np.clip((volt + sag) / c.peak_v, 0.05, 0.999999))
    peak_a = 1.5 * load * c.angle / np.maximum(off - on, 1e-3)
    threshold, slope = rectifier.chord(np.maximum(peak_a, 1e-12))
    return _Pulse(on, off, threshold, c.ohm + slope)


def _solve(c: _Circuit, rectifier: Law, pulses: int) -> _Pulse:
    pulse = _first_guess(c, rectifier, pulses)
    wrong = c.peak_v
    for count in range(_STEPS):
        d_on, d_off, wrong = _step(c, pulse)
        room = 0.45 * (pulse.off - pulse.on)
        on = pulse.on + np.clip(d_on, -room, room)
        off = pulse.off + np.clip(d_off, -room, room)
        settled = bool(np.all(wrong <= _TOLERANCE * c.peak_v)) and count > 3
        pulse = _Pulse(on, off, pulse.threshold_v, pulse.ohm)
        if settled:
            break
        if count < 10:
            pulse = _chord(c, rectifier, pulse)
    bad = ~(wrong <= 1e-5 * c.peak_v)
    if np.any(bad):
        raise ElectricsError("samples", int(np.sum(bad)), "none that have no steady state with these parts")
    return pulse


def _mean(c: _Circuit, pulse: _Pulse) -> Array:
    net, width = _charging(c, pulse), pulse.off - pulse.on
    v_on = c.peak_v * np.sin(pulse.on) - pulse.threshold_v
    v_off = c.peak_v * np.sin(pulse.off) - pulse.threshold_v
    free = v_on - net.forced(pulse.on)
    charge = -net.p * (np.cos(pulse.off) - np.cos(pulse.on)) + net.q * (np.sin(pulse.off) - np.sin(pulse.on))
    charge = charge + net.level * width + free * width * _decay(net.rate * width)[0]
    rest = c.angle - width
    first, second = _decay(c.siemens / c.omega_farad * rest)
    drain = v_off * rest * first - c.ampere / c.omega_farad * rest * rest * second
    return np.asarray((charge + drain) / c.angle)


def _positive(name: str, value: ArrayLike, *, zero: bool = False) -> Array:
    array: Array = reals(name, value)
    fine = np.isfinite(array) & ((array >= 0.0) if zero else (array > 0.0))
    if not np.all(fine):
        worst = array[~fine].flat[0] if array.ndim else array
        raise ElectricsError(name, float(worst), "zero or more" if zero else "above zero")
    return array


@finite_result
def mean_volts(
    *,
    secondary_vrms: ArrayLike,
    rectifier: str,
    source_ohm: ArrayLike,
    reservoir_farad: ArrayLike,
    mains_hz: float,
    load_ohm: ArrayLike | None = None,
    load_a: ArrayLike = 0.0,
    drop: str | Valve | None = None,
) -> Array:
    """Mean reservoir volts for arrays of part values (broadcast together); arguments as `capacitor_input`.

    Beside `capacitor_input` the mean is within 0.02 % through silicon and 0.1 % through a valve while the ripple
    stays moderate; at the worst, ripple near the volts themselves, within 0.2 % and 0.4 %.
    Some current has to be drawn in every sample.  10,000 samples take about 60 ms.
    Raises ElectricsError for values out of range, and where some samples have no steady state.
    """
    one_of("rectifier", rectifier, RECTIFIERS)
    hertz = within("mains_hz", mains_hz, 10.0, 1000.0)
    siemens = np.zeros(()) if load_ohm is None else 1.0 / _positive("load_ohm", load_ohm)
    volts, ohm = _positive("secondary_vrms", secondary_vrms), _positive("source_ohm", source_ohm)
    farad, ampere = _positive("reservoir_farad", reservoir_farad), _positive("load_a", load_a, zero=True)
    if not np.all(siemens + ampere > 0.0):
        raise ElectricsError("load_a", 0.0, "above zero where load_ohm is not given")
    peak, omega_farad = volts * np.sqrt(2.0), farad * 2.0 * np.pi * hertz
    peak, ohm, omega_farad, siemens, ampere = np.broadcast_arrays(peak, ohm, omega_farad, siemens, ampere)
    pulses = 1 if rectifier == "half_wave" else 2
    circuit = _Circuit(peak, ohm, omega_farad, siemens, ampere, 2.0 * np.pi / pulses)
    path = law(drop, 2 if rectifier == "bridge" else 1)
    return _mean(circuit, _solve(circuit, path, pulses))
