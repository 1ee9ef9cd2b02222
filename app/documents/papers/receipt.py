"""The receipt for an amp that came in: all that the counter wrote down."""

from __future__ import annotations

from dataclasses import dataclass

from app.intake.queries import receipt
from app.orders.models import RepairOrder
from app.shop.queries import the_shop

# 2: each paragraph of the terms with its source's address; what a mains pin joins. 3: of owner and approver only the name
VERSION = 3


@dataclass(frozen=True)
class Receipt:
    """What came in, and what was agreed at the counter; sums in minor units of `currency`."""

    currency: str
    intake: receipt.ReceiptFacts
    version: int = VERSION


def facts(order: RepairOrder, _about: int = 0) -> Receipt:
    """The receipt as things stand."""
    return Receipt(the_shop().currency, receipt.receipt_facts(order))
