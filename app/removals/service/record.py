"""Recording what came off, and saying it better."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.removals import queries
from app.removals.models import Removal
from app.removals.rules import Fate, Kind, OldPart, Side, WireEnd, fold, next_mark, say_counts


@dataclass(frozen=True)
class Facts:
    """What is said about a removal. Pieces outer to inner; minutes of work to put it back, then of drying by itself."""

    name: str
    kind: Kind = Kind.PART
    unit: str = ""
    place: str = ""
    side: Side | None = None
    fixed_to: str = ""
    under: tuple[str, ...] = ()
    stack: tuple[str, ...] = ()
    fasteners: Mapping[str, int] = field(default_factory=dict)
    thread: str = ""
    lacked: Mapping[str, int] = field(default_factory=dict)
    ends: tuple[WireEnd, ...] = ()
    keyed: bool = False
    orientation: str = ""
    stays_on_loom: bool = False
    bag: str = ""
    fate: Fate = Fate.REFIT
    fate_reason: str = ""
    old_part: OldPart | None = None
    minutes: float = 0.0
    unattended_minutes: float = 0.0
    note: str = ""
    photo_id: int | None = None


def record_removal(order: RepairOrder, mark: str, facts: Facts, *, by: Actor, now: datetime) -> Removal:
    """One more thing off, with the next number. Its mark is unique in the order and stays."""
    must_be_open(order)
    mark = fold(mark)
    if not mark:
        raise BadInput("Enter what its tag says, for example P1.", "mark")
    taken = [one.mark.lower() for struck in (False, True) for one in queries.of_order(order, struck=struck)]
    if mark.lower() in taken:
        raise BadInput(f"{mark} is on another tag already. Use the next one free.", "mark")
    facts = _sound(order, mark, facts)
    removal = Removal(order_id=order.id, number=next_number(order), mark=mark, removed_at=now, removed_by=by.name,
                      **_columns(facts))
    session().add(removal)
    chassis.opened(removal.order_id, "a removal was recorded", by=by, now=now)
    record(Event.REMOVAL_RECORDED, removal, by=by, now=now,
           after={"tag": mark, "number": removal.number, **{k: v for k, v in _say(facts).items() if v}})
    return removal


def change_removal(removal: Removal, order: RepairOrder, facts: Facts, *, by: Actor, now: datetime) -> None:
    """Say it better. The journal names what changed."""
    must_be_open(order)
    must_stand(removal)
    if removal.ended_at is not None:
        raise RuleBroken(f"{removal.title} has ended: {removal.ended_as.word if removal.ended_as else ''}. Reopen it first.")
    facts = _sound(order, removal.mark, facts)
    before = _say(facts_of(removal))
    for name, value in _columns(facts).items():
        setattr(removal, name, value)
    after = _say(facts)
    changed = [name for name in after if after[name] != before[name]]
    if changed:
        record(Event.REMOVAL_CHANGED, removal, by=by, now=now, before={name: before[name] for name in changed},
               after={name: after[name] for name in changed})


def same_again(like: Removal, order: RepairOrder, mark: str, *, by: Actor, now: datetime) -> Removal:
    """The next of a row of equals: all as with `like`, under a mark of its own; orientation, photo and ends are not copied."""
    facts = facts_of(like)
    name = facts.name.replace(like.mark, mark) if like.mark in facts.name else facts.name
    alike = replace(facts, name=name, bag=_next_bag(like, order, mark), photo_id=None, ends=(), lacked={}, keyed=False,
                    orientation="", note="")
    return record_removal(order, mark, alike, by=by, now=now)


def _next_bag(like: Removal, order: RepairOrder, mark: str) -> str:
    """A bag of its own where the last one had one; the same tray where they share it."""
    if like.bag == bag_of(order, like.number):
        return bag_of(order, next_number(order))
    return mark.join(like.bag.split(like.mark)) if like.mark in like.bag.split() else like.bag


def bag_of(order: RepairOrder, number: int) -> str:
    """What a bag of its own is called: repair and number of the removal."""
    return f"{order.number}-{number}"


def next_number(order: RepairOrder) -> int:
    """The number that the next removal gets."""
    return (session().scalar(sa.select(sa.func.max(Removal.number)).where(Removal.order_id == order.id)) or 0) + 1


def suggest_mark(like: Removal, order: RepairOrder) -> str:
    """The mark that the next of a row would have."""
    taken = [one.mark for struck in (False, True) for one in queries.of_order(order, struck=struck)]
    return next_mark(like.mark, taken)


def facts_of(removal: Removal) -> Facts:
    """What is recorded."""
    lists: dict[str, Any] = {"under": tuple(removal.under), "stack": tuple(removal.stack), "fasteners": dict(removal.fasteners),
             "lacked": dict(removal.lacked), "ends": removal.wire_ends}
    return Facts(**{name: lists.get(name, getattr(removal, name)) for name in Facts.__dataclass_fields__})


def must_stand(removal: Removal) -> None:
    """Nothing is done with a removal that was recorded in error."""
    if removal.struck_at is not None:
        raise RuleBroken(f"{removal.title} was recorded in error and is struck.")


def _sound(order: RepairOrder, mark: str, facts: Facts) -> Facts:
    """Text folded; names of other removals as their tags spell them; what must go together goes together."""
    given: dict[str, Any] = {name: fold(value) if type(value) is str else value for name, value in vars(facts).items()}
    facts = Facts(**given)
    if not facts.name:
        raise BadInput("Say what came off.", "name")
    marks = {one.mark.lower(): one.mark for one in queries.of_order(order)}
    marks.pop(mark.lower(), None)
    for name in facts.under:
        if name.lower() not in marks:
            raise BadInput(f"It cannot have been under {name}: nothing of that name is off.", "under")
    if any(not end.host for end in facts.ends) and not facts.fixed_to:
        raise BadInput("Say what its ends were soldered to, or enter each as place:pin, for example V6:3.", "fixed_to")
    if facts.keyed and not facts.orientation:
        raise BadInput("Say which way its keyway, tab or polarity faces.", "orientation")
    if facts.fate is Fate.REPLACE and facts.old_part is None:
        raise BadInput("Say where the old one goes.", "old_part")
    if facts.fate in (Fate.SCRAP, Fate.REPLACE) and not facts.fate_reason:
        raise BadInput("Say why it does not go back.", "fate_reason")
    for field_name in ("minutes", "unattended_minutes"):
        if getattr(facts, field_name) < 0:
            raise BadInput("Enter minutes, zero or more.", field_name)
    return replace(facts, under=tuple(dict.fromkeys(marks[one.lower()] for one in facts.under)),
                   old_part=facts.old_part if facts.fate is Fate.REPLACE else None,
                   fixed_to=marks.get(facts.fixed_to.lower(), facts.fixed_to),
                   fasteners={name: count for name, count in facts.fasteners.items() if count},
                   lacked={name: count for name, count in facts.lacked.items() if count})


def _columns(facts: Facts) -> dict[str, object]:
    return {**vars(facts), "under": list(facts.under), "stack": list(facts.stack), "fasteners": dict(facts.fasteners),
            "lacked": dict(facts.lacked), "ends": [asdict(end) for end in facts.ends]}


def _say(facts: Facts) -> dict[str, object]:
    return {"what": facts.name, "kind": facts.kind.word, "sub-assembly": facts.unit, "place": facts.place,
            "side": facts.side.value if facts.side else "", "fixed to": facts.fixed_to, "was under": ", ".join(facts.under),
            "stack": " / ".join(facts.stack), "small parts": say_counts(facts.fasteners), "thread": facts.thread,
            "missing when it came off": say_counts(facts.lacked), "wire ends": ", ".join(end.text for end in facts.ends),
            "faces": facts.orientation, "stays on its loom": facts.stays_on_loom, "bag": facts.bag,
            "fate": facts.fate.word, "why": facts.fate_reason, "old one": facts.old_part.word if facts.old_part else "",
            "minutes": facts.minutes or "", "minutes unattended": facts.unattended_minutes or "", "note": facts.note,
            "photo": facts.photo_id or ""}
