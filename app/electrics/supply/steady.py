"""The periodic steady state of a rectifier feeding a linear network, solved rather than waited for.

The network is dx/dt = A x + b + (i/C) on its first state, the reservoir's volts; the rectifier gives
i = law(emf - x[0]).  Over one period the trapezium rule on a graded grid turns that into one banded system
per Newton step, closed by x(T) = x(0).  The current is a rising convex function of emf - x[0], so Newton from
below climbs to the one solution; a first pass by backward Euler makes that start safe and finds the pulse,
and the second pass puts most of its points on it.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.arrays import Array, np
from app.electrics.supply.rectifiers import Law

_COARSE, _FINE = 120, 320
_PULSE_SHARE = 0.6
# The trapezium rule is the exact way.  Where a winding of next to no resistance charges a tiny reservoir it can
# ring from step to step; a rule that leans on the later end damps that, and the reservoir follows the emf anyway.
_ROUGH = ((1.0, 1e-4),)
_EXACT = ((0.5, 1e-9), (0.6, 1e-8), (1.0, 1e-6))


@dataclass(frozen=True)
class Source:
    """A sine of peak `peak_v` at `mains_hz` behind `ohm` and a rectifier path; `pulses` a cycle (1, 2)."""

    peak_v: float
    ohm: float
    mains_hz: float
    pulses: int
    law: Law

    @property
    def period_s(self) -> float:
        """Time from one charging pulse to the next."""
        return 1.0 / (self.mains_hz * self.pulses)

    def emf(self, time_s: Array) -> Array:
        """Rectifier-side volts at `time_s` from the sine's upward zero crossing."""
        wave = np.sin(2.0 * np.pi * self.mains_hz * time_s)
        return self.peak_v * (np.abs(wave) if self.pulses == 2 else wave)


@dataclass(frozen=True)
class Network:
    """dx/dt = matrix x + drive, with the rectifier's current divided by `reservoir_farad` added to row 0."""

    matrix: Array
    drive: Array
    reservoir_farad: float


@dataclass(frozen=True)
class Wave:
    """One period: times (s), states (a row a time), rectifier current (A).  First and last row are equal."""

    time_s: Array
    state: Array
    current_a: Array

    def mean(self, values: Array) -> float:
        """Mean over the period of values at `time_s`."""
        return float(np.trapezoid(values, self.time_s) / self.time_s[-1])

    def alternating(self, values: Array) -> float:
        """What a true-rms meter shows of the values when their mean is taken off: the root of the mean square about it."""
        return float(np.sqrt(self.mean((values - self.mean(values)) ** 2)))


class NoSteadyState(ArithmeticError):
    """No steady state was found; which argument asks too much is for the caller to say."""


class NeverSettles(NoSteadyState):
    """One period changes the volts by less than a float can tell: the network has no steady state to be told from any
    other."""


def graded_times(period: float, low: float, high: float, count: int) -> Array:
    """Times from 0 to `period`, `_PULSE_SHARE` of them between `low` and `high`, the rest evenly outside."""
    low, high = max(low, 0.0), min(high, period)
    inside = int(count * _PULSE_SHARE)
    before = max(2, round((count - inside) * low / (period - high + low))) if high - low < period else 2
    after = max(2, count - inside - before)
    parts = [
        np.linspace(0.0, low, before, endpoint=False) if low > 0.0 else np.empty(0),
        np.linspace(low, high, inside, endpoint=False),
        np.linspace(high, period, after) if high < period else np.array([period]),
    ]
    return np.concatenate(parts)


def _newton_step(source: Source, net: Network, h: Array, emf: Array, v: Array, theta: float) -> Array:
    """One Newton step on the whole period: the states at every time, from assumed reservoir volts `v`."""
    from scipy.linalg import solve_banded  # here: a page that asks for no sum must not wait for scipy

    n, steps = len(net.drive), len(h)
    current, slope = source.law.current(emf - v, source.ohm)
    known = (current + slope * v) / net.reservoir_farad
    fall = slope / net.reservoir_farad
    ab = np.zeros((3 * n - 1, steps * n))
    right = np.zeros((steps * n, n + 1))
    first = np.zeros((n, n))
    for a in range(n):
        for b in range(n):
            eye, rate = float(a == b), float(net.matrix[a, b])
            ahead = eye - theta * h * rate
            behind = eye + (1.0 - theta) * h * rate
            if a == 0 and b == 0:
                ahead = ahead + theta * h * fall[1:]
                behind = behind - (1.0 - theta) * h * fall[:-1]
            ab[n - 1 + a - b, b::n] = ahead
            ab[2 * n - 1 + a - b, b : (steps - 1) * n : n] = -behind[1:]
            first[a, b] = behind[0]
        right[a::n, 0] = h * net.drive[a]
    right[0::n, 0] += h * (theta * known[1:] + (1.0 - theta) * known[:-1])
    right[:n, 1:] = first
    solved = solve_banded((2 * n - 1, n - 1), ab, right, overwrite_ab=True, overwrite_b=True, check_finite=False)
    blocks = solved.reshape(steps, n, n + 1)
    try:
        start = np.linalg.solve(np.eye(n) - blocks[-1, :, 1:], blocks[-1, :, 0])
    except np.linalg.LinAlgError:
        raise NeverSettles from None
    return np.concatenate((start[None, :], blocks[:, :, 0] + blocks[:, :, 1:] @ start))


def _converge(source: Source, net: Network, times: Array, v: Array, theta: float, tolerance: float) -> Array | None:
    """The states at every time by Newton from reservoir volts `v`, or None where it does not settle."""
    h, emf = np.diff(times), source.emf(times)
    for _ in range(60):
        state = _newton_step(source, net, h, emf, v, theta)
        change = float(np.max(np.abs(state[:, 0] - v)))
        v = state[:, 0]
        if change <= tolerance * source.peak_v:
            return state
        if not np.isfinite(change):
            break
    return None


def _settled(source: Source, net: Network, times: Array, v: Array, ways: tuple[tuple[float, float], ...]) -> Array:
    """The first of `ways`, each a weight of the rule's later end and a tolerance, that settles."""
    for theta, tolerance in ways:
        state = _converge(source, net, times, v, theta, tolerance)
        if state is not None:
            return state
    raise NoSteadyState


def periodic(source: Source, net: Network, *, start_v: float, half_width_s: float) -> Wave:
    """The steady period, from a constant `start_v` below the answer and a guess of the pulse's half width."""
    period, peak_at = source.period_s, 0.25 / source.mains_hz
    times = graded_times(period, peak_at - 2.0 * half_width_s, peak_at + 1.5 * half_width_s, _COARSE)
    state = _settled(source, net, times, np.full(len(times), start_v), _ROUGH)
    current, _ = source.law.current(source.emf(times) - state[:, 0], source.ohm)
    on = np.flatnonzero(current > 2e-3 * float(np.max(current)))
    if len(on):
        low, high = times[max(on[0] - 2, 0)], times[min(on[-1] + 2, len(times) - 1)]
        finer = graded_times(period, float(low), float(high), _FINE)
        v = np.interp(finer, times, state[:, 0])
        times = finer
    else:
        v = state[:, 0]
    return _finish(source, net, times, v)


def settle(source: Source, net: Network, near: Wave) -> Wave:
    """The steady period of a larger network whose reservoir moves much as in `near`, on the same grid."""
    return _finish(source, net, near.time_s, near.state[:, 0])


def _finish(source: Source, net: Network, times: Array, v: Array) -> Wave:
    state = _settled(source, net, times, v, _EXACT)
    current, _ = source.law.current(source.emf(times) - state[:, 0], source.ohm)
    return Wave(times, state, current)
