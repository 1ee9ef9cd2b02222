"""Which readings a calibration put in doubt, of the whole shop and of one order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa
from sqlalchemy.orm import joinedload

from app.db import session
from app.measuring.calibration import Calibration, DoubtedReading
from app.measuring.models import Instrument, Reading
from app.measuring.queries import readings_with, today
from app.measuring.rules import Quantity, Verdict
from app.measuring.tolerance import ErrorFound, margin, worst_of
from app.orders.models import RepairOrder
from app.request_cache import cached_until_write


@dataclass(frozen=True)
class Doubted:
    """A reading whose verdict would not hold if the instrument was wrong, and what it would come to at worst."""

    reading: Reading
    worst: Verdict


def doubted(instrument: Instrument, errors: Sequence[ErrorFound], since: date, until: date | None = None) -> list[Doubted]:
    """Readings of an instrument found out of tolerance that must be looked at again: safety first, worst verdict, least margin.

    `since` is the last day on which it was known good, `until` the day of the calibration; both days count.
    """
    found = []
    for one in readings_with(instrument):
        concern = [error for error in errors if error.covers(one.quantity, one.value)]
        if concern and since <= today(one.at) and (until is None or today(one.at) <= until):
            found.append(Doubted(one, worst_of(one.inputs, concern)))
    flips = [one for one in found if one.worst is not one.reading.verdict]
    return sorted(flips, key=lambda one: (one.reading.point_id is not None, one.worst is not Verdict.FAIL,
                                          margin(one.reading.inputs), one.reading.id))


@dataclass(frozen=True)
class OpenDoubt:
    """A reading in doubt with the order that it was taken on."""

    doubt: DoubtedReading
    order: RepairOrder


def find_calibration(calibration_id: int) -> Calibration | None:
    """The calibration with this id."""
    return session().get(Calibration, calibration_id)


def calibrations_of(instrument: Instrument) -> Sequence[Calibration]:
    """Every calibration of an instrument, newest first."""
    return session().scalars(sa.select(Calibration).where(Calibration.instrument_id == instrument.id)
                             .order_by(Calibration.done_on.desc(), Calibration.id.desc())).all()


def find_doubt(doubt_id: int) -> DoubtedReading | None:
    """The reading in doubt with this id."""
    return session().get(DoubtedReading, doubt_id)


def with_orders(calibration: Calibration | None = None) -> list[OpenDoubt]:
    """Readings in doubt with their orders: every one of a calibration, else all that are not settled. Safety first."""
    asked = (sa.select(DoubtedReading, RepairOrder).join(RepairOrder, RepairOrder.id == DoubtedReading.order_id)
             .options(joinedload(DoubtedReading.reading), joinedload(RepairOrder.amp), joinedload(RepairOrder.owner)))
    asked = asked.where(DoubtedReading.settled.is_(None) if calibration is None
                        else DoubtedReading.calibration_id == calibration.id)
    return in_order_of_danger(OpenDoubt(*row) for row in session().execute(asked))


def in_order_of_danger(doubts: Iterable[OpenDoubt]) -> list[OpenDoubt]:
    """Open before settled, safety before the rest, out of band before in doubt, least margin first."""
    return sorted(doubts, key=lambda one: (one.doubt.settled is not None, not one.doubt.is_safety,
                                           one.doubt.worst is not Verdict.FAIL, margin(one.doubt.reading.inputs), one.doubt.id))


@cached_until_write
def holding(order_id: int) -> list[DoubtedReading]:
    """The readings in doubt that hold this order, safety first."""
    found = session().scalars(
        sa.select(DoubtedReading).where(DoubtedReading.order_id == order_id, DoubtedReading.settled.is_(None))
        .options(joinedload(DoubtedReading.reading), joinedload(DoubtedReading.calibration).joinedload(Calibration.instrument))
        .order_by(DoubtedReading.id))
    return sorted((one for one in found if one.holds), key=lambda one: not one.is_safety)


def measured_again(doubt: DoubtedReading) -> Reading | None:
    """The newest reading of the same amp and the same point since, by an instrument that counted and that is in no doubt itself.
    Whether it passed is its own to say: only one that did settles a doubt.

    A later repair of the amp counts too: that is where somebody who was called brings it.
    """
    first = doubt.reading
    amp = order_of(doubt).amp_id
    corrected = sa.orm.aliased(Reading)
    in_doubt = sa.select(DoubtedReading.id).where(DoubtedReading.reading_id == Reading.id,
                                                  DoubtedReading.settled.is_(None)).exists()
    later = session().scalars(
        sa.select(Reading).join(RepairOrder, RepairOrder.id == Reading.order_id)
        .where(RepairOrder.amp_id == amp, Reading.id > first.id, Reading.point == first.point,
               Reading.quantity == first.quantity, Reading.at > doubt.calibration.at, ~in_doubt,
               ~sa.select(corrected.id).where(corrected.corrects_id == Reading.id).exists())
        .order_by(Reading.id.desc()))
    return next((one for one in later if one.standing.counts and one.verdict is not Verdict.NOT_JUDGED), None)


def order_of(doubt: DoubtedReading) -> RepairOrder:
    """The repair on which it was read."""
    return session().get_one(RepairOrder, doubt.order_id)


def is_here(doubt: DoubtedReading) -> bool:
    """Whether the repair on which it was read is still open."""
    return order_of(doubt).is_open


def count_open() -> int:
    """How many readings in doubt are not settled."""
    return session().scalar(sa.select(sa.func.count(DoubtedReading.id)).where(DoubtedReading.settled.is_(None))) or 0


@cached_until_write
def errors_since(instrument_id: int, quantity: Quantity, day: date) -> list[ErrorFound]:
    """What calibrations found wrong with an instrument for readings of that day: what still rests on one is judged with it."""
    found = session().scalars(sa.select(Calibration).where(
        Calibration.instrument_id == instrument_id, Calibration.good_on <= day, Calibration.done_on >= day))
    return [row.error for one in found for row in one.errors if row.quantity is quantity]
