"""Every paper that the orders of a shop have."""

from __future__ import annotations

from collections.abc import Iterator

import sqlalchemy as sa

from app.db import session
from app.documents.paper import paper
from app.documents.rules import Kind
from app.errors import RuleBroken
from app.orders.models import RepairOrder


def every_paper() -> Iterator[tuple[RepairOrder, Kind, str]]:
    """Order, kind and page, which is what its PDF is made of. Inside a request."""
    for order in session().scalars(sa.select(RepairOrder).order_by(RepairOrder.id)).all():
        for kind in Kind:
            try:
                yield order, kind, paper(order, kind).page
            except RuleBroken:  # it has no such paper
                continue
