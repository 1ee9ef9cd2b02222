"""The response by a sweep whose frequency rises by the same ratio in the same time.

Source: A. Farina, "Simultaneous measurement of impulse response and distortion with a swept-sine technique", 108th AES
Convention, Paris 2000, preprint 5093: what comes back, deconvolved by what was sent, is the impulse response, and each
harmonic's lies before it, at a distance that the sweep's rate sets; so a window around the peak keeps the linear part alone.
"""

from __future__ import annotations

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, positive, within

POINTS = 121
GATHERED = 0.6  # of the impulse's energy in its window, each octave weighing the same; another sweep spreads it over seconds
BEFORE, AFTER = 0.15, 0.35  # seconds of the impulse response that are kept around its peak, at most


def log_sweep(low: float, high: float, seconds: float, rate: float) -> Array:
    """The sweep that is sent, at full scale, faded in and out over a hundredth of it (Farina 2000, equation 3)."""
    positive("low", low)
    within("high", high, 2 * low, rate / 2)
    within("seconds", seconds, 1, 30)
    ratio = np.log(high / low)
    time = np.arange(int(seconds * rate)) / rate
    sent: Array = np.sin(2 * np.pi * low * seconds / ratio * (np.exp(time * ratio / seconds) - 1))
    fade = max(int(len(sent) * 0.01), 8)
    rise = 0.5 - 0.5 * np.cos(np.pi * np.arange(fade) / fade)
    sent[:fade] *= rise
    sent[-fade:] *= rise[::-1]
    return sent


def impulse(recorded: Array, sent: Array, low: float, high: float, rate: float) -> Array:
    """The impulse response by deconvolution in the frequency domain, circular, as long as both together.

    Outside the sweep's band nothing was sent: the division is damped there (Kirkeby's regularisation).
    """
    size = 1 << int(np.ceil(np.log2(len(recorded) + len(sent))))
    given = np.fft.rfft(sent, size)
    strength = np.abs(given) ** 2
    hertz = np.fft.rfftfreq(size, 1 / rate)
    inside = (hertz >= low) & (hertz <= high)
    damping = np.where(inside, 1e-8, 1.0) * float(np.max(strength))
    return np.fft.irfft(np.fft.rfft(recorded, size) * np.conj(given) / (strength + damping), size)


def response(recorded: Array, rate: float, *, low: float, high: float, seconds: float) -> tuple[tuple[float, float], ...]:
    """Hertz and gain (decibel, 0 = as sent) on a logarithmic grid within the sweep. ElectricsError if the sweep is not in it."""
    sent = log_sweep(low, high, seconds, rate)
    if len(recorded) < len(sent):
        raise ElectricsError("recording", f"{len(recorded) / rate:.1f} s", f"as long as the sweep, {seconds:g} s, or longer")
    found = impulse(recorded, sent, low, high, rate)
    at = int(np.argmax(np.abs(found)))
    before = int(min(BEFORE, 0.4 * seconds * np.log(2) / np.log(high / low)) * rate)  # clear of the second harmonic's impulse
    around = np.roll(found, before - at)[:before + int(AFTER * rate)]
    if (share := _share_inside(found, at - before, len(around), (1.3 * low, high / 1.3), rate)) < GATHERED:
        raise ElectricsError("recording", f"{share:.0%}", "the sweep as it was sent: same ends, same length")
    edge = max(before // 2, 1)
    window = np.ones(len(around))
    window[:edge] = 0.5 - 0.5 * np.cos(np.pi * np.arange(edge) / edge)
    tail = len(around) // 4
    window[-tail:] = 0.5 + 0.5 * np.cos(np.pi * np.arange(tail) / tail)
    size = 1 << int(np.ceil(np.log2(rate * 4)))
    gain = np.abs(np.fft.rfft(around * window, size))
    hertz = np.fft.rfftfreq(size, 1 / rate)
    grid = np.geomspace(low * 1.1, min(high, rate / 2) / 1.1, POINTS)
    level = 20 * np.log10(np.maximum(np.interp(grid, hertz, gain), 1e-9))
    return tuple((float(one), float(db)) for one, db in zip(grid, level, strict=True))


def _share_inside(found: Array, start: int, length: int, band: tuple[float, float], rate: float) -> float:
    """How much of an impulse response lies in the window, each octave weighing the same: high ones alone would hide a smear."""
    hertz = np.fft.rfftfreq(len(found), 1 / rate)
    weight = np.where((hertz >= band[0]) & (hertz <= band[1]), 1 / np.sqrt(np.maximum(hertz, 1.0)), 0.0)
    even = np.fft.irfft(np.fft.rfft(found) * weight, len(found))
    whole = float(np.sum(even**2))
    return float(np.sum(np.roll(even, -start)[:length] ** 2)) / whole if whole > 0 else 0.0
