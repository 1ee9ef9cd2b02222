"""What must hold before an order leaves the quote."""

from __future__ import annotations

from app.errors import Missing
from app.kernel.money import show
from app.orders import authority
from app.orders.models import RepairOrder
from app.quote import queries
from app.shop.queries import the_shop


def quote_answered(order: RepairOrder) -> list[Missing]:
    """Every open hazard is on the quote, the revision in force is current and authorised, its sum covered, refusals in writing."""
    return [*_hazards(order), *(_revision(order) or _answer(order) or _acknowledged(order))]


def _hazards(order: RepairOrder) -> list[Missing]:
    return [Missing(f"{finding.called} is a {finding.risk.word if finding.risk else ''} risk: put it on the quote.",
                    "quote.new_line", (("order_id", order.id), ("finding", finding.id)))
            for finding in queries.pressing_findings_not_quoted(order)]


def _revision(order: RepairOrder) -> list[Missing]:
    here, quote = (("order_id", order.id),), queries.current(order)
    if quote is None and not queries.lines(order.id):
        return [Missing("Draw up the quote: write its first line.", "quote.new_line", here)]
    if quote is None:
        return [Missing("Issue the quote.", "quote.issue", here)]
    if queries.out_of_date(order):
        return [Missing(f"Items were changed after revision {quote.number}: issue the next one.", "quote.issue", here)]
    return []


def _answer(order: RepairOrder) -> list[Missing]:
    here, quote, answer = (("order_id", order.id),), queries.current(order), queries.authorisation(order)
    if quote is None or answer is None or answer.quote_id != quote.id:
        number = quote.number if quote else 1
        return [Missing(f"Record what {order.authority.name} answered to revision {number} of the quote.", "quote.answer", here)]
    if not queries.agreed_lines(order):
        return [Missing("Everything was declined. Record approval of an item, or return the amp unrepaired.", "quote.page", here)]
    comes_to, ceiling = queries.authorised_sum(order) or 0, authority.ceiling(order.id)
    if ceiling is None or ceiling < comes_to:
        return [Missing(f"What is agreed comes to {show(comes_to, the_shop().currency)}: record a cost limit of at least that.",
                        "quote.answer", here)]
    return []


def _acknowledged(order: RepairOrder) -> list[Missing]:
    return [Missing(f"Have it acknowledged in writing that this is declined: {line.what}.", "quote.declined",
                    (("order_id", order.id), ("line_id", line.id))) for line in queries.to_acknowledge(order)]
