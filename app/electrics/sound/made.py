"""A WAV file of samples: what is sent into an amp."""

from __future__ import annotations

import io
import wave

from app.electrics.arrays import Array, np


def as_wav(samples: Array, rate: int, quiet: float = 0.0) -> bytes:
    """One channel of 24 bits; samples as shares of full scale, `quiet` seconds of silence behind them."""
    whole = np.round(np.clip(np.concatenate([samples, np.zeros(int(quiet * rate))]), -1, 1) * ((1 << 23) - 1)).astype("<i4")
    kept = io.BytesIO()
    with wave.open(kept, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(3)
        out.setframerate(rate)
        out.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    return kept.getvalue()
