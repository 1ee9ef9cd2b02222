"""The rows of the bench list. Columns, not records: a list of sixty is read in one question and drawn from plain values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa

from app import clock
from app.db import session
from app.hours.models import OrderOutlook
from app.hours.queries import outlook
from app.intake.models import Complaint
from app.orders.gates import Clock
from app.orders.lugs import Lug, lugs
from app.orders.models import OrderStanding, PowerUp, RepairOrder
from app.orders.queries import with_ids
from app.orders.stages import End, Stage
from app.orders.standing import PROMISED, Standing, from_row, of_row
from app.records.models import Amp, Customer

SIZE = 60  # rows on one page
ENDED = 50


@dataclass(frozen=True)
class Row:
    """One open order: which amp, whose, where it stands and what it waits for."""

    order_id: int
    number: int
    title: str
    depositor: str
    complaint: str
    stage: Stage
    promised_on: date | None
    standing: Standing
    powered_since: datetime | None
    hours: outlook.Row | None  # None while nothing is agreed or worked

    @property
    def lugs(self) -> tuple[Lug, ...]:
        return lugs(self.stage, ended=None, held=self.standing.held)

    @property
    def clock(self) -> Clock | None:
        """What else than the promised day comes by the clock."""
        found = self.standing.clock
        return found if found is not None and found.text != PROMISED else None

    @property
    def drawn_as(self) -> tuple[Stage, bool]:
        """Rows that share this have the same strip."""
        return self.stage, self.standing.held


@dataclass(frozen=True)
class EndedRow:
    """One order that has ended, and how."""

    order_id: int
    number: int
    title: str
    depositor: str
    ended_as: End
    ended_at: datetime


_OPEN = RepairOrder.ended_as.is_(None)
SAID = [column for column in OrderStanding.__table__.columns  # a row of the list names one act
         if column.name not in ("missing", "clock_place")]
# How its hours stand, under names of their own.
_HOURS = "hours_"
_OUTLOOK = [column.label(_HOURS + column.name) for column in OrderOutlook.__table__.columns]
_WHOSE = (RepairOrder.id, RepairOrder.number, Amp.maker, Amp.model, Customer.name)


_BY_STAGE = sa.select(RepairOrder.stage, sa.func.count().label("many")).where(_OPEN).group_by(RepairOrder.stage)
_ROWS = (sa.select(*_WHOSE, RepairOrder.stage, RepairOrder.promised_on, Complaint.words, PowerUp.since.label("powered_since"),
                   *SAID, *_OUTLOOK)
         .join(Amp, Amp.id == RepairOrder.amp_id).join(Customer, Customer.id == RepairOrder.depositor_id)
         .outerjoin(Complaint, Complaint.order_id == RepairOrder.id)
         .outerjoin(PowerUp, sa.and_(PowerUp.order_id == RepairOrder.id, PowerUp.ended_at.is_(None)))
         .outerjoin(OrderStanding, OrderStanding.order_id == RepairOrder.id)
         .outerjoin(OrderOutlook, OrderOutlook.order_id == RepairOrder.id).where(_OPEN).limit(SIZE))
_BY_PROMISE = (RepairOrder.promised_on.is_(None), RepairOrder.promised_on, RepairOrder.number)
_BY_RISK = (OrderOutlook.late_share.is_(None), OrderOutlook.late_share.desc(), *_BY_PROMISE)
_ENDED = (sa.select(*_WHOSE, RepairOrder.ended_as, RepairOrder.ended_at).join(Amp, Amp.id == RepairOrder.amp_id)
          .join(Customer, Customer.id == RepairOrder.depositor_id)
          .where(RepairOrder.ended_at.is_not(None), RepairOrder.ended_as != End.VOID).order_by(RepairOrder.ended_at.desc()))


def open_by_stage() -> dict[Stage, int]:
    """How many open orders stand in each stage; stages without one are left out."""
    return {row.stage: row.many for row in session().execute(_BY_STAGE)}


def rows(stage: Stage | None = None, page: int = 1, *, by_risk: bool = False) -> list[Row]:
    """A page of the open orders, of one stage if it is named: oldest promise first; or the likeliest to be late first."""
    asked = _ROWS.order_by(*(_BY_RISK if by_risk else _BY_PROMISE)).offset((page - 1) * SIZE)
    found = session().execute(asked if stage is None else asked.where(RepairOrder.stage == stage)).mappings().all()
    stands, now = standings(found), clock.now()
    return [Row(one["id"], one["number"], f"{one['maker']} {one['model']}".strip(), one["name"], one["words"] or "", one["stage"],
                one["promised_on"], stands[one["id"]], one["powered_since"],
                outlook.as_row(one, now, _HOURS) if one[_HOURS + "order_id"] is not None else None) for one in found]


def ended(limit: int = ENDED) -> list[EndedRow]:
    """Those that ended last."""
    return [EndedRow(key, number, f"{maker} {model}".strip(), name, how, at)
            for key, number, maker, model, name, how, at in session().execute(_ENDED.limit(limit))
            if how is not None and at is not None]


def standings(found: Sequence[sa.RowMapping]) -> dict[int, Standing]:
    """Of rows with the columns SAID: as stored where that is good. What has run out is worked out now: of those only, the records
    are read.
    """
    now = clock.now()
    stored = {one["id"]: from_row(one) for one in found if one["turn"] is not None}
    good = {key: standing for key, standing in stored.items() if standing.is_good(now)}
    run_out = [one for one in found if one["id"] not in good]
    orders = {order.id: order for order in with_ids([one["id"] for one in run_out])} if run_out else {}
    return good | {one["id"]: of_row(one, orders[one["id"]]) for one in run_out}
