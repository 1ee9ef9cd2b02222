"""Ready-made records, made as the shop makes them: by calling services. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from app.db import session
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from tests.people import BY

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


def customer(name: str = "Wren Adler", **given: Any) -> Customer:
    given = {"phone": "555 0199", "email": "", **given}
    made = Customer(name=name, added_at=NOW, **given)
    session().add(made)
    session().flush()
    return made


def amp(maker: str = "Tarnholt", model: str = "Meridian 30", **given: Any) -> Amp:
    made = Amp(maker=maker, model=model, serial=given.pop("serial", "M30-0117"), added_at=NOW, **given)
    session().add(made)
    session().flush()
    return made


def order(**given: Any) -> RepairOrder:
    """An order just opened at intake, its amp and customer with it."""
    who = given.pop("customer", None) or customer()
    what = given.pop("amp", None) or amp()
    return orders.open_order(amp_id=what.id, depositor_id=who.id, owner_id=who.id, authority_id=who.id,
                             first_number=given.pop("first_number", 1001), by=given.pop("by", BY), now=given.pop("now", NOW),
                             **given)
