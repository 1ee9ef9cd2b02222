"""Reading the way back."""

from app.reassembly.queries.way import Way, counts_of, handovers_of, records_of, to_planner, way_back
from app.reassembly.queries.work import Balanced, Group, balances, proposals

__all__ = ["Balanced", "Group", "Way", "balances", "counts_of", "handovers_of", "proposals", "records_of", "to_planner",
           "way_back"]
