"""Recordings of known content: what is read from them, against closed forms, scipy and the standard library's `wave`."""

from __future__ import annotations

import io
import struct
import wave

import numpy as np
import pytest
import scipy.signal

from app.electrics.errors import ElectricsError
from app.electrics.sound.figures import clipping, distortion, noise, overloaded_at
from app.electrics.sound.spectrum import spectrum
from app.electrics.sound.sweep import log_sweep, response
from app.electrics.sound.wav import NoRecording, read_wav
from tests.electrics.waves import as_wav
from tests.reference.tally import within

RATE = 48000


def tone(hertz: float, rms: float, seconds: float = 2.0, rate: int = RATE, phase: float = 0.3) -> np.ndarray:
    return rms * np.sqrt(2) * np.sin(2 * np.pi * hertz * np.arange(int(seconds * rate)) / rate + phase)


def db(ratio: float) -> float:
    return float(20 * np.log10(ratio))


@pytest.mark.parametrize("hertz", [50.0, 50.13, 400.25, 997.0, 10007.3])
def test_a_line_is_read_to_a_hundredth_of_a_decibel_wherever_it_lies(hertz: float) -> None:
    found = spectrum(tone(hertz, 0.2), RATE)
    assert within(abs(db(np.sqrt(found.line(hertz)) / 0.2)), 0.01, "dB")
    assert found.peak(0.9 * hertz, 1.1 * hertz) == pytest.approx(hertz, abs=0.1)


def test_the_sum_of_all_bins_is_the_mean_square_and_agrees_with_scipy() -> None:
    """White noise of a known root mean square; scipy.signal.periodogram with the same window, the same sum within 0.1 dB."""
    samples = np.random.default_rng(7).normal(0, 0.05, 4 * RATE)
    found = spectrum(samples, RATE)
    assert within(abs(db(np.sqrt(found.band(0, 24000)) / 0.05)), 0.1, "dB")
    _, density = scipy.signal.periodogram(samples, RATE, window="blackmanharris", detrend="constant", scaling="density")
    assert found.band(1000, 5000) == pytest.approx(float(np.sum(density[4000:20001])) * RATE / len(samples), rel=2e-3)


def test_noise_names_its_lines_within_a_tenth_of_a_decibel() -> None:
    samples = (tone(50.05, 1e-3, 10) + tone(100.1, 4e-3, 10) + tone(150.15, 5e-4, 10) + tone(17500, 2e-3, 10)
               + np.random.default_rng(3).normal(0, 2e-4, 10 * RATE))
    found = noise(samples, RATE, 50)
    lines = {one.name: one for one in found.lines}
    assert set(lines) == {"mains (and heaters on AC)", "twice mains", "3 × mains", "switching"}
    for name, rms in (("mains (and heaters on AC)", 1e-3), ("twice mains", 4e-3), ("3 × mains", 5e-4), ("switching", 2e-3)):
        assert within(abs(db(lines[name].rms / rms)), 0.1, "dB"), name
    whole = np.sqrt(1e-6 + 16e-6 + 0.25e-6 + 4e-6 + 4e-8 * 20000 / 24000)
    assert within(abs(db(found.total / whole)), 0.1, "dB")
    assert within(abs(db(found.rest / (2e-4 * np.sqrt(20000 / 24000)))), 0.3, "dB")


def test_white_noise_has_no_lines() -> None:
    assert noise(np.random.default_rng(5).normal(0, 1e-3, 5 * RATE), RATE, 60).lines == ()


@pytest.mark.parametrize("hertz", [400.0, 997.3])
@pytest.mark.parametrize(("second", "third"), [(0.001, 0.0005), (0.02, 0.05), (0.0, 0.1)])
def test_harmonics_within_a_hundredth_of_a_per_cent(hertz: float, second: float, third: float) -> None:
    samples = 0.3 * (tone(hertz, 1) + second * tone(2 * hertz, 1, phase=1) + third * tone(3 * hertz, 1, phase=2))
    found = distortion(samples, RATE, hertz)
    assert found.harmonics[0] == pytest.approx(second, abs=1e-4) and found.harmonics[1] == pytest.approx(third, abs=1e-4)
    assert found.thd == pytest.approx(np.hypot(second, third), abs=1e-4)
    assert within(abs(db(found.rms / 0.3)), 0.01, "dB")


def test_distortion_of_a_square_wave_is_the_series() -> None:
    """A square wave's odd harmonics are 1/n of the fundamental (Fourier): to the ninth, root of 1/9 + 1/25 + 1/49 + 1/81."""
    time = np.arange(2 * 192000) / 192000
    square = sum(np.sin(2 * np.pi * 1000 * n * time) / n for n in range(1, 90, 2))
    found = distortion(0.5 * square, 192000, 1000)
    assert found.thd == pytest.approx(np.sqrt(1 / 9 + 1 / 25 + 1 / 49 + 1 / 81), abs=1e-4)


def test_no_tone_is_no_distortion() -> None:
    with pytest.raises(ElectricsError, match="tone_hz"):
        distortion(np.random.default_rng(1).normal(0, 0.01, RATE), RATE, 1000)


@pytest.mark.parametrize("top", [0.25, 0.5])
def test_clipping_begins_where_a_limited_sine_has_five_per_cent(top: float) -> None:
    """A sine cut at ±top: the drive at which its harmonics reach 5 % is found by cutting one period finely and transforming it."""
    def cut(drive: float) -> tuple[float, float]:
        shape = np.clip(drive * np.sin(2 * np.pi * np.arange(65536) / 65536), -top, top)
        parts = np.abs(np.fft.rfft(shape))[1:11] / 32768
        return float(parts[0] / np.sqrt(2)), float(np.sqrt(np.sum(parts[1:] ** 2)) / parts[0])
    expected = next(rms for rms, thd in map(cut, np.linspace(top, 2 * top, 4000)) if thd >= 0.05)
    drive = np.linspace(0.2 * top, 2 * top, 10 * 96000)
    samples = np.clip(drive * np.sin(2 * np.pi * 400 * np.arange(len(drive)) / 96000), -top, top)
    assert within(abs(db(clipping(samples, 96000, 400).rms / expected)), 0.1, "dB")


def test_a_tone_that_never_clips_or_always_does_is_refused() -> None:
    rise = np.linspace(0.05, 0.4, 4 * RATE) * np.sin(2 * np.pi * 400 * np.arange(4 * RATE) / RATE)
    with pytest.raises(ElectricsError, match="raised until"):
        clipping(rise, RATE, 400)
    with pytest.raises(ElectricsError, match="begun below"):
        clipping(np.sign(rise) * np.linspace(0.1, 0.4, 4 * RATE), RATE, 400)


def test_a_sweep_reads_a_known_filter() -> None:
    """Second-order band-pass of scipy, 80 Hz to 5 kHz: its response by scipy's sosfreqz, within 0.1 dB from 40 Hz to 10 kHz."""
    sos = scipy.signal.butter(1, [80, 5000], "bandpass", fs=RATE, output="sos")
    sent = np.concatenate([np.zeros(4000), log_sweep(20, 20000, 10, RATE), np.zeros(RATE)])
    found = response(0.4 * scipy.signal.sosfilt(sos, sent), RATE, low=20, high=20000, seconds=10)
    for hertz, gain in found:
        if 40 <= hertz <= 10000:
            _, true = scipy.signal.sosfreqz(sos, worN=[hertz], fs=RATE)
            assert within(abs(gain - db(0.4 * abs(true[0]))), 0.1, "dB"), hertz


def test_harmonics_do_not_bend_the_response() -> None:
    """Farina 2000: the distortion's impulses lie before the linear one and are left out."""
    sent = np.concatenate([np.zeros(2000), log_sweep(20, 20000, 10, RATE), np.zeros(RATE)])
    found = response(0.4 * sent + 0.05 * sent**2, RATE, low=20, high=20000, seconds=10)
    assert within(max(abs(gain - db(0.4)) for hertz, gain in found if 60 <= hertz <= 10000), 0.1, "dB")


def test_another_sweep_is_refused() -> None:
    with pytest.raises(ElectricsError, match="same ends"):
        response(log_sweep(20, 20000, 8, RATE), RATE, low=30, high=16000, seconds=5)
    with pytest.raises(ElectricsError, match="as long as"):
        response(log_sweep(20, 20000, 2, RATE), RATE, low=20, high=20000, seconds=5)


@pytest.mark.parametrize("bits", [16, 24, 32])
@pytest.mark.parametrize("channel", [1, 2])
@pytest.mark.parametrize("rate", [44100, 192000])
def test_what_the_standard_library_writes_is_read(bits: int, channel: int, rate: int) -> None:
    both = np.stack([tone(440, 0.1, 1, rate), tone(880, 0.2, 1, rate)], axis=1)
    whole = np.round(both * (2 ** (bits - 1) - 1)).astype("<i4")
    body = b"".join(whole.reshape(-1)[i].tobytes()[: bits // 8] for i in range(whole.size)) if bits == 24 else \
        whole.astype(f"<i{bits // 8}").tobytes()
    kept = io.BytesIO()
    with wave.open(kept, "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(bits // 8)
        out.setframerate(rate)
        out.writeframes(body)
    found = read_wav(kept.getvalue(), channel)
    assert (found.rate, found.channels, found.bits, found.seconds) == (rate, 2, bits, 1.0)
    assert np.max(np.abs(found.samples - both[:, channel - 1])) < 2 ** (2 - bits)


def test_float_samples_are_read() -> None:
    samples = tone(440, 0.1, 1)
    assert np.max(np.abs(read_wav(as_wav(samples, RATE, bits=0)).samples - samples)) < 1e-7


GOOD = as_wav(tone(440, 0.1, 1), RATE)


@pytest.mark.parametrize(("data", "words"), [
    (b"", "not a WAV"), (b"ID3" + GOOD, "not a WAV"), (GOOD[:-1000], "incomplete"), (GOOD[:36], "no sound"),
    (GOOD[:22] + struct.pack("<H", 0) + GOOD[24:], "0 channels"), (GOOD[:22] + struct.pack("<H", 2) + GOOD[24:], "contradicts"),
    (GOOD[:24] + struct.pack("<I", 8000) + GOOD[28:], "8000 samples"), (GOOD[:20] + struct.pack("<H", 85) + GOOD[22:], "not read"),
    (GOOD[:12] + GOOD[36:], "before its sound"), (as_wav(tone(440, 0.1, 0.2), RATE), "shorter"),
    (as_wav(tone(440, 0.1, 31), RATE), "longer"), (as_wav(np.full(RATE, np.nan), RATE, bits=0), "no numbers"),
    (as_wav(np.full(RATE, 1e30), RATE, bits=0), "far beyond"), (GOOD[:16] + struct.pack("<I", 4) + GOOD[20:], "damaged")])
def test_a_file_that_is_no_recording_is_refused_in_words(data: bytes, words: str) -> None:
    with pytest.raises(NoRecording, match=words):
        read_wav(data)


def test_a_channel_that_is_not_there_is_refused() -> None:
    with pytest.raises(NoRecording, match="has 1 channel"):
        read_wav(GOOD, 2)


def test_an_overloaded_recorder_is_noticed() -> None:
    assert overloaded_at(tone(400, 0.5), RATE) is None
    assert overloaded_at(np.clip(tone(400, 0.9), -1, 1), RATE) == pytest.approx(0.0, abs=0.003)
