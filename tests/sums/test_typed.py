"""What may be typed in a sum's field, and what is asked back."""

from __future__ import annotations

import pytest
from flask import Flask

from app.bench.sums.sections import SUMS
from app.bench.sums.work import work_out
from tests.sums.test_no_input_breaks_a_page import usual


@pytest.fixture(autouse=True)
def no_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.kernel.speech._speech", None)


def refusal(field: str, typed: str) -> str:
    with Flask(__name__).test_request_context():
        worked = work_out(SUMS["reservoir"], usual(SUMS["reservoir"]) | {"load_ohm": "", "load_a": "100m"} | {field: typed})
    return " ".join(worked.form[field].errors)


@pytest.mark.parametrize(("field", "typed", "meant"), [
    ("reservoir_farad", "47", "47u (47 µF)"),
    ("reservoir_farad", "47 F", "47u (47 µF)"),
    ("reservoir_farad", "0.022", "0.022u (22 nF)"),
    ("load_a", "40", "40m (40 mA)"),
])
def test_a_bare_number_that_is_hardly_meant_is_asked_back(field: str, typed: str, meant: str) -> None:
    assert f"Did you mean {meant}?" in refusal(field, typed)


@pytest.mark.parametrize(("field", "typed"), [
    ("reservoir_farad", "22000u"), ("reservoir_farad", "47u"), ("load_a", "0.04"), ("load_a", "1"), ("secondary_vrms", "325"),
    ("secondary_vrms", "325-0-325"), ("secondary_vrms", "325-0-325 V"), ("secondary_vrms", "325 – 0 – 325"),
])
def test_what_may_be_meant_is_taken(field: str, typed: str) -> None:
    assert refusal(field, typed) == ""


def test_unequal_legs_are_no_winding() -> None:
    assert refusal("secondary_vrms", "325-0-300") != ""
