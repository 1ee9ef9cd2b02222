"""Public holidays against what the authorities publish, and in the finish date of a queue of work.

New South Wales: NSW Government, "Public holidays" (Public Holidays Act 2010). England and Wales: GOV.UK, "UK bank holidays".
California: Government Code 6700. The dates were written down from memory of these pages.
"""

from __future__ import annotations

from datetime import date

import pytest

from app.estimating import Task, finish_date
from app.estimating.public_holidays import public_holidays
from app.estimating.working_days import calendar


@pytest.mark.parametrize(("jurisdiction", "days", "not_days"), [
    ("au-nsw", [(1, 1), (1, 26), (4, 3), (4, 4), (4, 5), (4, 6), (4, 25), (6, 8), (10, 5), (12, 25), (12, 26), (12, 28)],
     [(3, 9), (11, 3)]),  # Labour Day and Cup Day of Victoria
    ("uk-england", [(1, 1), (4, 3), (4, 6), (5, 4), (5, 25), (8, 31), (12, 25), (12, 28)], [(1, 2), (7, 13), (11, 30)]),
    ("us-ca", [(1, 1), (1, 19), (2, 16), (5, 25), (7, 4), (9, 7), (11, 11), (11, 26), (12, 25)], [(4, 20)]),
])
def test_the_days_of_2026(jurisdiction: str, days: list[tuple[int, int]], not_days: list[tuple[int, int]]) -> None:
    """Of another region of the same country there are none."""
    found = public_holidays(jurisdiction, [2026])
    assert {date(2026, *day) for day in days} <= found
    assert not {date(2026, *day) for day in not_days} & found


def test_a_country_stands_in_where_the_terms_name_none() -> None:
    assert date(2026, 10, 3) in public_holidays("eu", [2026], "DE")  # the day of German unity
    assert public_holidays("plain", [2026]) == public_holidays("eu", [2026], "XX") == frozenset()


def test_several_years_at_once() -> None:
    assert {date(2025, 12, 25), date(2026, 12, 25)} <= public_holidays("au-nsw", range(2025, 2027))


def test_no_work_is_done_on_a_holiday() -> None:
    """Thursday 24 December 2026 in Sydney: Friday, the weekend and Monday are off; sixteen hours of work end on Wednesday."""
    closed = public_holidays("au-nsw", [2026, 2027])
    days = calendar(date(2026, 12, 24), 8.0, closed)
    assert [days.day_of(hours) for hours in (8.0, 8.5, 16.5)] == [0, 5, 6]
    assert calendar(date(2026, 12, 24), 8.0).day_of(8.5) == 1


def test_the_finish_date_waits_for_the_holidays_to_end() -> None:
    queue, closed = [Task("recap", 16.5)], public_holidays("au-nsw", [2026, 2027])
    found = finish_date(queue, today=date(2026, 12, 24), hours_per_day=8, simulations=3, closed=closed)
    assert found.p50 == date(2026, 12, 30)
    assert finish_date(queue, today=date(2026, 12, 24), hours_per_day=8, simulations=3).p50 == date(2026, 12, 28)
