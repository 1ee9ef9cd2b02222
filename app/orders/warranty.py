"""Who pays for a come-back, as far as it is decided: read wherever a fee or a sum is asked for."""

from __future__ import annotations

from enum import StrEnum

from app.orders.models import RepairOrder


class Pays(StrEnum):
    """Who pays for the work of an order."""

    CUSTOMER = "the customer"
    SHOP = "the shop, under warranty"
    OPEN = "not decided yet"

    @property
    def why_nothing_is_charged(self) -> str:
        """What to say where a charge is refused; empty where the customer pays."""
        return {self.CUSTOMER: "", self.SHOP: "This repair is under warranty: nothing is charged for it.",
                self.OPEN: "This is a come-back: decide first whether it is under warranty. Until then nothing is charged."}[self]


def who_pays(order: RepairOrder) -> Pays:
    """The customer, unless the order is a come-back that is under warranty or not judged yet."""
    if order.come_back_of_id is None or order.under_warranty is False:
        return Pays.CUSTOMER
    return Pays.SHOP if order.under_warranty else Pays.OPEN
