"""The soak run."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring.rules import say
from app.orders import chassis, power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still
from app.reassembly.gate import closed_up
from app.safety import queries
from app.safety.models.testing import SoakRun
from app.shop.queries import the_shop


def start_soak(order: RepairOrder, *, load: str, attended: bool, mains_v: float | None = None, by: Actor,
               now: datetime) -> SoakRun:
    """Begin: into which load and with what signal, and whether somebody stays with it."""
    must_be_open(order)
    if queries.running_soak(order) is not None:
        raise RuleBroken("A soak run is on already. End it first.")
    if not load.strip():
        raise BadInput("Enter into which load it runs, and with what signal.", "load")
    _may_run(order)
    power.power_up(order, "soak run", by=by, now=now)
    needed = the_shop().soak_minutes
    run = SoakRun(order_id=order.id, needed_minutes=needed, load=load.strip(), mains_v=mains_v, attended=attended,
                  started_at=now, started_by=by.name, last_opening_id=chassis.last_opening(order.id),
                  carried_minutes=queries.minutes_to_carry(order))
    session().add(run)
    record(Event.SOAK_STARTED, run, by=by, now=now, after={
        "load": run.load, "minutes needed": needed, "attended": attended, "mains": say(mains_v, "V")})
    session().flush()
    return run


def _may_run(order: RepairOrder) -> None:
    """Everything on, nothing left over, and an earth and an insulation that passed since it was last opened."""
    power.must_not_be_barred(order)
    if off := closed_up(order):
        raise RuleBroken(f"{off} A soak run begins when the amp is whole.")
    if why := queries.why_not_proven(order):
        raise RuleBroken(f"{why} Only then may it be left running.")


def end_soak(run: SoakRun, *, symptom_shown: bool, observations: str, interrupted: str = "", by: Actor,
             now: datetime) -> SoakRun:
    """End: what was seen, heard and smelt, and whether the symptom showed even once.

    `interrupted` says why it ends before its time: the next run carries its minutes on, unless the amp is opened between.
    """
    must_be_open_still(run.order_id)
    if run.ended_at is not None:
        raise RuleBroken("This soak run has ended already.")
    if not observations.strip():
        raise BadInput("Enter what was seen, heard and smelt.", "observations")
    run.ended_at, run.ended_by = now, by.name
    run.symptom_shown, run.observations = symptom_shown, observations.strip()
    run.interrupted = "" if symptom_shown else interrupted.strip()
    came = run.came
    record(Event.SOAK_ENDED, run, by=by, now=now, after={
        "minutes": came.minutes if came else 0, "symptom shown": symptom_shown, "seen": run.observations,
        "interrupted": run.interrupted, "counts": came is not None and not came.why_not})
    return run
