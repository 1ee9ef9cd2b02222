"""The risk letter: computed from severity and probability."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.findings.rules.risk import BY_WEIGHT, Probability, Risk, Severity, risk_of, weight

# Commission Implementing Decision (EU) 2019/417, Annex, table 4 (values from memory): rows a to h, severity 1 to 4.
TABLE_4 = """
a H S S S
b M S S S
c M S S S
d L H S S
e L M H S
f L L M H
g L L L M
h L L L L
"""
ROWS = [line.split() for line in TABLE_4.split("\n") if line]


@pytest.mark.parametrize(("probability", "severity", "letter"),
                         [(row[0], severity, row[severity]) for row in ROWS for severity in (1, 2, 3, 4)])
def test_matrix_is_table_4(probability: str, severity: int, letter: str) -> None:
    assert risk_of(severity, probability) == letter


@given(st.sampled_from(list(Probability)), st.sampled_from(list(Probability)), st.integers(1, 4), st.integers(1, 4))
def test_worse_or_likelier_is_never_a_lower_risk(p: Probability, q: Probability, s: int, t: int) -> None:
    """Follows from what a risk matrix is: it may not fall as either side rises."""
    if p <= q and s >= t:  # a is the likeliest
        one, other = risk_of(s, p), risk_of(t, q)
        assert one is not None and other is not None and BY_WEIGHT.index(one) <= BY_WEIGHT.index(other)


def test_nobody_hurt_is_no_risk_and_not_said_is_not_none() -> None:
    assert risk_of(Severity.NOBODY, None) is Risk.NONE
    assert risk_of(None, None) is None and risk_of(3, None) is None


def test_gravest_comes_first_then_equipment_then_function() -> None:
    """Order by risk letter, then equipment, then function: IEC 60812:2018 left multiplied numbers (from memory)."""
    rows = {"not judged": weight(None, None, None, None), "serious": weight(4, "d", 1, 0),
            "high": weight(3, "e", 4, 3), "none, transformer": weight(0, None, 4, 0),
            "none, dead": weight(0, None, 1, 3), "none": weight(0, None, 1, 0)}
    assert sorted(rows, key=lambda name: rows[name]) == list(rows)
