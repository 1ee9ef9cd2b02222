"""What must be on paper before an amp is out of the house."""

from __future__ import annotations

from app.documents import queries
from app.documents.paper import facts_of, still_says
from app.documents.rules import Comparison, Kind
from app.errors import Missing
from app.handover import queries as handover
from app.orders.models import RepairOrder


def report_issued(order: RepairOrder) -> list[Missing]:
    """The report is issued, and says what stands."""
    return _issued(order, Kind.REPORT, "Issue the repair report.",
                   "Something changed after the repair report was issued: issue the next revision.")


def label_issued(order: RepairOrder) -> list[Missing]:
    """The label is issued, and says what stands."""
    if handover.unrepaired(order.id) is None:
        return []  # that it is written at all is asked for by the return
    return _issued(order, Kind.UNREPAIRED, "Issue the label and tie it to the amp.",
                   "Something changed after the label was issued: issue the next revision and tie it on.")


def _issued(order: RepairOrder, kind: Kind, first: str, again: str) -> list[Missing]:
    here = (("order_id", order.id), ("kind", kind.value))
    newest = queries.newest(order.id, kind)
    if newest is None:
        return [Missing(first, "documents.twin", here)]
    if still_says(newest, facts_of(order, kind)) is Comparison.CHANGED:
        return [Missing(again, "documents.twin", here)]
    return []
