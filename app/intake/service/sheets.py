"""Condition, accessories, and the fee that is offered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.intake.come_back_rules import Payer, why_not_charged
from app.intake.models import Accessory, AccessoryCount, Agreement, ConditionNote
from app.intake.queries.come_back import verdict
from app.intake.rules import Zone
from app.intake.service.writing import tidy
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still
from app.shop.queries import the_shop


def note_condition(order: RepairOrder, zone: Zone, note: str, *, by: Actor, now: datetime) -> ConditionNote:
    """How one zone looks as it comes in."""
    must_be_open(order)
    if not note.strip():
        raise BadInput("Enter how it looks.", "note")
    condition_note = ConditionNote(order_id=order.id, zone=zone, note=note.strip(), at=now, by_name=by.name)
    session().add(condition_note)
    record(Event.CONDITION_RECORDED, condition_note, by=by, now=now, after={zone.value: condition_note.note})
    return condition_note


def strike_note(note: ConditionNote, reason: str, *, by: Actor, now: datetime) -> None:
    """A note that was wrong: it stays readable, with the reason."""
    must_be_open_still(note.order_id)
    if not reason.strip():
        raise BadInput("Enter why the note is struck.", "reason")
    if note.struck_at is not None:
        raise RuleBroken("This note was struck before.")
    note.struck_at, note.struck_reason = now, reason.strip()
    record(Event.CONDITION_STRUCK, note, by=by, now=now, before={note.zone.value: note.note},
           after={note.zone.value: None}, reason=note.struck_reason)


def count(order: RepairOrder, counted: Mapping[str, int], *, by: Actor, now: datetime) -> AccessoryCount:
    """How many of each thing came with the amp. What is not named counts as none; nothing at all is a count too."""
    must_be_open(order)
    wanted = {tidy(what): number for what, number in counted.items() if tidy(what)}
    if any(number < 0 for number in wanted.values()):
        raise BadInput("Count 0 or more of each.")
    stored = {one.what: one for one in session().scalars(sa.select(Accessory).where(Accessory.order_id == order.id))}
    before = {what: one.quantity for what, one in stored.items()}
    after = {**dict.fromkeys(before, 0), **{what: number for what, number in wanted.items() if number}}
    for what, number in after.items():
        if what in stored:
            stored[what].quantity = number
        else:
            session().add(Accessory(order_id=order.id, what=what, quantity=number))
    return _counted(order, before, after, by=by, now=now)


def _counted(order: RepairOrder, before: dict[str, int], after: dict[str, int], *, by: Actor,
             now: datetime) -> AccessoryCount:
    made = session().scalar(sa.select(AccessoryCount).where(AccessoryCount.order_id == order.id))
    if made is None:
        made = AccessoryCount(order_id=order.id, at=now, by_name=by.name)
        session().add(made)
    elif before == after:
        return made
    made.at, made.by_name = now, by.name
    record(Event.ACCESSORY_COUNTED, made, by=by, now=now, before=before,
           after=after or {"accessories": "none came with it"})
    return made


@dataclass(frozen=True)
class Offer:
    """Fee and ceiling of the diagnosis, and what the customer says the amp is worth; minor units."""

    fee_minor: int
    fee_credited: bool
    ceiling_minor: int
    declared_value_minor: int | None = None


def offer(order: RepairOrder, what: Offer, *, by: Actor, now: datetime) -> Agreement:
    """What the diagnosis may cost. It stands in the terms that are signed; the signature makes the ceiling count."""
    must_be_open(order)
    if what.fee_minor < 0 or (what.declared_value_minor or 0) < 0:
        raise BadInput("Enter 0 or more.", "fee_minor" if what.fee_minor < 0 else "declared_value_minor")
    if what.ceiling_minor < what.fee_minor:
        raise BadInput("The ceiling is at least the fee.", "ceiling_minor")
    if what.ceiling_minor and (why_not := why_not_charged(_number_before(order), _payer(order))):
        raise BadInput(why_not, "fee_minor" if what.fee_minor else "ceiling_minor")
    made = session().scalar(sa.select(Agreement).where(Agreement.order_id == order.id))
    facts = asdict(what)
    before = {name: getattr(made, name) if made else None for name in facts}
    if made is None:
        made = Agreement(order_id=order.id, **facts)
        session().add(made)
    for name, value in facts.items():
        setattr(made, name, value)
    if before != facts:
        record(Event.DIAGNOSIS_OFFERED, made, by=by, now=now, before=_words(before), after=_words(facts))
    return made


def _number_before(order: RepairOrder) -> int | None:
    return order.come_back_of.number if order.come_back_of else None


def _payer(order: RepairOrder) -> Payer | None:
    judged = verdict(order.id)
    return judged.payer if judged else None


def _words(facts: Mapping[str, int | bool | None]) -> dict[str, str | bool | None]:
    """Sums as people read them."""
    currency = the_shop().currency
    return {name.removesuffix("_minor").replace("_", " "):
            show(value, currency) if name.endswith("_minor") and value is not None else value  # type: ignore[misc]
            for name, value in facts.items()}
