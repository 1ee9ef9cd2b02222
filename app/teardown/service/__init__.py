"""What people do at strip-down. Each function is one act: rule, write, journal; the caller commits."""

from app.teardown.service.boards import (
    BoardFacts,
    PositionFacts,
    change_board,
    change_position,
    record_board,
    record_position,
)
from app.teardown.service.catalogue import keep_usual
from app.teardown.service.findings import Facts, change_finding, record_finding
from app.teardown.service.made_safe import powered_again, record_made_safe
from app.teardown.service.outcome import act_on, decide, decline, prove, reopen, withdraw
from app.teardown.service.special import (
    end_bake_out,
    list_wire,
    measure_leakage,
    start_bake_out,
    strike_leakage,
    strike_wire,
)
from app.teardown.service.waste import hand_over, record_waste, strike_waste

__all__ = [
    "BoardFacts", "Facts", "PositionFacts", "act_on", "change_board", "change_finding", "change_position", "decide",
    "decline", "end_bake_out", "hand_over", "keep_usual", "list_wire", "measure_leakage", "powered_again", "prove",
    "record_board", "record_finding", "record_made_safe", "record_position", "record_waste", "reopen", "start_bake_out",
    "strike_leakage", "strike_waste", "strike_wire", "withdraw",
]
