"""The waste log: what came out, where it is kept, to whom it went."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.findings.models.waste import Waste
from app.findings.rules.waste import Material
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


def record_waste(order: RepairOrder, *, material: Material, presumed: bool, quantity: float, unit: str, container: str,
                 note: str = "", by: Actor, now: datetime) -> Waste:
    """Something hazardous that came out of this amp."""
    must_be_open(order)
    if quantity <= 0:
        raise BadInput("Enter how much, more than nothing.", "quantity")
    for field, text, words in (("unit", unit, "Enter in which unit: pieces, g, ml."),
                               ("container", container, "Enter in which container it is kept.")):
        if not text.strip():
            raise BadInput(words, field)
    waste = Waste(order_id=order.id, material=material, presumed=presumed, quantity=quantity, unit=" ".join(unit.split()),
                  container=" ".join(container.split()), note=" ".join(note.split()), at=now, by_name=by.name)
    session().add(waste)
    record(Event.WASTE_RECORDED, waste, by=by, now=now, after={
        "material": material.value, "presumed": presumed, "quantity": f"{quantity:g} {waste.unit}",
        "container": waste.container, "note": waste.note})
    return waste


def transfer_waste(waste: Waste, *, to: str, paper: str = "", by: Actor, now: datetime) -> None:
    """To a carrier, a depot, or back to the owner with a warning. It may be after the order has ended."""
    _must_stand(waste)
    if waste.handed_at is not None:
        raise RuleBroken(f"It was handed to {waste.handed_to} already.")
    if not to.strip():
        raise BadInput("Enter to whom it was handed.", "to")
    waste.handed_at, waste.handed_by = now, by.name
    waste.handed_to, waste.handed_paper = " ".join(to.split()), " ".join(paper.split())
    record(Event.WASTE_TRANSFERRED, waste, by=by, now=now, after={"to": waste.handed_to, "paper": waste.handed_paper})


def strike_waste(waste: Waste, *, reason: str, by: Actor, now: datetime) -> None:
    """An entry made by mistake."""
    _must_stand(waste)
    if not reason.strip():
        raise BadInput("Enter why it is struck out.", "reason")
    waste.struck_at, waste.struck_reason = now, " ".join(reason.split())
    record(Event.WASTE_STRUCK, waste, by=by, now=now, before={"material": waste.material.value},
           after={"struck": True}, reason=waste.struck_reason)


def _must_stand(waste: Waste) -> None:
    if waste.struck_at is not None:
        raise RuleBroken("This entry is struck.")
