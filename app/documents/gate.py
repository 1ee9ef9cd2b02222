"""What must be on paper before an amp is out of the house."""

from __future__ import annotations

from app.access.rules import May
from app.documents import queries
from app.documents.paper import facts_of, still_says
from app.documents.rules import Kind
from app.errors import Missing
from app.handover import queries as handover
from app.intake.queries import sheets as intake
from app.kernel.facts import Comparison
from app.orders.models import RepairOrder
from app.orders.stages import Stage

# Whoever does the work that a paper is about.
ISSUED_BY = {Kind.RECEIPT: May.CHECK_IN, Kind.ESTIMATE: May.QUOTE, Kind.REPORT: May.MOVE, Kind.UNREPAIRED: May.HAND_OUT,
             Kind.NOTICE: May.HAND_OUT, Kind.BILL: May.HAND_OUT, Kind.CREDIT: May.HAND_OUT, Kind.PAYMENT: May.HAND_OUT}


def receipt_issued(order: RepairOrder) -> list[Missing]:
    """At the counter: the receipt is issued, and not from before the newest signature. Later the moment has passed."""
    if order.stage is not Stage.INTAKE:
        return []
    signed = intake.acceptance(order.id)
    if signed is None:
        return []  # the terms are asked for first, and the receipt issues itself with them
    newest = queries.newest(order.id, Kind.RECEIPT)
    if newest is not None and newest.issued_at >= signed.at:
        return []
    words = "Issue the receipt." if newest is None else "Issue the receipt again: the terms were signed after it."
    return [Missing(words, "documents.receipt", (("order_id", order.id),))]


def report_issued(order: RepairOrder) -> list[Missing]:
    """The report is issued, and says what stands."""
    return _issued(order, Kind.REPORT, "Issue the repair report.",
                   "Something changed after the repair report was issued: issue the next revision.")


def label_issued(order: RepairOrder) -> list[Missing]:
    """The label is issued, says what stands, and is tied to the amp."""
    if handover.unrepaired(order.id) is None:
        return []  # that it is written at all is asked for by the return
    return (_issued(order, Kind.UNREPAIRED, "Issue the label and tie it to the amp.",
                    "Something changed after the label was issued: issue the next revision and tie it on.") or _tied(order))


def _tied(order: RepairOrder) -> list[Missing]:
    newest = queries.newest(order.id, Kind.UNREPAIRED)
    if newest is None or queries.tied(newest.id) is not None:
        return []
    return [Missing(f"Tie the label, revision {newest.revision}, to the amp and record it.", "documents.issued",
                    (("document_id", newest.id),))]


def _issued(order: RepairOrder, kind: Kind, first: str, again: str) -> list[Missing]:
    here = (("order_id", order.id), ("kind", kind.value))
    newest = queries.newest(order.id, kind)
    if newest is None:
        return [Missing(first, "documents.twin", here)]
    facts = facts_of(order, kind)
    was_draft = bool(newest.draft) and not getattr(facts, "draft", "")  # a report of before the amp was tested, signed for and out
    if was_draft or still_says(newest, facts) is Comparison.CHANGED:
        return [Missing(again, "documents.twin", here)]
    return []
