"""The blueprint of an amp's sheet, and how its pages come by it."""

from __future__ import annotations

from flask import Blueprint

from app.access.rules import May
from app.circuits import queries
from app.circuits.models import AmpSheet, PrintedVolts, SheetBlock
from app.errors import NotFound
from app.measuring.rules import say
from app.orders.loading import load_order
from app.orders.models import RepairOrder

bp = Blueprint("circuits", __name__, url_prefix="/orders/<int:order_id>/sheet")


@bp.app_template_filter("volts")
def show_volts(value: float) -> str:
    """Volts to four digits."""
    return say(value, "V", 4)


@bp.app_template_filter("quantity")
def show_quantity(value: float, unit: str, digits: int = 3) -> str:
    """A quantity in its unit, as the bench writes it."""
    return say(value, unit, digits)


def load_sheet(order_id: int, what: May = May.SEE) -> tuple[RepairOrder, AmpSheet]:
    """An order with the sheet of its amp."""
    order = load_order(order_id, what)
    sheet = queries.of_order(order)
    if sheet is None:
        raise NotFound("This amp has no sheet yet. Begin it on the order’s sheet page.")
    return order, sheet


def load_block(order_id: int, block_id: int, what: May = May.SEE) -> tuple[RepairOrder, AmpSheet, SheetBlock]:
    """A block of the order's sheet that stands."""
    order, sheet = load_sheet(order_id, what)
    found = queries.find_block(block_id)
    if found is None or found.sheet_id != sheet.id or found.withdrawn_at is not None:
        raise NotFound("There is no such block on this sheet.")
    return order, sheet, found


def load_printed(order_id: int, printed_id: int) -> tuple[RepairOrder, PrintedVolts]:
    """Printed volts of the order's sheet."""
    order, sheet = load_sheet(order_id, May.WORK)
    found = next((one for one in sheet.prints if one.id == printed_id), None)
    if found is None:
        raise NotFound("There are no such printed volts on this sheet.")
    return order, found
