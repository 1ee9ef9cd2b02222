"""When a queue of work will be finished."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING, Any

from app.estimating.errors import EstimateError, hours, several, whole
from app.estimating.history import LogNormal
from app.estimating.still_to_come import Estimate, log_normal
from app.estimating.sums import Range
from app.estimating.three_point import ThreePoint, three_figures, three_point
from app.estimating.working_days import Calendar, calendar

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, np.dtype[np.float64]]

Eta = date | Sequence[date]


@dataclass(frozen=True)
class Task:
    """One task of the queue.

    `estimate`: hours of attended work: a number (exact), three figures or a ThreePoint (beta-PERT), a LogNormal
    or a Range (log-normal). `after`: ids of tasks that must be over. `needs`: parts without which it cannot
    begin. `unattended_hours`: drying, baking or soaking that follows and runs day and night.
    """

    id: str
    estimate: Estimate
    after: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    unattended_hours: float = 0.0


@dataclass(frozen=True)
class FinishDates:
    """Dates by which all is finished with 50, 80 and 90 % probability."""

    p50: date
    p80: date
    p90: date


@dataclass(frozen=True)
class Finish:
    """When one job of a queue is finished: its dates, and the share of the simulated queues in which it is later than `by`."""

    dates: FinishDates
    late: float | None  # 0 to 1; None where no date was given


FIRST_MONDAY = date(2001, 1, 1)


def finish_date(
    queue: Iterable[Task | Estimate],
    *,
    today: date = FIRST_MONDAY,
    hours_per_day: float | Mapping[int, float],
    parts_eta: Mapping[str, Eta] | None = None,
    simulations: int = 2000,
    seed: int = 0,
    closed: Collection[date] = (),
) -> FinishDates:
    """Simulate one pair of hands working through the queue in its order, from the morning of `today`.

    There is no clock here: without `today` the days are counted from a Monday, 1 January 2001.

    A task that waits for a part, for another task or for something to dry lets the next one go first. Tasks may
    be given as bare estimates. `hours_per_day`: hours of work Monday to Friday, or by weekday (Monday 0).
    `parts_eta`: part, or id of the task that needs it → date on which work with it can begin, or three dates
    (early, likely, late). `closed`: days without work. The same seed gives the same dates.
    Raises EstimateError: no task, a double or unknown id, tasks that wait for one another, a part without a date.
    """
    tasks = _tasks(queue)
    turns = _simulated(tasks, today, calendar(today, hours_per_day, closed), parts_eta or {}, simulations, seed)
    return _dates(today, [max(ends) for ends in turns])


def finish_dates(
    jobs: Mapping[str, Sequence[Task]],
    *,
    today: date,
    hours_per_day: float | Mapping[int, float],
    by: Mapping[str, date] | None = None,
    parts_eta: Mapping[str, Eta] | None = None,
    simulations: int = 400,
    seed: int = 0,
    closed: Collection[date] = (),
) -> dict[str, Finish]:
    """When each of several jobs that wait in one queue is finished, in the order in which they are given.

    `jobs`: name → its tasks, ids unlike any other job's. `by`: name → the day that was promised. Everything else and what is
    refused as for `finish_date`: one pair of hands, a task that waits lets the next go first, also one of another job.
    """
    tasks = _tasks(task for several_tasks in jobs.values() for task in several_tasks)
    number = {task.id: index for index, task in enumerate(tasks)}
    turns = _simulated(tasks, today, calendar(today, hours_per_day, closed), parts_eta or {}, simulations, seed)
    found = {}
    for name, own in jobs.items():
        places = [number[task.id] for task in own]
        if places:
            ends = [max(turn[place] for place in places) for turn in turns]
            promised = (by or {}).get(name)
            late = None if promised is None else sum(_day(today, end) > promised for end in ends) / len(ends)
            found[name] = Finish(_dates(today, ends), late)
    return found


def _simulated(
    tasks: list[Task], today: date, days: Calendar, parts_eta: Mapping[str, Eta], simulations: int, seed: int
) -> list[list[int]]:
    """For each simulated queue the number of the day on which each task is over."""
    rounds, start = whole("simulations", simulations, 1), whole("seed", seed, 0)
    import numpy as np

    chance = np.random.default_rng(start)
    worked = np.column_stack([_draw(task.estimate, rounds, chance) for task in tasks])
    arrivals = {name: _arrival(name, eta, today, rounds, chance) for name, eta in parts_eta.items()}
    waits = [_parts_of(task, arrivals) for task in tasks]
    links = _links(tasks)
    return [
        _one_round(tasks, links, days, worked[turn].tolist(), [max((a[turn] for a in wait), default=0) for wait in waits])
        for turn in range(rounds)
    ]


def _dates(today: date, ends: list[int]) -> FinishDates:
    ends = sorted(ends)
    return FinishDates(*(_day(today, ends[math.ceil(level * len(ends)) - 1]) for level in (0.5, 0.8, 0.9)))


def _tasks(queue: Iterable[Task | Estimate]) -> list[Task]:
    tasks = [
        each if isinstance(each, Task) else Task(str(number), each)
        for number, each in enumerate(several("queue", queue, "tasks"), start=1)
    ]
    names = [task.id for task in tasks]
    if not tasks or len(set(names)) < len(names):
        raise EstimateError("queue", names, "at least one task, each with an id of its own")
    for task in tasks:
        hours(f"{task.id}.unattended_hours", task.unattended_hours)
        if not set(task.after) <= set(names):
            raise EstimateError(f"{task.id}.after", task.after, "ids of tasks in the queue")
    return tasks


def _links(tasks: list[Task]) -> list[list[int]]:
    """For each task those that wait for it; refuses a circle."""
    number = {task.id: index for index, task in enumerate(tasks)}
    links: list[list[int]] = [[] for _ in tasks]
    for index, task in enumerate(tasks):
        for name in set(task.after):
            links[number[name]].append(index)
    waits = [len(set(task.after)) for task in tasks]
    order = [index for index, count in enumerate(waits) if not count]
    for index in order:
        for follower in links[index]:
            waits[follower] -= 1
            if not waits[follower]:
                order.append(follower)
    if len(order) < len(tasks):
        circle = tuple(task.id for task, count in zip(tasks, waits, strict=True) if count)
        raise EstimateError("queue", circle, "tasks that do not wait for one another in a circle")
    return links


def _draw(estimate: Estimate, rounds: int, chance: np.random.Generator) -> Array:
    """Attended hours of a task, once for each round."""
    import numpy as np

    if isinstance(estimate, Sequence):
        estimate = three_point(*three_figures("estimate", estimate))
    if isinstance(estimate, ThreePoint):
        if estimate.alpha is None or estimate.beta is None:
            return np.full(rounds, estimate.low)
        spread = chance.beta(estimate.alpha, estimate.beta, rounds)
        return np.asarray(estimate.low + (estimate.high - estimate.low) * spread)
    if isinstance(estimate, LogNormal | Range):
        fitted = log_normal(estimate)
        return np.asarray(fitted.median * np.exp(fitted.log_sd * chance.standard_normal(rounds)))
    return np.full(rounds, hours("estimate", estimate))


def _arrival(
    name: str, eta: Eta, today: date, rounds: int, chance: np.random.Generator
) -> list[int]:
    """Number of the day on which a part is there, once for each round."""
    dates = tuple(eta) if isinstance(eta, Sequence) else (eta,)
    if len(dates) not in (1, 3) or any(isinstance(d, datetime) or not isinstance(d, date) for d in dates):
        raise EstimateError(f"parts_eta[{name!r}]", eta, "a date, or early, likely and late dates")
    if list(dates) != sorted(dates):
        raise EstimateError(f"parts_eta[{name!r}]", eta, "early, likely and late dates in that order")
    days = [max((each - today).days, 0) for each in dates]
    if len(days) == 1:
        return days * rounds
    return [math.ceil(day - 1e-9) for day in _draw(three_point(*days), rounds, chance).tolist()]


def _parts_of(task: Task, arrivals: Mapping[str, list[int]]) -> list[list[int]]:
    missing = [name for name in task.needs if name not in arrivals]
    if missing:
        raise EstimateError("parts_eta", missing, f"dates for every part that {task.id} needs")
    return [arrivals[name] for name in (*task.needs, task.id) if name in arrivals]


def _one_round(
    tasks: list[Task], links: list[list[int]], days: Calendar, worked: list[float], parts: list[int]
) -> list[int]:
    """Number of the day on which each task is over."""
    waits = [len(set(task.after)) for task in tasks]
    free: list[int] = []
    later = [(days.at_day(parts[index]), index, False) for index, count in enumerate(waits) if not count]
    heapify(later)
    now, over_on = 0.0, [0] * len(tasks)
    while free or later:
        if not free:
            now = max(now, later[0][0])
        while later and later[0][0] <= now:
            at, index, over = heappop(later)
            for follower in links[index] if over else ():
                waits[follower] -= 1
                if not waits[follower]:
                    heappush(later, (max(at, days.at_day(parts[follower])), follower, False))
            if not over:
                heappush(free, index)
        if free:
            index = heappop(free)
            now += worked[index]
            ends, day = now, days.day_of(now)
            if tasks[index].unattended_hours:
                clock = days.clock(now) + tasks[index].unattended_hours
                ends, day = days.work_at(clock), int(clock // 24)
            over_on[index] = day
            heappush(later, (ends, index, True))
    return over_on


def _day(today: date, number: int) -> date:
    return date.fromordinal(today.toordinal() + number)
