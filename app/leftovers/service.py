"""Matching by hand what a migration could not match, or setting it aside."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.findings.models.special import BakeHold
from app.journal.events import Event
from app.journal.service import Actor, record
from app.leftovers import queries
from app.leftovers.models import Leftover, Settled, Told
from app.orders import names
from app.orders.models import RepairOrder
from app.parts import queries as parts
from app.parts.places import COLUMNS
from app.removals import queries as removals
from app.removals.models import RemovalTie
from app.removals.rules import Tie

HOW = {Told.UNDER: Tie.UNDER, Told.FIXED: Tie.FIXED}


def match(leftover: Leftover, order: RepairOrder, chosen: str, *, by: Actor, now: datetime) -> None:
    """Say what its words mean: `chosen` is a kind and an id, "removal 7", of what `queries.choices` offers."""
    _must_be_open(leftover)
    named = next((one for one in queries.choices(leftover, order) if f"{one.kind} {one.id}" == chosen), None)
    if named is None:
        raise BadInput("Choose what it names.", "chosen")
    _give_key(leftover, order, named, by, now)
    _settle(leftover, Settled.MATCHED, named.title, by, now)
    record(Event.LEFTOVER_MATCHED, leftover, by=by, now=now, before={leftover.told.value: leftover.text},
           after={leftover.told.value: named.title, "of": leftover.title})


def set_aside(leftover: Leftover, *, reason: str, alike: bool = False, by: Actor, now: datetime) -> int:
    """It names nothing that has a record; `alike`: nor does any other open entry of the same words. How many were set aside.

    The words stay readable where they were.
    """
    _must_be_open(leftover)
    plain = " ".join(reason.split())
    if not plain:
        raise BadInput("Enter why it is set aside.", "reason")
    those = [leftover, *(queries.alike(leftover) if alike else ())]
    for one in those:
        _settle(one, Settled.SET_ASIDE, plain, by, now)
        record(Event.LEFTOVER_SET_ASIDE, one, by=by, now=now, before={one.told.value: one.text},
               after={"of": one.title}, reason=plain)
    return len(those)


def _settle(leftover: Leftover, how: Settled, words: str, by: Actor, now: datetime) -> None:
    leftover.settled_as, leftover.settled_words, leftover.settled_at, leftover.settled_by = how, words, now, by.name


def _must_be_open(leftover: Leftover) -> None:
    if leftover.settled_as is not None:
        raise RuleBroken(f"This is {leftover.settled_as.value} already: {leftover.settled_words}.")


def _give_key(leftover: Leftover, order: RepairOrder, named: names.Named, by: Actor, now: datetime) -> None:
    if leftover.told in HOW:
        _tie(leftover, named, by, now)
    elif leftover.told is Told.PLACE:
        part = parts.find(leftover.record_id)
        for kind, column in COLUMNS.items():
            setattr(part, column, named.id if named.kind == kind else None)
    elif leftover.told is Told.PIN:
        pin = queries.pin_of(leftover)
        if pin is not None:
            pin.leftover_id = None
            setattr(pin, {"removal": "removal_id", "finding": "finding_id", "position": "board_position_id"}[named.kind], named.id)
    else:
        bake = queries.bake_of(leftover, order)
        if bake is not None and named.kind == "board":
            bake.board_id = named.id
        elif bake is not None:
            bake.holds.append(BakeHold(order_id=order.id, removal_id=named.id, at=now, by_name=by.name))
    session().flush()


def _tie(leftover: Leftover, named: names.Named, by: Actor, now: datetime) -> None:
    removal, to, how = removals.find(leftover.record_id), removals.find(named.id), HOW[leftover.told]
    if removal is None or to is None:
        raise RuleBroken("That record is not there any more.")
    if not any(tie.to_id == to.id and tie.how is how and tie.struck_at is None for tie in removal.ties):
        removal.ties.append(RemovalTie(order_id=removal.order_id, to=to, how=how, at=now, by_name=by.name))
