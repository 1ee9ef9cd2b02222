"""Counts: at every closure, of a base's wire ends, and when the bench changes hands."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.hardware import service as hardware
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.reassembly.models import BenchHandover, ClosureCount, CountedAtClosure, CountedAtHandover
from app.reassembly.queries.way import ReassemblyState, way_back
from app.reassembly.queries.work import balance_at, balance_of
from app.reassembly.rules import count_faults, unmet_predecessors
from app.reassembly.service.steps import mark_done, must_be_in_order, must_be_planned
from app.removals import queries as removals
from app.removals.models import Removal
from app.removals.rules import fold, say_counts


def count_closure(order: RepairOrder, step: str, *, left: Mapping[str, int], looked: bool, by: Actor,
                  now: datetime) -> ClosureCount:
    """Count what is left in tray and bags before something is closed. It is kept whatever it shows.

    The step is done only if every class is at nought in the ledger and in the tray, nothing is lost, and somebody
    has looked inside for what does not belong there.
    """
    way = _countable(order, step, now)
    if way.origins[step][0] == "V":
        raise RuleBroken(f"{way.label(step)}: count its wire ends.")
    _looked(looked)
    weighed = balance_at(order, way, step)
    faults = list(count_faults(left, weighed.open)) + _losses(order)
    return _counted(way, step, left=dict(left), open_=weighed.open, faults=faults, by=by, now=now)


def count_base(order: RepairOrder, step: str, *, ends: int, looked: bool, by: Actor, now: datetime) -> ClosureCount:
    """Verify a base pin to pin: every wire end counted, no stray strand, every loose piece of it back."""
    way = _countable(order, step, now)
    what, mark = way.origins[step]
    if what != "V":
        raise RuleBroken(f"{way.label(step)} is no check of a base.")
    _looked(looked)
    expected = ends_at(way, mark)
    faults = [f"{ends} wire ends counted, {expected} came off."] if ends != expected else []
    unit = way.removals[mark].unit if mark in way.removals else ""
    weighed = balance_at(order, way, step)
    counted_elsewhere = any(other == ("CT", unit) for other in way.origins.values())
    if not counted_elsewhere:
        faults += [*count_faults({}, weighed.open), *_losses(order)]
    return _counted(way, step, left={}, open_=weighed.open, faults=faults, ends=ends, by=by, now=now)


def ends_at(way: ReassemblyState, mark: str) -> int:
    """Wire ends that were lifted from a base, whatever removal they belong to."""
    names = {mark.lower(), way.removals[mark].name.lower()} if mark in way.removals else {mark.lower()}

    def soldered_here(one: Removal, host: str) -> bool:
        return host.lower() in names if host or one.held_by is None else one.held_by.mark == mark

    return sum(soldered_here(one, end.host or ("" if one.held_by else one.fixed_to)) for one in way.removals.values()
               if one.fate.goes_back for end in one.wire_ends)


def change_technician(order: RepairOrder, *, to_id: int, to_name: str, counted: Mapping[str, int], note: str = "", by: Actor,
                      now: datetime) -> BenchHandover:
    """The open amp changes hands, with a count of what lies in bags and trays. A difference must be explained."""
    must_be_open(order)
    if to_id == by.person_id:
        raise BadInput("Choose someone else.", "to")
    still = {name: count for name, count in balance_of(order).open.items() if count}
    found = {name: count for name, count in counted.items() if count}
    note = fold(note)
    if found != still and not note:
        differing = [f"{name}: {counted.get(name, 0)} counted, {still.get(name, 0)} by the ledger"
                     for name in dict.fromkeys((*still, *found)) if found.get(name, 0) != still.get(name, 0)]
        raise BadInput("; ".join(differing) + ". Count again, record what is lost, or say what explains it.", "note")
    pieces = [CountedAtHandover(hardware=hardware.class_of(name, by=by, now=now), counted=found.get(name, 0),
                                open=still.get(name, 0)) for name in dict.fromkeys((*still, *found))]
    handover = BenchHandover(order_id=order.id, from_name=by.name, to_id=to_id, to_name=to_name, pieces=pieces, note=note, at=now)
    session().add(handover)
    told = {"to": to_name, "counted": say_counts(found) or "nothing is off", "by the ledger": say_counts(still), "note": note}
    chassis.opened(handover.order_id, "it was passed on open", by=by, now=now)
    record(Event.TECHNICIAN_CHANGED, handover, by=by, now=now, after=told)
    return handover


def _countable(order: RepairOrder, step: str, now: datetime) -> ReassemblyState:
    must_be_open(order)
    way = way_back(order, planned=False)
    must_be_planned(way, step)
    if way.kind(step) != "counted":
        raise RuleBroken(f"{way.label(step)} is no count.")
    must_be_in_order(way, step, unmet_predecessors(step, way.steps.values(), way.done), "", now)
    return way


def _looked(looked: bool) -> None:
    if not looked:
        raise BadInput("Look inside for what does not belong there, and say so.", "looked")


def _losses(order: RepairOrder) -> list[str]:
    return [f"{loss.piece} is lost: find it, or have a search countersigned." for loss in removals.open_losses(order)]


def _counted(way: ReassemblyState, step: str, *, left: dict[str, int], open_: dict[str, int], faults: list[str],
             ends: int | None = None, by: Actor, now: datetime) -> ClosureCount:
    pieces = [CountedAtClosure(hardware=hardware.class_of(name, by=by, now=now), left=left.get(name, 0), open=open_.get(name))
              for name in dict.fromkeys((*open_, *(name for name, count in left.items() if count)))]
    closure_count = ClosureCount(order_id=way.order.id, step=step, label=way.label(step), pieces=pieces, ends_counted=ends,
                                 closed=not faults, faults=faults, at=now, by_name=by.name)
    session().add(closure_count)
    told = {"count": closure_count.label, "left in the tray": say_counts(left) or "nothing", "closed": closure_count.closed,
            "wire ends": "" if ends is None else ends, "why not": " ".join(faults)}
    chassis.opened(closure_count.order_id, "pieces were counted", by=by, now=now)
    record(Event.CLOSURE_COUNTED, closure_count, by=by, now=now, after={name: words for name, words in told.items() if words != ""})
    if closure_count.closed and step not in way.records:
        mark_done(way, step, by=by, now=now)
    return closure_count
