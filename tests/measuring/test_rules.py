"""What a meter states, how a reading is read, and that a verdict is nothing but the judgement of its inputs."""

from __future__ import annotations

import math
import re
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.electrics import judge
from app.errors import BadInput
from app.measuring.rules import (
    Inputs,
    Quantity,
    Relation,
    Standing,
    State,
    Statement,
    Verdict,
    expanded,
    inward,
    judged,
    say_band,
    standing,
    statement_for,
)
from app.measuring.typed import read_typed

TODAY = date(2026, 3, 2)
steady = settings(derandomize=True, deadline=None, max_examples=100, suppress_health_check=[HealthCheck.too_slow])
NUMBERS = st.floats(-1e4, 1e4, allow_nan=False)


@pytest.mark.parametrize(("state", "due", "expect"), [
    (State.IN_SERVICE, date(2026, 6, 1), Standing.IN_DATE),
    (State.IN_SERVICE, date(2026, 3, 20), Standing.DUE_SOON),
    (State.IN_SERVICE, TODAY, Standing.DUE_SOON),  # the day itself still counts
    (State.IN_SERVICE, date(2026, 3, 1), Standing.OVERDUE),
    (State.IN_SERVICE, None, Standing.NEVER),
    (State.INDICATION, date(2027, 1, 1), Standing.INDICATION),
    (State.QUARANTINED, date(2027, 1, 1), Standing.QUARANTINED),
])
def test_standing_of_an_instrument(state: State, due: date | None, expect: Standing) -> None:
    found = standing(state, due, TODAY)
    assert found is expect
    assert found.counts == (expect in (Standing.IN_DATE, Standing.DUE_SOON))


# Fluke Calibration "Basics of Measurement Uncertainty": rectangular, u = a / √3; U = 2 u. Rows computed from that.
@pytest.mark.parametrize(("value", "stated", "expect"), [
    (400.0, Statement(Quantity.VOLT_DC, 600, 0.5, 3, 0.1), 2.656),
    (0.350, Statement(Quantity.OHM, 2, 0.5, 3, 0.001), 0.00548),
    (0.0360, Statement(Quantity.AMP_DC, 0.2, 1.0, 3, 1e-4), 0.762e-3),
])
def test_uncertainty_from_a_statement(value: float, stated: Statement, expect: float) -> None:
    assert expanded(value, stated) == pytest.approx(expect, rel=2e-3)


def test_the_lowest_range_that_holds_the_value_speaks() -> None:
    low, high = Statement(Quantity.VOLT_DC, 60, 0.3, 2, 0.01), Statement(Quantity.VOLT_DC, 600, 0.5, 3, 0.1)
    other = Statement(Quantity.VOLT_AC, 60, 1, 5, 0.01)
    assert statement_for(-52.1, Quantity.VOLT_DC, [high, other, low]) is low
    assert statement_for(60.1, Quantity.VOLT_DC, [high, other, low]) is high
    assert statement_for(601, Quantity.VOLT_DC, [high, other, low]) is None


@pytest.mark.parametrize(("typed", "quantity", "value", "relation"), [
    ("441", Quantity.VOLT_DC, 441.0, Relation.IS),
    ("38.5m", Quantity.AMP_DC, 0.0385, Relation.IS),
    ("−52,1 V", Quantity.VOLT_DC, -52.1, Relation.IS),
    (">200M", Quantity.OHM, 200e6, Relation.MORE),
    ("< 0.05 mA", Quantity.AMP_AC, 0.05e-3, Relation.LESS),
])
def test_readings_are_read_as_the_bench_writes_them(typed: str, quantity: Quantity, value: float, relation: Relation) -> None:
    found = read_typed(typed, quantity)
    assert found.value == pytest.approx(value, rel=1e-12) and found.relation is relation


@steady
@given(value=NUMBERS, first=NUMBERS, second=NUMBERS, uncertainty=st.floats(0, 100, allow_nan=False))
def test_a_verdict_is_the_judgement_of_its_inputs(value: float, first: float, second: float, uncertainty: float) -> None:
    lower, upper = sorted((first, second))
    for low, high in ((lower, upper), (lower, None), (None, upper)):
        found = judged(Inputs(value, Relation.IS, low, high, uncertainty))
        assert found.verdict.value == judge(value, lower=low, upper=high, uncertainty=uncertainty).verdict


@steady
@given(bound=st.floats(0, 1e4, allow_nan=False), further=st.floats(0, 1e4, allow_nan=False),
       limit=st.floats(0, 1e4, allow_nan=False), uncertainty=st.floats(0, 100, allow_nan=False))
def test_a_bound_never_says_more_than_every_value_beyond_it(bound: float, further: float, limit: float,
                                                            uncertainty: float) -> None:
    """Whatever lies beyond a '>' has that verdict too, when a verdict is given at all."""
    for lower, upper in ((limit, None), (None, limit)):
        said = judged(Inputs(bound, Relation.MORE, lower, upper, uncertainty)).verdict
        if said is not Verdict.UNDECIDED:
            assert judged(Inputs(bound + further, Relation.IS, lower, upper, uncertainty)).verdict is said


def test_what_is_not_judged_says_why() -> None:
    assert judged(Inputs(5, Relation.IS, None, None, 0.1)).verdict is Verdict.NOT_JUDGED
    unknown = judged(Inputs(5, Relation.IS, 1, 9, None))
    assert unknown.verdict is Verdict.NOT_JUDGED and "accuracy" in unknown.why


def test_a_band_in_words() -> None:
    assert say_band(-54.0, -49.0, "V") == "−54 … −49 V"
    assert say_band(0.9, 1.1e3, "V") == "900 mV … 1.1 kV"
    assert say_band(None, 0.3, "Ω") == "at most 0.3 Ω"
    assert say_band(1e6, None, "Ω") == "at least 1 MΩ"


@pytest.mark.parametrize(("typed", "value", "relation"), [
    (">=200M", 200e6, Relation.MORE), ("≥ 200M", 200e6, Relation.MORE), ("≤0.5", 0.5, Relation.LESS), ("<= 0.5", 0.5,
                                                                                                       Relation.LESS),
    ("OL", 500e6, Relation.MORE), ("ol", 500e6, Relation.MORE), ("> O.L.", 500e6, Relation.MORE)])
def test_bounds_as_meters_show_them(typed: str, value: float, relation: Relation) -> None:
    found = read_typed(typed, Quantity.OHM, range_end=500e6)
    assert (found.value, found.relation) == (value, relation)


def test_ol_of_a_meter_whose_range_is_not_known_is_asked_back() -> None:
    with pytest.raises(BadInput, match="range’s end"):
        read_typed("OL", Quantity.OHM)


@pytest.mark.parametrize("quantity", list(Quantity))
@given(value=st.floats(1e-12, 1e9))
def test_no_magnitude_is_negative(quantity: Quantity, value: float) -> None:
    may = quantity in (Quantity.VOLT_DC, Quantity.AMP_DC, Quantity.CELSIUS)
    if may:
        assert read_typed(f"-{value:.6g}", quantity).value < 0
    else:
        with pytest.raises(BadInput, match="cannot be negative"):
            read_typed(f"-{value:.6g}", quantity)


@given(value=st.floats(1e-9, 1e9), digits=st.integers(1, 6))
def test_a_printed_limit_lets_nothing_pass_that_the_limit_refuses(value: float, digits: int) -> None:
    low, high = inward(value, up=True, digits=digits), inward(value, up=False, digits=digits)
    assert high is not None and low is not None and high <= value * (1 + 1e-9) and low >= value * (1 - 1e-9)
    assert abs(high - value) <= 10.0 ** (math.floor(math.log10(value)) + 1 - digits) * (1 + 1e-9)


def test_the_printed_limit_of_a_computed_earth() -> None:
    """0.1 Ω plus 3 m of 0.75 mm² at 26 Ω/km (IEC 60228) is 0.178 Ω; 0.158 55 is not printed as 0.1586."""
    assert say_band(None, 0.178, "Ω") == "at most 0.178 Ω"
    assert say_band(None, 0.1585555, "Ω") == "at most 0.15855 Ω" and say_band(1.0000049e6, None, "Ω") == "at least 1.0001 MΩ"


@pytest.mark.parametrize("quantity", list(Quantity))
def test_a_hint_shows_readings_of_its_own_unit(quantity: Quantity) -> None:
    """What a field proposes can be typed into it and means what it says: no ampere's milli beside an ohm's kilo."""
    for shown in [*quantity.typed_like.split(", "), quantity.bound_like]:
        assert read_typed(shown, quantity).value > 0, shown
    letters = {one[-1] for one in quantity.typed_like.split(", ") if one[-1].isalpha()} | set(
        re.findall(r"[a-zA-Z]", quantity.typed_like + quantity.bound_like))
    usual = {"V": "m", "A": "mu", "Ω": "kM", "W": "m", "Hz": "k", "F": "unp", "°C": ""}[quantity.unit]
    assert letters <= set(usual)
