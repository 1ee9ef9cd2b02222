"""What in an order can take a figure of a kept calculation."""

from __future__ import annotations

from dataclasses import dataclass

from app.kept.rules import Purpose
from app.measuring import queries as measuring
from app.measuring.models import Point
from app.orders.models import RepairOrder
from app.parts import queries as parts
from app.parts.models import Part
from app.parts.rules import PartState

_OHM = {"\u03a9": "ohm"}


@dataclass(frozen=True)
class Target:
    """A part's place, a point or the discharge record, and what for."""

    purpose: Purpose
    part: Part | None = None
    point: Point | None = None

    @property
    def key(self) -> str:
        """As the form sends it."""
        whose = f"part-{self.part.id}" if self.part else f"point-{self.point.id}" if self.point else "discharge"
        return f"{whose}-{self.purpose.name.lower()}"

    @property
    def place(self) -> str:
        """'C14', 'V5 grid, pin 5', 'the discharge record'."""
        return self.part.place if self.part else self.point.name if self.point else "the discharge record"

    @property
    def words(self) -> str:
        """'C14, 47u 450 V: worst-case voltage'."""
        what = f"{self.place}, {self.part.title}" if self.part else self.place
        return f"{what}: {self.purpose.value}"

    @property
    def unit(self) -> str:
        """The unit that a figure for it must have."""
        if self.point is not None:
            return _OHM.get(self.point.quantity.unit, self.point.quantity.unit)
        return self.purpose.unit


def offered(order: RepairOrder, *, parts_too: bool) -> list[Target]:
    """Everything of this order that a figure can go to; parts only to whoever may change them, and until they have come."""
    waiting = [part for part in parts.parts_of(order) if part.state in (PartState.NEEDED, PartState.ORDERED)] if parts_too else []
    found = [Target(purpose, part=part) for part in waiting for purpose in Purpose if purpose.of_a_part]
    found += [Target(Purpose.EXPECTED, point=point) for point in measuring.points_of(order)]
    return [*found, Target(Purpose.ENERGY), Target(Purpose.TIME)]
