"""Every gate of the house, in the order in which a person reads what is missing, and every clock that runs on an order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.access.rules import May
from app.contact import due as contact_due
from app.discharge import gate as discharge
from app.discharge import queries as discharge_queries
from app.documents import gate as documents
from app.documents import receipts
from app.documents.rules import Kind
from app.findings import clocks as findings_clocks
from app.findings import gate as findings
from app.handover import clocks as handover_clocks
from app.handover import due as handover_due
from app.handover import gate as handover
from app.hours import clocks as hours_clocks
from app.hours import due as hours_due
from app.hours import forecast
from app.hours import gate as hours
from app.incidents import clocks as incidents_clocks
from app.incidents import due as incidents_due
from app.intake import gate as intake
from app.measuring import clocks as measuring_clocks
from app.measuring import due as measuring_due
from app.measuring import gate as measuring
from app.money import gate as money
from app.orders import power
from app.orders.due import Source
from app.orders.gates import Clocks, Gate
from app.orders.models import RepairOrder
from app.orders.power import Check
from app.orders.stages import End, Stage
from app.parts import clocks as parts_clocks
from app.parts import due as parts_due
from app.parts import gate as parts
from app.powerup import gate as powerup
from app.quote import clocks as quote_clocks
from app.quote import due as quote_due
from app.quote import gate as quote
from app.reassembly import clocks as reassembly_clocks
from app.reassembly import gate as reassembly
from app.removals import gate as removals
from app.safety import clocks as safety_clocks
from app.safety import due as safety_due
from app.safety import gate as safety

GATES: tuple[Gate, ...] = (
    Gate(Stage.INTAKE, intake.intake_finished),
    Gate(Stage.INTAKE, documents.receipt_issued),
    Gate(Stage.TEARDOWN, discharge.discharged),
    Gate(Stage.TEARDOWN, findings.findings_decided),
    Gate(Stage.TEARDOWN, removals.everything_is_tagged),
    Gate(Stage.TEARDOWN, hours.called),
    Gate(Stage.QUOTE, quote.quote_answered),
    Gate(Stage.PARTS, parts.parts_here),
    Gate(Stage.REASSEMBLY, reassembly.nothing_is_left),
    Gate(Stage.REASSEMBLY, reassembly.nothing_is_lost_or_unexplained),
    Gate(Stage.REASSEMBLY, reassembly.hazards_are_acted_on),
    Gate(Stage.REASSEMBLY, reassembly.no_part_lies_about),
    Gate(Stage.REASSEMBLY, reassembly.nothing_is_in_the_warmth),
    Gate(Stage.SAFETY_TEST, safety.may_be_energised),
    Gate(Stage.SAFETY_TEST, safety.readings_judged),
    Gate(Stage.SAFETY_TEST, measuring.no_reading_in_doubt),
    Gate(Stage.SAFETY_TEST, safety.findings_proved),
    Gate(Stage.SAFETY_TEST, safety.test_passed),  # earth and insulation before hours on mains
    Gate(Stage.SAFETY_TEST, safety.soaked),
    Gate(Stage.SAFETY_TEST, powerup.powered_up),
    Gate(Stage.SAFETY_TEST, hours.stopped),
    Gate(Stage.RETURN, handover.handed_over),  # its sheets and the signature are asked for before the report
    Gate(Stage.RETURN, documents.report_issued),
    Gate(End.REPAIRED, handover.passed_and_stands),
    Gate(End.UNREPAIRED, hours.stopped),
    Gate(End.UNREPAIRED, handover.warned),
    Gate(End.UNREPAIRED, documents.label_issued),
    Gate(End.UNCOLLECTED, hours.stopped),
    Gate(End.UNCOLLECTED, handover.waited),
    Gate(End.VOID, hours.stopped),
    Gate(End.VOID, money.no_money_stands),
    Gate(End.VOID, parts.nothing_was_bought),
)

# What makes the receipt when the terms are signed.
RECEIPT = receipts.issue_after_signing

# What speaks against putting an amp on power.
POWER_CHECKS: tuple[Check, ...] = (reassembly.closed_up, safety.earth_not_measured, measuring.earth_in_doubt)

# What earth and insulation on the way back are held against: the profile of the safety test, a room further on.
EARTH_LIMIT = safety.earth_limit
INSULATION_LIMIT = safety.insulation_limit

CLOCKS: tuple[Clocks, ...] = (
    findings_clocks.bake_out_over, quote_clocks.quote_lapses, parts_clocks.part_expected, reassembly_clocks.dried,
    safety_clocks.soak_over, handover_clocks.notice_over, incidents_clocks.report_due,
    measuring_clocks.calibration_ends, hours_clocks.hours_run,
)

# What is due by a day, as the bench list counts it and its page shows it; asked as one query.
DUE: tuple[Source, ...] = (
    incidents_due.REPORTS, hours_due.CALLS, contact_due.TRIES, contact_due.COLLECTIONS, quote_due.REPLIES, hours_due.PROMISES,
    parts_due.ARRIVALS, safety_due.RETESTS, handover_due.NOTICES, contact_due.REFUSALS, measuring_due.CALIBRATIONS,
)

# What else is worked out of an order whenever something of it is written, and kept beside its standing.
FOLLOWERS = (forecast.follow,)


def do_not_energise(order: RepairOrder) -> str:
    """Why the amp must not be energised; empty while it may be."""
    standing = power.do_not_energise(order.id)
    return standing.reason if standing else ""


def shown_discharged(order: RepairOrder) -> str:
    """By which readings every supply capacitor is shown below the limit; empty while they are not."""
    return discharge_queries.shown(order)


# What is done on each page that a gate points to, as its button says it.
ACTS: dict[str, str] = {
    "bench.order": "Open the order",
    "contact.message": "Open the message",
    "contact.new": "Record the contact",
    "discharge.page": "Record the discharge",
    "documents.issued": "Record the label as tied",
    "documents.receipt": "Issue the receipt",
    "documents.twin": "Issue the paper",
    "findings.end_bake": "End the bake-out",
    "findings.finding": "Decide on the finding",
    "findings.reopen": "Reopen the finding",
    "handover.accessories": "Return the accessories",
    "handover.acknowledge": "Have the warning acknowledged",
    "handover.disposal": "Record what became of it",
    "handover.notice": "Record the notice",
    "handover.old_parts": "Settle the old parts",
    "handover.shown": "Show the amp working",
    "handover.sign": "Have it signed",
    "handover.sums": "Settle what is due",
    "handover.uncollected": "Open the notices",
    "handover.unrepaired": "Enter why it leaves unrepaired",
    "hours.call": "Record the call",
    "hours.page": "Stop the timer",
    "incidents.one": "Open the incident",
    "instruments.one": "Record the calibration",
    "intake.accessories": "Count the accessories",
    "intake.amp": "Identify the amp",
    "intake.complaint": "Record the complaint",
    "intake.condition": "Photograph the amp",
    "intake.lift": "Remove the do-not-energise mark",
    "intake.look": "Do the danger check",
    "intake.money": "Record the agreement",
    "intake.people": "Enter a way to reach them",
    "intake.place": "Change the promised day",
    "intake.terms": "Have the terms signed",
    "instruments.doubt": "Settle the reading in doubt",
    "measuring.explain": "Explain the reading",
    "measuring.page": "Add the points",
    "measuring.take": "Take the reading",
    "money.page": "Settle the money",
    "parts.again": "Order the same again",
    "parts.drop": "Send it back or drop it",
    "parts.fit": "Fit the part",
    "parts.new": "Add the part",
    "parts.order": "Order the part",
    "parts.rating": "Look at the rating again",
    "parts.receive": "Receive the part",
    "powerup.page": "Open the first power-up",
    "profiles.page": "Choose the limits in force",
    "quote.answer": "Record the answer",
    "quote.declined": "Record the acknowledgement",
    "quote.issue": "Issue the quote",
    "quote.new_line": "Add an item to the quote",
    "quote.page": "Open the quote",
    "reassembly.balance": "Open the balance",
    "reassembly.found": "Explain what was found",
    "reassembly.page": "Open the way back",
    "removals.one": "Open the removal",
    "removals.one_lost": "Settle the lost piece",
    "safety.page": "Open the safety tests",
    "safety.prove": "Prove the finding",
    "safety.soak": "Open the soak run",
    "safety.test": "Finish the safety test",
}

# What an act needs where anybody may read its page; elsewhere the page itself says it.
ACT_NEEDS: dict[str, May] = {
    "discharge.page": May.WORK,
    "documents.issued": May.HAND_OUT,
    "documents.receipt": May.CHECK_IN,
    "findings.finding": May.WORK,
    "hours.page": May.WORK,
    "instruments.doubt": May.WORK,
    "measuring.page": May.WORK,
    "money.page": May.HAND_OUT,
    "powerup.page": May.TEST,
    "profiles.page": May.SETTINGS,
    "removals.one_lost": May.WORK,
    "safety.test": May.TEST,
}


def act_needs(endpoint: str, values: Mapping[str, Any]) -> May | None:
    """What the act on this page needs beyond reading it; each paper is issued by those whose room it is of."""
    if endpoint == "documents.twin":
        return documents.ISSUED_BY[Kind(values["kind"])]
    return ACT_NEEDS.get(endpoint)
