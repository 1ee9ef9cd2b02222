"""Power of single lines and of bands in a recording, by one windowed transform of all of it.

The window is the four-term Blackman–Harris one (Harris 1978, "On the use of windows for harmonic analysis", table 1: side
lobes at −92 dB, main lobe of four bins to each side). The power of a line is the sum over its main lobe, by Parseval's theorem,
so that it does not depend on where between two bins the line lies.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, positive

LOBE = 4  # bins to each side
_TERMS = (0.35875, -0.48829, 0.14128, -0.01168)


@dataclass(frozen=True)
class Spectrum:
    """Mean square in each bin (full scale squared), the width of a bin in hertz. Their sum is the mean square of the whole."""

    power: Array
    bin_hz: float

    @property
    def top(self) -> float:
        """The highest frequency, hertz."""
        return (len(self.power) - 1) * self.bin_hz

    def band(self, low: float, high: float) -> float:
        """Mean square between two frequencies, hertz."""
        first, last = int(np.ceil(low / self.bin_hz)), int(np.floor(high / self.bin_hz))
        return float(np.sum(self.power[max(first, 0):last + 1]))

    def line(self, hertz: float) -> float:
        """Mean square of the line at a frequency: the sum over its main lobe."""
        return self.band(hertz - (LOBE + 0.5) * self.bin_hz, hertz + (LOBE + 0.5) * self.bin_hz)

    def peak(self, low: float, high: float) -> float:
        """The frequency of the strongest line between two frequencies, hertz, to a fraction of a bin."""
        first, last = max(int(np.ceil(low / self.bin_hz)), 1), min(int(np.floor(high / self.bin_hz)), len(self.power) - 2)
        if last < first:
            raise ElectricsError("frequency", high, f"between two and {self.top:g} hertz")
        at = first + int(np.argmax(self.power[first:last + 1]))
        near = slice(max(at - LOBE, 0), at + LOBE + 1)
        weights = self.power[near]
        total = float(np.sum(weights))
        return at * self.bin_hz if total <= 0 else float(np.sum(np.arange(len(self.power))[near] * weights)) / total * self.bin_hz

    def floor(self, hertz: float, bins: int = 40) -> float:
        """What noise alone would put into a line's lobe: the median of the bins beside it, as a mean of a chi-square's (÷ ln 2)."""
        at = round(hertz / self.bin_hz)
        beside = np.concatenate([self.power[max(at - bins, 1):max(at - LOBE - 1, 1)], self.power[at + LOBE + 2:at + bins]])
        return float(np.median(beside)) / 0.6931471805599453 * (2 * LOBE + 1) if len(beside) else 0.0


def spectrum(samples: Array, rate: float) -> Spectrum:
    """The spectrum of a recording without its mean."""
    positive("rate", rate)
    count = len(samples)
    if count < 1024:
        raise ElectricsError("samples", count, "1024 or more")
    turns = 2 * np.pi * np.arange(count) / count
    window = sum(term * np.cos(place * turns) for place, term in enumerate(_TERMS))
    found = np.abs(np.fft.rfft((samples - np.mean(samples)) * window)) ** 2 / (count * float(np.sum(window**2)))
    found[1:] *= 2
    if count % 2 == 0:
        found[-1] /= 2
    return Spectrum(found, rate / count)
