"""Every page of the sums takes 200 random and edge inputs as they are typed: an answer, or a refusal beside a field."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest
from flask import Flask

from app.bench.sums.kinds import Sum
from app.bench.sums.sections import SUMS
from app.bench.sums.work import work_out

COUNT = 200
EDGES = (
    "0", "-0", "0.0", "0p", "-1", "1", "1p", "1u", "1e-9", "1T", "999999T", "1G", "1k", "4k7", "-52V", "0,5", "22 mfd", "100000",
    "1e300", "nan", "inf", "", " ", "x", "12AX7", "0.000001", "5 %", "0 %", "100", "-100", "9" * 40, "\x00", "½", "47µF 450V",
)  # fmt: skip


@pytest.fixture(autouse=True)
def no_shop(monkeypatch: pytest.MonkeyPatch) -> None:
    """A running app says everything in its shop's words; here there is neither."""
    monkeypatch.setattr("app.kernel.speech._speech", None)


def usual(one: Sum) -> dict[str, str]:
    return {field.name: field.default for field in one.fields}


def draws(one: Sum) -> Iterator[dict[str, str]]:
    rng = random.Random(one.key)
    names = [field.name for field in one.fields]
    choices = {field.name: [value for value, _ in field.options] for field in one.fields if field.options}
    yield usual(one)
    for name in names:  # nought everywhere once: the commonest slip
        yield usual(one) | {name: "0"}
    for _ in range(COUNT - len(names) - 1):
        typed = usual(one)
        for name in rng.sample(names, min(len(names), rng.randint(1, 3))):
            typed[name] = rng.choice(choices.get(name) or EDGES)
        yield typed


@pytest.mark.parametrize("key", sorted(SUMS))
def test_no_input_breaks_a_page(key: str) -> None:
    one = SUMS[key]
    answered = 0
    with Flask(__name__).test_request_context():
        for typed in draws(one):
            try:
                worked = work_out(one, typed)
            except Exception as broken:  # the input is what has to be known
                pytest.fail(f"{key} broke with {type(broken).__name__}: {broken}\n{typed}")
            assert worked.answer is not None or worked.form.errors, typed
            answered += worked.answer is not None
    assert answered > 0


@pytest.mark.parametrize(("key", "field"), [("bias", "anode_v"), ("esr", "tan_delta")])
def test_a_nought_that_a_sum_divides_by_is_refused_beside_its_field(key: str, field: str) -> None:
    with Flask(__name__).test_request_context():
        worked = work_out(SUMS[key], usual(SUMS[key]) | {field: "0"})
    assert worked.answer is None and list(worked.form.errors) == [field]
