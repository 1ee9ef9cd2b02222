"""The rules of the hours: time passed in. Clock changes by the IANA tz database; figures by hand unless a source is named."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from app.errors import BadInput
from app.estimating import LogNormal, calibrate
from app.hours.queries.outlook import Row
from app.hours.rules import outlook, timing
from app.hours.rules.outlook import Agreed, Bar, Level, Limits, Work
from app.hours.rules.timing import Span
from app.hours.rules.words import Role, WorkKey, parse_key
from app.quote.rules.lines import Hours
from app.records.rules import alike, same_model
from app.shop.opening_hours import USUAL, parse_opening

LONDON, SYDNEY = ZoneInfo("Europe/London"), ZoneInfo("Australia/Sydney")
OPEN = parse_opening(USUAL)
LIMITS = Limits(70, 90)


def at(hour: int, minute: int = 0, day: int = 5) -> datetime:
    """A moment of January 2026 in London; the fifth is a Monday."""
    return datetime(2026, 1, day, hour, minute, tzinfo=LONDON).astimezone(UTC)


def test_hours_are_differences_of_moments_over_midnight_and_over_a_change_of_clocks() -> None:
    assert Span(at(22), at(2, day=6)).hours(at(9, day=6)) == 4.0
    spring = datetime(2026, 3, 29, 0, 30, tzinfo=LONDON)  # at 01:00 the clocks go on to 02:00
    assert Span(spring.astimezone(UTC), datetime(2026, 3, 29, 3, 30, tzinfo=LONDON).astimezone(UTC)).hours(at(0)) == 2.0
    autumn = datetime(2026, 10, 25, 0, 30, tzinfo=LONDON)  # at 02:00 they go back to 01:00
    assert Span(autumn.astimezone(UTC), datetime(2026, 10, 25, 3, 30, tzinfo=LONDON).astimezone(UTC)).hours(at(0)) == 4.0
    assert timing.spent([Span(at(9)), Span(at(9), at(10))], at(11)) == 3.0


@pytest.mark.parametrize(("span", "now", "since", "words"), [
    (Span(at(9, 10)), at(12, 39), None, ""),  # within the minutes of grace
    (Span(at(9, 10)), at(12, 40), at(12, 30), "the break at 12:30"),
    (Span(at(13, 30)), at(9, day=6), at(17, 30), "closing time, 17:30"),
    (Span(at(13, 30), at(17, 35)), at(9, day=6), None, ""),
    (Span(at(12, 45)), at(17), None, ""),  # begun while the shop was closed: only its length counts
    (Span(at(18)), at(23, 30), at(23), "more than 5 h"),
    (Span(at(9), at(16)), at(18), at(12, 30), "the break"),
])
def test_a_timer_that_was_forgotten_is_noticed(span: Span, now: datetime, since: datetime | None, words: str) -> None:
    found = timing.forgotten(span, now, OPEN, LONDON, 5)
    assert (found.since if found else None) == since and (not found or words in found.why)
    if span.end is None:
        assert (now >= timing.asked_at(span, OPEN, LONDON, 5)) == (found is not None) or found is None


@pytest.mark.parametrize(("span", "reason", "field"), [
    (Span(at(9), at(10)), " ", "reason"), (Span(at(10), at(9)), "slip", "stopped"), (Span(at(9), at(23)), "slip", "stopped"),
    (Span(at(9, day=1), at(10, day=2)), "slip", "stopped"), (Span(at(13), at(15)), "slip", "started"),
])
def test_a_correction_that_cannot_be_true_is_refused(span: Span, reason: str, field: str) -> None:
    with pytest.raises(BadInput) as refused:
        timing.check_correction(span, [Span(at(14), at(16))], reason, at(18))
    assert refused.value.field == field
    timing.check_correction(Span(at(9), at(14)), [Span(at(14), at(16))], "lunch", at(18))


@pytest.mark.parametrize(("hours", "step", "billed"), [
    (0.0, 15, 0.0), (0.01, 15, 0.25), (1.0, 15, 1.0), (1.01, 15, 1.25), (0.51, 6, 0.6)])
def test_a_started_step_is_billed_whole(hours: float, step: int, billed: float) -> None:
    assert timing.billed_hours(hours, step) == pytest.approx(billed)


def test_when_running_timers_reach_a_threshold() -> None:
    assert timing.reaches(2.0, 1.0, []) is None
    assert timing.reaches(2.0, 1.0, [at(9)]) == at(10)
    assert timing.reaches(4.0, 1.0, [at(9), at(10)]) == at(11)  # an hour alone, then one hour of two
    assert timing.reaches(1.5, 1.0, [at(9), at(10)]) == at(9, 30)
    assert timing.reaches(0.5, 1.0, [at(9)]) == at(9)  # it was passed before


def test_what_the_agreed_sum_holds_in_hours() -> None:
    """660.00 with 10 % tax is 600.00; 110.00 of parts leave 490.00, at 98.00 an hour five hours."""
    assert outlook.hours_within(Agreed(66_000, 1000, 0, 11_000, 9800)) == pytest.approx(5.0)
    assert outlook.hours_within(Agreed(66_000, 1000, 66_000, 0, 9800)) == 0.0
    assert outlook.hours_within(Agreed(10_000, 1000, 0, 20_000, 9800)) == 0.0 and outlook.hours_within(Agreed(1, 0)) is None


@pytest.mark.parametrize(("spent", "left", "p80", "found"), [
    (0.0, True, 4.9, Level.WITHIN), (0.0, True, 5.1, Level.EXPECTED_OVER), (3.49, True, 4.0, Level.WITHIN),
    (3.5, True, 4.0, Level.WARN),
    (4.5, True, 4.6, Level.HOLD), (5.0, True, 5.0, Level.HOLD), (5.01, True, 6.0, Level.PASSED), (5.01, False, 5.01, Level.PASSED),
    (4.9, False, 4.9, Level.WITHIN),
])
def test_the_thresholds_warn_before_the_limit_and_only_while_work_is_left(spent: float, left: bool, p80: float,
                                                                          found: Level) -> None:
    assert outlook.level(spent, 5.0, LIMITS, left=left, p80=p80) is found
    assert outlook.level(spent, None, LIMITS, left=left) is Level.NOTHING_AGREED


def test_the_bar_says_in_words_what_it_draws() -> None:
    work = [Work(LogNormal(2.0, 0.0), 1.0), Work(LogNormal(3.0, 0.0), 0.0), Work(None, 0.5, True)]
    bar, rests, _ = outlook.bar(work, 6.0, LIMITS)
    assert (bar.spent, bar.to_come, bar.p50, bar.p80, bar.level) == (1.5, 4.0, 5.5, 5.5, Level.WITHIN) and len(rests) == 2
    assert bar.words == ("1.5 h spent, about 4 h to come. At the end 5.5 h as likely as not, at most 5.5 h (80 %). "
                         "The agreed sum holds 6 h.")
    late, _, _ = outlook.bar([Work(LogNormal(2.0, 0.5), 4.3)], 6.0, LIMITS)
    assert late.level is Level.WARN and late.percent == 72 and "72 % of the 6 h" in late.words
    assert outlook.bar([], None, LIMITS)[0].words == "Nothing is estimated yet. No limit is agreed."


def test_an_estimate_is_fitted_by_history_or_by_its_own_three_figures() -> None:
    """Mean of 1, 2, 6 is 2.5 and its beta variance 0.75 (the worked table of the three-point tests)."""
    own = outlook.fitted(Hours(1, 2, 6), None)
    assert own is not None and own.mean == pytest.approx(2.5) and own.log_sd == pytest.approx(math.sqrt(math.log1p(0.75 / 6.25)))
    one = outlook.fitted(Hours.one(2), None)
    assert one == LogNormal(2, 0.5) and outlook.fitted(Hours.one(0), None) is None
    by = calibrate([(1, 2), (1, 2)])
    told = outlook.fitted(Hours(1, 2, 6), by)
    assert told is not None and (told.median, told.log_sd) == (pytest.approx(4.0), pytest.approx(0.0, abs=1e-6))


def test_keys_name_a_piece_of_work_and_nothing_else() -> None:
    for key in (WorkKey(Role.DIAGNOSIS), WorkKey(Role.STRIP_DOWN), WorkKey(Role.WAY_BACK), WorkKey(Role.ITEM, 12),
                WorkKey(Role.OWN, 7)):
        assert parse_key(key.text) == key
    for wrong in ("", "item-", "item-0", "task-1x", "item-99999999999", "way back"):
        assert parse_key(wrong) is None


def test_a_model_is_known_however_it_is_spelt() -> None:
    assert same_model("Tarn-Holt", "Meridian 30") == same_model("TARNHOLT ", "meridian-30")
    assert alike(("Tarnholt", "Meridian 30"), ("Tarn-Holt", "Meridan 30"))  # a slip of one letter
    assert not alike(("Tarnholt", "Meridian 30"), ("Tarnholt", "Meridian 50"))  # a figure makes another model
    assert not alike(("Ox", "Boom"), ("Ox", "Room")) and not alike(("", "Meridian 30"), ("", "Meridian 30"))


@pytest.mark.parametrize(("share", "words"), [(None, ""), (0.0, "under 1 %"), (0.004, "under 1 %"), (0.31, "31 %"),
                                              (1.0, "over 99 %")])
def test_a_simulation_says_neither_never_nor_always(share: float | None, words: str) -> None:
    assert Row(Bar(1.0, 1.0, 2.0, 2.5, 5.0, Level.WITHIN), None, None, share, "", None).late_words == words
