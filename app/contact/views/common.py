"""What the pages of the log and of mail share."""

from __future__ import annotations

from flask import Blueprint, request

from app.access.guard import allow
from app.access.rules import May
from app.db import session
from app.errors import NotFound
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.records.models import Customer

bp = Blueprint("contact", __name__, url_prefix="/contact")
mail_bp = Blueprint("mail", __name__, url_prefix="/mail")


def load_customer(customer_id: int | None, what: May = May.SEE) -> Customer:
    """The customer at this address."""
    allow(what)
    found = session().get(Customer, customer_id) if customer_id is not None else None
    if found is None:
        raise NotFound("There is no customer at this address.")
    return found


def about(what: May) -> tuple[Customer, RepairOrder | None]:
    """Whom and which repair a form is about, as its address says; of a repair alone, whoever left the amp.

    A record that was merged stands for the one that was kept.
    """
    order_id = request.args.get("order", type=int)
    order = load_order(order_id, what) if order_id is not None else None
    customer_id = request.args.get("customer", type=int)
    if customer_id is None and order is not None:
        return order.depositor, order
    who = load_customer(customer_id, what)
    return (load_customer(who.merged_into_id, what) if who.merged_into_id is not None else who), order
