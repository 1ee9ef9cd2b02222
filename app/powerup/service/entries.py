"""What is seen, read or left unjudged at an item of a step."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.discharge import queries as discharge
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring.insulation import TESTERS
from app.measuring.models import Instrument
from app.measuring.rules import Kind, Relation
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.powerup import queries
from app.powerup.models import PowerUpEntry, PowerUpRun, PowerUpTrial
from app.powerup.queries import Where
from app.powerup.rules.course import Go, counts_for, why_not_first, why_not_left
from app.powerup.rules.items import Band, Item, ReadBy, Sort, why_band_refused
from app.powerup.rules.steps import STEPS, Step
from app.powerup.rules.trials import TrialKind
from app.reassembly.queries.fitting import fitted
from app.reassembly.queries.work import balance_of
from app.removals import queries as removals
from app.safety.rules import FITTING, StepKind, why_level_refused

FITS: dict[ReadBy, tuple[Kind, ...]] = {ReadBy.BOND: FITTING[StepKind.BOND], ReadBy.INSULATION: TESTERS}
KIND_OF = {ReadBy.BOND: StepKind.BOND, ReadBy.INSULATION: StepKind.INSULATION}


@dataclass(frozen=True)
class Given:
    """A reading as it is entered. `band` is what the person says it must lie in, where the program leaves that open.

    `level`: what the tester worked with, A or V. `correcting`: why the entry that stands was wrong.
    """

    typed: str
    instrument: Instrument
    band: Band | None = None
    level: float | None = None
    zero_is_real: bool = False
    words: str = ""
    correcting: str = ""


def look(run: PowerUpRun, number: int, key: str, *, seen: bool, words: str = "", by: Actor, now: datetime) -> PowerUpEntry:
    """Yes or no to what was looked at; a no needs words and aborts."""
    found, step, item = _may(run, number, key, now=now)
    if item.sort is not Sort.LOOK:
        raise RuleBroken(f"“{item.title}” is measured, not answered.")
    _not_failed(found, step, item, "")
    if not seen and not words.strip():
        raise BadInput("Enter what you see instead.", "words")
    if seen and item.key == "count":
        _counts_match(_order(run))
    if step.powered:
        power.power_up(_order(run), f"first power-up, step {number}", by=by, now=now)
    return _keep(run, step, item, PowerUpEntry(seen=seen, words=words.strip()), by=by, now=now)


def discharged(run: PowerUpRun, *, by: Actor, now: datetime) -> PowerUpEntry:
    """The discharge record shows every supply capacitor below the limit: that is the proof, and nothing typed here."""
    _, step, item = _may(run, 1, "discharge", now=now)
    order = _order(run)
    shown = discharge.shown(order)
    if not shown:
        raise RuleBroken(f"{discharge.why_not(order) or 'No discharge is recorded yet.'} Record the discharge first.")
    return _keep(run, step, item, PowerUpEntry(seen=True, words=shown), by=by, now=now)


def measure(run: PowerUpRun, number: int, key: str, given: Given, *, by: Actor, now: datetime) -> PowerUpEntry:
    """A reading against its band; what guards a life is read with an instrument in date that states its accuracy."""
    found, step, item = _may(run, number, key, now=now)
    if not item.is_read or item.quantity is None:
        raise RuleBroken(f"“{item.title}” is not a single reading.")
    earlier = _not_failed(found, step, item, given.correcting)
    band = _band(item, given.band)
    _first(found, step, item)
    _fits(run, item, given)
    if item.sort is Sort.POWER and _load_of(found, number) is None:
        raise BadInput("Measure the load first: the power is calculated from it.", "typed")
    taken = Taken(f"First power-up, {item.title}", item.quantity, given.typed, given.instrument,
                  condition=_condition(step, item, given), expected=band.expected if band else None,
                  lower=band.lower if band else None, upper=band.upper if band else None, basis=band.source if band else "",
                  zero_is_real=given.zero_is_real, powered=step.powered and item.quantity.needs_power)
    order = _order(run)
    if earlier is not None and earlier.reading is not None and given.correcting.strip():
        reading = readings_service.correct(earlier.reading, taken, reason=given.correcting, by=by, now=now, proves=item.guards)
    else:
        reading = readings_service.take(order, taken, by=by, now=now, proves=item.guards)
    if (item.sort is Sort.POWER or item.key == "load") and reading.relation is not Relation.IS:
        raise BadInput("The power is calculated from this: enter what the meter shows, not more or less than that.", "typed")
    session().flush()
    entry = PowerUpEntry(reading=reading, words=given.words.strip(), level=given.level)
    return _keep(run, step, item, entry, by=by, now=now)


def leave(run: PowerUpRun, number: int, key: str, *, why: str, by: Actor, now: datetime) -> PowerUpEntry:
    """Not judged, with the reason. What guards a life is never left."""
    found, step, item = _may(run, number, key, now=now)
    if refused := why_not_left(item):
        raise RuleBroken(refused)
    _not_failed(found, step, item, "")
    if not why.strip():
        raise BadInput("Enter why it is not judged.", "left_why")
    return _keep(run, step, item, PowerUpEntry(left_why=why.strip()), by=by, now=now)


def tried(run: PowerUpRun, kind: TrialKind, *, trials: int, shown: int, words: str = "", by: Actor, now: datetime) -> PowerUpTrial:
    """So many trials, and in how many of them the fault showed."""
    _open(run)
    number = 14 if kind is TrialKind.TAP else 12
    if waits := queries.where(run.id).waits(number):
        raise RuleBroken(waits)
    if trials < 1:
        raise BadInput("Enter how many times it was tried, from 1.", "trials")
    if not 0 <= shown <= trials:
        raise BadInput("It cannot have shown more often than it was tried.", "shown")
    if shown and not words.strip():
        raise BadInput("Enter what showed.", "words")
    power.power_up(_order(run), f"first power-up, {kind.value}", by=by, now=now)
    made = PowerUpTrial(run_id=run.id, kind=kind, trials=trials, shown=shown, words=words.strip(), at=now, by_name=by.name)
    session().add(made)
    record(Event.POWER_UP_TRIED, run, by=by, now=now, after={"trials": made.tried.words, "of": kind.value, "seen": made.words})
    session().flush()
    return made


def _may(run: PowerUpRun, number: int, key: str, *, now: datetime) -> tuple[Where, Step, Item]:
    """The item, if its step's turn has come and the amp is as the step needs it."""
    _open(run)
    found = queries.where(run.id)
    if waits := found.waits(number):
        raise RuleBroken(waits)
    step = STEPS[number]
    item = next((one for one in step.items(found.amp) if one.key == key), None)
    if item is None:
        raise RuleBroken(f"Step {number} has no such item.")
    as_needed(_order(run), step)
    return found, step, item


def as_needed(order: RepairOrder, step: Step) -> None:
    """Powered steps: nothing bars power. The others: off and unplugged, and from the cold resistance on shown discharged."""
    if step.powered:
        power.must_not_be_barred(order)
        return
    if step.number > 3:
        return
    power.must_be_off(order)
    if step.number in (2, 3) and not discharge.is_discharged(order):
        raise RuleBroken(f"{discharge.why_not(order) or 'It is not shown discharged.'} Record the discharge before hands go in.")


def _not_failed(found: Where, step: Step, item: Item, correcting: str) -> PowerUpEntry | None:
    """The entry that stands. One that aborts is not tried once more: it becomes a finding, or it was typed wrong."""
    stands = found.standing.get((step.number, item.key))
    go = next((go for state in found.states if state.step is step for one, go in state.items if one.key == item.key), Go.OPEN)
    if go is Go.ABORT and not correcting.strip():
        raise RuleBroken(f"“{item.title}” is outside its band. Abort the step and record the finding; if it was typed wrong, "
                         "enter what was wrong with it.")
    return stands


def _first(found: Where, step: Step, item: Item) -> None:
    """Nothing is measured on power before what makes that bearable was seen to."""
    if why := why_not_first(found.states[step.number], item):
        raise RuleBroken(why)


def _counts_match(order: RepairOrder) -> None:
    """Nobody's word goes against the ledger of pieces."""
    if open_ := balance_of(order).unexplained:
        raise RuleBroken(f"The balance is open: {open_[0].piece}. Settle it first.")
    if lost := removals.open_losses(order):
        raise RuleBroken(f"Lost: {lost[0].piece}. Find it, or have a search countersigned.")


def _band(item: Item, typed: Band | None) -> Band | None:
    """The program's band where it knows one; another is typed with its source."""
    if item.fixed or typed is None:
        return item.band
    if not typed.source.strip():
        raise BadInput("Enter where these limits come from.", "source")
    if typed.lower is not None and typed.upper is not None and typed.lower > typed.upper:
        raise BadInput("The lower limit lies above the upper one.", "lower")
    why, field = why_band_refused(item, typed)
    if why:
        raise BadInput(why, field)
    return typed


def _fits(run: PowerUpRun, item: Item, given: Given) -> None:
    """The instrument is of the kind that the item asks for, at a level that proves something."""
    if item.tester is ReadBy.ANY:
        return
    if given.instrument.kind not in FITS[item.tester]:
        raise BadInput(f"{given.instrument.name} is a {given.instrument.kind.value}: this needs an {item.tester.value}.",
                       "instrument")
    known = fitted(_order(run))
    test_v = queries.amp_of(run).test_v if item.tester is ReadBy.INSULATION else None
    if why := why_level_refused(KIND_OF[item.tester], test_v, given.level, given.words, known.what if known else ""):
        raise BadInput(why, "level")


def _condition(step: Step, item: Item, given: Given) -> str:
    unit = {ReadBy.BOND: "A", ReadBy.INSULATION: "V"}.get(item.tester, "")
    return f"step {step.number}, {step.title}" + (f", with {given.level:g} {unit}" if unit and given.level else "")


def _load_of(found: Where, number: int) -> PowerUpEntry | None:
    entry = found.standing.get((number, "load"))
    return entry if entry is not None and entry.reading is not None else None


def _keep(run: PowerUpRun, step: Step, item: Item, entry: PowerUpEntry, *, by: Actor, now: datetime) -> PowerUpEntry:
    entry.run, entry.step, entry.item, entry.at, entry.by_name = run, step.number, item.key, now, by.name
    entry.words, entry.left_why = entry.words or "", entry.left_why or ""
    session().add(entry)
    session().flush()
    came = next((go for state in queries.where(run.id).states if state.step.number == step.number for one, go in state.items
                 if one.key == item.key), counts_for(item, None))
    record(Event.POWER_UP_STEP_ENTERED, run, by=by, now=now, after={
        "step": step.number, "item": item.title, "came to": came.value, "seen": entry.words,
        "reading": entry.reading.words if entry.reading else "", "not judged": entry.left_why})
    return entry


def _open(run: PowerUpRun) -> None:
    must_be_open(_order(run))
    if run.ended_at is not None:
        raise RuleBroken(f"First power-up {run.number} has ended. Begin another one.")


def _order(run: PowerUpRun) -> RepairOrder:
    return session().get_one(RepairOrder, run.order_id)
