"""Where what a shop holds of a customer comes from, and why it is kept. Pure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """From where a kind of record comes, and why it is kept."""

    origin: str
    why: str


_COUNTER = "what you said at the counter or the shop saw there"
_BENCH = "what the shop found, measured or did at the bench"
_TO_REACH = Source(_COUNTER, "to reach you and to know whose amp it is")
_REPAIR = Source(_BENCH, "to repair the amp safely and to prove what was done")
_MONEY = Source("what was quoted, agreed, billed and paid", "for the contract with you and the shop’s books")
_SIGNED = Source("what you signed", "to prove what was agreed")
_INCIDENT = Source("what was reported to the shop about an injury or a danger", "for the safety of people and the duty to report")
_KNOWN: dict[str, Source] = {
    **dict.fromkeys(("customer", "repair_order"), _TO_REACH),
    **dict.fromkeys(("complaint", "condition_note", "accessory", "accessory_count", "accessory_return", "first_look", "amp",
                     "photo", "photo_pin", "old_parts", "demonstration"),
                    Source(_COUNTER, "to return to you what you left, as you left it, repaired")),
    **dict.fromkeys(("authority", "quote", "quote_line", "quote_issued_line", "quote_authorisation", "quote_decision", "settlement",
                     "bill", "credit_note", "money_entry",
                     "time_entry", "task", "hours_call", "intake_agreement", "part"), _MONEY),
    **dict.fromkeys(("terms_acceptance", "return_signature", "unrepaired_acknowledgement", "declined_work"), _SIGNED),
    **dict.fromkeys(("incident", "incident_entry"), _INCIDENT),
    **dict.fromkeys(("collection_notice", "disposal"), Source("notices that the shop sent you", "to prove that you were told")),
    "issued_document": Source("papers that the shop gave you", "to prove what they said; bills for the shop’s books"),
    "history": Source("written by the program with every change", "so that no record can be changed unseen"),
}

# What a reader calls the records of a table, where its own name does not say it.
_CALLED = {
    "customer": "Your name and how you are reached", "amp": "Your amps, as they are marked", "repair_order": "Your repairs",
    "photo": "Photos: place, caption, when", "authority": "What you agreed to spend", "terms_acceptance": "Terms that you signed",
    "complaint": "What you said is wrong", "condition_note": "How the amp looked as it came in",
    "accessory": "What came with the amp", "order_move": "Stages of a repair",
    "collection_notice": "Notices to collect", "return_signature": "Your signature at the return",
    "declined_work": "Work that you declined", "quote_authorisation": "Your answers to quotes", "settlement": "What you paid",
    "bill": "Bills", "credit_note": "Credit notes", "money_entry": "Deposits, payments and refunds",
    "issued_document": "Papers that were issued: kind, revision, when", "made_safe": "Discharges of before",
    "chassis_opening": "When the amp was opened", "incident": "Incidents", "incident_entry": "What was told about incidents",
    "history": "Who in the shop recorded or changed what, and when",
}


def called(table: str) -> str:
    """What a reader calls a table's records."""
    return _CALLED.get(table, f"Records of the kind “{table.replace('_', ' ')}”")


def source_of(table: str) -> Source:
    """Of a table's records; those of the bench where nothing else is known."""
    return _KNOWN.get(table, _REPAIR)
