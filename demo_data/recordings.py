"""A recording before and after in the demo: the noise and the distortion of an amp that was never made, worked out here."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from app.electrics.arrays import Array, np
from app.electrics.sound.made import as_wav
from app.journal.service import Actor
from app.measuring.rules import Phase
from app.orders.models import RepairOrder
from app.sound import service
from app.sound.rules import Setting, SoundKind

RATE, SECONDS = 48000, 4
FULL = 56.0  # volts at the load for full scale
BASIS = "divider 40 to 1 into a recorder of 1.4 V peak"
# Effective volts at the load of hum lines, mains times 1, 2, 3, 4, and of the noise between them.
HUM = {Phase.AS_FOUND: ((2.1e-3, 19e-3, 1.2e-3, 6.4e-3), 1.4e-3), Phase.AS_LEFT: ((1.1e-3, 2.3e-3, 0.4e-3, 0.7e-3), 0.9e-3)}
# Shares of a tone of 8 V: second, third, fourth and fifth harmonic.
HARMONICS = {Phase.AS_FOUND: (0.031, 0.024, 0.006, 0.004), Phase.AS_LEFT: (0.006, 0.011, 0.001, 0.002)}
CONDITION = "8 Ω load, all controls at noon, 20 min warm"


def keep(order: RepairOrder, by: Actor, found_at: datetime, left_at: datetime) -> None:
    """Noise and distortion as found and as left."""
    for phase, at in ((Phase.AS_FOUND, found_at), (Phase.AS_LEFT, left_at)):
        for minutes, (kind, made) in enumerate(((SoundKind.NOISE, _noise(phase)), (SoundKind.TONE, _tone(phase)))):
            setting = Setting(kind, volts_full=FULL, load_ohm=8.1, tone_hz=400.0)
            prepared = service.prepare(as_wav(made / FULL, RATE), setting, level_basis=BASIS)
            service.add_recording(order, prepared, phase, CONDITION, by=by, now=at + timedelta(minutes=minutes))


def _line(hertz: float, rms: float) -> Array:
    return rms * math.sqrt(2) * np.sin(2 * np.pi * hertz * np.arange(RATE * SECONDS) / RATE)


def _noise(phase: Phase) -> Array:
    lines, rest = HUM[phase]
    hiss = np.random.default_rng(40).normal(0, rest, RATE * SECONDS)
    return sum((_line(50.0 * number, rms) for number, rms in enumerate(lines, 1)), hiss)


def _tone(phase: Phase) -> Array:
    return sum((_line(400.0 * number, 8.0 * share) for number, share in enumerate((1.0, *HARMONICS[phase]), 1)), _noise(phase))
