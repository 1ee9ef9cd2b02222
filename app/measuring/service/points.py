"""Points: the shop's usual set, and those of one amp with what they should read."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kept.service import end_use_of_point
from app.kernel.spec import columns, journal_facts
from app.measuring import queries
from app.measuring.models import Point, UsualPoint
from app.measuring.rules import USUAL_POINTS, say_band
from app.measuring.spec import PointFacts
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still

BASIS_LONGEST = 160


def ensure_usual_points() -> None:
    """Put the usual set in, once; afterwards it is the shop's own."""
    if session().scalar(sa.select(sa.func.count()).select_from(UsualPoint)):
        return
    for place, one in enumerate(USUAL_POINTS):
        session().add(UsualPoint(name=one.name, quantity=one.quantity, basis=one.basis, position=place))
    session().flush()


def add_usual_point(facts: PointFacts, *, by: Actor, now: datetime) -> UsualPoint:
    """One more in the shop's own set."""
    ensure_usual_points()
    name = _checked(facts)
    if any(point.name.lower() == name.lower() for point in queries.usual_points()):
        raise BadInput(f"“{name}” is in the list already.", "name")
    last = session().scalar(sa.select(sa.func.max(UsualPoint.position)))
    usual_point = UsualPoint(name=name, quantity=facts.quantity, lower=facts.lower, upper=facts.upper,
                             basis=facts.basis.strip(), position=(last or 0) + 1)
    session().add(usual_point)
    record(Event.USUAL_POINT_ADDED, usual_point, by=by, now=now,
           after={"point": name, "unit": facts.quantity.value, "band": usual_point.band})
    return usual_point


def withdraw_usual_point(point: UsualPoint, *, by: Actor, now: datetime) -> None:
    """Out of the set; orders on which it was laid out keep it."""
    if point.withdrawn_at is not None:
        raise RuleBroken("It was taken out already.")
    point.withdrawn_at = now
    record(Event.USUAL_POINT_WITHDRAWN, point, by=by, now=now, before={"point": point.name})


def lay_out(order: RepairOrder, *, by: Actor, now: datetime) -> list[Point]:
    """Give the order every usual point that it has not got yet."""
    ensure_usual_points()
    there = {point.name.lower() for point in queries.points_of(order)}
    return [add_point(order, PointFacts(point.name, point.quantity, None, point.lower, point.upper, point.basis), by=by, now=now)
            for point in queries.usual_points() if point.name.lower() not in there]


def add_point(order: RepairOrder, facts: PointFacts, *, by: Actor, now: datetime) -> Point:
    """A point of this amp. Limits need a basis: computed, the drawing, the other channel."""
    must_be_open(order)
    name = _checked(facts)
    if any(one.name.lower() == name.lower() for one in queries.points_of(order)):
        raise BadInput(f"“{name}” is in the list already.", "name")
    last = session().scalar(sa.select(sa.func.max(Point.position)).where(Point.order_id == order.id))
    point = Point(order_id=order.id, position=(last or 0) + 1, at=now, by_name=by.name, **columns(facts))
    session().add(point)
    record(Event.POINT_ADDED, point, by=by, now=now, after=_said(point))
    return point


def change_point(point: Point, facts: PointFacts, *, by: Actor, now: datetime) -> None:
    """Other words or limits, for readings to come: those already taken keep what they were judged by."""
    _stands(point)
    name = _checked(facts)
    order = session().get_one(RepairOrder, point.order_id)
    if any(one is not point and one.name.lower() == name.lower() for one in queries.points_of(order)):
        raise BadInput(f"“{name}” is in the list already.", "name")
    if facts.quantity is not point.quantity and queries.history_of(point):
        raise BadInput("It was read already. Withdraw this point and add one with the other unit.", "quantity")
    before = _said(point)
    for column, value in columns(facts).items():
        setattr(point, column, value)
    if before != _said(point):
        record(Event.POINT_CHANGED, point, by=by, now=now, before=before, after=_said(point))
    end_use_of_point(point.id, point.expected, now=now)


def expect(point: Point, value: float, source: str, *, by: Actor, now: datetime) -> None:
    """What it should read, as a kept calculation says, for readings to come. `source` names it beside where limits come from."""
    _stands(point)
    before = _said(point)
    point.expected = value
    others = [told for told in point.basis.split("; ") if told and told.split(":")[0] != source.split(":")[0]]
    told = "; ".join([*others, source])
    point.basis = told if len(told) <= BASIS_LONGEST else source[:BASIS_LONGEST]
    record(Event.POINT_CHANGED, point, by=by, now=now, before=before, after=_said(point))


def at_node(order: RepairOrder, node: str, facts: PointFacts, *, by: Actor, now: datetime) -> Point | None:
    """The point of a node of the amp's sheet with what it should read; None where it was withdrawn: that is a decision.

    A point of that name that stands already becomes the node's. What was typed by hand is told from what is calculated by its
    basis alone, so the basis is written with every change.
    """
    must_be_open(order)
    known = queries.points_at_nodes(order)
    point = next((one for one in known if one.node == node and one.withdrawn_at is None), None)
    if point is None and any(one.node == node for one in known):
        return None
    point = point or next((one for one in queries.points_of(order) if one.name.lower() == facts.name.lower()), None)
    if point is None:
        point = add_point(order, facts, by=by, now=now)
    elif point.quantity is facts.quantity:
        change_point(point, replace(facts, name=point.name), by=by, now=now)
    point.node = node
    return point


def rename_node(order_id: int, node: str, called: str, *, by: Actor, now: datetime) -> None:
    """A block of the sheet has another name, and its nodes with it: a point that was called by its node follows."""
    order = session().get_one(RepairOrder, order_id)
    for point in queries.points_at_nodes(order):
        if point.node == node:
            before = _said(point)
            point.node = called
            if point.name == node and not any(one.name.lower() == called.lower() for one in queries.points_of(order)):
                point.name = called
            if before != _said(point):
                record(Event.POINT_CHANGED, point, by=by, now=now, before=before, after=_said(point))


def withdraw_point(point: Point, *, reason: str, by: Actor, now: datetime) -> None:
    """This amp has no such point, or it need not be read."""
    _stands(point)
    if not reason.strip():
        raise BadInput("Enter why it is left out.", "reason")
    point.withdrawn_at, point.withdrawn_reason = now, reason.strip()
    record(Event.POINT_WITHDRAWN, point, by=by, now=now, before={"point": point.name}, reason=reason.strip())


def _stands(point: Point) -> None:
    must_be_open_still(point.order_id)
    if point.withdrawn_at is not None:
        raise RuleBroken(f"{point.name} was withdrawn: {point.withdrawn_reason.rstrip('.')}.")


def _checked(facts: PointFacts) -> str:
    name = " ".join(facts.name.split())
    if not name:
        raise BadInput("Name the point, such as V5 grid, pin 5.", "name")
    if facts.lower is not None and facts.upper is not None and facts.lower > facts.upper:
        raise BadInput("The lower limit lies above the upper one.", "lower")
    if (facts.lower is not None or facts.upper is not None) and not facts.basis.strip():
        raise BadInput("Enter where the limits come from: computed, the drawing, the other channel.", "basis")
    return name


def _said(point: Point) -> dict[str, Any]:
    return {**journal_facts(point, PointFacts), "band": say_band(point.lower, point.upper, point.quantity.unit)}
