"""Doing a step, taking it back, and remembering the plan that was worked from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from app.db import session
from app.errors import BadInput, NotFound, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis, power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.reassembly.models import PlanSeen, StepRecord
from app.reassembly.queries.way import ReassemblyState, say_bake, say_part, seen_of, way_back
from app.reassembly.rules import PROOFS, behind, is_own, own_steps, short_of, unmet_predecessors, why_not_forced
from app.removals import queries as removals
from app.removals.models import Removal
from app.removals.rules import fold, say_counts
from app.removals.service import outcome as outcome_service
from app.removals.service import record as record_service


def do_step(order: RepairOrder, step: str, *, forced_reason: str = "", differs: str = "", authority: str = "", by: Actor,
            now: datetime) -> StepRecord:
    """Done by one tap; done twice it stays done once.

    `forced_reason`: it is done out of order on purpose. `differs`: why what goes back is not what came off.
    When all steps of a removal are done, it has ended and its pieces count as fitted.
    """
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    must_be_tapped(way, step)
    if step in way.records:
        return way.records[step]
    return mark_done(way, step, forced_reason=fold(forced_reason), note=_noted(way, step, fold(differs), authority), by=by, now=now)


def do_steps(order: RepairOrder, steps: Sequence[str], *, authority: str = "", by: Actor, now: datetime) -> list[StepRecord]:
    """Several alike, in the order given. The way is worked out once: a step that is done by a tap changes nothing else of it."""
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    for step in steps:
        must_be_tapped(way, step)
        if step not in way.records:
            note = _noted(way, step, "", authority)
            way = replace(way, records={**way.records, step: _record(way, step, "", note, None, by, now)})
    see_plan(way, by=by, now=now)
    return [way.records[step] for step in steps]


def _noted(way: ReassemblyState, step: str, differs: str, authority: str) -> str:
    """The note of a step. Fitting what is new before anybody agreed to it is asked back: BadInput until it says who allows it."""
    if not (why := way.why_unagreed(step)):
        return differs
    if not fold(authority):
        removal = way.removal_of(step)
        raise BadInput(f"Nobody has agreed to the new {removal.title if removal else 'part'} yet: {why}. "
                       "Enter who allows it, or wait for the answer to the quote.", "authority")
    return "; ".join(filter(None, [differs, f"Not agreed to by then ({why}), allowed by: {fold(authority)}"]))


def reopen(order: RepairOrder, removal: Removal, *, reason: str, by: Actor, now: datetime) -> list[str]:
    """What is back on comes off again: its own steps are taken back, the last first, with the proofs behind them.

    The labels of the measurements and counts that are to be made again are returned.
    """
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    own = [step for step in own_steps(way.origins, removal.mark) if step in way.records]
    void: list[str] = []
    for step in sorted(own, key=lambda step: -way.records[step].id):
        if step in way_back(order, planned=False).records:
            void += undo_step(order, step, reason=reason, by=by, now=now)
            session().flush()
    if removal.ended_at is not None:
        outcome_service.reopen_removal(removal, order, reason=reason, by=by, now=now)
    return list(dict.fromkeys(void))


def answer(order: RepairOrder, record: str, field: str, value: str, *, by: Actor, now: datetime) -> Removal:
    """What the plan asks about one record, answered by one tap.

    What it sits in, that its stack is turned round, which cavity it closes, or what one of its ends carries.
    """
    must_be_open(order)
    way = way_back(order, planned=False)
    asked = next((one for one in way.questions if (one.record, one.field) == (record, field)), None)
    if asked is None or (asked.choices and value not in asked.choices):
        raise RuleBroken("This question has been answered by now. Look at the plan again.")
    removal = way.removals[record]
    facts = record_service.facts_of(removal)
    if field == "stacks":
        facts = replace(facts, stack=facts.stack[::-1])
    elif field.startswith("end "):
        number, ends = int(field.removeprefix("end ")), facts.ends
        facts = replace(facts, ends=(*ends[:number], replace(ends[number], carries=value), *ends[number + 1:]))
    elif field == "closes":
        facts = replace(facts, closes=value)
    else:
        facts = replace(facts, fixed_to=value)
    record_service.change_removal(removal, order, facts, by=by, now=now)
    return removal


def mark_done(way: ReassemblyState, step: str, *, forced_reason: str = "", note: str = "", reading_id: int | None = None, by: Actor,
              now: datetime) -> StepRecord:
    """Check the order, write the record, end the removal if this was its last step; this plan is the one worked from."""
    step_record = _record(way, step, forced_reason, note, reading_id, by, now)
    see_plan(way, by=by, now=now)
    return step_record


def _record(way: ReassemblyState, step: str, forced_reason: str, note: str, reading_id: int | None, by: Actor,
            now: datetime) -> StepRecord:
    lacks = unmet_predecessors(step, way.steps.values(), way.done)
    must_be_in_order(way, step, lacks, forced_reason, now)
    ending = _ends_with(way, step, note)
    planned = way.steps[step]
    if step in way.invalidated:
        _take_back(way, way.invalidated[step], "something that it follows was done after it", by=by, now=now)
        session().flush()
    until = now + timedelta(minutes=planned.unattended_minutes) if planned.unattended_minutes else None
    step_record = StepRecord(order_id=way.order.id, step=step, label=planned.label or step, note=note,
                             forced_reason=forced_reason if lacks else "", lacked=", ".join(lacks), reading_id=reading_id,
                             dries_until=until, done_at=now, done_by=by.name)
    session().add(step_record)
    told = {"step": step_record.label, "note": note, "too early for": ", ".join(map(way.label, lacks))}
    chassis.opened(step_record.order_id, "a step of the way back was done", by=by, now=now)
    record(Event.STEP_DONE_OUT_OF_SEQUENCE if lacks else Event.STEP_DONE, step_record, by=by, now=now,
           reason=step_record.forced_reason, after={name: words for name, words in told.items() if words})
    if ending is not None:
        outcome_service.end_removal(ending, way.order, by=by, now=now)
    return step_record


def undo_step(order: RepairOrder, step: str, *, reason: str, by: Actor, now: datetime) -> list[str]:
    """Take a step back. Measurements and counts that came after it prove nothing any more: their labels are returned."""
    must_be_open(order)
    power.must_be_off(order)
    way = way_back(order, planned=False)
    standing = way.records.get(step)
    if standing is None:
        raise RuleBroken(f"{way.label(step)} is not done.")
    reason = fold(reason)
    if not reason:
        raise BadInput("Enter why it is undone.", "reason")
    later = behind(step, way.steps.values())
    void = [name for name in way.done if name in later and way.origins[name][0] in PROOFS]
    for name in (step, *void):
        _take_back(way, way.records[name], reason if name == step else f"{standing.label} was undone", by=by, now=now)
    return [way.label(name) for name in void]


def see_plan(way: ReassemblyState, *, by: Actor, now: datetime) -> None:
    """Remember the plan of now as the one that was worked from."""
    steps = {step.id: [step.label, list(step.after)] for step in way.steps.values()}
    seen = seen_of(way.order)
    if seen is None:
        session().add(PlanSeen(order_id=way.order.id, steps=steps, at=now, by_name=by.name))
    elif seen.steps != steps:
        seen.steps, seen.at, seen.by_name = steps, now, by.name


def must_be_planned(way: ReassemblyState, step: str) -> None:
    if way.problem:
        raise RuleBroken(way.problem)
    if step not in way.steps:
        raise NotFound("This step is not part of the way back any more: the ledger has changed. Look at the plan again.")


def must_be_tapped(way: ReassemblyState, step: str) -> None:
    """Refuse a step of another plan, and one that a tap alone does not do."""
    must_be_planned(way, step)
    if step in way.records or way.kind(step) == "done":
        return
    if way.kind(step) == "decide":
        raise RuleBroken(f"{way.label(step)} first.")
    wanted = {"measured": "enter the reading", "counted": "enter the count", "powered": "record the power-up, then read",
              "dead": "record the discharge"}
    raise RuleBroken(f"{way.label(step)}: {wanted[way.kind(step)]}.")


def must_be_in_order(way: ReassemblyState, step: str, lacks: tuple[str, ...], forced_reason: str, now: datetime) -> None:
    if lacks:
        words = f"{way.label(step)} comes too early: first {'; '.join(map(way.label, lacks))}."
        if wrong := why_not_forced(lacks, way.origins):
            raise RuleBroken(f"{words} {wrong}" if forced_reason else words)
        if not forced_reason:
            raise RuleBroken(words)
    if way.kind(step) != "powered" and way.charged and not power.powered(way.order.id):
        raise RuleBroken("It was on power: discharge it, measure and record the discharge before hands go in.")
    for part in way.awaits(step):
        raise RuleBroken(f"{way.label(step)} waits for {say_part(part)}. Receive it under parts first.")
    for bake in way.bakes(step):
        raise RuleBroken(f"{way.label(step)} waits for {say_bake(bake)}.")
    for one in way.dries(step, now):
        raise RuleBroken(f"{one.label} still dries: wait until it has ended.")


def _ends_with(way: ReassemblyState, step: str, differs: str) -> Removal | None:
    """The removal that is back with this step, if it is its last; refused if it would go back with a piece short."""
    what, mark = way.origins[step]
    removal = way.removals.get(mark)
    if not is_own(what) or removal is None or removal.ended_at is not None:
        return None
    if any(name != step and name not in way.records for name in own_steps(way.origins, mark)):
        return None
    line = removals.line_of(removal, way.order)
    if not differs and (short := short_of(line.pieces, line.open)):
        raise RuleBroken(f"{removal.title} lacks {say_counts(short)}. Issue new hardware, or say under “It differs” "
                         "why it goes back otherwise.")
    return removal


def _take_back(way: ReassemblyState, standing: StepRecord, reason: str, *, by: Actor, now: datetime) -> None:
    standing.undone_at, standing.undone_by, standing.undone_reason = now, by.name, reason
    chassis.opened(standing.order_id, "a step of the way back was undone", by=by, now=now)
    record(Event.STEP_UNDONE, standing, by=by, now=now, before={"step": standing.label, "done": True}, after={"done": False},
           reason=reason)
    what, mark = way.origins.get(standing.step, ("", ""))
    removal = way.removals.get(mark)
    if is_own(what) and removal is not None and removal.ended_at is not None:
        outcome_service.reopen_removal(removal, way.order, reason=reason, by=by, now=now)
