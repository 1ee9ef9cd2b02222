"""The sums of the figures against examples worked by hand, and against numpy, scipy and the whole that their parts must make."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from app.bench.figures.rules import come_backs, hours, income, times
from app.bench.figures.rules.come_backs import Left
from app.bench.figures.rules.hours import Done
from app.bench.figures.rules.income import CREDITED, Booked, Paid
from app.bench.figures.rules.period import Period, choices, chosen, usual
from app.bench.figures.rules.tables import TOP, Column, Row, Table, Unit, bars, cells
from app.bench.figures.rules.times import Cause, Story
from app.errors import BadInput
from app.orders.stages import Stage

START = datetime(2026, 3, 2, 9, tzinfo=UTC)


def at(hour: float) -> datetime:
    return START + timedelta(hours=hour)


# By hand: in at 0, teardown at 10, quote stage at 20, quote out at 26, answered at 50, parts at 52, reassembly at 100, safety test
# at 120, return at 124, out at 148. Timers: 12 to 16 and, by a second person, 14 to 18 (teardown); 102 to 106 (reassembly). Drying
# 104 to 116: the timer counts before it.
BY_HAND = Story(
    at(0), at(148),
    moves=[(at(10), Stage.TEARDOWN), (at(20), Stage.QUOTE), (at(52), Stage.PARTS), (at(100), Stage.REASSEMBLY),
           (at(120), Stage.SAFETY_TEST), (at(124), Stage.RETURN)],
    quotes=[(at(50), False), (at(26), True)],
    worked=[(at(14), at(18)), (at(12), at(16)), (at(102), at(106))], unattended=[(at(104), at(116))])


def test_a_repair_by_hand() -> None:
    found = {cause: took / timedelta(hours=1) for cause, took in times.causes(BY_HAND).items()}
    assert found == {Cause.COUNTER: 10, Cause.BENCH: 10 - 6 + 20 - 4 - 10 + 4, Cause.WORKED: 6 + 4, Cause.UNATTENDED: 10,
                     Cause.QUOTE: 6 + 2, Cause.ANSWER: 24, Cause.PARTS: 48, Cause.COLLECTION: 24}
    assert sum(found.values()) == 148
    assert BY_HAND.hours_worked == 12  # two people at once count twice, the clock once


def test_work_outside_the_repair_and_a_move_back_count_where_they_lie() -> None:
    story = Story(at(0), at(10), moves=[(at(2), Stage.TEARDOWN), (at(4), Stage.QUOTE), (at(5), Stage.TEARDOWN)],
                  worked=[(at(-3), at(1)), (at(9), at(14)), (at(6), at(6))])
    found = {cause: took / timedelta(hours=1) for cause, took in times.causes(story).items()}
    assert found == {Cause.WORKED: 2, Cause.COUNTER: 1, Cause.BENCH: 6, Cause.QUOTE: 1}
    assert story.hours_worked == 2


_HOURS = st.floats(-5, 200).map(at)
_SPANS = st.lists(st.tuples(_HOURS, st.floats(0, 30)).map(lambda one: (one[0], one[0] + timedelta(hours=one[1]))), max_size=6)


@settings(deadline=None)
@given(st.floats(0, 150), st.lists(st.tuples(_HOURS, st.sampled_from(Stage)), max_size=8),
       st.lists(st.tuples(_HOURS, st.booleans()), max_size=5), _SPANS, _SPANS)
def test_the_causes_add_up_to_the_whole_to_the_microsecond(
        length: float, moves: list[tuple[datetime, Stage]], quotes: list[tuple[datetime, bool]],
        worked: list[tuple[datetime, datetime]], unattended: list[tuple[datetime, datetime]]) -> None:
    story = Story(at(0), at(length), moves, quotes, worked, unattended)
    found = times.causes(story)
    assert sum(found.values(), timedelta()) == story.ended - story.opened
    assert all(took > timedelta() for took in found.values())
    inside = [(max(start, story.opened), min(stop, story.ended)) for start, stop in worked]
    seconds = np.zeros(int(length * 3600) + 1, dtype=bool)  # each second of it, looked at one by one
    for start, stop in inside:
        if stop > start:
            seconds[round((start - story.opened).total_seconds()):round((stop - story.opened).total_seconds())] = True
    assert found.get(Cause.WORKED, timedelta()).total_seconds() == pytest.approx(int(seconds.sum()), abs=1 + len(worked))


def test_turnaround_by_hand() -> None:
    short = Story(at(0), at(24), moves=[(at(12), Stage.TEARDOWN)], worked=[(at(12), at(18))])
    long = Story(at(0), at(72), moves=[(at(12), Stage.TEARDOWN)])
    found = times.turnaround([short, long])
    assert found is not None
    assert (found.n, found.median_days, found.hours_worked) == (2, 2.0, 3.0)
    assert found.days_of_80 == pytest.approx(1 + 0.8 * 2)
    days = {row.cause: row.days for row in found.causes if row.days}
    assert days == pytest.approx({Cause.WORKED: 0.125, Cause.COUNTER: 0.5, Cause.BENCH: (6 + 60) / 48})
    assert found.mean_days == pytest.approx(2.0)
    assert sum(row.share for row in found.causes) == pytest.approx(1.0)
    assert times.turnaround([]) is None


@given(st.lists(st.floats(0, 1000), min_size=1, max_size=40), st.floats(0, 1))
def test_a_quantile_is_that_of_numpy(values: list[float], share: float) -> None:
    assert times.quantile(values, share) == pytest.approx(float(np.quantile(values, share)), rel=1e-9, abs=1e-9)


def out(days_ago: int, back_after: int | None = None) -> Left:
    left_on = date(2026, 11, 1) - timedelta(days=days_ago)
    back = left_on + timedelta(days=back_after) if back_after is not None else None
    return Left(1, 1, left_on, 2 if back else None, 2 if back else None, back)


def test_come_backs_by_hand_and_by_scipy() -> None:
    left = [out(200), out(150, 30), out(120, 91), out(90, 90), out(89, 5), out(10)]
    found = come_backs.come_backs(left, date(2026, 11, 1))
    assert (found.n, found.back, found.younger, found.younger_back) == (4, 2, 2, 1)  # day 91 is past the window; day 90 is in it
    assert found.share == 0.5 and found.interval is not None
    expected = stats.binomtest(2, 4).proportion_ci(method="wilson")
    assert tuple(found.interval) == pytest.approx((expected.low, expected.high))
    none = come_backs.come_backs([out(5)], date(2026, 11, 1))
    assert (none.n, none.share, none.interval) == (0, None, None)


def test_hours_by_hand() -> None:
    rows = hours.by_kind([Done("boards", 1, 2, 4, 3.0), Done("boards", 1, 2, 4, 5.0), Done("boards", None, None, None, 0.5),
                          Done("Cabinet", 0.5, 1, 2, 0.5)])
    boards, cabinet = rows
    assert (boards.kind, boards.quoted_n, boards.quoted, boards.spent, boards.inside, boards.other_n, boards.other) == (
        "boards", 2, 4, 8, 1, 1, 0.5)
    assert boards.ratio == 2.0 and (cabinet.inside, cabinet.ratio) == (1, 0.5)
    every = hours.total(rows)
    assert (every.quoted_n, every.quoted, every.spent, every.inside, every.other) == (3, 5, 8.5, 2, 0.5)
    assert hours.by_kind([Done("rest", None, None, None, 1.0)])[0].ratio is None


def test_income_by_hand() -> None:
    months = Period(date(2026, 1, 15), date(2026, 3, 2)).months
    assert months == (date(2026, 1, 1), date(2026, 2, 1), date(2026, 3, 1))
    rows = income.by_month(("repair", "storage", CREDITED), months, [
        Booked(date(2026, 1, 20), "repair", 11000, 1000), Booked(date(2026, 1, 31), "storage", 2200, 200),
        Booked(date(2026, 3, 1), "repair", 5500, 500), Booked(date(2026, 3, 2), CREDITED, -1100, -100)],
        [Paid(date(2026, 1, 21), 13200), Paid(date(2026, 3, 2), 4400), Paid(date(2026, 3, 2), -1000)])
    assert [(row.kinds, row.billed, row.tax, row.received) for row in rows] == [
        ((11000, 2200, 0), 13200, 1200, 13200), ((0, 0, 0), 0, 0, 0), ((5500, 0, -1100), 4400, 400, 3400),
        ((16500, 2200, -1100), 17600, 1600, 16600)]
    assert rows[-1].month is None


def test_periods() -> None:
    today = date(2026, 11, 27)
    assert usual(today) == Period(date(2025, 12, 1), today) and len(usual(today).months) == 12
    assert usual(date(2026, 12, 5)) == Period(date(2026, 1, 1), date(2026, 12, 5))
    assert choices(today)["Last month"] == Period(date(2026, 10, 1), date(2026, 10, 31))
    assert choices(date(2026, 1, 3))["Last month"] == Period(date(2025, 12, 1), date(2025, 12, 31))
    assert chosen("", "", today) == usual(today)
    assert chosen("2026-01-01", " 2026-01-01 ", today) == Period(date(2026, 1, 1), date(2026, 1, 1))
    sydney = ZoneInfo("Australia/Sydney")
    day = Period(date(2026, 10, 4), date(2026, 10, 4))  # the clocks go forward: 23 hours (tz database)
    assert day.ends(sydney) - day.begins(sydney) == timedelta(hours=23)


@pytest.mark.parametrize(("first", "last", "words"), [
    ("soon", "", "“soon” is not a day"), ("2026-02-30", "", "is not a day"), ("2026-05-01", "2026-04-30", "before the first"),
    ("1990-01-01", "", "at most ten years"), ("", "x" * 90, f"“{'x' * 40}” is not a day"),
])
def test_a_period_that_is_none_is_refused(first: str, last: str, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        chosen(first, last, date(2026, 11, 27))


def test_bars_share_one_scale_and_nothing_is_drawn_of_less_than_nothing() -> None:
    drawn = bars([[2.0, 2.0], [1.0, -3.0], [0.0, 0.0]], [None, 8.0, None])
    assert [one.pieces for one in drawn] == [(250, 250), (125, 0), (0, 0)]
    assert [one.mark for one in drawn] == [None, TOP, None]
    assert [one.pieces for one in bars([[0.0], [0.0]])] == [(0,), (0,)]


def test_a_table_is_plain_values_with_units_in_its_head() -> None:
    columns = (Column("Month", Unit.MONTH), Column("Days each", Unit.DAYS), Column("Share", Unit.PERCENT), Column("Waits for"))
    table = Table("k", "T", columns, (Row((date(2026, 3, 1), 1.23456, 0.12345, "parts"), warns="chassis live"),), "none")
    assert cells(table) == [["Month", "Days each (days)", "Share (%)", "Waits for", "do not energise"],
                            ["2026-03", 1.235, 12.35, "parts", "chassis live"]]
