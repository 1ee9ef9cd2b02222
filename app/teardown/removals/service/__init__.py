"""What people do with what comes off. Each function is one act: rule, write, journal; the caller commits."""

from app.teardown.removals.service.odd import countersign, explain, find_again, found, lost, searched
from app.teardown.removals.service.outcome import decide_fate, end_removal, reopen_removal, strike_removal
from app.teardown.removals.service.pieces import enter_pieces, strike_entry
from app.teardown.removals.service.record import Facts, change_removal, record_removal, same_again

__all__ = ["Facts", "change_removal", "countersign", "decide_fate", "end_removal", "enter_pieces", "explain", "find_again",
           "found", "lost", "record_removal", "reopen_removal", "same_again", "searched", "strike_entry",
           "strike_removal"]
