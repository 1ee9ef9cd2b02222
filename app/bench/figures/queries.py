"""What the records hold for the figures. Columns, not records; as many questions for a thousand repairs as for one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import aliased

from app.bench.figures.rules.come_backs import Left
from app.bench.figures.rules.hours import Done
from app.bench.figures.rules.period import Period
from app.bench.figures.rules.times import Story
from app.bench.queries import SAID, standings
from app.db import session
from app.hours.models import Task, TimeEntry, WorkKind
from app.intake.models import ComeBackVerdict
from app.orders.models import Move, OrderStanding, RepairOrder
from app.orders.stages import End, Stage
from app.quote.models import Authorisation, Quote
from app.records.models import Amp

ENDED = (End.REPAIRED, End.UNREPAIRED, End.UNCOLLECTED)
LONGEST_LISTED = 20


def stories(period: Period, zone: tzinfo) -> list[Story]:
    """Every repair that ended in the period, with what happened to it when. Five questions."""
    within = _ended_in(period, zone)
    orders = session().execute(sa.select(RepairOrder.id, RepairOrder.opened_at, RepairOrder.ended_at).where(within)).all()
    moves = _grouped(sa.select(Move.order_id, Move.at, Move.to_stage).where(_of(Move.order_id, within)).order_by(Move.id))
    quotes = _grouped(sa.select(Quote.order_id, Quote.issued_at, sa.true()).where(_of(Quote.order_id, within)))
    answers = _grouped(sa.select(Authorisation.order_id, Authorisation.agreed_at, sa.false())
                       .where(_of(Authorisation.order_id, within)))
    later = aliased(TimeEntry)
    entries = session().execute(
        sa.select(TimeEntry.order_id, TimeEntry.unattended, TimeEntry.started_at, TimeEntry.stopped_at)
        .outerjoin(later, later.takes_place_of_id == TimeEntry.id)
        .where(_of(TimeEntry.order_id, within), later.id.is_(None))).all()  # a running timer has ended nothing yet
    ran: dict[tuple[int, bool], list[tuple[datetime, datetime]]] = defaultdict(list)
    for order_id, unattended, start, stop in entries:
        if stop is not None:
            ran[order_id, unattended].append((start, stop))
    return [Story(opened, ended, moves[key], [*quotes[key], *answers[key]], ran[key, False], ran[key, True])
            for key, opened, ended in orders if ended is not None]


def left(period: Period, zone: tzinfo) -> list[Left]:
    """Every amp that was returned repaired in the period, with its first come-back. One question."""
    back = aliased(RepairOrder)
    earlier = aliased(RepairOrder)
    first = sa.select(sa.func.min(earlier.id)).where(
        earlier.come_back_of_id == RepairOrder.id, sa.or_(earlier.ended_as.is_(None), earlier.ended_as != End.VOID)
    ).correlate(RepairOrder)
    found = sa.select(ComeBackVerdict.verdict).where(ComeBackVerdict.order_id == back.id).order_by(
        ComeBackVerdict.id.desc()).limit(1).correlate(back)
    rows = session().execute(
        sa.select(RepairOrder.number, RepairOrder.id, RepairOrder.ended_at, back.number, back.id, back.opened_at,
                  found.scalar_subquery())
        .outerjoin(back, back.id == first.scalar_subquery())
        .where(RepairOrder.ended_as == End.REPAIRED, _ended_in(period, zone)).order_by(RepairOrder.ended_at, RepairOrder.id))
    return [Left(number, key, ended.astimezone(zone).date(), back_number, back_id,
                 opened.astimezone(zone).date() if opened else None, verdict.value if verdict else "")
            for number, key, ended, back_number, back_id, opened, verdict in rows if ended is not None]


def done(period: Period, zone: tzinfo) -> list[Done]:
    """Every piece of work that was finished in the period and took hours. One question."""
    rows = session().execute(
        sa.select(WorkKind.name, Task.hours_low, Task.hours_likely, Task.hours_high, Task.took_hours)
        .join(WorkKind, WorkKind.id == Task.kind_id)
        .where(Task.finished_at >= period.begins(zone), Task.finished_at < period.ends(zone), Task.withdrawn_at.is_(None)))
    return [Done(kind, low, likely, high, took) for kind, low, likely, high, took in rows if took is not None]


@dataclass(frozen=True)
class Waiting:
    """One open repair: which amp, its stage, since when it stands there, what it waits for, and whether it may be energised."""

    order_id: int
    number: int
    title: str
    stage: str
    since: datetime
    days: float
    says: str
    do_not_energise: str  # why, in words; empty while it may be
    promised_on: date | None

    def overdue(self, today: date) -> bool:
        return self.promised_on is not None and self.promised_on < today


def waiting(now: datetime) -> list[Waiting]:
    """The open repairs that have stood in their stage for the longest. One question, and more where a standing has run out."""
    came = sa.select(sa.func.max(Move.at)).where(Move.order_id == RepairOrder.id).correlate(RepairOrder).scalar_subquery()
    since = sa.func.coalesce(came, RepairOrder.opened_at).label("stands_since")
    rows = session().execute(
        sa.select(RepairOrder.id, RepairOrder.number, Amp.maker, Amp.model, RepairOrder.stage, RepairOrder.promised_on, since,
                  *SAID)
        .join(Amp, Amp.id == RepairOrder.amp_id).outerjoin(OrderStanding, OrderStanding.order_id == RepairOrder.id)
        .where(RepairOrder.ended_as.is_(None)).order_by(since, RepairOrder.number).limit(LONGEST_LISTED)).mappings().all()
    stands = standings(rows)
    return [Waiting(row["id"], row["number"], f"{row['maker']} {row['model']}".strip(), Stage(row["stage"]).word,
                    row["stands_since"], (now - row["stands_since"]) / timedelta(days=1), stands[row["id"]].waits_for,
                    stands[row["id"]].do_not_energise, row["promised_on"]) for row in rows]


def _ended_in(period: Period, zone: tzinfo) -> sa.ColumnElement[bool]:
    return sa.and_(RepairOrder.ended_as.in_(ENDED), RepairOrder.ended_at >= period.begins(zone),
                   RepairOrder.ended_at < period.ends(zone))


def _of(column: Any, within: sa.ColumnElement[bool]) -> sa.ColumnElement[bool]:
    """Of these orders, asked in the database: their ids would be too many for one statement."""
    found: sa.ColumnElement[bool] = column.in_(sa.select(RepairOrder.id).where(within))
    return found


def _grouped(asked: sa.Executable) -> dict[int, list[Any]]:
    """Rows of (order id, moment, what), the last two by the first."""
    found: dict[int, list[Any]] = defaultdict(list)
    rows: Iterable[Any] = session().execute(asked)
    for key, at, what in rows:
        found[key].append((at, bool(what) if isinstance(what, int) else what))
    return found
