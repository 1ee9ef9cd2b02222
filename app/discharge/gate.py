"""What must hold before an amp leaves the strip-down: every supply capacitor is shown discharged."""

from __future__ import annotations

from app.discharge import queries
from app.errors import Missing
from app.orders.models import RepairOrder
from app.orders.stages import Stage


def discharged(order: RepairOrder) -> list[Missing]:
    """Every capacitor listed and measured below the limit. It must stand while the amp is stripped; later it is enough that it
    was recorded: hands went in then, and what it shows today stands on top of every page.
    """
    if queries.is_discharged(order):
        return []
    if not queries.was_recorded(order):
        return [_missing(order, "Discharge the supply and the bias supply, measure every capacitor, and record that.")]
    if order.stage is not Stage.TEARDOWN:
        return []
    found = queries.state(order.id)
    if found is None:
        return [_missing(order, "Only one reading was recorded: measure every supply capacitor, and record that.")]
    if found.powered_since:
        return [_missing(order, "The amp was powered again: discharge and measure it once more.")]
    return [_missing(order, f"{found.why_not} Discharge and measure every supply capacitor again.")]


def _missing(order: RepairOrder, text: str) -> Missing:
    return Missing(text, "discharge.page", (("order_id", order.id),))
