"""What a recording is of, what is known of its level, and the figures read from it. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from app.electrics import ElectricsError, show
from app.electrics.arrays import np
from app.electrics.sound.figures import HIGH, LOW, Distortion, clipping, distortion, noise, overloaded_at
from app.electrics.sound.spectrum import spectrum
from app.electrics.sound.sweep import response
from app.electrics.sound.wav import Recorded, read_wav
from app.errors import BadInput

CLIPS_AT = 5.0  # per cent of distortion at which clipping is said to begin: common practice, no source
STANDS_STILL = 0.9  # share of samples of one value that noise cannot have: common practice, no source
AT_HZ = 1000.0  # what a response is told against
UNKNOWN_LEVEL = "dB re full scale"  # of a recording whose level nobody measured
DIGITS = 3  # of a figure, as it is shown
Curve = tuple[tuple[float, float], ...]


class SoundKind(StrEnum):
    """What was recorded."""

    NOISE = "noise"
    TONE = "distortion"
    SWEEP = "response"
    RISE = "clipping"

    @property
    def words(self) -> str:
        return {"noise": "noise, inputs shorted", "distortion": "distortion of a steady tone", "response": "response by a sweep",
                "clipping": "clipping of a rising tone"}[self.value]

    @property
    def axes(self) -> tuple[str, str]:
        """What a chart of it shows, across and up."""
        return {"noise": ("Hz", "dB, bands of a sixth of an octave"), "distortion": ("harmonic", "% of the fundamental"),
                "response": ("Hz", "dB against 1 kHz"), "clipping": ("level", "% distortion")}[self.value]


@dataclass(frozen=True)
class Setting:
    """How it was recorded. `volts_full` is the voltage at the load that full scale stands for (peak), None if not known."""

    kind: SoundKind
    channel: int = 1
    volts_full: float | None = None
    load_ohm: float | None = None
    mains_hz: float = 50.0
    tone_hz: float = 1000.0
    sweep_low: float = 20.0
    sweep_high: float = 20000.0
    sweep_seconds: float = 10.0
    clips_at: float = CLIPS_AT


@dataclass(frozen=True)
class Figure:
    """One figure; `unit` is V, W, %, Hz, or dB with what it is against."""

    name: str
    value: float
    unit: str

    @property
    def words(self) -> str:
        if self.unit.startswith("dB"):
            return f"{self.value:.1f} {self.unit}".replace("-", "−")
        return f"{self.value:.{DIGITS}g} %" if self.unit == "%" else show(self.value, self.unit, digits=DIGITS)


@dataclass(frozen=True)
class Measured:
    """What a recording came to."""

    figures: tuple[Figure, ...]
    curve: Curve
    rate: int
    bits: int
    channels: int
    seconds: float


def volts_full_of(*, ratio: float | None, recorder_v: float | None) -> float | None:
    """Volts at the load at full scale: what the recorder takes (peak) times what the divider takes down. Both, or neither."""
    if (ratio is None) != (recorder_v is None):
        raise BadInput("Enter both, the divider’s ratio and the recorder’s full scale, or neither.", "ratio" if ratio is None
                       else "recorder_v")
    if ratio is None or recorder_v is None:
        return None
    if ratio < 1:
        raise BadInput("Enter the ratio as volts at the load over volts at the recorder, 1 or more, such as 40.", "ratio")
    if recorder_v <= 0:
        raise BadInput("Enter the recorder’s full scale in volts, more than 0.", "recorder_v")
    return ratio * recorder_v


def volts_full_by_tone(data: bytes, setting: Setting, known_v: float) -> float:
    """Volts at the load at full scale, from a tone whose effective value at the load a meter showed. BadInput names the field."""
    if known_v <= 0:
        raise BadInput("Enter the volts that the meter showed at the load, more than 0.", "known_v")
    if setting.kind is not SoundKind.TONE:
        raise BadInput("A level by meter needs a steady tone: enter it with a recording of one, then choose that for the others.",
                       "known_v")
    return known_v / _distortion(_read(data, setting), setting).rms


def measure(data: bytes, setting: Setting) -> Measured:
    """The figures and the curve of a recording. BadInput in words, beside what caused it."""
    recorded = _read(data, setting)
    figures, curve = {SoundKind.NOISE: _noise, SoundKind.TONE: _tone, SoundKind.SWEEP: _sweep, SoundKind.RISE: _rise}[setting.kind](
        recorded, setting)
    return Measured(tuple(figures), curve, recorded.rate, recorded.bits, recorded.channels, recorded.seconds)


def _read(data: bytes, setting: Setting) -> Recorded:
    try:
        found = read_wav(data, setting.channel)
    except ElectricsError as wrong:
        raise BadInput(str(wrong), "file") from wrong
    at = overloaded_at(found.samples, found.rate)
    if at is not None:
        raise BadInput(f"The recorder was overloaded at {at:.1f} s: what clips there need not be the amp. Turn the recorder down, "
                       "or divide by more, and record again.", "file")
    return found


def _level(name: str, share: float, setting: Setting) -> Figure:
    if setting.volts_full is not None:
        return Figure(name, share * setting.volts_full, "V")
    return Figure(name, 20 * math.log10(max(share, 1e-12)), UNKNOWN_LEVEL)


def _noise(recorded: Recorded, setting: Setting) -> tuple[list[Figure], Curve]:
    if float(np.mean(recorded.samples == np.median(recorded.samples))) > STANDS_STILL:
        raise BadInput("The recording has no noise in it that it can show: it stands still. Check that the recorder is joined to "
                       "the load and turned up, and record again.", "file")
    found = noise(recorded.samples, recorded.rate, setting.mains_hz)
    figures = [_level("Noise, 20 Hz to 20 kHz", found.total, setting), _level("Noise without its lines", found.rest, setting)]
    figures += [_level(f"{line.name}, {line.hertz:.5g} Hz", line.rms, setting) for line in found.lines]
    bins, scale = spectrum(recorded.samples, recorded.rate), setting.volts_full or 1.0
    curve, low = [], LOW
    while low < min(HIGH, bins.top):
        high = low * 2 ** (1 / 6)
        inside = bins.band(low, high)
        if inside > 0:
            curve.append((math.sqrt(low * high), 20 * math.log10(scale * math.sqrt(inside))))
        low = high
    return figures, tuple(curve)


def _distortion(recorded: Recorded, setting: Setting) -> Distortion:
    try:
        return distortion(recorded.samples, recorded.rate, setting.tone_hz)
    except ElectricsError as wrong:
        raise BadInput(f"There is no steady tone near {setting.tone_hz:g} Hz in it. Check the frequency.", "tone_hz") from wrong


def _tone(recorded: Recorded, setting: Setting) -> tuple[list[Figure], Curve]:
    found = _distortion(recorded, setting)
    figures = [_level("Level of the tone", found.rms, setting), Figure("Frequency of the tone", found.hertz, "Hz"),
               Figure("Distortion by harmonics", 100 * found.thd, "%"), Figure("Distortion and noise", 100 * found.thd_n, "%")]
    if setting.volts_full is not None and setting.load_ohm:
        figures.insert(1, Figure("Power into the load", (found.rms * setting.volts_full) ** 2 / setting.load_ohm, "W"))
    figures += [Figure(f"Harmonic {place}", 100 * share, "%") for place, share in enumerate(found.harmonics[:4], 2)]
    return figures, tuple((float(place), 100 * share) for place, share in enumerate(found.harmonics, 2))


def _sweep(recorded: Recorded, setting: Setting) -> tuple[list[Figure], Curve]:
    try:
        found = response(recorded.samples, recorded.rate, low=setting.sweep_low, high=setting.sweep_high,
                         seconds=setting.sweep_seconds)
    except ElectricsError as wrong:
        raise BadInput("The sweep is not in it whole as it was sent. Check its ends and its length, and leave a second of quiet "
                       "after it.", "sweep_seconds") from wrong
    reference = _at(found, AT_HZ)
    curve = tuple((hertz, level - reference) for hertz, level in found)
    return [Figure(f"Response at {show(hertz, 'Hz', digits=3)}", _at(curve, hertz), "dB re 1 kHz")
            for hertz in (40.0, 100.0, 400.0, 2500.0, 5000.0, 10000.0) if curve[0][0] <= hertz <= curve[-1][0]], curve


def _rise(recorded: Recorded, setting: Setting) -> tuple[list[Figure], Curve]:
    try:
        found = clipping(recorded.samples, recorded.rate, setting.tone_hz, setting.clips_at / 100)
    except ElectricsError as wrong:
        raise BadInput(f"No onset of clipping is in it: the tone near {setting.tone_hz:g} Hz has to rise from below to above "
                       f"{setting.clips_at:g} % of distortion.", "clips_at") from wrong
    figures = [_level(f"Level at {setting.clips_at:g} % distortion", found.rms, setting),
               _level("Greatest level", found.greatest, setting)]
    scale = setting.volts_full or 1.0
    if setting.volts_full is not None and setting.load_ohm:
        figures.insert(0, Figure(f"Power at {setting.clips_at:g} % distortion", (found.rms * scale) ** 2 / setting.load_ohm, "W"))
    return figures, tuple((scale * rms, 100 * thd) for rms, thd in found.curve)


def _at(curve: Curve, hertz: float) -> float:
    """The level at a frequency, between the points beside it on a logarithmic axis."""
    above = next((place for place, (one, _) in enumerate(curve) if one >= hertz), len(curve) - 1)
    if above == 0:
        return curve[0][1]
    (left, low), (right, high) = curve[above - 1], curve[above]
    share = math.log(hertz / left) / math.log(right / left)
    return low + min(share, 1.0) * (high - low)
