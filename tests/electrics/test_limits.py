"""A value held against its rating: a limit itself is allowed, 90 % of it is not yet near."""

from __future__ import annotations

import pytest

from app.electrics import ElectricsError, Limit
from app.electrics.limits import limit


@pytest.mark.parametrize(
    ("found", "verdict"), [(0.0, "within"), (90.0, "within"), (90.1, "near"), (100.0, "near"), (100.1, "above"), (-5.0, "within")]
)
def test_a_most_is_near_above_nine_tenths_and_above_only_beyond_itself(found: float, verdict: str) -> None:
    assert limit("current", found, 100.0, "A", source="sheet").verdict == verdict


@pytest.mark.parametrize(("found", "verdict"), [(200.0, "within"), (100.0, "near"), (99.9, "above"), (1e-9, "above")])
def test_a_least_is_judged_the_other_way_round(found: float, verdict: str) -> None:
    held = limit("resistance", found, 100.0, "ohm", source="sheet", at_least=True)
    assert held.verdict == verdict
    assert held.share == pytest.approx(100.0 / found)


def test_a_rounding_in_the_last_place_is_not_beyond_a_limit() -> None:
    assert limit("volts", 0.1 + 0.2, 0.3, "V", source="sheet").verdict == "near"


def test_a_rating_of_nothing_is_refused_by_name() -> None:
    with pytest.raises(ElectricsError, match="peak current"):
        limit("peak current", 1.0, 0.0, "A", source="sheet")


def test_the_fields_are_those_outsiders_read() -> None:
    made = Limit("mean current", 0.3, 0.125, "A", "above", "sheet")
    assert (made.name, made.found, made.allowed, made.unit, made.verdict, made.source) == (
        "mean current", 0.3, 0.125, "A", "above", "sheet")  # fmt: skip
    assert made.share == pytest.approx(2.4)
