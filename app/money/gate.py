"""What of an order's money must be settled before it is void."""

from __future__ import annotations

from app.errors import Missing
from app.kernel.money import show
from app.money import queries
from app.orders.models import RepairOrder
from app.shop.queries import the_shop


def no_money_stands(order: RepairOrder) -> list[Missing]:
    """Nothing is owed on it and nothing is held: an order that was opened by mistake keeps nobody's money."""
    stands, currency = queries.account(order.id).balance, the_shop().currency
    here = (("order_id", order.id),)
    if stands.held_minor:
        return [Missing(f"{show(stands.held_minor, currency)} of the customer’s is held: record the refund, or strike out the "
                        "entry if it was wrong.", "money.page", here)]
    if stands.owed_minor > 0:
        return [Missing(f"{show(stands.owed_minor, currency)} is owed: correct the bill with a credit note.", "money.page", here)]
    return []
