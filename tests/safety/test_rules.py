"""The result of a test, and what opens a chassis again."""

from __future__ import annotations

import itertools
from datetime import timedelta

import pytest

from app.journal.events import Event
from app.measuring.rules import Verdict
from app.orders.stages import Stage
from app.safety.rules import Result, Soaked, Stood, opens_chassis, result_of
from tests.factories import NOW

VERDICTS = (None, *Verdict)


@pytest.mark.parametrize("unconfirmed", [False, True])
def test_a_pass_needs_every_step_and_confirmed_limits(unconfirmed: bool) -> None:
    """Every test of up to three steps."""
    for count in range(4):
        for found in itertools.product(VERDICTS, repeat=count):
            came = result_of([Stood(f"step {n}", one) for n, one in enumerate(found)], unconfirmed=unconfirmed)
            assert (came.result is Result.PASS) == (bool(found) and set(found) == {Verdict.PASS} and not unconfirmed)
            assert (came.result is Result.FAIL) == (Verdict.FAIL in found)
            assert bool(came.reasons) == (came.result is not Result.PASS)


@pytest.mark.parametrize(("event", "after", "opens"), [
    (Event.REMOVAL_RECORDED, {}, True),
    (Event.PART_FITTED, {}, True),
    (Event.MADE_SAFE, {}, True),
    (Event.REMOVAL_ENDED, {"ended": "refitted"}, True),
    (Event.REMOVAL_ENDED, {"ended": "to go back to the customer"}, False),
    (Event.ORDER_MOVED_BACK, {"stage": "Reassembly"}, True),
    (Event.ORDER_MOVED_BACK, {"stage": "Safety test"}, False),
    (Event.READING_TAKEN, {}, False),
    (Event.PHOTO_ADDED, {}, False),
])
def test_what_opens_the_chassis(event: Event, after: dict[str, str], opens: bool) -> None:
    assert bool(opens_chassis(event.value, after)) is opens


def test_every_stage_before_the_safety_test_opens_it() -> None:
    for stage in Stage:
        assert bool(opens_chassis("order:moved_back", {"stage": stage.word})) == (
            stage not in (Stage.SAFETY_TEST, Stage.RETURN))


@pytest.mark.parametrize(("minutes", "symptom", "why"), [
    (120, False, ""), (119, False, "It ran for 119 of 120 minutes."), (300, True, "The symptom showed")])
def test_what_makes_a_soak_run_count(minutes: int, symptom: bool, why: str) -> None:
    found = Soaked(NOW, NOW + timedelta(minutes=minutes), 120, symptom).why_not
    assert found.startswith(why) and bool(found) == bool(why)
