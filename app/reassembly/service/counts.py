"""Counts: at every closure, of a base's wire ends, and when the bench changes hands."""

from __future__ import annotations

from collections import Counter
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
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.way import ReassemblyState, waiting_handover, way_back
from app.reassembly.queries.work import balance_at, balance_of
from app.reassembly.rules import CAVITY, ENDS, bag_fault, count_faults, differing, unmet_predecessors
from app.reassembly.service.steps import mark_done, must_be_in_order, must_be_planned
from app.removals import queries as removals
from app.removals.rules import fold, say_counts

NO_FIGURE = "Enter how many; 0 if there are none."
Figures = Mapping[tuple[str, str], int]  # (bag, class) → pieces; bag "" is what is left over in tray and bags


def count_closure(order: RepairOrder, step: str, *, counted: Figures, ends: int | None = None, looked: bool, by: Actor,
                  now: datetime) -> ClosureCount:
    """Count what lies in tray and bags before something is closed. It is kept whatever it shows.

    The step is done only if every class that is due was counted and matches the ledger, every wire end is joined, nothing is
    lost, and somebody has looked inside for what does not belong there. BadInput for a class without a figure.
    """
    way = _countable(order, step, now)
    if way.origins[step][0] in ENDS:
        raise RuleBroken(f"{way.label(step)}: count its wire ends.")
    return _count(way, step, counted, ends, looked, asked=True, by=by, now=now)


def count_base(order: RepairOrder, step: str, *, ends: int, counted: Figures | None = None, looked: bool, by: Actor,
               now: datetime) -> ClosureCount:
    """Verify a base pin to pin, or a hidden side: every wire end counted, no stray strand.

    Where no other count is to come for its sub-assembly, every loose piece of it is counted here.
    """
    way = _countable(order, step, now)
    if way.origins[step][0] not in ENDS:
        raise RuleBroken(f"{way.label(step)} is no check of joints.")
    return _count(way, step, counted or {}, ends, looked, asked=asks_for_pieces(way, step), by=by, now=now)


def asks_for_pieces(way: ReassemblyState, step: str) -> bool:
    """Whether a count asks for pieces: each does, save a look at joints where a count of the sub-assembly follows."""
    what, mark = way.origins[step]
    unit, cavity = (way.removals[mark].unit, way.removals[mark].cavity) if mark in way.removals else ("", "")
    to_come = {("CT", unit), (CAVITY, cavity)} & set(way.origins.values())
    return what not in ENDS or (what == "V" and not to_come)


def _count(way: ReassemblyState, step: str, counted: Figures, ends: int | None, looked: bool, *, asked: bool, by: Actor,
           now: datetime) -> ClosureCount:
    if not looked:
        raise BadInput("Look inside for what does not belong there, and confirm it.", "looked")
    order, expected = way.order, ends_due(way, step)
    due = due_at(order, way, step) if asked else ()
    if missing := [one for one in due if one.key not in counted]:
        where = f"{missing[0].bag}, {missing[0].piece}" if missing[0].bag else missing[0].piece
        raise BadInput(f"{where}: {NO_FIGURE}", "")
    if ends is None and expected:
        raise BadInput("Count the wire ends that are joined in here.", "ends")
    weighed = balance_at(order, way, step)
    faults = [words for one in due if one.bag and (words := bag_fault(*one.key, counted[one.key], one.expected, one.of))]
    if asked:
        faults += [*count_faults({one.piece: counted[one.key] for one in due if not one.bag}, weighed.open), *_losses(order)]
    if ends is not None and ends != expected:
        joined = "" if way.origins[step][0] in ENDS else " as joined"
        faults.append(f"{ends} wire ends counted{joined}, {expected} came off.")
    found, ledger = Counter[str](), Counter[str](weighed.open) if asked else Counter[str]()
    for one in due:
        found[one.piece] += counted[one.key]
        ledger[one.piece] += one.expected if one.bag else 0
    return _counted(way, step, left=dict(found), open_=dict(ledger), faults=faults, ends=ends if expected or ends else None, by=by,
                    now=now)


def change_technician(order: RepairOrder, *, to_id: int, to_name: str, counted: Mapping[str, int], note: str = "", by: Actor,
              now: datetime) -> BenchHandover:
    """The first of two counts when the open amp changes hands: of what lies in bags and trays. A difference must be explained.

    It changes hands only when the other person has counted too, see `take_over`.
    """
    must_be_open(order)
    if to_id == by.person_id:
        raise BadInput("Choose someone else.", "to")
    if waiting := waiting_handover(order):
        raise RuleBroken(f"{waiting.to_name} has still to count what {waiting.from_name} handed over.")
    still = {name: count for name, count in balance_of(order).open.items() if count}
    _every_figure(still, counted)
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


def take_over(given: BenchHandover, order: RepairOrder, *, counted: Mapping[str, int], note: str = "", proof: str, by: Actor,
              now: datetime) -> None:
    """The second count, by the person who takes over and proved to be that person (`proof`: PIN or password).

    It is blind: where it differs from the first, the classes are named and no figure.
    """
    must_be_open(order)
    if not given.waits:
        raise RuleBroken("This handover is settled already.")
    if by.person_id != given.to_id:
        raise BadInput(f"{given.to_name} takes over, and nobody else can count for them.", "secret")
    if not proof:
        raise BadInput("Enter your own PIN or password.", "secret")
    _every_figure({one.hardware.label: one.open for one in given.pieces}, counted)
    differ, note = differing({one.hardware.label: one.counted for one in given.pieces}, counted), fold(note)
    if differ and not note:
        raise BadInput(f"Your count differs in {', '.join(differ)}. Count {'it' if len(differ) == 1 else 'them'} again, "
                       "or say what explains it.", "note")
    for one in given.pieces:
        one.second = counted.get(one.hardware.label, 0)
    given.second_at, given.second_proof, given.second_note = now, proof, note
    record(Event.TECHNICIAN_CHANGED, given, by=by, now=now,
           after={"taken over by": by.name, "counted": say_counts(counted) or "nothing is off", "proved by": proof,
                  "differs in": ", ".join(differ), "note": note})


def drop_handover(given: BenchHandover, order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """The amp stays with the person who meant to hand it over."""
    must_be_open(order)
    if not given.waits:
        raise RuleBroken("This handover is settled already.")
    given.dropped_at, given.dropped_by = now, by.name
    record(Event.TECHNICIAN_CHANGED, given, by=by, now=now, after={"dropped": f"the amp stays with {given.from_name}"})


def _every_figure(due: Mapping[str, int], counted: Mapping[str, int]) -> None:
    if missing := [name for name in due if name not in counted]:
        raise BadInput(f"{missing[0]}: {NO_FIGURE}", "")


def _countable(order: RepairOrder, step: str, now: datetime) -> ReassemblyState:
    must_be_open(order)
    way = way_back(order, planned=False)
    must_be_planned(way, step)
    if way.kind(step) != "counted":
        raise RuleBroken(f"{way.label(step)} is no count.")
    must_be_in_order(way, step, unmet_predecessors(step, way.steps.values(), way.done), "", now)
    return way


def _losses(order: RepairOrder) -> list[str]:
    return [f"{loss.piece} is lost: find it, or have a search countersigned." for loss in removals.open_losses(order)]


def _counted(way: ReassemblyState, step: str, *, left: dict[str, int], open_: dict[str, int], faults: list[str],
             ends: int | None = None, by: Actor, now: datetime) -> ClosureCount:
    pieces = [CountedAtClosure(hardware=hardware.class_of(name, by=by, now=now), left=left.get(name, 0), open=open_.get(name))
              for name in dict.fromkeys((*open_, *(name for name, count in left.items() if count)))]
    closure_count = ClosureCount(order_id=way.order.id, step=step, label=way.label(step), pieces=pieces, ends_counted=ends,
                        closed=not faults, faults=faults, at=now, by_name=by.name)
    session().add(closure_count)
    told = {"count": closure_count.label, "counted in tray and bags": say_counts(left) or "nothing", "closed": closure_count.closed,
            "wire ends": "" if ends is None else ends, "why not": " ".join(faults)}
    chassis.opened(closure_count.order_id, "pieces were counted", by=by, now=now)
    record(Event.CLOSURE_COUNTED, closure_count, by=by, now=now, after={name: words for name, words in told.items() if words != ""})
    if closure_count.closed and step not in way.records:
        mark_done(way, step, by=by, now=now)
    return closure_count
