"""The volts of an insulation test by what is fitted.

500 V DC, 250 V where surge parts would conduct: AS/NZS 3760 and EN 50678/50699 (from memory; see `app.measuring.insulation`).
"""

from __future__ import annotations

import pytest

from app.measuring import insulation
from app.measuring.insulation import SOURCE, tells_of_one, why_volts_refused


def test_the_volts_follow_what_is_fitted() -> None:
    assert insulation.test_volts(500.0, conducts="") == 500.0
    assert insulation.test_volts(500.0, conducts="varistor RV1") == 250.0
    assert insulation.test_volts(None, conducts="") == 500.0
    assert insulation.test_volts(100.0, conducts="varistor RV1") == 100.0  # a shop's own that asks for less
    assert "3760" in SOURCE and "memory" in SOURCE


@pytest.mark.parametrize(("level", "conducts", "refused"), [
    (500.0, "", ""), (None, "", "Enter the tester"), (0.0, "", "Enter the tester"), (250.0, "", "less than the 500 V"),
    (250.0, "mains filter FL1", ""), (500.0, "mains filter FL1", "can conduct at 500 V"),
    (100.0, "mains filter FL1", "less than the 250 V"), (1000.0, "", "more than the 500 V"),
    (600.0, "", "more than the 500 V")])
def test_volts_that_prove_nothing_or_harm_are_refused(level: float | None, conducts: str, refused: str) -> None:
    why = why_volts_refused(level, ordinary=500.0, conducts=conducts)
    assert refused in why if refused else why == ""


@pytest.mark.parametrize(("words", "tells"), [
    ("varistor RV1 at the inlet", True), ("MOV split open", True), ("inlet with mains filter", True), ("filtered inlet", True),
    ("suppressor capacitor 0.1 µF, line to chassis", True), ("class Y capacitor leaks", True), ("line filter", True),
    ("spark suppressor across the mains switch", True), ("gas arrester", True), ("surge arrester at the inlet", True),
    ("suppressor grid pin 1 strapped", False), ("HT filter capacitor", False), ("line filter capacitors bulging", False),
    ("no mains filter fitted", False), ("mains filter removed by earlier hand", False), ("without suppressor", False),
    ("mains transformer", False), ("moved lead", False), ("reservoir", False), ("", False)])
def test_words_tell_of_a_part_that_conducts(words: str, tells: bool) -> None:
    """Words as benches write them (common practice, no source)."""
    assert tells_of_one(words) is tells
