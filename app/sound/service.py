"""Keeping recordings with what is read from them, and striking them out."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring.rules import Phase, say
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still
from app.photos.prepare import stored
from app.sound.models import Recording, SoundFigure
from app.sound.rules import Measured, Setting, SoundKind, measure, volts_full_by_tone

MOST_BYTES = 50_000_000


@dataclass(frozen=True)
class Prepared:
    """A recording whose file is in the store and whose figures are worked out, before anything is written to the database."""

    sha256: str
    setting: Setting
    level_basis: str
    measured: Measured


def prepare(data: bytes, setting: Setting, *, known_v: float | None = None, level_basis: str = "") -> Prepared:
    """Read a recording, then keep its file. BadInput names the field, Unavailable says that the store cannot keep it."""
    if not data:
        raise BadInput("The file is empty. Choose it again.", "file")
    if len(data) > MOST_BYTES:
        raise BadInput(f"The recording is larger than {MOST_BYTES // 1_000_000} MB. Cut it to what is measured.", "file")
    if known_v is not None:
        setting = replace(setting, volts_full=volts_full_by_tone(data, setting, known_v))
        level_basis = f"meter at the load: {say(known_v, 'V')} while this tone was recorded"
    measured = measure(data, setting)
    return Prepared(stored(data, what="recording")[0], setting, level_basis if setting.volts_full else "", measured)


def add_recording(order: RepairOrder, prepared: Prepared, phase: Phase, condition: str = "", *, by: Actor,
                  now: datetime) -> Recording:
    """Keep a recording with its figures."""
    must_be_open(order)
    setting, measured = prepared.setting, prepared.measured
    tone = setting.tone_hz if setting.kind in (SoundKind.TONE, SoundKind.RISE) else None
    made = Recording(order_id=order.id, phase=phase, kind=setting.kind, condition=condition.strip(), sha256=prepared.sha256,
                     rate=measured.rate, bits=measured.bits, channels=measured.channels, channel=setting.channel,
                     seconds=measured.seconds, volts_full=setting.volts_full, level_basis=prepared.level_basis,
                     load_ohm=setting.load_ohm, tone_hz=tone,
                     curve_json=json.dumps([[round(x, 4), round(y, 4)] for x, y in measured.curve]), at=now, by_name=by.name)
    made.figures = [SoundFigure(position=place, name=one.name, value=one.value, unit=one.unit)
                    for place, one in enumerate(measured.figures)]
    session().add(made)
    record(Event.RECORDING_ADDED, made, by=by, now=now, after={
        "recording": made.words, "conditions": made.condition or None, "level": made.level_basis or "relative only",
        "figures": [f"{one.name}: {one.words}" for one in measured.figures], "SHA-256": made.sha256})
    return made


def strike_recording(recording: Recording, *, reason: str, by: Actor, now: datetime) -> None:
    """It does not count: another amp, a wrong setting. Its file and its figures stay readable."""
    must_be_open_still(recording.order_id)
    if recording.struck_at is not None:
        raise RuleBroken("It is struck out already.")
    if not reason.strip():
        raise BadInput("Enter why it is struck out.", "reason")
    recording.struck_at, recording.struck_by, recording.struck_reason = now, by.name, reason.strip()
    record(Event.RECORDING_STRUCK, recording, by=by, now=now, before={"recording": recording.words}, after={"struck out": True},
           reason=reason.strip())
