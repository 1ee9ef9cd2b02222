"""A reader of WAV files that takes no more memory than one channel needs, and refuses in words what it cannot trust.

Source: Multimedia Programming Interface and Data Specifications 1.0 (RIFF and WAVE), and the extensible format's GUIDs of
RFC 2361, appendix; the layout is from memory and held against the standard library's `wave` in the tests.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError

MOST_SECONDS = 30.0
RATES = (44100, 192000)
_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_GUID_END = bytes.fromhex("000000001000800000aa00389b71")


class NoRecording(ElectricsError):
    """A file is no recording that can be measured; `str` says why and what to do."""

    def __init__(self, words: str) -> None:
        super().__init__("recording", "", words)
        self.words = words

    def __str__(self) -> str:
        return self.words


@dataclass(frozen=True)
class Recorded:
    """One channel of a recording: samples as shares of full scale, rate in hertz, and what the file says of itself."""

    samples: Array
    rate: int
    channels: int
    bits: int
    is_float: bool

    @property
    def seconds(self) -> float:
        return len(self.samples) / self.rate


@dataclass(frozen=True)
class _Format:
    code: int
    channels: int
    rate: int
    bits: int

    @property
    def frame(self) -> int:
        return self.channels * self.bits // 8


def read_wav(data: bytes, channel: int = 1) -> Recorded:
    """One channel (1 or 2) of a WAV file: 16, 24 or 32 bits or float, 44.1 to 192 kHz, at most 30 seconds.

    NoRecording says in words what is wrong: another kind of file, cut short, sizes that do not fit, silence in the header.
    """
    form, body = _chunks(data)
    if not 1 <= channel <= form.channels:
        raise NoRecording(f"The recording has {form.channels} channel{'s' if form.channels > 1 else ''}. Choose one that it has.")
    count = len(body) // form.frame
    if count / form.rate > MOST_SECONDS:
        raise NoRecording(f"The recording is longer than {MOST_SECONDS:g} seconds. Cut it to what is measured.")
    if count < form.rate // 2:
        raise NoRecording("The recording is shorter than half a second. Record at least two seconds.")
    samples = _samples(body[: count * form.frame], form, channel - 1)
    if not bool(np.all(np.isfinite(samples))):
        raise NoRecording("The recording holds values that are no numbers. Save it again as 24-bit WAV.")
    if float(np.max(np.abs(samples))) > 1e3:
        raise NoRecording("The recording holds values far beyond full scale. Save it again as 24-bit WAV.")
    return Recorded(samples, form.rate, form.channels, form.bits, form.code == _FLOAT)


def _chunks(data: bytes) -> tuple[_Format, memoryview]:
    if data[:4] != b"RIFF" or data[8:12] != b"WAVE":
        raise NoRecording("That is not a WAV file. Save the recording as WAV, 16 or 24 bits.")
    place, form = 12, None
    view = memoryview(data)
    while place + 8 <= len(data):
        name, size = struct.unpack_from("<4sI", data, place)
        start, end = place + 8, place + 8 + size
        if name == b"fmt ":
            form = _format(data[start:min(end, start + 40)], size)
        if name == b"data":
            if form is None:
                raise NoRecording("The WAV file does not say its format before its sound. Save it again.")
            if end > len(data):
                raise NoRecording("The WAV file is incomplete: it ends before its sound does. Send it again.")
            return form, view[start:end]
        place = end + (size & 1)
    raise NoRecording("The WAV file holds no sound. Save it again.")


def _format(head: bytes, size: int) -> _Format:
    if size < 16 or len(head) < 16:
        raise NoRecording("The WAV file’s header is damaged. Save it again.")
    code, channels, rate, _, align, bits = struct.unpack_from("<HHIIHH", head)
    if code == _EXTENSIBLE and len(head) >= 40 and head[26:40] == _GUID_END:
        code = struct.unpack_from("<H", head, 24)[0]
    if code not in (_PCM, _FLOAT) or bits not in ({16, 24, 32} if code == _PCM else {32, 64}):
        raise NoRecording("This kind of WAV is not read. Save it as 16, 24 or 32 bits, without compression.")
    if channels not in (1, 2):
        raise NoRecording(f"The recording has {channels} channels. Record one or two.")
    if not RATES[0] <= rate <= RATES[1]:
        raise NoRecording(f"The recording has {rate} samples a second. Record at 44.1 to 192 kHz.")
    found = _Format(code, channels, rate, bits)
    if align != found.frame:
        raise NoRecording("The WAV file’s header contradicts itself. Save it again.")
    return found


def _samples(body: memoryview, form: _Format, channel: int) -> Array:
    width = form.bits // 8
    if form.code == _FLOAT:
        kind = "<f4" if width == 4 else "<f8"
        return np.frombuffer(body, kind)[channel::form.channels].astype(np.float64)
    if width == 3:
        raw = np.frombuffer(body, np.uint8).reshape(-1, form.frame)[:, channel * 3:channel * 3 + 3].astype(np.int32)
        whole = raw[:, 0] | (raw[:, 1] << 8) | (raw[:, 2] << 16)
        return (whole - ((whole & 0x800000) << 1)) / float(1 << 23)
    whole = np.frombuffer(body, "<i2" if width == 2 else "<i4")[channel::form.channels]
    return whole.astype(np.float64) / float(1 << (form.bits - 1))
