"""Recordings of an order: the pages, what is refused and where, what is kept, and what the report says."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.documents.papers.heard import HeardKind, heard
from app.documents.papers.report import facts
from app.electrics.sound.sweep import log_sweep
from app.errors import BadInput, RuleBroken
from app.measuring.rules import Phase
from app.photos.store import the_store
from app.sound import queries, service
from app.sound.models import Recording
from app.sound.rules import Figure, Setting, SoundKind, measure, volts_full_of
from tests import factories
from tests.electrics.test_sound import RATE, tone
from tests.electrics.waves import as_wav
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY

FULL = 40.0


def wav(volts: np.ndarray, full: float = FULL) -> bytes:
    return as_wav(volts / full, RATE, 32)


def amp_tone(second: float = 0.02, rms: float = 8.0) -> np.ndarray:
    return tone(400, rms) + second * tone(800, rms)


def named(data: bytes, setting: Setting) -> dict[str, float]:
    return {one.name: one.value for one in measure(data, setting).figures}


def test_volts_watts_and_per_cent_of_a_known_tone() -> None:
    """8 V into 8 Ω are 8 W (P = V²/R); a second harmonic of 2 % is 2 % of distortion, within 0.1 dB and 0.01 % points."""
    found = named(wav(amp_tone()), Setting(SoundKind.TONE, volts_full=FULL, load_ohm=8.0, tone_hz=400))
    assert found["Level of the tone"] == pytest.approx(8.0, rel=0.001)
    assert found["Power into the load"] == pytest.approx(8.0, rel=0.003)
    assert found["Distortion by harmonics"] == pytest.approx(2.0, abs=0.01)


def test_without_a_level_only_relative_figures_are_given() -> None:
    for kind, data in ((SoundKind.TONE, wav(amp_tone())), (SoundKind.NOISE, wav(tone(100, 0.01)))):
        units = {one.unit for one in measure(data, Setting(kind, load_ohm=8.0, tone_hz=400)).figures}
        assert not units & {"V", "W"} and "dB re full scale" in units


def test_a_response_is_told_against_1_khz_and_clipping_in_watts() -> None:
    sent = np.concatenate([0.4 * FULL * log_sweep(20, 20000, 10, RATE), np.zeros(RATE)])
    assert all(abs(value) < 0.1 for value in named(wav(sent), Setting(SoundKind.SWEEP)).values())
    drive = np.linspace(2, 25, 6 * RATE) * np.sin(2 * np.pi * 400 * np.arange(6 * RATE) / RATE)
    found = named(wav(np.clip(drive, -20, 20)), Setting(SoundKind.RISE, volts_full=FULL, load_ohm=8.0, tone_hz=400))
    level = found["Level at 5 % distortion"]
    assert 14.1 < level < 15.5 and found["Power at 5 % distortion"] == pytest.approx(level**2 / 8)


@pytest.mark.parametrize("samples", [np.zeros(2 * RATE), np.full(2 * RATE, 0.3), np.eye(1, 2 * RATE, RATE)[0] * 1e-3])
def test_silence_is_no_proof_of_quiet(samples: np.ndarray) -> None:
    """A recorder that was not connected shows nothing, or its own offset: that is not the noise of an amp."""
    with pytest.raises(BadInput, match="no noise in it that it can show"):
        measure(wav(FULL * samples), Setting(SoundKind.NOISE, volts_full=FULL))


@pytest.mark.parametrize(("ratio", "recorder", "field"), [(40, None, "recorder_v"), (None, 1.0, "ratio"), (0.5, 1.0, "ratio"),
                                                          (40, 0, "recorder_v")])
def test_half_a_level_is_refused(ratio: float | None, recorder: float | None, field: str) -> None:
    with pytest.raises(BadInput) as wrong:
        volts_full_of(ratio=ratio, recorder_v=recorder)
    assert wrong.value.field == field and volts_full_of(ratio=40, recorder_v=1.4) == 56


@pytest.mark.parametrize(("data", "setting", "field"), [
    (wav(amp_tone(rms=40.0).clip(-40, 40)), Setting(SoundKind.TONE, tone_hz=400), "file"),
    (wav(amp_tone()), Setting(SoundKind.TONE, tone_hz=3000), "tone_hz"),
    (wav(amp_tone()), Setting(SoundKind.SWEEP), "sweep_seconds"),
    (wav(amp_tone()), Setting(SoundKind.RISE, tone_hz=400), "clips_at"),
    (wav(amp_tone()), Setting(SoundKind.TONE, channel=2), "file")])
def test_what_cannot_be_read_is_refused_beside_its_field(data: bytes, setting: Setting, field: str) -> None:
    with pytest.raises(BadInput) as wrong:
        measure(data, setting)
    assert wrong.value.field == field


def form(data: bytes | None, **given: Any) -> dict[str, Any]:
    facts = {"kind": "distortion", "phase": "as found", "channel": "1", "tone_hz": "400", **given}
    return {**facts, "file": (data, "load.wav")} if data is not None else facts


def test_found_and_left_side_by_side_and_the_file_back(app: Flask, technician: PageClient, counter: PageClient) -> None:
    with app.app_context(), transaction():
        number = factories.order().id
    here = f"/orders/{number}/sound"
    assert "Isolate and divide first" in technician.get(f"{here}/add").words
    page = technician.post(f"{here}/add", form(b"RIFFnothing", condition="controls at noon"))
    assert "load.wav: That is not a WAV file" in page.words and page.fields()["condition"] == "controls at noon"
    assert "Choose the recording" in technician.post(f"{here}/add", form(None)).words
    page = technician.post(f"{here}/add", form(wav(amp_tone()), ratio="40", recorder_v="1", load_ohm="8"))
    assert "2 %" in page.words and "8 W" in page.words
    page = technician.post(f"{here}/add", form(wav(amp_tone(0.01)), ratio="40", recorder_v="1", load_ohm="8", phase="as left"))
    assert "1 %" in page.words and "−1 points" in page.words and "Strike out" not in counter.get(here).words
    with app.app_context():
        kept = session().scalars(sa.select(Recording).order_by(Recording.id)).first()
        assert kept is not None and the_store().get(kept.sha256) == wav(amp_tone())
    assert counter.client.get(f"{here}/{kept.id}/file").data == wav(amp_tone())
    page = technician.post(f"{here}/{kept.id}/strike", {"reason": "another input"})
    assert "struck out: another input" in page.words
    assert technician.client.get(f"{here}/sweep").data[:4] == b"RIFF"
    assert technician.get(f"/orders/{number + 99}/sound/1/file", status=404).status == 404


def test_a_meter_gives_the_level_and_an_earlier_recording_hands_it_on(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        number = factories.order().id
    here = f"/orders/{number}/sound/add"
    assert "needs a steady tone" in technician.post(here, form(wav(tone(100, 0.01)), kind="noise", known_v="8")).words
    assert "Enter the level once" in technician.post(here, form(wav(amp_tone()), ratio="9", recorder_v="1", known_v="8")).words
    technician.post(here, form(wav(amp_tone()), known_v="8"))
    with app.app_context():
        first = session().scalars(sa.select(Recording)).one()
        assert first.volts_full == pytest.approx(FULL, rel=0.001)
    page = technician.post(here, form(wav(tone(100, 0.01)), kind="noise", level_of=str(first.id)))
    assert "10 mV" in page.words


def test_a_struck_recording_counts_no_more_and_the_report_says_what_counts(context: Flask) -> None:
    with transaction():
        order = factories.order()
        known = Setting(SoundKind.TONE, volts_full=FULL, load_ohm=8.0, tone_hz=400)
        found = service.add_recording(order, service.prepare(wav(amp_tone()), known, level_basis="divider 40 to 1"), Phase.AS_FOUND,
                                      by=BY, now=NOW)
        service.add_recording(order, service.prepare(wav(amp_tone(0.01)), Setting(SoundKind.TONE, tone_hz=400)), Phase.AS_LEFT,
                              by=BY, now=NOW)
    kind = heard(order)[0]
    assert kind.found_curve == () or not queries.comparisons(order)[0].found
    assert any("relative figures only" in line for line in kind.basis)
    with transaction():
        service.strike_recording(found, reason="wrong input", by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="already"):
            service.strike_recording(found, reason="again", by=BY, now=NOW)
    assert [row.found for row in heard(order)[0].rows] == [""] * len(heard(order)[0].rows)
    assert isinstance(facts(order).sound[0], HeardKind)


@pytest.mark.parametrize(("before", "after", "unit", "words"), [
    (8.0, 8.0 - 8e-7, "V", "0 %"), (8.0, 8.004, "V", "0 %"), (8.0, 8.01, "V", "+0.1 %"), (8.0, 6.0, "V", "−25 %"),
    (0.001, 0.0023, "V", "+130 %"), (8.0, 18.0, "W", "+125 %"), (2.0, 2.0 - 1e-5, "%", "0 points"), (2.0, 1.0, "%", "−1 points"),
    (0.0123, 0.01, "%", "−0.0023 points"), (-80.0, -80.02, "dB rel. 1 V", "0 dB"), (-80.0, -74.0, "dB rel. 1 V", "+6 dB"),
    (0.0, 0.0, "V", "0 points"),
])
def test_a_change_is_said_in_the_digits_of_its_figures(before: float, after: float, unit: str, words: str) -> None:
    """By hand: two figures that read alike have not changed, and no change is said by a power of ten."""
    assert queries.Row("level", Figure("level", before, unit), Figure("level", after, unit)).change == words


def test_levels_that_nobody_knows_are_not_compared() -> None:
    """The recorder's level may have been turned between the two: that noise fell by 20 dB is then nobody's to say."""
    before, after = Figure("noise", -60.0, "dB re full scale"), Figure("noise", -80.0, "dB re full scale")
    assert queries.Row("noise", before, after).change == "level unknown"
