"""The spaces of an amp that are counted before they close: what usually lies in which, and what closes one. Pure.

Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.removals.rules import Kind

CHASSIS, ON_CHASSIS, CABINET = "chassis", "chassis top", "cabinet"
CAVITIES = (CHASSIS, ON_CHASSIS, CABINET)  # a shop may name its own
CLOSES_NOTHING = "nothing"
# What is asked which cavity it closes; boards and boxes close their own.
CLOSING = frozenset({Kind.COVER, Kind.CHASSIS, Kind.SCREENING_BOX, Kind.TAG_BOARD, Kind.PRINTED_BOARD})


@dataclass(frozen=True)
class Scope:
    """What is counted together: the whole order, one sub-assembly ("" is what belongs to none), or one cavity."""

    unit: str | None = None
    cavity: str = ""

    def holds(self, unit: str, cavity: str) -> bool:
        """Whether what belongs to a sub-assembly and lies in a cavity is counted here."""
        if self.cavity:
            return cavity.casefold() == self.cavity.casefold()
        return self.unit is None or unit == self.unit

    @property
    def words(self) -> str:
        if self.cavity:
            return self.cavity
        return "whole job" if self.unit is None else self.unit or "no sub-assembly"


WHOLE = Scope()


def usual_cavity(kind: Kind) -> str:
    """In which cavity such a thing usually lies; "" for what closes the amp from outside. (Common practice, no source.)"""
    if kind in (Kind.VALVE, Kind.OUTPUT_VALVE, Kind.VALVE_RECTIFIER, Kind.RETAINER):
        return ON_CHASSIS
    if kind in (Kind.SPEAKER, Kind.REVERB_TANK, Kind.CHASSIS):
        return CABINET
    return "" if kind in (Kind.COVER, Kind.FUSE, Kind.WOOD_SCREW) else CHASSIS


def implied_cavity(kind: Kind, mark: str) -> str:
    """What a board or box closes by itself: the space under it, or inside it."""
    if kind in (Kind.TAG_BOARD, Kind.PRINTED_BOARD):
        return f"under {mark}"
    return f"inside {mark}" if kind is Kind.SCREENING_BOX else ""
