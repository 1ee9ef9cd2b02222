"""The shop's clock, for journeys that take days."""

from __future__ import annotations

import pytest

from app import clock
from tests.journeys.hands import Wristwatch


@pytest.fixture
def watch(monkeypatch: pytest.MonkeyPatch) -> Wristwatch:
    """The shop's clock, which can be put forward."""
    made = Wristwatch()
    monkeypatch.setattr(clock, "now", made.now)
    return made
