"""Bad input of any kind is refused in words; numpy's numbers do as well as Python's (the computing contract)."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest

from app.estimating import EstimateError, calibrate, coverage, finish_date, three_point, total
from app.reassembly.planner import LedgerError, Step, balance

NOTHING: Any = None


def test_nothing_in_place_of_many_is_refused_by_name() -> None:
    for argument, call in (
        ("tasks", lambda: total(NOTHING)),
        ("history", lambda: calibrate(NOTHING)),
        ("intervals", lambda: coverage(NOTHING, [1.0])),
        ("actuals", lambda: coverage([(0, 1)], NOTHING)),
        ("queue", lambda: finish_date(NOTHING, hours_per_day=6)),
    ):
        with pytest.raises(EstimateError, match=argument):
            call()


def test_a_ledger_that_is_none_is_refused() -> None:
    for ledger in (NOTHING, {"nut": 5}):
        with pytest.raises(LedgerError, match="ledger|nut"):
            balance(ledger)


def test_numbers_of_numpy_are_numbers_and_truth_values_are_not() -> None:
    assert three_point(np.float32(1), np.int64(2), np.int32(6)).mean == 2.5  # type: ignore[arg-type]  # (a + 4 m + b) / 6
    asked: Any = np.int64(50)
    found = finish_date([(1, 2, 3)], today=date(2026, 11, 25), hours_per_day=6, simulations=asked)
    assert found.p50 == date(2026, 11, 25)
    assert Step("a", minutes=asked).minutes == 50
    for wrong in (np.bool_(True), 10**400):
        with pytest.raises(EstimateError, match="low"):
            three_point(wrong, 2, 6)  # type: ignore[arg-type]
