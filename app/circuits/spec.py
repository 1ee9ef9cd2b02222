"""What is asked about a sheet as a whole, and about volts that a schematic prints."""

from __future__ import annotations

from dataclasses import dataclass

from app.circuits.rules.compare import PRINTED, Source
from app.circuits.rules.work import METER_OHM
from app.electrics import show
from app.kernel.spec import Choice, Flag, Number, Text, asked, values


def _volts(value: float | None) -> str:
    return "" if value is None else show(value, "V", digits=5)


@dataclass(frozen=True)
class SheetFacts:
    """How the sheet's amp is read: the mains at it (V), the meter's input (ohm), and whether all loads are on the sheet."""

    mains_v: float | None = asked(Number("Mains measured at the amp", low=50, high=300, wrong="Enter volts from 50 to 300.",
                                         unit="V", journal="mains", said=_volts), None)
    meter_ohm: float = asked(Number("Input of the meter on volts DC", "Enter the meter’s input resistance, 10M for most.", low=1e3,
                                    high=1e12, wrong="Enter 1k or more.", unit="ohm", journal="meter input",
                                    said=lambda ohm: show(ohm, "ohm")), METER_OHM)
    whole: bool = asked(Flag("Everything that draws from the supply is on this sheet", journal="all loads are on it"), False)
    speaks: Source = asked(Choice("Readings are held against", None, words=values(Source), drop_down=True, journal="expected from"),
                           Source.CALCULATED)


@dataclass(frozen=True)
class PrintedFacts:
    """Volts printed at a node, at the tap's volts; tolerance a fraction (entered in per cent)."""

    node: str = asked(Text("Node", "Choose or enter the node.", longest=80))
    volt: float | None = asked(Number("Printed volts DC", "Enter the volts that the drawing prints.", low=-1500, high=1500,
                                      wrong="Enter volts from −1500 to 1500.", unit="V", said=_volts), None)
    percent: float = asked(Number("Tolerance", "Enter per cent, 20 where the drawing says nothing.", low=1, high=90,
                                  wrong="Enter per cent from 1 to 90.", journal="tolerance",
                                  said=lambda percent: f"±{percent:g} %"),
                           100 * PRINTED)
    said: str = asked(Text("Where it stands", longest=60, journal="drawing"), "")
