"""The tables of the strip-down."""

from app.teardown.models.boards import Board, BoardPosition
from app.teardown.models.catalogue import UsualFinding
from app.teardown.models.findings import Finding
from app.teardown.models.made_safe import MadeSafe
from app.teardown.models.special import BakeOut, FindingWire, LeakageReading, Round
from app.teardown.models.waste import Waste

__all__ = ["BakeOut", "Board", "BoardPosition", "Finding", "FindingWire", "LeakageReading", "MadeSafe", "Round",
           "UsualFinding", "Waste"]
