"""What the shop's own finished tasks say about its estimates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import sqlalchemy as sa

from app.db import session
from app.estimating.history import Calibration, Coverage, LogRatios, coverage, drawn_towards, log_ratios
from app.exchange.models import PastJob
from app.hours.models import Task, WorkKind
from app.request_cache import cached_until_write

LEAST_FOR_REPLAY = 3  # earlier jobs before the next one is claimed anything: below it the interval is too wide to say anything


@cached_until_write
def pairs_by_kind() -> Mapping[str, LogRatios]:
    """The finished tasks of each kind, and the past jobs of before that name it, as sums; by the kind's name, folded."""
    counted = (sa.select(WorkKind.name, sa.func.count(), sa.func.sum(Task.log_ratio), sa.func.sum(Task.log_ratio * Task.log_ratio))
               .join(Task, Task.kind_id == WorkKind.id).where(Task.log_ratio.is_not(None)).group_by(WorkKind.name))
    found = {name.casefold(): LogRatios(n, total or 0.0, squares or 0.0) for name, n, total, squares in session().execute(counted)}
    past: dict[str, list[tuple[float, float]]] = {}
    for kind, estimated, actual in session().execute(sa.select(PastJob.kind, PastJob.estimated_hours, PastJob.actual_hours)):
        past.setdefault(kind.strip().casefold(), []).append((estimated, actual))
    for name, jobs in past.items():
        found[name] = found.get(name, LogRatios()) + log_ratios(jobs)
    return found


def calibration_of(kind: str) -> Calibration | None:
    """How the shop's estimates of this kind turn out, shrunk to its mean; None while it has fewer than two pairs in all."""
    every = pairs_by_kind()
    shop = sum(every.values(), LogRatios())
    return drawn_towards(every.get(kind.casefold(), LogRatios()), shop.calibration) if shop.n >= 2 else None


@dataclass(frozen=True)
class KindRow:
    """A kind with how many pairs it has and how its estimates turn out."""

    name: str
    n: int
    fitted: Calibration


def by_kind() -> list[KindRow]:
    """Each kind with finished tasks, the most first."""
    every = pairs_by_kind()
    rows = [KindRow(name, pairs.n, fitted) for name, pairs in every.items() if (fitted := calibration_of(name)) is not None]
    return sorted(rows, key=lambda row: (-row.n, row.name))


def claimed() -> Coverage | None:
    """Of the tasks that were claimed an 80 % interval when they began: how many ended inside it."""
    rows = session().execute(sa.select(Task.said_low_hours, Task.said_high_hours, Task.took_hours).where(
        Task.finished_at.is_not(None)).order_by(Task.id)).all()
    told = [(low, high, took) for low, high, took in rows if low is not None and high is not None and took is not None]
    return coverage([(low, high) for low, high, _ in told], [took for _, _, took in told], level=0.8) if told else None


def finished_pairs() -> list[tuple[float, float]]:
    """(estimated, actual) hours in the order in which they became known: past jobs first, then finished tasks."""
    past = session().execute(sa.select(PastJob.estimated_hours, PastJob.actual_hours)
                             .order_by(PastJob.finished_on.is_(None), PastJob.finished_on, PastJob.id))
    own = session().execute(sa.select(Task.hours_likely, Task.took_hours).where(Task.log_ratio.is_not(None))
                            .order_by(Task.finished_at, Task.id))
    return [(row[0], row[1]) for row in (*past, *own)]


def replayed(pairs: Sequence[tuple[float, float]], level: float = 0.8) -> Coverage | None:
    """Each job claimed by the calibration of those before it: how many ended inside. None from too few."""
    so_far, intervals, actuals = LogRatios(), [], []
    for estimated, actual in pairs:
        by = so_far.calibration if so_far.n >= LEAST_FOR_REPLAY else None
        if by is not None:
            intervals.append(by.interval(estimated, level))
            actuals.append(actual)
        so_far += log_ratios([(estimated, actual)])
    return coverage(intervals, actuals, level=level) if actuals else None
