"""The demo's recordings read as what they were made of."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask import Flask

from app.db import transaction
from app.sound import queries
from app.sound.rules import SoundKind
from demo_data import recordings
from tests import factories
from tests.factories import NOW
from tests.people import BY


def test_before_and_after_are_read_as_they_were_made(context: Flask) -> None:
    with transaction():
        order = factories.order()
        recordings.keep(order, BY, NOW, NOW + timedelta(days=1))
    noise, tone = queries.comparisons(order)
    assert (noise.kind, tone.kind) == (SoundKind.NOISE, SoundKind.TONE)
    hum = next(row for row in noise.rows if row.name.startswith("twice mains"))
    assert hum.found and hum.left
    assert (hum.found.value, hum.left.value) == (pytest.approx(19e-3, rel=0.01), pytest.approx(2.3e-3, rel=0.01))
    thd = next(row for row in tone.rows if row.name == "Distortion by harmonics")
    assert thd.found and thd.found.value == pytest.approx(100 * (0.031**2 + 0.024**2 + 0.006**2 + 0.004**2) ** 0.5, abs=0.02)
    assert noise.chart and noise.chart.found and noise.chart.left
