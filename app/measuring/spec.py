"""What is asked about an instrument and about a point."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from app.kernel.spec import Choice, Day, InUnit, Text, asked, values
from app.measuring.rules import Kind, Quantity, State, say

UNITS = {quantity: f"{quantity.word} ({quantity.value})" for quantity in Quantity}


@dataclass(frozen=True)
class InstrumentFacts:
    """What is known of an instrument but for its accuracies."""

    name: str = asked(Text("Name on it", "Enter a short name, such as M2.", longest=20))
    kind: Kind = asked(Choice("What it is", None, words=values(Kind), drop_down=True))
    make: str = asked(Text("Maker and model", longest=120), "")
    serial: str = asked(Text("Serial number", longest=60), "")
    category: str = asked(Text("Safety category", longest=60), "")
    calibrated_on: date | None = asked(Day("Calibrated on"), None)
    due_on: date | None = asked(Day("Calibration due"), None)
    certificate: str = asked(Text("Certificate number", longest=80), "")
    state: State = asked(Choice("Status", None, words=values(State), drop_down=True), State.IN_SERVICE)
    note: str = asked(Text("Note", longest=600, sort="lines"), "")


@dataclass(frozen=True)
class PointFacts:
    """A point and what it should read, in the quantity's unit; `basis` says where the limits come from."""

    name: str = asked(Text("Point", "Name the point, such as V5 grid, pin 5.", longest=80, journal="point"))
    quantity: Quantity = asked(Choice("Read in", None, words=UNITS, drop_down=True, journal="unit",
                                      said=lambda quantity: quantity.value))
    expected: float | None = asked(InUnit("Expected", unit_of="quantity", say=say), None)
    lower: float | None = asked(InUnit("At least", unit_of="quantity", journal=None), None)  # both are told as one band
    upper: float | None = asked(InUnit("At most", unit_of="quantity", journal=None), None)
    basis: str = asked(Text("Limits come from", longest=160), "")
