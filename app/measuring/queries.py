"""Reading instruments, points and readings back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa

from app.db import session
from app.measuring.calibration import DoubtedReading
from app.measuring.models import Instrument, Point, Reading, UsualPoint
from app.measuring.rules import Phase, State, Verdict
from app.orders.models import RepairOrder
from app.records.models import Amp
from app.request_cache import cached_until_write
from app.shop.queries import the_shop

PAGE = 25


def instruments() -> Sequence[Instrument]:
    """All of them by name."""
    return session().scalars(sa.select(Instrument).order_by(Instrument.name)).all()


@cached_until_write
def calibrations_end() -> list[date]:
    """The last days of calibrations, each once; of instruments that may be used."""
    return sorted({one.due_on for one in usable() if one.due_on is not None})


def usable() -> list[Instrument]:
    """Those that a reading may name: they measure something and are not quarantined."""
    return [one for one in instruments() if one.state is not State.QUARANTINED and one.kind.measures]


def find_instrument(instrument_id: int) -> Instrument | None:
    """The instrument with this id."""
    return session().get(Instrument, instrument_id)


def usual_points() -> Sequence[UsualPoint]:
    """The shop's own set, in its order."""
    return session().scalars(sa.select(UsualPoint).where(UsualPoint.withdrawn_at.is_(None))
                             .order_by(UsualPoint.position, UsualPoint.id)).all()


def find_point(point_id: int) -> Point | None:
    """The point with this id."""
    return session().get(Point, point_id)


def points_of(order: RepairOrder) -> Sequence[Point]:
    """The points of an order that stand, in their order."""
    return session().scalars(sa.select(Point).where(Point.order_id == order.id, Point.withdrawn_at.is_(None))
                             .order_by(Point.position, Point.id)).all()


def points_at_nodes(order: RepairOrder) -> Sequence[Point]:
    """The points of an order that stand at a node of the amp's sheet, withdrawn ones too."""
    return session().scalars(sa.select(Point).where(Point.order_id == order.id, Point.node != "").order_by(Point.id)).all()


@dataclass(frozen=True)
class LeftAt:
    """A reading as left at a node of another amp: the order and its number, maker and model, volts and the mains."""

    order_id: int
    number: str
    maker: str
    model: str
    node: str
    volt: float
    mains_v: float | None


def left_at_nodes(order: RepairOrder) -> list[LeftAt]:
    """Readings at nodes that passed as left on other repairs and are in no doubt, the last of each point.

    Of every model: the caller chooses.
    """
    in_doubt = sa.select(DoubtedReading.id).where(DoubtedReading.reading_id == Reading.id,
                                                  DoubtedReading.settled.is_(None)).exists()
    found = session().execute(
        sa.select(Reading, Point.node, RepairOrder.number, Amp.maker, Amp.model)
        .join(Point, Point.id == Reading.point_id).join(RepairOrder, RepairOrder.id == Reading.order_id)
        .join(Amp, Amp.id == RepairOrder.amp_id)
        .where(Point.node != "", Reading.order_id != order.id, Reading.phase == Phase.AS_LEFT, Reading.verdict == Verdict.PASS,
               Reading.relation == "=", ~_corrected(), ~in_doubt).order_by(Reading.id))
    last = {one.point_id: LeftAt(one.order_id, str(number), maker, model, node, one.value, one.mains_v)
            for one, node, number, maker, model in found if one.passed}
    return list(last.values())


def find_reading(reading_id: int) -> Reading | None:
    """The reading with this id."""
    return session().get(Reading, reading_id)


def readings_of(order: RepairOrder) -> Sequence[Reading]:
    """Every reading of an order, corrected ones too, oldest first."""
    return session().scalars(sa.select(Reading).where(Reading.order_id == order.id).order_by(Reading.id)).all()


def readings_with(instrument: Instrument, page: int | None = None) -> Sequence[Reading]:
    """Every reading that was taken with an instrument and still stands, newest first; or one page of them, from 1."""
    asked = (sa.select(Reading).where(Reading.instrument_id == instrument.id, ~_corrected())
             .order_by(Reading.at.desc(), Reading.id.desc()))
    return session().scalars(asked if page is None else asked.limit(PAGE).offset((page - 1) * PAGE)).all()


def count_with(instrument: Instrument) -> int:
    """How many those are."""
    return session().scalar(sa.select(sa.func.count(Reading.id)).where(Reading.instrument_id == instrument.id, ~_corrected())) or 0


def _corrected() -> sa.ColumnElement[bool]:
    later = sa.orm.aliased(Reading)
    return sa.select(later.id).where(later.corrects_id == Reading.id).exists()


@dataclass(frozen=True)
class Row:
    """One point with its readings that stand: the last as found and the last as left."""

    point: Point
    as_found: Reading | None
    as_left: Reading | None
    changed_percent: float | None

    @property
    def latest(self) -> Reading | None:
        """What the page draws: as left where there is one."""
        return self.as_left or self.as_found


def as_found_as_left(order: RepairOrder) -> list[Row]:
    """Every standing point with its two readings side by side. Corrected readings are left to the point's page."""
    found: dict[tuple[int, Phase], Reading] = {}
    readings = readings_of(order)
    corrected = {reading.corrects_id for reading in readings if reading.corrects_id}
    for one in readings:
        if one.point_id is not None and one.id not in corrected:
            found[one.point_id, one.phase] = one
    return [_row(point, found.get((point.id, Phase.AS_FOUND)), found.get((point.id, Phase.AS_LEFT)))
            for point in points_of(order)]


def _row(point: Point, before: Reading | None, after: Reading | None) -> Row:
    changed = None
    if before and after and before.value != 0 and before.quantity is after.quantity:
        changed = 100.0 * (after.value - before.value) / abs(before.value)
    return Row(point, before, after, changed)


def history_of(point: Point) -> list[Reading]:
    """Every reading of a point, newest first."""
    return list(session().scalars(sa.select(Reading).where(Reading.point_id == point.id).order_by(Reading.id.desc())))


def standing_readings(order: RepairOrder) -> list[Reading]:
    """All that were not corrected, newest first: what a proof may point at."""
    return list(session().scalars(sa.select(Reading).where(Reading.order_id == order.id, ~_corrected())
                                  .order_by(Reading.id.desc())))


def unexplained(order: RepairOrder) -> list[tuple[Point, Reading | None]]:
    """Points whose last as-left reading is missing, or has not passed and has no explanation."""
    return [(row.point, row.as_left) for row in as_found_as_left(order)
            if row.as_left is None or not (row.as_left.passed or row.as_left.explanation)]


def today(now: datetime) -> date:
    """The day in the shop's zone."""
    return now.astimezone(the_shop().zone).date()
