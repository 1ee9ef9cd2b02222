"""Every paper that the orders of a shop have."""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa

from app.db import session
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import RuleBroken
from app.money import queries as money
from app.orders.models import RepairOrder


def every_paper() -> Iterator[tuple[RepairOrder, Kind, str]]:
    """Order, kind and page, which is what its PDF is made of. Inside a request."""
    for order in session().scalars(sa.select(RepairOrder).order_by(RepairOrder.id)).all():
        for kind in Kind:
            for about in abouts(order, kind):
                try:
                    yield order, kind, paper(order, kind, about).page
                except RuleBroken:  # it has no such paper
                    continue


def abouts(order: RepairOrder, kind: Kind) -> list[int]:
    """What there is a paper of this kind about: each bill, credit note and entry, else the order itself."""
    of = money.account(order.id)
    kept = {Kind.BILL: of.bills, Kind.CREDIT: of.credits, Kind.PAYMENT: of.entries}
    return [one.id for one in kept[kind]] if kind in kept else [0]
