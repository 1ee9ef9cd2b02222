"""Opening hours as an owner writes them, and the moments they make; clock changes by the zone's own rules (IANA tz database)."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from app.shop.opening_hours import USUAL, parse_closed, parse_opening

LONDON = ZoneInfo("Europe/London")


def test_a_line_for_each_kind_of_day() -> None:
    found = parse_opening("Mon-Fri 09:00-12:30 13:00-17:30\nSat 10:00-13:00")
    assert found.by_weekday == {0: 8.0, 1: 8.0, 2: 8.0, 3: 8.0, 4: 8.0, 5: 3.0, 6: 0.0}
    assert parse_opening("Sat–Mon 8.00–24:00").by_weekday[6] == 16 and parse_opening(USUAL).hours(0) == 8


@pytest.mark.parametrize("wrong", ["", "9-5", "Mon", "Mon 17:00-09:00", "Mon 09:00-12:00 11:00-13:00", "Funday 09:00-17:00",
                                   "Mon 09:00-17:00\nMon 18:00-19:00", "Mon 09:00-25:00", "Mon 09:61-10:00"])
def test_what_cannot_be_meant_says_what_to_enter(wrong: str) -> None:
    with pytest.raises(ValueError, match="[Ee]nter|begins after"):
        parse_opening(wrong)


def test_closed_days_one_by_one_and_from_to() -> None:
    assert parse_closed("2026-12-24\n2026-12-31 to 2027-01-02\n") == {
        date(2026, 12, 24), date(2026, 12, 31), date(2027, 1, 1), date(2027, 1, 2)}
    for wrong in ("Christmas", "2026-12-31 to 2026-12-01", "2026-01-01 to 2028-01-01"):
        with pytest.raises(ValueError, match="[Ee]nter"):
            parse_closed(wrong)


def test_when_the_shop_closes_after_a_moment() -> None:
    found = parse_opening(USUAL)
    assert found.closes_after(datetime(2026, 1, 5, 10, 0, tzinfo=UTC), LONDON) == datetime(2026, 1, 5, 12, 30, tzinfo=UTC)
    assert found.closes_after(datetime(2026, 1, 5, 12, 30, tzinfo=UTC), LONDON) is None  # closed for lunch
    assert found.closes_after(datetime(2026, 1, 4, 10, 0, tzinfo=UTC), LONDON) is None  # a Sunday
    assert found.closes_after(datetime(2026, 7, 6, 10, 0, tzinfo=UTC), LONDON) == datetime(2026, 7, 6, 11, 30, tzinfo=UTC)


def test_on_the_day_the_clocks_change_the_wall_counts() -> None:
    """British clocks go forward on 29 March 2026 at 01:00 UTC: 12:30 on the wall is 11:30 UTC from then on."""
    sunday = parse_opening("Sun 00:00-12:30")
    assert sunday.closes_after(datetime(2026, 3, 29, 0, 30, tzinfo=UTC), LONDON) == datetime(2026, 3, 29, 11, 30, tzinfo=UTC)
    late = parse_opening("Sat 20:00-24:00")
    assert late.closes_after(datetime(2026, 3, 28, 21, 0, tzinfo=UTC), LONDON) == datetime(2026, 3, 29, 0, 0, tzinfo=UTC)
