"""Preferred values against the eseries package, 1.2.1, as an independent implementation."""

from __future__ import annotations

import eseries
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.electrics import nearest, series

NAMES = ["E3", "E6", "E12", "E24", "E48", "E96", "E192"]


@pytest.mark.parametrize("name", NAMES)
def test_every_value_of_every_series(name: str) -> None:
    whole = eseries.series(eseries.ESeries[name])
    assert series(name) == tuple(value / whole[0] for value in whole)


@settings(deadline=None, derandomize=True)
@given(ohm=st.integers(1, 10_000_000), name=st.sampled_from(NAMES))
def test_nearest_of_any_whole_number(ohm: int, name: str) -> None:
    theirs = eseries.find_nearest(eseries.ESeries[name], ohm)
    ours = nearest(float(ohm), series=name)
    # Below 100 their rounding may tip a tie such as 9.55; the distance is then the same.
    assert ours == pytest.approx(theirs) or abs(ours - ohm) == pytest.approx(abs(theirs - ohm))


@pytest.mark.parametrize("name", NAMES)
def test_whole_number_ties_take_the_lower_as_the_package_does(name: str) -> None:
    whole = [*eseries.series(eseries.ESeries[name]), eseries.series(eseries.ESeries[name])[0] * 10]
    for low, high in zip(whole, whole[1:], strict=False):
        tie = (low + high) * 50
        assert nearest(float(tie), series=name) == eseries.find_nearest(eseries.ESeries[name], tie) == low * 100


@pytest.mark.parametrize(("ohm", "expected"), [(1234, 1200)])
def test_seen_call(ohm: float, expected: float) -> None:  # computed with the package
    assert eseries.find_nearest(eseries.E12, ohm) == nearest(ohm, series="E12") == expected
