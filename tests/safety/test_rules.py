"""The result of a test, and what opens a chassis again."""

from __future__ import annotations

import itertools
from datetime import timedelta

import pytest

from app.measuring.rules import Verdict
from app.safety.rules import Result, Soaked, StepVerdict, result_of
from tests.factories import NOW

VERDICTS = (None, *Verdict)


@pytest.mark.parametrize("unconfirmed", [False, True])
def test_a_pass_needs_every_step_and_confirmed_limits(unconfirmed: bool) -> None:
    """Every test of up to three steps."""
    for count in range(4):
        for found in itertools.product(VERDICTS, repeat=count):
            came = result_of([StepVerdict(f"step {n}", one) for n, one in enumerate(found)], unconfirmed=unconfirmed)
            assert (came.result is Result.PASS) == (bool(found) and set(found) == {Verdict.PASS} and not unconfirmed)
            assert (came.result is Result.FAIL) == (Verdict.FAIL in found)
            assert bool(came.reasons) == (came.result is not Result.PASS)


@pytest.mark.parametrize(("minutes", "symptom", "why"), [
    (120, False, ""), (119, False, "It ran for 119 of 120 minutes."), (300, True, "The symptom showed")])
def test_what_makes_a_soak_run_count(minutes: int, symptom: bool, why: str) -> None:
    found = Soaked(NOW, NOW + timedelta(minutes=minutes), 120, symptom).why_not
    assert found.startswith(why) and bool(found) == bool(why)
