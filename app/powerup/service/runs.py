"""A run from its beginning to its end: what it knows, aborts, resumption, and the owner's word instead of one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.electrics import ElectricsError
from app.electrics.valves import as_valve
from app.errors import BadInput, RuleBroken
from app.findings.models.findings import Finding
from app.findings.rules.life import Area, Origin
from app.findings.service import findings as findings_service
from app.findings.spec import FindingFacts
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring.rules import say
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.powerup import queries
from app.powerup.models import PowerUpAbort, PowerUpRun, PowerUpWaiver
from app.powerup.rules.course import Go, resumes_from
from app.powerup.rules.items import Biased, split

MOST_VALVES = 8


@dataclass(frozen=True)
class Begun:
    """What a run is begun with. Volts, ohms, watts; None where nobody knows it."""

    valve: str
    marks: str
    biased: Biased
    small: str = ""
    silicon: bool = True
    heater_v: float = 6.3
    load_ohm: float | None = None
    expected_w: float | None = None
    expected_source: str = ""


def begin(order: RepairOrder, given: Begun, *, by: Actor, now: datetime) -> PowerUpRun:
    """Begin a run. One that was finished or stopped stays beside it."""
    must_be_open(order)
    power.must_not_be_barred(order)
    if (last := queries.run_of(order.id)) is not None and last.ended_at is None:
        raise RuleBroken("A first power-up is under way. Go on with it, or stop it with a reason.")
    marks, small = _checked(given)
    number = max((one.number for one in queries.runs_of(order.id)), default=0) + 1
    run = PowerUpRun(order_id=order.id, number=number, valve=as_valve(given.valve).name, marks=", ".join(marks),
                     small=", ".join(small), biased=given.biased, silicon=given.silicon, heater_v=given.heater_v,
                     load_ohm=given.load_ohm, expected_w=given.expected_w, expected_source=given.expected_source.strip(),
                     started_at=now, started_by=by.name)
    session().add(run)
    record(Event.POWER_UP_RUN_STARTED, run, by=by, now=now, after={
        "run": number, "output valves": f"{run.marks}: {run.valve}", "bias": run.biased.value, "small valves": run.small,
        "load": say(run.load_ohm, "Ω"), "expected power": say(run.expected_w, "W"), "from": run.expected_source})
    session().flush()
    return run


def _checked(given: Begun) -> tuple[tuple[str, ...], tuple[str, ...]]:
    marks, small = split(given.marks), split(given.small)
    try:
        entry = as_valve(given.valve)
    except ElectricsError as wrong:
        raise BadInput(str(wrong), "valve") from wrong
    if entry.kind != "pentode" or entry.ratings is None or entry.ratings.anode_w is None:
        raise BadInput(f"Of a {entry.name} no greatest dissipation is known here: its bias could not be judged.", "valve")
    if not 1 <= len(marks) <= MOST_VALVES:
        raise BadInput(f"Enter the marks of the output valves, such as V5, V6; at most {MOST_VALVES}.", "marks")
    for field, names in (("marks", marks), ("small", small)):
        if len({one.lower() for one in names}) < len(names):
            raise BadInput("A mark stands there twice.", field)
        if any(":" in one or len(one) > 12 for one in names):
            raise BadInput("Marks are short, such as V5, and have no colon.", field)
    if given.expected_w is not None and not given.expected_source.strip():
        raise BadInput("Enter where the expected power comes from: data sheet, schematic, an earlier repair.", "expected_source")
    return marks, small


def stop(run: PowerUpRun, *, reason: str, by: Actor, now: datetime) -> None:
    """It is given up, with the reason."""
    _must_run(run)
    if not reason.strip():
        raise BadInput("Enter why it is stopped.", "reason")
    _off(run, by=by, now=now)
    run.ended_at, run.ended_by, run.stopped_why = now, by.name, reason.strip()
    record(Event.POWER_UP_RUN_STOPPED, run, by=by, now=now, after={"run": run.number}, reason=reason.strip())


def finish(run: PowerUpRun, *, by: Actor, now: datetime) -> None:
    """All sixteen steps are done."""
    _must_run(run)
    found = queries.where(run.id)
    if found.abort is not None or not found.done:
        waits = next((one for one in found.states if not one.is_done), None)
        raise RuleBroken(f"Step {waits.step.number} is not done: {waits.step.title}." if waits else
                         "The run is aborted. Resume it first.")
    run.ended_at, run.ended_by = now, by.name
    record(Event.POWER_UP_RUN_FINISHED, run, by=by, now=now, after={
        "run": run.number, "not judged": [one.step.title for one in found.states if one.go.value == "not judged"]
        + [item.title for one in found.states for item, go in one.items if go.value == "not judged"],
        "limits not compared with their document": [f"Step {one.step.number}: {item.title}" for one in found.states
                                                    for item, go in one.items if go in (Go.MEMORY, Go.UNCONFIRMED)]})


def abort(run: PowerUpRun, step: int, facts: FindingFacts, *, off: bool, by: Actor, now: datetime) -> PowerUpAbort:
    """Mains off, and what was seen becomes a finding. Nothing follows until it is decided."""
    _must_run(run)
    if queries.where(run.id).abort is not None:
        raise RuleBroken("The run is aborted already. Decide on its finding.")
    order = session().get_one(RepairOrder, run.order_id)
    if power.powered(order.id) is not None and not off:
        raise BadInput("Switch the amp off and pull the plug first, then tick it.", "off")
    finding = findings_service.record_finding(order, facts, by=by, now=now)
    session().flush()
    _off(run, by=by, now=now)
    last = max((one.id for one in run.entries), default=0)
    made = PowerUpAbort(run=run, step=step, finding=finding, last_entry=last, at=now, by_name=by.name)
    session().add(made)
    record(Event.POWER_UP_RUN_ABORTED, run, by=by, now=now, after={
        "run": run.number, "step": step, "finding": finding.number, "seen": finding.observation})
    session().flush()
    return made


def finding_facts(observation: str, area: str, place: str = "") -> FindingFacts:
    """The finding that an abort opens; what it could do to whom is said on its own page."""
    return FindingFacts(observation=observation, area=Area(area), place=place, origin=Origin.WEAR)


def resume(run: PowerUpRun, *, hypothesis: str, hands_in: bool, by: Actor, now: datetime) -> PowerUpAbort:
    """Go on after an abort whose finding is decided, with what is expected now. `hands_in`: from the first step again."""
    _must_run(run)
    standing = queries.where(run.id).abort
    if standing is None:
        raise RuleBroken("The run is not aborted: there is nothing to resume.")
    finding: Finding = standing.finding
    if finding.disposition is None and finding.withdrawn_at is None:
        raise RuleBroken(f"Decide on finding {finding.number} first. Nothing is tried once more before.")
    if not hypothesis.strip():
        raise BadInput("Enter what was wrong and what you expect to read now.", "hypothesis")
    standing.hypothesis, standing.resumed_at, standing.resumed_by = hypothesis.strip(), now, by.name
    standing.resumed_from = resumes_from(standing.step, hands_in=hands_in)
    record(Event.POWER_UP_RUN_RESUMED, run, by=by, now=now, after={
        "run": run.number, "from step": standing.resumed_from, "expected": standing.hypothesis})
    session().flush()
    return standing


def waive(order: RepairOrder, *, reason: str, by: Actor, now: datetime) -> PowerUpWaiver:
    """The owner answers for an amp that leaves without a finished run."""
    must_be_open(order)
    if len(reason.strip()) < 10:
        raise BadInput("Enter in a sentence why this amp needs no finished first power-up.", "reason")
    run = queries.run_of(order.id)
    if run is not None and run.ended_at is None:
        raise RuleBroken("A first power-up is under way. Stop it with a reason first.")
    made = PowerUpWaiver(order_id=order.id, reason=reason.strip(), at=now, by_name=by.name)
    session().add(made)
    record(Event.POWER_UP_WAIVED, made, by=by, now=now, reason=reason.strip())
    session().flush()
    return made


def switch_off(run: PowerUpRun, *, by: Actor, now: datetime) -> None:
    """It is off and unplugged between two steps."""
    power.power_off(session().get_one(RepairOrder, run.order_id), by=by, now=now)


def _off(run: PowerUpRun, *, by: Actor, now: datetime) -> None:
    if power.powered(run.order_id) is not None:
        power.power_off(session().get_one(RepairOrder, run.order_id), by=by, now=now)


def _must_run(run: PowerUpRun) -> None:
    must_be_open(session().get_one(RepairOrder, run.order_id))
    if run.ended_at is not None:
        raise RuleBroken(f"First power-up {run.number} has ended. Begin another one.")
