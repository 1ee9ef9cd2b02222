"""What is asked about a board and about each part on it."""

from __future__ import annotations

from dataclasses import dataclass

from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.electrics import show
from app.kernel.spec import Choice, InUnit, Number, Text, asked, values

TOLERANCES = ("1", "2", "5", "10", "20")


def said(value: float | None, unit: str) -> str:
    """A value of a part in bench notation; empty while it is not known."""
    return "" if value is None else show(value, unit=unit)


@dataclass(frozen=True)
class BoardFacts:
    """A board: its name, its kind, a photo of it, and the meter with its accuracy in ± per cent of reading."""

    name: str = asked(Text("Name", "Give the board a name.", longest=60))
    kind: BoardKind = asked(Choice("Kind", "Choose what kind of board it is.", words=values(BoardKind)))
    photo_id: int | None = asked(Choice("Photo of it", drop_down=True, later=True, reads=int, journal="photo",
                                        said=lambda photo: photo or ""), None)
    meter: str = asked(Text("Meter", longest=120), "")
    meter_percent: float = asked(Number("Its accuracy", "Enter the accuracy in per cent of reading, 1 for instance.", low=0,
                                        high=20, wrong="Enter per cent from 0 to 20.", journal="meter accuracy",
                                        said=lambda percent: f"±{percent:g} %"), 1.0)


@dataclass(frozen=True)
class PositionFacts:
    """A position. Values in the SI unit of the part's kind, tolerance a fraction."""

    reference: str = asked(Text("Position", "Give the position a reference, R1 for instance.", longest=20))
    kind: PartKind = asked(Choice("Part", "Choose what part it is.", words=values(PartKind)))
    nominal: float | None = asked(InUnit("Value", unit_of="kind", say=said), None)
    tolerance: float | None = asked(Choice("Tolerance", words={one: f"{one} %" for one in TOLERANCES}, any_text=True,
                                           said=lambda share: "" if share is None else f"{share:.2%}"), None)
    measured_out: float | None = asked(InUnit("Read out of circuit", unit_of="kind", say=said, journal="read out of circuit"), None)
    measured_in: float | None = asked(InUnit("Read in circuit", unit_of="kind", say=said, journal="read in circuit"), None)
    fate: Fate | None = asked(Choice("Disposition", words=values(Fate)), None)
    reason: Reason | None = asked(Choice("Because", words=values(Reason)), None)
    new_part: str = asked(Text("New part", longest=120), "")
    note: str = asked(Text("Note", longest=200), "")
