"""What people do with instruments, points and readings."""

from app.measuring.service.instruments import (
    InstrumentFacts,
    add_instrument,
    change_instrument,
    state_accuracy,
    withdraw_accuracy,
)
from app.measuring.service.points import (
    PointFacts,
    add_point,
    add_usual_point,
    change_point,
    ensure_usual_points,
    lay_out,
    withdraw_point,
    withdraw_usual_point,
)
from app.measuring.service.readings import Taken, correct, explain, take

__all__ = ["InstrumentFacts", "PointFacts", "Taken", "add_instrument", "add_point", "add_usual_point",
           "change_instrument", "change_point", "correct", "ensure_usual_points", "explain", "lay_out", "state_accuracy", "take",
           "withdraw_accuracy", "withdraw_point", "withdraw_usual_point"]
