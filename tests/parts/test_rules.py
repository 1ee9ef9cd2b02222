from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.parts.rules import Incoming, PartKind, Rating, check_arrival, check_need
from app.quote.rules.words import PartCondition
from tests.parts.make import arrival, need

RESISTOR = {"kind": PartKind.RESISTOR, "rating": Rating(watts=1.2)}


@pytest.mark.parametrize(("wrong", "field"), [
    ({"what": " "}, "what"),
    ({"quantity": 0}, "quantity"),
    ({"place": ""}, "place"),
    ({"rating": Rating()}, "needed_volts"),
    ({"rating": Rating(volts=0.0)}, "needed_volts"),
    ({"kind": PartKind.RESISTOR}, "needed_watts"),
    ({"rating_source": ""}, "rating_source"),
])
def test_a_need_that_cannot_be_ordered_by_is_refused_at_its_field(wrong: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        check_need(need(**wrong))
    assert refused.value.field == field


def test_a_valve_needs_no_rating() -> None:
    check_need(need(what="12AX7", kind=PartKind.VALVE, rating=Rating(), rating_source=""))


def test_a_part_marked_for_less_is_refused_with_both_values() -> None:
    with pytest.raises(BadInput) as refused:
        check_arrival(need(), arrival(rating=Rating(volts=400.0)))
    assert refused.value.field == "rated_volts"
    assert "C14 needs 420 V; this part is rated 400 V" in refused.value.words


def test_watts_are_shown_in_bench_notation() -> None:
    with pytest.raises(BadInput, match="needs 1.2 W; this part is rated 500 mW"):
        check_arrival(need(**RESISTOR), arrival(rating=Rating(watts=0.5)))


def test_a_part_without_marking_is_refused() -> None:
    with pytest.raises(BadInput, match="Enter what is marked"):
        check_arrival(need(), arrival(rating=Rating()))


@settings(deadline=None)
@given(st.floats(1, 2000), st.floats(1, 2000))
def test_a_part_is_taken_exactly_when_it_bears_what_its_place_asks(asks: float, bears: float) -> None:
    wanted, came = need(rating=Rating(volts=asks)), arrival(rating=Rating(volts=bears))
    if bears >= asks:
        check_arrival(wanted, came)
    else:
        with pytest.raises(BadInput):
            check_arrival(wanted, came)


@pytest.mark.parametrize(("wanted", "came", "field"), [
    ({"condition": PartCondition.NEW}, {"condition": PartCondition.USED}, "condition"),
    ({}, {"condition": PartCondition.CUSTOMERS}, "charged_minor"),
    ({}, {"charged_minor": -1}, "charged_minor"),
    ({}, {"test": Incoming.LOOKED_AT}, "test"),
    ({}, {"test": Incoming.FAILED, "test_words": ""}, "test_words"),
])
def test_what_is_not_as_asked_is_refused(wanted: dict[str, object], came: dict[str, object], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        check_arrival(need(**wanted), arrival(**came))
    assert refused.value.field == field
