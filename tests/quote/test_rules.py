from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.estimating.sums import Range
from app.quote.rules import lines as line_rules
from app.quote.rules.costs import AgreedCost, Level, Limits, PartCost, commit, in_all, level
from app.quote.rules.lines import Draft, Hours, Priced, add_up, check, outlook, parse_hours, past_jobs_say, price, say_hours
from app.quote.rules.words import LineGroup, PartCondition, WorkKind, must_be_acknowledged

CENTS = Decimal(1)
hours = st.integers(0, 4000).map(lambda n: n / 100)
lines = st.tuples(hours, st.integers(0, 30_000), st.integers(0, 500_000))


def by_hand(likely: float, rate: int, parts: int) -> int:
    """The price of a line with decimal arithmetic: hours to the hundredth times the rate, halves up, and the parts."""
    return int((Decimal(str(likely)) * rate).quantize(CENTS, ROUND_HALF_UP)) + parts


def priced(likely: float, rate: int, parts: int, *, low: float | None = None, high: float | None = None) -> Priced:
    three = Hours(likely if low is None else low, likely, likely if high is None else high)
    return price(Draft(LineGroup.ADVISED, "work", three, parts_minor=parts), rate)


@settings(deadline=None)  # a busy machine is no fault of the sums
@given(st.lists(lines, max_size=30), st.integers(0, 2700))
def test_a_quote_is_the_sum_of_its_lines_to_the_cent(quoted: list[tuple[float, int, int]], rate_bp: int) -> None:
    """Against decimal arithmetic; the tax is reckoned once on the sum, halves up."""
    sums = add_up((priced(*line).net_minor for line in quoted), rate_bp)
    net = sum(by_hand(*line) for line in quoted)
    assert sums.net_minor == net
    assert sums.tax_minor == int((Decimal(net) * rate_bp / 10_000).quantize(CENTS, ROUND_HALF_UP))
    assert sums.total_minor == sums.net_minor + sums.tax_minor


@pytest.mark.parametrize(("nets", "rate_bp", "tax"), [
    ([333, 333, 334], 1000, 100),  # per line it would be 33 + 33 + 33
    ([5], 1000, 1),  # a half goes up
    ([4], 1000, 0),
    ([10_000], 825, 825),
    ([], 1000, 0),
])
def test_tax_is_rounded_once_for_the_sum(nets: list[int], rate_bp: int, tax: int) -> None:
    assert add_up(nets, rate_bp).tax_minor == tax


def test_single_figures_leave_nothing_in_doubt() -> None:
    seen = outlook([priced(1.5, 9500, 4200), priced(2, 9500, 0)], 1000)
    assert seen.hours.p50 == seen.hours.p90 == 3.5
    assert seen.maximum_minor == add_up([14_250 + 4200, 19_000], 1000).total_minor
    assert seen.words == "3.5 h of work."


def test_hours_in_doubt_are_said_as_a_range() -> None:
    """R9 of the project's reference values: beta-PERT of 2, 4, 10 h has P90 near 7.1 h (regularised incomplete beta)."""
    from scipy.special import betaincinv

    seen = outlook([priced(4, 10_000, 0, low=2, high=10)], 0)
    p90 = 2 + 8 * float(betaincinv(1 + 4 * 2 / 8, 1 + 4 * 6 / 8, 0.9))
    assert seen.hours.p90 == pytest.approx(p90, rel=1e-6)
    assert seen.maximum_minor == pytest.approx(p90 * 10_000, abs=1)
    assert seen.words.startswith("By our hour ranges: 4.") and seen.words.endswith("(90 %).")


@settings(deadline=None, max_examples=25)  # sums of doubtful hours are convolved
@given(st.lists(st.tuples(st.tuples(hours, hours, hours).map(sorted), st.integers(0, 20_000), st.integers(0, 100_000)),
                max_size=4), st.integers(0, 2500))
def test_the_most_is_never_below_the_total(quoted: list[tuple[list[float], int, int]], rate_bp: int) -> None:
    every = [priced(three[1], rate, parts, low=three[0], high=three[2]) for three, rate, parts in quoted]
    assert outlook(every, rate_bp).maximum_minor >= add_up((line.net_minor for line in every), rate_bp).total_minor


GOOD = Draft(LineGroup.COMPLAINT, "Replace the output valves", Hours.one(1), parts="a matched pair of 6L6GC",
             parts_minor=9000, condition=PartCondition.NEW)


@pytest.mark.parametrize(("wrong", "field"), [
    ({"what": "  "}, "what"),
    ({"hours": Hours(2, 1, 3)}, "hours_low"),
    ({"hours": Hours(1, 3, 2)}, "hours_high"),
    ({"hours": Hours.one(-1)}, "hours_low"),
    ({"hours": Hours.one(float("nan"))}, "hours_low"),
    ({"parts_minor": -1}, "parts_minor"),
    ({"parts": ""}, "parts"),
    ({"condition": None}, "condition"),
    ({"kind": WorkKind.MODIFICATION}, "consequence"),
    ({"warranty_days": -1}, "warranty_days"),
])
def test_a_line_that_says_too_little_is_refused_at_its_field(wrong: dict[str, object], field: str) -> None:
    check(GOOD)
    with pytest.raises(BadInput) as refused:
        check(replace(GOOD, **wrong))  # type: ignore[arg-type]
    assert refused.value.field == field


@pytest.mark.parametrize("risk", ["S", "H"])
def test_a_hazard_cannot_be_put_where_nobody_answers(risk: str) -> None:
    aside = replace(GOOD, group=LineGroup.NOT_RECOMMENDED)
    check(aside, risk="M")
    with pytest.raises(BadInput, match="serious or high"):
        check(aside, risk=risk)


@pytest.mark.parametrize(("group", "risk", "expected"), [
    (LineGroup.SAFETY, "", True), (LineGroup.SAFETY, "L", True), (LineGroup.ADVISED, "S", True),
    (LineGroup.OPTIONAL, "H", True), (LineGroup.ADVISED, "M", False), (LineGroup.COMPLAINT, "", False),
])
def test_who_declines_what_in_writing(group: LineGroup, risk: str, expected: bool) -> None:
    assert must_be_acknowledged(group, risk) is expected


@pytest.mark.parametrize(("text", "expected"), [
    ("1.5", 1.5), ("1,5", 1.5), ("2 h", 2.0), ("1:30", 1.5), ("90 min", 1.5), ("45min", 0.75), ("0", 0.0)])
def test_hours_are_read_as_people_write_them(text: str, expected: float) -> None:
    assert parse_hours(text) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["", "soon", "1:75", "inf", "nan", "1.5.2"])
def test_what_is_no_time_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="Enter hours such as"):
        parse_hours(text)


def test_hours_are_said_to_a_tenth() -> None:
    assert [say_hours(h) for h in (2.0, 3.25, 0.0)] == ["2 h", "3.3 h", "0 h"]


@pytest.mark.parametrize(("total", "fee", "credited", "expected"), [
    (50_000, 8500, True, 50_000), (50_000, 8500, False, 58_500), (5000, 8500, True, 8500), (0, 0, False, 0)])
def test_a_credited_diagnosis_is_part_of_the_total(total: int, fee: int, credited: bool, expected: int) -> None:
    assert in_all(total, fee, credited=credited) == expected


LIMITS = Limits(70, 90)


@pytest.mark.parametrize(("committed", "expected", "ceiling", "found"), [
    (0, 0, None, Level.NOTHING_AGREED),
    (50_000, 50_000, 50_000, Level.WITHIN),  # as told, though the ceiling is reached
    (60_000, 50_000, 100_000, Level.ABOVE_QUOTE),
    (69_999, 50_000, 100_000, Level.ABOVE_QUOTE),
    (70_000, 50_000, 100_000, Level.WARN),
    (89_999, 50_000, 100_000, Level.WARN),
    (90_000, 50_000, 100_000, Level.HOLD),
    (100_000, 50_000, 100_000, Level.HOLD),  # the last cent is agreed
    (100_001, 50_000, 100_000, Level.PASSED),
    (1, 1, 0, Level.PASSED),
])
def test_where_committed_cost_stands(committed: int, expected: int, ceiling: int | None, found: Level) -> None:
    assert level(committed, expected, ceiling, LIMITS) is found


@pytest.mark.parametrize(("parts", "net"), [
    ([], 30_000),
    ([PartCost(1, 4000)], 30_000),  # cheaper than quoted: the line's price stands
    ([PartCost(1, 4000), PartCost(1, 3000)], 32_000),  # dearer than quoted
    ([PartCost(None, 700)], 30_700),
    ([PartCost(9, 700)], 30_700),  # of a line that is not agreed: on top
])
def test_committed_cost_counts_each_part_once(parts: list[PartCost], net: int) -> None:
    agreed = [AgreedCost(1, 15_000, 5000), AgreedCost(2, 10_000, 0)]
    assert commit(agreed, parts, 0).net_minor == net


def test_the_same_lines_are_simulated_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Percentiles are kept by what they were computed from: other hours, another rate or another tax are another question."""
    simulated: list[int] = []
    simulate = line_rules.sum_of_hours

    def counted(tasks: Sequence[tuple[float, float, float]], correlation: float) -> Range:
        simulated.append(len(tasks))
        return simulate(tasks, correlation=correlation)

    monkeypatch.setattr(line_rules, "sum_of_hours", counted)
    doubtful = [priced(4.125, 10_000, 0, low=2, high=10.5)]
    assert outlook(doubtful, 725) == outlook(list(doubtful), 725)
    once = len(simulated)
    assert once > 0
    outlook(doubtful, 726)
    outlook([priced(4.125, 10_000, 0, low=2, high=10.75)], 725)
    assert len(simulated) == 3 * once


def test_a_range_is_not_made_from_too_few_jobs() -> None:
    """Two jobs that took what was estimated said "from 1 to 1 times"; common practice, no source, for how many are enough."""
    two = past_jobs_say([(2.0, 2.0), (3.0, 3.0)])
    assert "too few" in two and "four in five" not in two and "2 past jobs" in two
    seven, eight = [past_jobs_say([(2.0, 2.0 + 0.1 * n) for n in range(many)]) for many in (7, 8)]
    assert "too few" in seven and "four in five" in eight
    assert past_jobs_say([(2.0, 2.0)]) == ""
