"""What the shop's own earlier repairs of the same model showed: how often of how many, hours, parts, come-backs, readings.

Nothing of a customer is asked: no name, no complaint, no serial number.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from statistics import median

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from app.db import session
from app.findings import queries as findings
from app.findings.models.findings import Finding
from app.hours.models import Task, WorkKind
from app.hours.queries.tasks import kind_for
from app.measuring.models import Reading
from app.measuring.rules import Phase, say
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, End, Stage
from app.parts.models import Part
from app.parts.rules import PartState
from app.records.models import Amp
from app.records.rules import alike
from app.request_cache import cached_until_write

MOST = 12  # lines of each kind on a page
LATER_THAN_TEARDOWN = tuple(one for one in IN_ORDER if IN_ORDER.index(one) > IN_ORDER.index(Stage.TEARDOWN))


@dataclass(frozen=True)
class Often:
    """Something that came up in so many of so many repairs."""

    what: str
    times: int
    of: int


@dataclass(frozen=True)
class Took:
    """Hours of one kind of work: the middle and the longest of so many finished tasks."""

    kind: str
    median: float
    longest: float
    n: int


@dataclass(frozen=True)
class LeftAt:
    """A point's readings as left: the middle of so many, and between which they lay."""

    point: str
    middle: str
    low: str
    high: str
    n: int


@dataclass(frozen=True)
class ModelHistory:
    """Earlier repairs of one model: how many there were, and how many of them had been stripped down."""

    spellings: tuple[str, ...]
    repairs: int
    stripped: int
    findings: tuple[Often, ...]
    hours: tuple[Took, ...]
    parts: tuple[Often, ...]
    come_backs: int
    left: tuple[LeftAt, ...]


@cached_until_write
def history_of(maker: str, model: str, but: int = 0) -> ModelHistory | None:
    """The earlier repairs of a maker's model, however it was spelt; `but` leaves one order out. None if there are none."""
    spellings = [(one, other) for one, other in session().execute(sa.select(Amp.maker, Amp.model).distinct())
                 if alike((one, other), (maker, model))]
    if not spellings:
        return None
    which = sa.or_(*(sa.and_(Amp.maker == one, Amp.model == other) for one, other in spellings))
    rows = session().execute(sa.select(RepairOrder.id, RepairOrder.stage, RepairOrder.ended_as, RepairOrder.come_back_of_id)
                             .join(Amp, Amp.id == RepairOrder.amp_id)
                             .where(which, RepairOrder.id != but,
                                    sa.or_(RepairOrder.ended_as.is_(None), RepairOrder.ended_as != End.VOID))).all()
    if not rows:
        return None
    ids = [row.id for row in rows]
    stripped = [row.id for row in rows if row.ended_as is not None or row.stage in LATER_THAN_TEARDOWN]
    return ModelHistory(
        tuple(sorted({f"{one} {other}".strip() for one, other in spellings})), len(ids), len(stripped), _findings(stripped),
        _hours(ids), _parts(stripped), sum(row.come_back_of_id in ids for row in rows), _left(ids))


def _findings(ids: Collection[int]) -> tuple[Often, ...]:
    rows = session().execute(sa.select(Finding.order_id, Finding.code, Finding.area, Finding.place, Finding.observation)
                             .where(Finding.order_id.in_(ids), Finding.withdrawn_at.is_(None)).order_by(Finding.id)).all()
    said: dict[str, str] = {}
    found: dict[str, set[int]] = {}
    for row in rows:
        key = row.code or f"{row.area.value}: {' '.join(row.observation.casefold().split())}"
        said.setdefault(key, f"{row.area.value}: {row.observation}")
        found.setdefault(key, set()).add(row.order_id)
    return _often({said[key]: len(orders) for key, orders in found.items()}, len(ids))


def _parts(ids: Collection[int]) -> tuple[Often, ...]:
    rows = session().execute(sa.select(Part.order_id, Part.what).where(Part.order_id.in_(ids), Part.state == PartState.FITTED)
                             .distinct()).all()
    return _often(Counter(row.what for row in rows), len(ids))


def _often(counts: dict[str, int] | Counter[str], of: int) -> tuple[Often, ...]:
    ranked = sorted(counts.items(), key=lambda one: (-one[1], one[0]))
    return tuple(Often(what, times, of) for what, times in ranked[:MOST])


def _hours(ids: Collection[int]) -> tuple[Took, ...]:
    rows = session().execute(sa.select(WorkKind.name, Task.took_hours).join(WorkKind, WorkKind.id == Task.kind_id)
                             .where(Task.order_id.in_(ids), Task.finished_at.is_not(None))).all()
    by_kind: dict[str, list[float]] = {}
    for name, took in rows:
        if took is not None:
            by_kind.setdefault(name, []).append(took)
    found = [Took(name, median(hours), max(hours), len(hours)) for name, hours in by_kind.items()]
    return tuple(sorted(found, key=lambda one: (-one.n, one.kind)))


def _left(ids: Collection[int]) -> tuple[LeftAt, ...]:
    later = aliased(Reading)
    rows = session().scalars(
        sa.select(Reading).outerjoin(later, later.corrects_id == Reading.id)
        .where(Reading.order_id.in_(ids), Reading.phase == Phase.AS_LEFT, later.id.is_(None), Reading.point_id.is_not(None))
        .order_by(Reading.id)).all()
    by_point: dict[tuple[str, str], dict[int, float]] = {}
    for row in rows:
        by_point.setdefault((row.point, row.unit), {})[row.order_id] = row.value  # the last of each repair
    found = [LeftAt(point, say(median(values.values()), unit), say(min(values.values()), unit), say(max(values.values()), unit),
                    len(values)) for (point, unit), values in by_point.items()]
    return tuple(sorted(found, key=lambda one: (-one.n, one.point))[:MOST])


def model_history(order: RepairOrder) -> ModelHistory | None:
    """What this order's model did before."""
    return history_of(order.amp.maker, order.amp.model, order.id)


def work_proposals(order: RepairOrder) -> list[tuple[Finding, str, Took | None]]:
    """For each open finding the kind of work that it proposes, and what that kind took on this model."""
    told = model_history(order)
    took = {one.kind: one for one in told.hours} if told else {}
    return [(one, kind_for(one.area.value), took.get(kind_for(one.area.value)))
            for one in findings.gravest_first(findings.open_findings(order))]
