"""What runs by the clock among the instruments."""

from __future__ import annotations

from app.measuring import queries
from app.orders.gates import Clock
from app.orders.models import RepairOrder
from app.orders.standing import after


def calibration_ends(_order: RepairOrder) -> list[Clock]:
    """An instrument's calibration ends: told to nobody here, but what rests on it is worked out anew."""
    return [Clock(after(day)) for day in queries.calibrations_end()]
