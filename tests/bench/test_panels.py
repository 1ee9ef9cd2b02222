"""The sheets of an order's page."""

from __future__ import annotations

from flask import Flask

from app.bench.panels import PANELS, in_order
from app.db import transaction
from app.orders.stages import End, Stage
from tests import factories


def test_the_sheets_of_the_stage_it_stands_in_come_first_and_none_is_left_out(app: Flask) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order.stage = Stage.REASSEMBLY
        sheets = in_order(order)
        assert [one.template for one in sheets[:3]] == ["hours/_panel.html", "removals/_panel.html", "reassembly/_panel.html"]
        assert set(sheets) == set(PANELS) and len(sheets) == len(PANELS)
        order.ended_as, order.ended_at = End.REPAIRED, order.opened_at
        assert in_order(order) == list(PANELS)
