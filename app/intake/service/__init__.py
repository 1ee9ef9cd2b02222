"""What the counter does, one function per thing: people and amps, the check-in, the sheets, the terms."""

from app.intake.service.checking_in import CheckIn, check_in, complain, name_people, place
from app.intake.service.danger import impound, lift, look
from app.intake.service.records import add_amp, add_customer, change_amp, change_customer
from app.intake.service.sheets import count, note_condition, offer, strike_note
from app.intake.service.signing import Signed, accept, agree_diagnosis

__all__ = [
    "CheckIn", "Signed", "accept", "add_amp", "add_customer", "agree_diagnosis", "change_amp", "change_customer",
    "check_in", "complain", "count", "impound", "lift", "look", "name_people", "note_condition", "offer", "place",
    "strike_note",
]
