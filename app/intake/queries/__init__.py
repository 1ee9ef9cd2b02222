"""Reading what the counter recorded: the sheets of an order, people and amps found by words, the receipt's facts."""

from app.intake.queries.receipt import ReceiptFacts, receipt_facts
from app.intake.queries.search import (
    Match,
    Records,
    amps_of,
    earlier_orders,
    find_amp,
    find_customer,
    matches,
    orders_of_amp,
    orders_of_customer,
    records,
)
from app.intake.queries.sheets import (
    acceptance,
    acceptances,
    accessories,
    agreement,
    complaint,
    complaint_words,
    condition_notes,
    condition_photos,
    counted,
    facts,
    find_note,
    first_look,
    people_of,
    quarantine,
    quarantines,
)

__all__ = ["Match", "ReceiptFacts", "Records", "acceptance", "acceptances", "accessories", "agreement", "amps_of",
           "complaint", "complaint_words", "condition_notes", "condition_photos", "counted", "earlier_orders", "facts",
           "find_amp", "find_customer", "find_note", "first_look", "matches", "orders_of_amp", "orders_of_customer",
           "people_of", "quarantine", "quarantines", "receipt_facts", "records"]
