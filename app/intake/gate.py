"""What must hold before an amp leaves the counter."""

from __future__ import annotations

from app.errors import Missing
from app.intake.queries.sheets import facts
from app.intake.rules import missing_items
from app.orders.models import RepairOrder


def intake_finished(order: RepairOrder) -> list[Missing]:
    """Everything still missing at intake, each with the sheet on which it is written."""
    return [Missing(lack.text, f"intake.{lack.part}", (("order_id", order.id),)) for lack in missing_items(facts(order))]
