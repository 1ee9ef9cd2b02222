"""Rounds of bias readings: all output valves at one time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.measuring.models import Instrument, Reading
from app.measuring.rules import Quantity, Relation
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.powerup import queries
from app.powerup.models import BiasReading, BiasRound, PowerUpEntry, PowerUpMains, PowerUpRun
from app.powerup.queries import Where
from app.powerup.rounds import found_of, verdict_of
from app.powerup.rules.course import Go, why_not_first
from app.powerup.rules.items import Biased, split
from app.powerup.rules.mains import Asked, load_of
from app.powerup.rules.output import limits_from_memory
from app.powerup.rules.soak import minutes, moment_at

STEPS_WITH_BIAS = (7, 12, 13)
MOST_CATHODE = 0.25  # of the anode voltage: no output pentode stands more on its cathode resistor. Common practice, no source


@dataclass(frozen=True)
class Typed:
    """A round as it is entered: texts in bench notation by field; by mark for each valve."""

    anode: str
    currents: Mapping[str, str]
    volts: Instrument
    amperes: Instrument
    screen: str = ""
    cathode: str = ""
    grid: str = ""
    screens: Mapping[str, str] | None = None
    cold_end_v: float | None = None
    hot_end_v: float | None = None
    load_aa_ohm: float | None = None


def record_round(run: PowerUpRun, step: int, typed: Typed, *, by: Actor, now: datetime) -> PowerUpEntry:
    """Keep every reading of the round; the verdict is calculated from them."""
    order = _order(run)
    must_be_open(order)
    if run.ended_at is not None:
        raise RuleBroken(f"First power-up {run.number} has ended. Begin another one.")
    found = queries.where(run.id)
    if step not in STEPS_WITH_BIAS:
        raise RuleBroken(f"Step {step} has no bias readings.")
    if waits := found.waits(step):
        raise RuleBroken(waits)
    _in_turn(found, step)
    power.must_not_be_barred(order)
    moment, soak_id = _moment(run, step, now)
    if run.biased is Biased.CATHODE and not typed.cathode.strip():
        raise BadInput("Enter the volts across the cathode resistor: without them the dissipation is too high.", "cathode")
    if run.biased is Biased.FIXED and typed.cathode.strip():
        raise BadInput("With fixed bias the cathodes stand at 0 V: leave this empty.", "cathode")
    made = _readings(run, order, typed, step, by=by, now=now)
    _plausible(run, made)
    made.cold_end_v, made.hot_end_v, made.load_aa_ohm = typed.cold_end_v, typed.hot_end_v, typed.load_aa_ohm
    made.moment, made.soak_id = moment, soak_id
    session().add(made)
    session().flush()
    entry = PowerUpEntry(run=run, step=step, item="soak" if step == 12 else "bias", round=made, words="", left_why="", at=now,
                         by_name=by.name)
    session().add(entry)
    session().flush()
    assessed = found_of(run, made)
    record(Event.POWER_UP_BIAS_READ, run, by=by, now=now, after={
        "step": step, "anodes": made.anode.words, "minutes into the soak run": moment,
        **{one.mark: one.current.words for one in made.valves},
        "share of the limit": {one.mark: f"{one.share:.0%}" for one in assessed.valves} if assessed else {},
        "came to": verdict_of(run, entry)[0].value,
        "limits": [*limits_from_memory(run.valve)]})
    return entry


def _in_turn(found: Where, step: int) -> None:
    """Not before what the step looks at first; not once more after a round that aborts."""
    state = next(one for one in found.states if one.step.number == step)
    for item, go in state.items:
        if item.key in ("bias", "soak") and go is Go.ABORT:
            raise RuleBroken("The last round aborts this step. Switch off, and record the finding.")
        if item.key in ("bias", "soak") and (why := why_not_first(state, item)):
            raise RuleBroken(why)


def _moment(run: PowerUpRun, step: int, now: datetime) -> tuple[int | None, int | None]:
    """The moment of the soak run that a round belongs to, by the server's clock."""
    if step != 12:
        return None, None
    soak = queries.soak_of(run)
    if soak is None or soak.ended_at is not None:
        raise RuleBroken("No soak run is on. Begin it on the safety page: earth and insulation come first.")
    return moment_at(soak.carried_minutes + minutes(soak.started_at, now), soak.needed_minutes), soak.id


def _readings(run: PowerUpRun, order: RepairOrder, typed: Typed, step: int, *, by: Actor, now: datetime) -> BiasRound:
    def take(field: str, name: str, text: str, quantity: Quantity, meter: Instrument) -> Reading:
        taken = Taken(f"First power-up, {name}", quantity, text, meter, condition=f"step {step}, at rest", zero_is_real=True)
        try:
            reading = readings_service.take(order, taken, by=by, now=now, proves=True)
        except BadInput as wrong:
            meter_field = "volts" if quantity is Quantity.VOLT_DC else "amperes"
            raise BadInput(wrong.words, meter_field if wrong.field == "instrument" else field) from wrong
        if reading.relation is not Relation.IS:
            raise BadInput("The dissipation is calculated from this: enter what the meter shows, not more or less than it.", field)
        return reading

    def volts(field: str, name: str, text: str) -> Reading | None:
        return take(field, name, text, Quantity.VOLT_DC, typed.volts) if text.strip() else None

    anode = volts("anode", "anodes", typed.anode)
    if anode is None:
        raise BadInput("Enter the anode voltage.", "anode")
    if anode.value <= 0:
        raise BadInput("The anode is positive: check the leads.", "anode")
    made = BiasRound(anode=anode, screen=volts("screen", "screens", typed.screen),
                     cathode=volts("cathode", "cathodes", typed.cathode), grid=volts("grid", "grids", typed.grid))
    for mark in split(run.marks):
        field, text = f"current_{mark}", typed.currents.get(mark, "")
        if not text.strip():
            raise BadInput(f"Enter the cathode current of {mark}: all valves are read in one round.", field)
        current = take(field, f"{mark} cathode current", text, Quantity.AMP_DC, typed.amperes)
        if current.value < 0:
            raise BadInput("A cathode current has no minus: check the leads.", field)
        shown = (typed.screens or {}).get(mark, "").strip()
        screen = take(f"screen_{mark}", f"{mark} screen current", shown, Quantity.AMP_DC, typed.amperes) if shown else None
        if screen is not None and not 0 < screen.value <= current.value:
            raise BadInput("A screen current is more than 0 and at most the cathode current. Check the leads; one that was "
                           "not read stays empty.", f"screen_{mark}")
        made.valves.append(BiasReading(mark=mark, current=current, screen=screen))
    return made


def _plausible(run: PowerUpRun, made: BiasRound) -> None:
    """Volts that no such stage has are a slip, and would make a hot valve look cool."""
    anode, cathode = made.anode.value, made.cathode.value if made.cathode else 0.0
    if made.cathode is not None and not 0 < cathode <= MOST_CATHODE * anode:
        raise BadInput(f"The cathodes stand above 0 V and at most at {MOST_CATHODE:.0%} of the anodes: check the leads.", "cathode")
    if made.screen is not None and made.screen.value <= cathode:
        raise BadInput("The screens are more positive than the cathodes: check the leads.", "screen")
    if made.grid is not None and made.grid.value >= (cathode if run.biased is Biased.CATHODE else 0.0):
        raise BadInput("The grids are more negative than the cathodes: check the leads.", "grid")


def keep_mains(run: PowerUpRun, asked: Asked, *, no_load_source: str = "", by: Actor, now: datetime) -> PowerUpMains:
    """Keep what hangs on the mains transformer; step 5's current is then held against its no-load current."""
    must_be_open(_order(run))
    if run.ended_at is not None:
        raise RuleBroken(f"First power-up {run.number} has ended. Begin another one.")
    if asked.no_load_a is not None and not no_load_source.strip():
        raise BadInput("Enter where the no-load current comes from: measured before, or the maker’s sheet.", "no_load_source")
    found = load_of(asked)
    made = PowerUpMains(
        run_id=run.id, heaters=asked.heaters.strip(), heater_winding_a=asked.heater_winding_a, ht_vrms=asked.ht_vrms,
        rectifier=asked.rectifier, source_ohm=asked.source_ohm, reservoir_farad=asked.reservoir_farad, ht_a=asked.ht_a,
        rated_va=asked.rated_va, no_load_a=asked.no_load_a, no_load_source=no_load_source.strip(), at=now, by_name=by.name)
    session().add(made)
    record(Event.POWER_UP_MAINS_KEPT, run, by=by, now=now, after={
        "heaters": made.heaters, "heater current": f"{found.heater_a:.3g} A",
        "transformer": f"{found.va:.3g} VA" if found.va else "", "fuse": found.fuse.marking if found.fuse else ""})
    session().flush()
    return made


def _order(run: PowerUpRun) -> RepairOrder:
    return session().get_one(RepairOrder, run.order_id)
