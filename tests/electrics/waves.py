"""WAV files for tests, written by hand."""

from __future__ import annotations

import struct

import numpy as np


def as_wav(samples: np.ndarray, rate: int, bits: int = 16) -> bytes:
    """One channel; bits 0 is 32-bit float."""
    width = bits // 8 or 4
    body = samples.astype("<f4").tobytes() if not bits else np.round(samples * (2 ** (bits - 1) - 1)).astype(f"<i{width}").tobytes()
    form = struct.pack("<HHIIHH", 1 if bits else 3, 1, rate, rate * width, width, width * 8)
    return b"RIFF" + struct.pack("<I", 36 + len(body)) + b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" \
        + struct.pack("<I", len(body)) + body
