"""A queue worked through by one pair of hands: dates worked out by hand on a calendar (computed)."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from app.estimating import EstimateError, LogNormal, Task, finish_date

WEDNESDAY = date(2026, 11, 25)


def certain(queue: list[Task], **more: object) -> date:
    """The date of a queue in which nothing is left to chance."""
    dates = finish_date(queue, today=WEDNESDAY, **{"hours_per_day": 6, "simulations": 3, "seed": 1, **more})
    assert dates.p50 == dates.p80 == dates.p90
    return dates.p50


@pytest.mark.parametrize(
    ("hours", "last"),
    [(0, date(2026, 11, 25)), (6, date(2026, 11, 25)), (6.1, date(2026, 11, 26)), (18, date(2026, 11, 27))]
    + [(18.1, date(2026, 11, 30)), (30, date(2026, 12, 1))],
)
def test_hours_run_over_working_days_and_skip_the_weekend(hours: float, last: date) -> None:
    assert certain([Task("a", hours)]) == last
    assert certain([Task("a", hours / 2), Task("b", hours / 2)]) == last


def test_closed_days_and_short_days_count() -> None:
    assert certain([Task("a", 12)], closed=[date(2026, 11, 26)]) == date(2026, 11, 27)
    assert certain([Task("a", 12)], hours_per_day={0: 8, 2: 4, 5: 2}) == date(2026, 11, 30)


def test_a_part_holds_its_task_and_lets_others_go_first() -> None:
    queue = [Task("iron", 3, needs=("transformer",)), Task("clean", 6), Task("test", 3, after=("iron",))]
    eta = {"transformer": date(2026, 11, 27)}
    assert certain(queue, parts_eta=eta) == date(2026, 11, 27)
    assert certain(queue, parts_eta={"transformer": date(2026, 11, 28)}) == date(2026, 11, 30)
    assert certain(queue, parts_eta=eta | {"test": date(2026, 12, 3)}) == date(2026, 12, 3)
    assert certain(queue, parts_eta={"transformer": date(2026, 1, 1)}) == date(2026, 11, 26)


def test_drying_runs_overnight_and_beside_other_work() -> None:
    """Six hours, a bake of 15 hours from three in the afternoon, then one hour at nine the next day."""
    bake = [Task("board", 6, unattended_hours=15), Task("fit", 1, after=("board",))]
    assert certain(bake) == date(2026, 11, 26)
    week = [Task("glue", 1, unattended_hours=24 * 7), Task("other", 12), Task("fit", 1, after=("glue",))]
    assert certain(week) == date(2026, 12, 2)
    assert certain([Task("soak", 1, unattended_hours=24 * 3)]) == date(2026, 11, 28)


def test_drying_that_ends_during_the_day_costs_part_of_it() -> None:
    """Half past nine and 26 hours is half past eleven: 3.5 of the day's 6 hours are left."""
    glue = Task("glue", 0.5, unattended_hours=26)
    assert certain([glue, Task("fit", 3.5, after=("glue",))]) == date(2026, 11, 26)
    assert certain([glue, Task("fit", 3.6, after=("glue",))]) == date(2026, 11, 27)


def test_dates_grow_with_probability_and_repeat_with_the_seed() -> None:
    queue = [Task(f"t{n}", (2, 6, 30)) for n in range(6)]
    first, again, other = (
        finish_date(queue, today=WEDNESDAY, hours_per_day=6, parts_eta={}, simulations=800, seed=seed)
        for seed in (4, 4, 5)
    )
    assert first == again
    assert first.p50 < first.p80 < first.p90
    assert abs(other.p80 - first.p80) <= timedelta(days=3)


def test_the_median_of_a_log_normal_task_is_its_median() -> None:
    """Ten working days at 6 hours: half of the rounds end by the tenth."""
    dates = finish_date([LogNormal(57, 0.3)], today=WEDNESDAY, hours_per_day=6, simulations=4000, seed=2)
    assert dates.p50 == date(2026, 12, 8)
    # 57·exp(0.3·1.2816) = 83.7 hours: the fourteenth working day.
    assert dates.p90 == date(2026, 12, 14)


def test_a_part_with_three_dates_spreads_the_end() -> None:
    eta = {"1": (date(2026, 11, 30), date(2026, 12, 2), date(2026, 12, 22))}
    dates = finish_date([1.0], today=WEDNESDAY, hours_per_day=6, parts_eta=eta, simulations=2000, seed=3)
    assert date(2026, 12, 2) < dates.p50 < dates.p80 < dates.p90 < date(2026, 12, 22)


@pytest.mark.parametrize(
    ("queue", "more", "named"),
    [
        ([], {}, "queue"),
        ([Task("a", 1), Task("a", 1)], {}, "queue"),
        ([Task("a", 1, after=("z",))], {}, "a.after"),
        ([Task("a", 1, after=("b",)), Task("b", 1, after=("a",))], {}, "queue"),
        ([Task("a", 1, needs=("iron",))], {}, "parts_eta"),
        ([Task("a", -1)], {}, "estimate"),
        ([Task("a", 1, unattended_hours=-1)], {}, "a.unattended_hours"),
        ([Task("a", 1)], {"hours_per_day": 0}, "hours_per_day"),
        ([Task("a", 1)], {"hours_per_day": 25}, "hours_per_day"),
        ([Task("a", 1)], {"hours_per_day": {7: 3}}, "hours_per_day"),
        ([Task("a", 1)], {"simulations": 0}, "simulations"),
        ([Task("a", 1)], {"seed": -1}, "seed"),
        ([Task("a", 1)], {"today": "2026-11-25"}, "today"),
        ([Task("a", 1)], {"parts_eta": {"a": "soon"}}, "parts_eta['a']"),
        ([Task("a", 1)], {"parts_eta": {"a": (WEDNESDAY, date(2026, 1, 1), WEDNESDAY)}}, "parts_eta['a']"),
        ([Task("a", 1e9)], {}, "queue"),
    ],
)
def test_what_cannot_be_dated_says_why(queue: list[Task], more: dict[str, object], named: str) -> None:
    with pytest.raises(EstimateError) as refused:
        finish_date(queue, **{"today": WEDNESDAY, "hours_per_day": 6, "simulations": 2, **more})  # type: ignore[arg-type]
    assert refused.value.argument == named
