"""How a repair was proved: points with their readings as found and as left, and with what they were read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from app.kernel.facts import ASIDE
from app.measuring.models import Reading
from app.measuring.queries import Row, as_found_as_left
from app.measuring.rules import Quantity, Relation, Verdict, say, say_band, say_read, say_uncertainty
from app.orders.models import RepairOrder
from app.shop.queries import day


@dataclass(frozen=True)
class Read:
    """One reading: value and expanded uncertainty (k = 2) in `unit`, the conditions, the instrument as it was then."""

    value: float
    relation: Relation
    unit: str
    quantity: Quantity
    uncertainty: float | None
    verdict: Verdict
    explanation: str
    condition: str
    mains_v: float | None
    instrument: str
    due_on: date | None
    at: datetime
    out_of_date: str = field(default="", metadata=ASIDE)  # how its instrument stood, if it did not count: `due_on` and `at` tell

    @property
    def words(self) -> str:
        return say_read(self.value, self.relation, self.unit)

    @property
    def uncertainty_words(self) -> str:
        return say_uncertainty(self.uncertainty, self.relation, self.unit)


@dataclass(frozen=True)
class PointRead:
    """One point with what it should read, and its readings that stand."""

    name: str
    quantity: Quantity
    expected: float | None
    lower: float | None
    upper: float | None
    as_found: Read | None
    as_left: Read | None

    @property
    def expected_words(self) -> str:
        return say(self.expected, self.quantity.unit)

    @property
    def band(self) -> str:
        return say_band(self.lower, self.upper, self.quantity.unit)

    def on_scale(self, read: Read | None) -> float | None:
        """The value of one of its readings where it is of the point's own quantity."""
        return read.value if read is not None and read.quantity is self.quantity else None


def points_read(order: RepairOrder) -> tuple[PointRead, ...]:
    """The points of an order that were read."""
    return tuple(_point(row) for row in as_found_as_left(order) if row.as_found or row.as_left)


def meters(points: Sequence[PointRead]) -> list[str]:
    """Each instrument once, with the day on which its calibration ends."""
    seen: dict[str, None] = {}
    for point in points:
        for one in (point.as_found, point.as_left):
            if one is not None:
                due = f", calibration due {day(one.due_on)}" if one.due_on else ", no calibration on record"
                seen[f"{one.instrument}{due}"] = None
    return list(seen)


def conditions(points: Sequence[PointRead]) -> list[str]:
    """Under what conditions the readings were taken, each once."""
    seen: dict[str, None] = {}
    for point in points:
        for phase, one in (("as found", point.as_found), ("as left", point.as_left)):
            if one is not None and (one.condition or one.mains_v):
                supply = f"{one.mains_v:g} V" if one.mains_v else ""
                seen[f"{phase}: {', '.join(part for part in (one.condition, supply) if part)}"] = None
    return list(seen)


def _point(row: Row) -> PointRead:
    point = row.point
    return PointRead(point.name, point.quantity, point.expected, point.lower, point.upper, _read(row.as_found),
                     _read(row.as_left))


def _read(one: Reading | None) -> Read | None:
    if one is None:
        return None
    return Read(one.value, one.relation, one.unit, one.quantity, one.uncertainty, one.verdict, one.explanation, one.condition,
                one.mains_v, one.instrument_words, one.due_on, one.at, "" if one.standing.counts else one.standing.value)
