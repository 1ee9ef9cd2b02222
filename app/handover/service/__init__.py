"""One function for each thing that somebody does as an amp goes out."""

from app.handover.service.come_back import come_back
from app.handover.service.going_out import Signed, check_off, hand_out, settle, settle_old_parts, show_working, sign
from app.handover.service.uncollected import Letter, dispose, end_uncollected, send_notice, strike_notice
from app.handover.service.unrepaired import Acknowledging, Leaving, acknowledge, give_back_unrepaired, write_unrepaired

__all__ = ["Acknowledging", "Leaving", "Letter", "Signed", "acknowledge", "check_off", "come_back", "dispose", "end_uncollected",
           "give_back_unrepaired", "hand_out", "send_notice", "settle", "settle_old_parts", "show_working", "sign",
           "strike_notice", "write_unrepaired"]
