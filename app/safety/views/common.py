"""The blueprint of an order's safety pages, and how they come by tests, steps and soak runs."""

from __future__ import annotations

from flask import Blueprint

from app.access.rules import May
from app.errors import NotFound
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.safety import queries
from app.safety.models.testing import SafetyTest, TestStep

bp = Blueprint("safety", __name__, url_prefix="/orders/<int:order_id>/safety")


def load_test(order_id: int, test_id: int, what: May) -> tuple[RepairOrder, SafetyTest]:
    """An order's safety test."""
    order, found = load_order(order_id, what), queries.find_test(test_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such safety test on this order.")
    return order, found


def load_step(order_id: int, step_id: int, what: May) -> tuple[RepairOrder, TestStep]:
    """A step of one of an order's tests."""
    order, found = load_order(order_id, what), queries.find_step(step_id)
    if found is None or found.test.order_id != order_id:
        raise NotFound("There is no such step on this order.")
    return order, found
