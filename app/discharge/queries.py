"""Reading the lists and the rounds back, and whether the newest round shows the supply discharged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.orm import joinedload, selectinload

from app.boards import queries as boards
from app.boards.rules import PartKind
from app.db import session
from app.discharge.models import DischargeReading, DischargeRecord, MadeSafe, SupplyCapacitor, SupplyList
from app.discharge.rules.listing import USUAL, Layout, Origin, as_layout
from app.discharge.rules.readings import measures, verdict, why_not_shown
from app.electrics import show
from app.journal.service import Actor
from app.kept.models import KeptSum
from app.measuring import doubts
from app.measuring import queries as measuring
from app.measuring.calibration import Calibration
from app.measuring.models import Instrument
from app.measuring.rules import Inputs, Quantity, Verdict
from app.measuring.rules import State as MeterState
from app.measuring.tolerance import worst_of
from app.orders.models import PowerUp, RepairOrder
from app.orders.power import clock_time
from app.request_cache import cached_until_write

LEAST_F = 1e-6  # what is smaller on a board sheet is no supply capacitor: common practice, no source


@dataclass(frozen=True)
class State:
    """The newest round of an order: `why_not` is empty if it shows every capacitor discharged and nothing came since."""

    at: datetime
    by_name: str
    highest: str  # '2.4 V on C3'
    count: int
    why_not: str
    powered_since: bool


@cached_until_write
def list_of(order_id: int) -> SupplyList | None:
    """The newest list of an order, its capacitors with it."""
    return session().scalar(sa.select(SupplyList).where(SupplyList.order_id == order_id)
                            .options(selectinload(SupplyList.capacitors)).order_by(SupplyList.id.desc()).limit(1))


@cached_until_write
def state(order_id: int) -> State | None:
    """What the newest round of readings shows now, in one question; None where there is no round of this kind."""
    newest = sa.select(sa.func.max(DischargeRecord.id)).where(DischargeRecord.order_id == order_id).scalar_subquery()
    newest_list = sa.select(sa.func.max(SupplyList.id)).where(SupplyList.order_id == order_id).scalar_subquery()
    newest_power = sa.select(sa.func.max(PowerUp.id)).where(PowerUp.order_id == order_id).scalar_subquery()
    wrong = sa.select(Calibration.id).where(Calibration.instrument_id == Instrument.id, Calibration.good_on.is_not(None)).exists()
    rows = session().execute(
        sa.select(DischargeRecord, SupplyCapacitor.name, DischargeReading, newest_list, newest_power, Instrument, wrong)
        .join(Instrument, Instrument.id == DischargeRecord.instrument_id)
        .join(SupplyCapacitor, SupplyCapacitor.supply_list_id == DischargeRecord.supply_list_id)
        .outerjoin(DischargeReading, sa.and_(DischargeReading.record_id == DischargeRecord.id,
                                             DischargeReading.capacitor_id == SupplyCapacitor.id))
        .where(DischargeRecord.id == newest).order_by(SupplyCapacitor.position)).all()
    if not rows:
        return None
    record, _, _, list_id, power_id, meter, ever_wrong = rows[0]
    found = {row[1]: row[2] for row in rows if row[2] is not None}
    powered = (power_id or 0) != (record.last_power_id or 0)
    why = "The amp was powered since." if powered else ""
    if not why and list_id != record.supply_list_id:
        why = "The list of supply capacitors was changed since."
    if not why and meter.state is MeterState.QUARANTINED:
        why = f"{meter.name}, which it was measured with, is quarantined."
    if not why and ever_wrong and _in_doubt(record, list(found.values())):
        why = f"{meter.name}, which it was measured with, was found out of tolerance."
    why = why or why_not_shown([row[1] for row in rows], verdicts(record, found), proved_before=record.proved_before,
                               proved_after=record.proved_after)
    most = max(found, key=lambda name: abs(found[name].value), default="")
    highest = f"{abs(found[most].value):.3g} V on {most}" if most else ""
    return State(record.at, record.by_name, highest, len(rows), why, powered)


def _in_doubt(record: DischargeRecord, readings: list[DischargeReading]) -> bool:
    """Whether a calibration since has found the meter out by so much that a reading of this round need not be below the limit."""
    errors = doubts.errors_since(record.instrument_id, Quantity.VOLT_DC, measuring.today(record.at))
    for one in readings:
        given = Inputs(abs(one.value), one.relation, None, record.limit_volts, one.uncertainty)
        concern = [error for error in errors if error.covers(Quantity.VOLT_DC, one.value)]
        if concern and worst_of(given, concern) is not Verdict.PASS:
            return True
    return False


def verdicts(record: DischargeRecord, found: dict[str, DischargeReading]) -> dict[str, Verdict]:
    """Each reading of a round against its limit, the meter's uncertainty counted."""
    return {name: verdict(one.value, one.relation, one.uncertainty, record.limit_volts) for name, one in found.items()}


def is_discharged(order: RepairOrder) -> bool:
    """Whether the newest round still shows every capacitor below the limit."""
    found = state(order.id)
    return found is not None and not found.why_not


def shown(order: RepairOrder) -> str:
    """Until when and by whom it was shown discharged, in words; empty while it is not shown."""
    found = state(order.id)
    if found is None or found.why_not:
        return ""
    return f"Highest of {found.count}: {found.highest}, {clock_time(found.at)}, {found.by_name}."


def why_not(order: RepairOrder) -> str:
    """Why it is not shown discharged, in a sentence; empty where there never was a round, or where it is shown."""
    found = state(order.id)
    return found.why_not if found else ""


@cached_until_write
def was_recorded(order: RepairOrder) -> bool:
    """Whether a discharge was ever recorded, in this form or as version 0.1 kept it."""
    if state(order.id) is not None:
        return True
    return session().scalar(sa.select(MadeSafe.id).where(MadeSafe.order_id == order.id).limit(1)) is not None


def records_of(order: RepairOrder) -> Sequence[DischargeRecord]:
    """Every round, newest first, with its readings and list."""
    return session().scalars(
        sa.select(DischargeRecord).where(DischargeRecord.order_id == order.id).order_by(DischargeRecord.id.desc())
        .options(selectinload(DischargeRecord.readings).selectinload(DischargeReading.capacitor),
                 selectinload(DischargeRecord.supply_list).selectinload(SupplyList.capacitors),
                 joinedload(DischargeRecord.stored_sum).joinedload(KeptSum.replaced_by),
                 joinedload(DischargeRecord.needs_sum).joinedload(KeptSum.replaced_by))).all()


def earlier_form(order: RepairOrder) -> Sequence[MadeSafe]:
    """What version 0.1 recorded, newest first: one reading, meter not of the register."""
    return session().scalars(sa.select(MadeSafe).where(MadeSafe.order_id == order.id).order_by(MadeSafe.id.desc())).all()


def last_by(order: RepairOrder, by: Actor) -> DischargeRecord | None:
    """What to start from: the order's newest round, else this person's newest of any order."""
    return session().scalar(
        sa.select(DischargeRecord).where(sa.or_(DischargeRecord.order_id == order.id, DischargeRecord.by_name == by.name))
        .order_by((DischargeRecord.order_id == order.id).desc(), DischargeRecord.id.desc()).limit(1))


def offered_instruments(working_v: float, today: date) -> list[Instrument]:
    """Those that can be put across such a capacitor, first those in date."""
    found = [one for one in measuring.usable() if measures(one.kind, (each.statement for each in one.stated), working_v)]
    return sorted(found, key=lambda one: not one.standing(today).counts)


@dataclass(frozen=True)
class Offer:
    """A list to start from: its key in the address, where it comes from, and how it would be typed."""

    key: str
    origin: Origin
    words: str
    layout: Layout

    @property
    def said(self) -> str:
        """As its button says it."""
        return {Origin.EARLIER: f"As in {self.words}", Origin.BOARDS: "From the board sheets",
                Origin.USUAL: f"Usual layout: {self.words}"}.get(self.origin, self.words)


def offers(order: RepairOrder) -> list[Offer]:
    """What a list can be started from: the last repair of this amp, the board sheets, the usual layouts."""
    found = []
    if (earlier := _earlier(order)) is not None:
        found.append(Offer("earlier", Origin.EARLIER, f"repair {earlier[1]}", as_layout(earlier[0].plain)))
    if (sheets := _from_boards(order)) is not None:
        found.append(Offer("boards", Origin.BOARDS, "", sheets))
    return found + [Offer(one.key, Origin.USUAL, one.words, one.layout) for one in USUAL]


def _earlier(order: RepairOrder) -> tuple[SupplyList, int] | None:
    row = session().execute(
        sa.select(SupplyList, RepairOrder.number).join(RepairOrder, RepairOrder.id == SupplyList.order_id)
        .where(RepairOrder.amp_id == order.amp_id, RepairOrder.id != order.id).options(selectinload(SupplyList.capacitors))
        .order_by(SupplyList.id.desc()).limit(1)).first()
    return (row[0], row[1]) if row else None


def _from_boards(order: RepairOrder) -> Layout | None:
    """The electrolytics of the board sheets, in their order. A sheet knows neither working volts nor feeding resistors."""
    found = [one for board in boards.boards_of(order) for one in board.positions
             if one.kind is PartKind.ELECTROLYTIC and (one.nominal or 0.0) >= LEAST_F]
    if not found:
        return None
    names = [one.reference.replace(" ", "-") for one in found]
    doubled = len({name.lower() for name in names}) < len(names)
    return Layout(", ".join(show(one.nominal or 0.0, digits=7).strip().replace(" ", "").replace("µ", "u") for one in found),
                  names="" if doubled else ", ".join(names))
