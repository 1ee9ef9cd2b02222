"""Removals entered as the bench enters them. Call inside `with transaction():`."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from app.db import session
from app.orders.models import RepairOrder
from app.reassembly import planner
from app.removals.models import Removal, RemovalTie
from app.removals.rules import Fate, Kind, OldPart, Side, Tie, WireEnd
from app.removals.service import record as record_service
from app.removals.spec import RemovalFacts
from tests.people import BY

NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)


def removal(order: RepairOrder, mark: str = "P1", **given: Any) -> Removal:
    """One thing off, a pot of the front panel unless told otherwise."""
    facts = RemovalFacts(**{"name": f"pot {mark}", "kind": Kind.CONTROL, "place": "front panel", "side": Side.OUTSIDE,
                     "stack": ("knob", "nut", "flat washer", "fascia", "chassis", "toothed washer", "body"),
                     "stays_on_loom": True, "bag": f"bag {mark}", **given})
    return record_service.record_removal(order, mark, facts, by=BY, now=NOW)


def put_under(removal: Removal, over: Removal) -> None:
    """Say of an earlier removal that it lay under a later one, which no form would take: rows may hold what they hold."""
    removal.ties.append(RemovalTie(order_id=removal.order_id, to=over, how=Tie.UNDER, at=NOW, by_name=BY.name))
    session().flush()


def enter(order: RepairOrder, ledger: Iterable[planner.Removal]) -> dict[str, Removal]:
    """A planner's ledger as records of this order, in its order: by mark."""
    made = {}
    for one in ledger:
        facts = RemovalFacts(
            name=one.label or one.id, kind=Kind(one.kind), unit=one.unit or "", place=one.place or "",
            side=Side(one.side) if one.side else None, fixed_to=one.on or "", under=one.under, stack=one.stack,
            fasteners=dict(one.fasteners), ends=tuple(WireEnd(pin) for pin in one.ends), keyed=one.keyed,
            orientation=one.orientation, stays_on_loom=one.stays_on_loom, bag=f"tray {one.id}", fate=Fate(one.fate),
            fate_reason="worn" if one.fate != "refit" else "", old_part=OldPart.CUSTOMER if one.fate == "replace" else None,
            minutes=one.minutes, unattended_minutes=one.unattended_minutes)
        made[one.id] = record_service.record_removal(order, one.id, facts, by=BY, now=NOW)
    return made
