"""Hours at the end of a job and finish days of several jobs: against seeded simulations with numpy, and dates by hand."""

from __future__ import annotations

import math
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.special import log_ndtr

from app.estimating import EstimateError, LogNormal, Rest, Task, at_completion, finish_dates, remaining, rest
from app.estimating.still_to_come import _log_phi

WEDNESDAY = date(2026, 11, 25)


@pytest.mark.parametrize("x", [-1e4, -200.0, -30.1, -29.9, -8.0, -1.0, 0.0, 0.5, 6.0, 40.0])
def test_the_normal_tail_is_scipys(x: float) -> None:
    assert _log_phi(x) == pytest.approx(float(log_ndtr(x)), rel=1e-6, abs=1e-15)


@pytest.mark.parametrize(("median", "log_sd", "spent"), [(2.0, 0.5, 1.0), (2.0, 0.5, 4.0), (6.0, 0.3, 5.0), (1.0, 0.9, 0.2)])
def test_the_rest_of_a_task_is_that_of_simulated_ones(median: float, log_sd: float, spent: float) -> None:
    drawn = median * np.exp(log_sd * np.random.default_rng(5).standard_normal(4_000_000))
    left = drawn[drawn > spent] - spent
    found = rest(LogNormal(median, log_sd), spent=spent)
    assert found.mean == pytest.approx(left.mean(), rel=0.01) and found.variance == pytest.approx(left.var(), rel=0.05)
    assert found.mean == pytest.approx(remaining(LogNormal(median, log_sd), spent=spent))


def test_a_job_at_its_end_is_that_of_simulated_ones() -> None:
    """Three tasks, one begun and one overdue, independent; 400,000 jobs: median and 80 % within 3 %."""
    tasks = [(1.5, 0.4, 0.0), (2.0, 0.5, 1.0), (1.0, 0.5, 1.6)]
    chance, total = np.random.default_rng(8), np.zeros(400_000)
    for median, log_sd, spent in tasks:
        drawn = np.empty(0)
        while len(drawn) < 400_000:
            more = median * np.exp(log_sd * chance.standard_normal(1_000_000))
            drawn = np.concatenate([drawn, more[more > spent]])
        total += drawn[:400_000]
    found = at_completion([rest(LogNormal(median, sd), spent=gone) for median, sd, gone in tasks], spent=2.6)
    assert found.mean == pytest.approx(total.mean(), rel=0.01)
    assert found.p50 == pytest.approx(np.quantile(total, 0.5), rel=0.03)
    assert found.p80 == pytest.approx(np.quantile(total, 0.8), rel=0.03)


def test_what_is_done_or_certain_has_no_range() -> None:
    assert at_completion([], spent=3.0).p80 == 3.0
    sure = at_completion([rest(LogNormal(2.0, 0.0), spent=0.5)], spent=0.5)
    assert sure.p50 == sure.p80 == sure.mean == 2.0
    late = at_completion([Rest(1.0, 0.25), Rest(1.0, 0.25)], spent=0.0, correlation=1.0)
    assert late.p80 > at_completion([Rest(1.0, 0.25), Rest(1.0, 0.25)], spent=0.0).p80
    with pytest.raises(EstimateError):
        at_completion([Rest(1.0, 0.0)], spent=0.0, correlation=1.5)
    assert math.isfinite(rest(LogNormal(6.0, 0.5), spent=1e9).variance)


def test_each_job_of_a_queue_has_its_own_day() -> None:
    """Six hours a day: the first job fills Wednesday; the second waits for a part on Friday, so the third goes before it."""
    jobs = {"1": [Task("1", 6)], "2": [Task("2", 6, needs=("iron",))], "3": [Task("3", 6)]}
    found = finish_dates(jobs, today=WEDNESDAY, hours_per_day=6, parts_eta={"iron": date(2026, 11, 27)}, simulations=3,
                         by={"1": WEDNESDAY, "2": date(2026, 11, 26)})
    assert [found[name].dates.p50 - WEDNESDAY for name in jobs] == [timedelta(0), timedelta(2), timedelta(1)]
    assert (found["1"].late, found["2"].late, found["3"].late) == (0.0, 1.0, None)
