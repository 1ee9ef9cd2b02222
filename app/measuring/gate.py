"""What readings in doubt hold back, and keep off power."""

from __future__ import annotations

from app.errors import Missing
from app.measuring import doubts
from app.measuring.rules import Quantity
from app.orders.models import RepairOrder


def no_reading_in_doubt(order: RepairOrder) -> list[Missing]:
    """Each reading that the amp would leave with and that an instrument found out of tolerance may have got wrong."""
    return [Missing(f"{one.reading.point}, {one.reading.words}, is in doubt: {one.calibration.instrument.name} was found out of "
                    "tolerance. Measure it again, then settle it.", "instruments.doubt", (("doubt_id", one.id),), holds=True)
            for one in doubts.holding(order.id)]


def earth_in_doubt(order: RepairOrder) -> str:
    """What speaks against power while a resistance that safety rests on is in doubt; empty if none is."""
    found = next((one for one in doubts.holding(order.id) if one.is_safety and one.reading.quantity is Quantity.OHM), None)
    return (f"{found.reading.point} is in doubt: {found.calibration.instrument.name} was found out of tolerance. Measure it again."
            if found else "")
