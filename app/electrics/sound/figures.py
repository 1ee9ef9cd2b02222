"""Noise with its lines named, harmonic distortion, and where clipping begins.

Total harmonic distortion is the root of the harmonics' powers over that of the fundamental; with noise it is everything but the
fundamental over everything, from 20 Hz to 20 kHz (both as IEC 60268-3, 14.12, words from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, positive, within
from app.electrics.sound.spectrum import Spectrum, spectrum

LOW, HIGH = 20.0, 20000.0  # hertz: what counts as heard
LAST_HARMONIC = 10
STANDS_OUT = 10.0  # a line is named only if it has this many times the power of the noise beside it: common practice, no source
LEAST_SHARE = 0.1  # of the whole power that a tone must have to be one: a window's side lobes have a billionth
FULL_SCALE, IN_A_ROW = 0.9999, 3


@dataclass(frozen=True)
class Line:
    """A line that stands out of the noise: what it is called, hertz, and its effective value as a share of full scale."""

    name: str
    hertz: float
    rms: float


@dataclass(frozen=True)
class Noise:
    """Effective values from 20 Hz to 20 kHz as shares of full scale: all of it, what is left without the lines, the lines."""

    total: float
    rest: float
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Distortion:
    """The fundamental (hertz, effective value), its harmonics as shares of it from the second on, THD and THD+N as shares."""

    hertz: float
    rms: float
    harmonics: tuple[float, ...]
    thd: float
    thd_n: float


@dataclass(frozen=True)
class Clipping:
    """Where clipping begins on a tone that rises: the effective value there and the greatest seen, as shares of full scale."""

    rms: float
    greatest: float
    curve: tuple[tuple[float, float], ...]  # effective value, THD as a share


def overloaded_at(samples: Array, rate: float) -> float | None:
    """Where the recorder ran out of range, seconds; None if it never did: several samples in a row at full scale."""
    at_top = np.abs(samples) >= FULL_SCALE
    runs = np.convolve(at_top.astype(np.int64), np.ones(IN_A_ROW, dtype=np.int64), "valid")
    hits = np.flatnonzero(runs == IN_A_ROW)
    return float(hits[0]) / rate if len(hits) else None


def noise(samples: Array, rate: float, mains_hz: float = 50.0) -> Noise:
    """Noise with its lines named. Heaters on alternating current hum at the mains frequency too: the two cannot be told apart."""
    within("mains_hz", mains_hz, 40, 70)
    found = spectrum(samples, rate)
    total = found.band(LOW, min(HIGH, found.top))
    base = found.peak(0.98 * mains_hz, 1.02 * mains_hz)
    twice = found.peak(1.96 * mains_hz, 2.04 * mains_hz)
    if found.line(twice) > found.line(base):
        base = twice / 2
    lines = []
    for number in range(1, 13):
        if _stands(found, number * base):
            name = {1: "mains (and heaters on AC)", 2: "twice mains"}.get(number, f"{number} × mains")
            lines.append(Line(name, number * base, math.sqrt(found.line(number * base))))
    if found.top > 15000:
        high = found.peak(10000, found.top * 0.98)
        if _stands(found, high):
            lines.append(Line("switching", high, math.sqrt(found.line(high))))
    inside = sum(one.rms**2 for one in lines if LOW <= one.hertz <= HIGH)
    return Noise(math.sqrt(total), math.sqrt(max(total - inside, 0.0)), tuple(lines))


def distortion(samples: Array, rate: float, tone_hz: float) -> Distortion:
    """Harmonic distortion of a steady tone near `tone_hz`. ElectricsError if there is none."""
    positive("tone_hz", tone_hz)
    found = spectrum(samples, rate)
    hertz = found.peak(0.9 * tone_hz, 1.1 * tone_hz)
    first = found.line(hertz)
    everything = found.band(LOW, min(HIGH, found.top))
    if first <= LEAST_SHARE * everything or not _stands(found, hertz):
        raise ElectricsError("tone_hz", tone_hz, "the frequency of a tone that the recording holds")
    last = min(LAST_HARMONIC, int(found.top * 0.98 / hertz))
    if last < 2:
        raise ElectricsError("tone_hz", tone_hz, "low enough that two harmonics are recorded")
    powers = [found.line(number * hertz) for number in range(2, last + 1)]
    return Distortion(hertz, math.sqrt(first), tuple(math.sqrt(one / first) for one in powers),
                      math.sqrt(sum(powers) / first), math.sqrt(max(everything - first, 0.0) / everything))


def clipping(samples: Array, rate: float, tone_hz: float, limit: float = 0.05) -> Clipping:
    """Where a tone whose level rises begins to clip: the effective value at which THD first passes `limit`, a share.

    ElectricsError if it starts beyond the limit or never gets there.
    """
    within("limit", limit, 0.001, 0.5)
    block = max(1024, int(rate * max(0.1, 20 / tone_hz)))
    curve: list[tuple[float, float]] = []
    for start in range(0, len(samples) - block + 1, block):
        part = samples[start:start + block]
        try:
            one = distortion(part, rate, tone_hz)
        except ElectricsError:  # before the tone begins and after it ends
            continue
        curve.append((one.rms, one.thd))
    if len(curve) < 3:
        raise ElectricsError("recording", len(curve), "a tone that rises for a second or more")
    curve.sort()
    over = next((place for place, (_, thd) in enumerate(curve) if thd >= limit and all(t >= limit for _, t in curve[place:])), None)
    if over is None:
        raise ElectricsError("recording", f"{max(t for _, t in curve):.2%}", f"raised until its distortion passes {limit:.0%}")
    if over == 0:
        raise ElectricsError("recording", f"{curve[0][1]:.2%}", f"begun below {limit:.0%} distortion")
    (low, before), (high, after) = curve[over - 1], curve[over]
    share = (limit - before) / (after - before) if after > before else 1.0
    return Clipping(low + share * (high - low), curve[-1][0], tuple(curve))


def _stands(found: Spectrum, hertz: float) -> bool:
    return LOW < hertz < found.top * 0.99 and found.line(hertz) > STANDS_OUT * max(found.floor(hertz), 1e-24)
