"""Parts, made as the shop makes them. Call inside `with transaction():`."""

from __future__ import annotations

from typing import Any

from app.db import session
from app.orders.models import RepairOrder
from app.parts import service
from app.parts.models import Part
from app.parts.rules import Arrival, Incoming, Need, PartKind, Rating
from app.quote.rules.words import PartCondition
from tests.factories import NOW
from tests.people import BY


def need(**given: Any) -> Need:
    """A supply capacitor whose place sees 420 V at most."""
    usual = {"what": "47u 450 V", "kind": PartKind.CAPACITOR, "quantity": 3, "place": "C14", "rating": Rating(volts=420.0),
             "rating_source": "computed at 10 % high mains"}
    return Need(**{**usual, **given})


def arrival(**given: Any) -> Arrival:
    usual = {"condition": PartCondition.NEW, "rating": Rating(volts=450.0), "batch": "2541", "test": Incoming.PASSED,
             "test_words": "46.2u, leakage 40 uA at 450 V", "charged_minor": 4200}
    return Arrival(**{**usual, **given})


def part(order: RepairOrder, line_root_id: int | None = None, **given: Any) -> Part:
    made = service.need(order, need(**given), line_root_id, by=BY, now=NOW)
    session().flush()
    return made


def bought(price_minor: int = 4200, **given: Any) -> service.Purchase:
    return service.Purchase(**{"supplier": "Brackwater Components", "ordered_minor": price_minor, **given})
