"""Sums worked out beside any shop, from their usual entries."""

from __future__ import annotations

import pytest
from flask import Flask

from app.bench.sums.sections import SUMS
from app.bench.sums.work import Worked, work_out
from tests.sums.test_no_input_breaks_a_page import usual


@pytest.fixture(autouse=True)
def no_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    """A module that imports this has it in each of its tests."""
    monkeypatch.setattr("app.kernel.speech._speech", None)


def worked(key: str, **typed: str) -> Worked:
    """The sum with its usual entries, save what is typed."""
    with Flask(__name__).test_request_context():
        return work_out(SUMS[key], usual(SUMS[key]) | typed)
