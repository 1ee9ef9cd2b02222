"""Tasks: planned, added, finished, opened again, withdrawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import NormalDist

from app.db import session
from app.errors import BadInput, NotFound, RuleBroken
from app.findings import queries as findings
from app.hours.models import Task, TaskBefore
from app.hours.queries import history
from app.hours.queries import tasks as queries
from app.hours.queries.work import Piece, piece, pieces
from app.hours.rules.outlook import fitted
from app.hours.rules.words import Role, WorkKey
from app.hours.service.kinds import kind_named
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.quote.rules.lines import LONGEST_HOURS, Hours, say_hours

CLAIM = 0.8  # the share of tasks that is claimed to end within what is said when they begin


@dataclass(frozen=True)
class Plan:
    """What is planned for a task. `before`: keys of work to be finished first. Hours of an agreed item are the quote's."""

    kind: str
    hours: Hours | None = None
    attended: bool = True
    unattended_hours: float = 0.0
    before: tuple[WorkKey, ...] = ()


def load(order: RepairOrder, key: WorkKey | None) -> Piece:
    """The piece of work that a form means; NotFound if this order has none such."""
    found = piece(order, key) if key is not None else None
    if found is None:
        raise NotFound("There is no such work on this repair. Look at its hours again.")
    return found


def ensure(order: RepairOrder, key: WorkKey, *, by: Actor, now: datetime) -> Task:
    """The row of a piece of work, made by the first act on it."""
    found = load(order, key)
    if found.task is not None:
        return found.task
    line = found.line
    made = Task(order_id=order.id, role=key.role, kind=kind_named(found.kind), what=found.what,
                line_root_id=key.number if key.role is Role.ITEM else None, finding_id=line.finding_id if line else None,
                added_at=now, added_by=by.name)
    session().add(made)
    record(Event.TASK_ADDED, made, by=by, now=now, after={"task": made.what, "kind of work": made.kind.name})
    return made


def add(order: RepairOrder, what: str, plan: Plan, finding_id: int | None = None, *, by: Actor, now: datetime) -> Task:
    """A task of its own, which no item of the quote stands for."""
    must_be_open(order)
    if not what.strip():
        raise BadInput("Enter what is to be done.", "what")
    if finding_id is not None and finding_id not in {one.id for one in findings.findings_of(order)}:
        raise BadInput("That finding is not of this repair.", "finding")
    made = Task(order_id=order.id, role=Role.OWN, kind=kind_named(plan.kind), what=" ".join(what.split()), finding_id=finding_id,
                added_at=now, added_by=by.name)
    session().add(made)
    session().flush()
    _apply(order, made, plan)
    record(Event.TASK_ADDED, made, by=by, now=now, after={"task": made.what, **_facts(made)})
    return made


def change(order: RepairOrder, key: WorkKey, plan: Plan, *, by: Actor, now: datetime) -> Task:
    """What is planned for a piece of work, as long as it is not finished."""
    must_be_open(order)
    found = load(order, key)
    if found.finished:
        raise RuleBroken("This task is finished. Reopen it before you change what is planned for it.")
    if key.role is Role.ITEM and plan.hours is not None:
        raise BadInput("The hours of an agreed item stand on the quote. Issue the next revision to change them.", "hours_likely")
    made = ensure(order, key, by=by, now=now)
    session().flush()
    before = _facts(made)
    _apply(order, made, plan)
    record_change(Event.TASK_CHANGED, made, before, _facts(made), by=by, now=now)
    return made


def finish(order: RepairOrder, key: WorkKey, *, by: Actor, now: datetime) -> Task:
    """It is done. Its hours are kept beside what they were estimated at, which is what later estimates rest on."""
    must_be_open(order)
    found = load(order, key)
    if found.finished:
        raise RuleBroken("This task is finished already.")
    others = [one.person_name for one in found.running if one.person_id != by.person_id]
    if others or found.alone is not None:
        who = f"The timer of {others[0]}" if others else "Its unattended time"
        raise RuleBroken(f"{who} still runs on it. Stop it first.")
    if found.waits:
        raise RuleBroken(f"It comes after: {'; '.join(found.waits)}. Finish that first.")
    made = ensure(order, key, by=by, now=now)
    for entry in found.running:
        entry.stopped_at, entry.stopped_by = now, by.name
        record(Event.TIMER_STOPPED, entry, by=by, now=now, after={"task": made.what, "hours": say_hours(found.spent(now))})
    made.finished_at, made.finished_by = now, by.name
    if key.role is Role.ITEM and found.hours is not None:
        made.hours_low, made.hours_likely, made.hours_high = found.hours.low, found.hours.likely, found.hours.high
    weigh(made, found, found.spent(now))
    record(Event.TASK_FINISHED, made, by=by, now=now, after={
        "task": made.what, "took": say_hours(made.took_hours) if made.took_hours else None,
        "estimated": say_hours(found.hours.likely) if found.hours else None})
    return made


def weigh(task: Task, found: Piece, hours: float) -> None:
    """Keep what a finished task took, and the logarithm of that over its estimate where it has both."""
    task.took_hours = hours or None
    estimate = found.hours.likely if found.hours else 0.0
    task.log_ratio = math.log(hours / estimate) if hours > 0 and estimate > 0 and task.role is not Role.WAY_BACK else None


def claim(task: Task, found: Piece) -> None:
    """What the shop's history of this moment says of a task that begins: between which hours it ends, four times in five."""
    if task.said_low_hours is not None or found.hours is None or found.hours.likely <= 0 or found.key.role is Role.WAY_BACK:
        return
    by = history.calibration_of(found.kind)
    if by is not None:
        task.said_low_hours, task.said_high_hours = by.interval(found.hours.likely, CLAIM)
        return
    expected = fitted(found.hours, None)
    if expected is not None:
        reach = NormalDist().inv_cdf((1 + CLAIM) / 2) * expected.log_sd
        task.said_low_hours, task.said_high_hours = (expected.median * math.exp(side * reach) for side in (-1, 1))


def reopen(order: RepairOrder, key: WorkKey, *, by: Actor, now: datetime) -> Task:
    """It was not finished after all."""
    must_be_open(order)
    made = load(order, key).task
    if made is None or made.finished_at is None:
        raise RuleBroken("This task is open already.")
    made.finished_at, made.finished_by, made.took_hours, made.log_ratio = None, "", None, None
    if made.role is Role.ITEM:
        made.hours_low = made.hours_likely = made.hours_high = None
    record(Event.TASK_REOPENED, made, by=by, now=now, before={"finished": True}, after={"finished": False})
    return made


def withdraw(order: RepairOrder, task: Task, reason: str, *, by: Actor, now: datetime) -> None:
    """A task of its own that will not be done. One that hours were spent on is finished, not withdrawn."""
    must_be_open(order)
    if not reason.strip():
        raise BadInput("Enter why it will not be done.", "reason")
    if task.role is not Role.OWN or task.withdrawn_at is not None:
        raise RuleBroken("Only a task that was added here can be withdrawn, once.")
    if queries.standing([one for one in queries.entries_of(order) if one.task_id == task.id]):
        raise RuleBroken("Hours were spent on it. Finish it instead: they stay where they were worked.")
    task.withdrawn_at, task.withdrawn_by, task.withdrawn_reason = now, by.name, reason.strip()
    record(Event.TASK_WITHDRAWN, task, by=by, now=now, before={"task": task.what}, after={"withdrawn": True},
           reason=task.withdrawn_reason)


def _apply(order: RepairOrder, task: Task, plan: Plan) -> None:
    if plan.hours is not None:
        _check(plan.hours)
    if not math.isfinite(plan.unattended_hours) or not 0 <= plan.unattended_hours <= LONGEST_HOURS:
        raise BadInput(f"Enter hours from 0 to {LONGEST_HOURS:g}.", "unattended_hours")
    task.kind, task.attended, task.unattended_hours = kind_named(plan.kind), plan.attended, plan.unattended_hours
    if task.role is not Role.ITEM:
        given = plan.hours
        task.hours_low = given.low if given else None
        task.hours_likely = given.likely if given else None
        task.hours_high = given.high if given else None
    _set_before(order, task, plan.before)


def _check(hours: Hours) -> None:
    for field, value in (("hours_low", hours.low), ("hours_likely", hours.likely), ("hours_high", hours.high)):
        if not math.isfinite(value) or not 0 <= value <= LONGEST_HOURS:
            raise BadInput(f"Enter hours from 0 to {LONGEST_HOURS:g}.", field)
    if not hours.low <= hours.likely <= hours.high:
        raise BadInput("Enter the least hours, the likely ones, then the most.", "hours_likely")


def _set_before(order: RepairOrder, task: Task, keys: Sequence[WorkKey]) -> None:
    """What must be finished first. Once said it stays: order of work is not taken back, a task that is in the way is finished."""
    rows = {one.key: one.task for one in pieces(order)}
    there = {one.first_id for one in task.before}
    for key in keys:
        first = rows.get(key)
        if first is None or first is task:
            raise BadInput("Choose another task that was begun or planned already.", "before")
        if first.id in there:
            continue
        if task.id in _all_before(first, {one.id: one for one in rows.values() if one is not None}):
            raise BadInput(f"{first.what} comes after this task itself.", "before")
        task.before.append(TaskBefore(task_id=task.id, first_id=first.id))


def _all_before(task: Task, rows: dict[int, Task]) -> set[int]:
    found: set[int] = set()
    left = [task]
    while left:
        for one in left.pop().before:
            if one.first_id not in found and one.first_id in rows:
                found.add(one.first_id)
                left.append(rows[one.first_id])
    return found


def _facts(task: Task) -> dict[str, object]:
    three = (f"{say_hours(task.hours_low or 0)}, {say_hours(task.hours_likely)}, {say_hours(task.hours_high or 0)}"
             if task.hours_likely is not None else None)
    return {"kind of work": task.kind.name, "hours": three, "attended": task.attended,
            "unattended": say_hours(task.unattended_hours) if task.unattended_hours else None, "tasks before it": len(task.before)}
