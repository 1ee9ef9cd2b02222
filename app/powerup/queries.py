"""Reading runs back: what they know of their amp, where they stand, what their rounds came to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import joinedload, selectinload

from app.db import session
from app.discharge import queries as discharge
from app.discharge.rules.listing import Supply
from app.electrics import ElectricsError
from app.findings.rules.life import Status
from app.measuring.models import Reading
from app.measuring.rules import Verdict
from app.orders.models import RepairOrder
from app.powerup.models import (
    BiasReading,
    BiasRound,
    PowerUpAbort,
    PowerUpEntry,
    PowerUpMains,
    PowerUpRun,
    PowerUpTrial,
    PowerUpWaiver,
)
from app.powerup.rules import output, soak
from app.powerup.rules.course import Entered, Go, Halt, StepState, course, go_of, standing, why_waits
from app.powerup.rules.items import Amp, split
from app.powerup.rules.mains import MAGNETISING_ALLOWANCE
from app.powerup.rules.output import One, OutputFound, Round, assess, drift
from app.powerup.rules.power import Power, power
from app.powerup.rules.trials import TrialKind, Tried
from app.records.rules import ProtectionClass
from app.request_cache import cached_until_write
from app.safety import gate as safety
from app.safety import queries as safety_queries
from app.safety.models.testing import SoakRun
from app.shop.queries import the_shop


@cached_until_write
def runs_of(order_id: int) -> Sequence[PowerUpRun]:
    """Every run of an order, newest first."""
    return session().scalars(sa.select(PowerUpRun).where(PowerUpRun.order_id == order_id)
                             .order_by(PowerUpRun.number.desc())).all()


def run_of(order_id: int) -> PowerUpRun | None:
    """The newest run of an order."""
    return next(iter(runs_of(order_id)), None)


@cached_until_write
def _whole(run_id: int) -> PowerUpRun:
    """A run with all that it rests on, in few questions."""
    rounds = selectinload(PowerUpRun.entries).joinedload(PowerUpEntry.round)
    return session().scalars(
        sa.select(PowerUpRun).where(PowerUpRun.id == run_id).options(
            selectinload(PowerUpRun.entries).joinedload(PowerUpEntry.reading).selectinload(Reading.corrected_by),
            *(rounds.joinedload(one) for one in (BiasRound.anode, BiasRound.screen, BiasRound.cathode, BiasRound.grid)),
            rounds.selectinload(BiasRound.valves).options(joinedload(BiasReading.current), joinedload(BiasReading.screen)),
            selectinload(PowerUpRun.aborts).joinedload(PowerUpAbort.finding))).one()


def amp_of(run: PowerUpRun) -> Amp:
    """What the run knows of its amp, with the limits of the shop and the ratings listed for its capacitors."""
    order = session().get_one(RepairOrder, run.order_id)
    listed = discharge.list_of(order.id)
    insulation, mains = safety.insulation_limit(order), mains_of(run.id)
    no_load = mains.no_load_a if mains else None
    return Amp(
        valve=run.valve, marks=split(run.marks), biased=run.biased, small=split(run.small),
        earthed=order.amp.protection_class is not ProtectionClass.II, silicon=run.silicon, heater_v=run.heater_v,
        mains_v=the_shop().mains_v, load_ohm=run.load_ohm, expected_w=run.expected_w, expected_source=run.expected_source,
        earth=safety.earth_limit(order), insulation=(insulation[0], insulation[2]) if insulation else None,
        test_v=insulation[1] if insulation else None,
        capacitor_v=min((one.working_v for one in listed.of(Supply.HT)), default=None) if listed else None,
        most_a=(MAGNETISING_ALLOWANCE * no_load, f"no-load current and 30 %: {mains.no_load_source}")
        if mains and no_load else None)


@dataclass(frozen=True)
class Where:
    """A run with where it stands."""

    run: PowerUpRun
    amp: Amp
    states: tuple[StepState, ...]
    halts: tuple[Halt, ...]
    standing: dict[tuple[int, str], PowerUpEntry]

    @property
    def abort(self) -> PowerUpAbort | None:
        """The abort that has not been resumed."""
        return next((one for one in self.run.aborts if one.resumed_at is None), None)

    @property
    def done(self) -> bool:
        return all(state.is_done for state in self.states)

    def waits(self, number: int) -> str:
        return why_waits(self.states, self.halts, number)


@cached_until_write
def where(run_id: int) -> Where:
    """Where a run stands: every step, every entry that counts."""
    run = _whole(run_id)
    amp, order = amp_of(run), session().get_one(RepairOrder, run.order_id)
    entries = {one.id: one for one in run.entries}
    entered = [Entered(one.id, one.step, one.item, _go(run, one), bool(one.left_why)) for one in run.entries]
    halts = tuple(Halt(one.step, one.last_entry, _decided(one), one.resumed_from) for one in run.aborts)
    counted = standing(entered, halts)
    shown = [*_soak_shown(run), *_trials_shown(run), *_test_shown(order)]
    kept = [one for one in entered if one.item != "soak"]
    return Where(run, amp, course(amp, [*kept, *shown], halts), halts, {key: entries[one.id] for key, one in counted.items()})


def _decided(abort: PowerUpAbort) -> bool:
    return abort.finding.disposition is not None or abort.finding.status is Status.WITHDRAWN


def _go(run: PowerUpRun, entry: PowerUpEntry) -> Go:
    """What an entry came to: of a round of bias readings, the three minutes of watching with it."""
    if entry.left_why:
        return Go.NOT_JUDGED
    if entry.seen is not None:
        return Go.GO if entry.seen else Go.ABORT
    if entry.round is not None:
        return go_of(round_verdict(run, entry)[0])
    if entry.item == "power":
        found = power_of(run, entry)
        return go_of(found.judged.verdict) if found else Go.OPEN
    assert entry.reading is not None  # noqa: S101 - held by the table
    return go_of(entry.reading.verdict)


def power_of(run: PowerUpRun, entry: PowerUpEntry) -> Power | None:
    """Power into the load that was measured last before these volts; None while no load was."""
    load = next((one.reading for one in reversed(run.entries) if one.id < entry.id and one.item == "load" and one.reading), None)
    volt = entry.reading
    if load is None or volt is None or load.value <= 0 or volt.value <= 0:
        return None
    return power(volt.value, volt.uncertainty, load.value, load.uncertainty, run.expected_w)


def as_round(run: PowerUpRun, given: BiasRound) -> Round:
    """A stored round as the rules take it."""
    return Round(run.valve, ones_of(given), given.anode.value, given.anode.uncertainty,
                 given.screen.value if given.screen else None, given.cathode.value if given.cathode else 0.0,
                 given.grid.value if given.grid else None, (given.cold_end_v, given.hot_end_v), given.load_aa_ohm)


def ones_of(given: BiasRound) -> tuple[One, ...]:
    """The valves of a stored round."""
    return tuple(One(one.mark, one.current.value, one.current.uncertainty, one.screen.value if one.screen else None,
                     one.screen.uncertainty if one.screen else None) for one in given.valves)


def found_of(run: PowerUpRun, given: BiasRound) -> OutputFound | None:
    """What a stored round comes to, its target left out; None where the valve's figures no longer allow it."""
    try:
        return assess(as_round(run, given), aim=False)
    except ElectricsError:
        return None


def round_verdict(run: PowerUpRun, entry: PowerUpEntry) -> tuple[Verdict, str]:
    """What a round came to; at step 7 a current must also have been watched for three minutes and not have risen."""
    assert entry.round is not None  # noqa: S101 - asked only of rounds
    found = found_of(run, entry.round)
    if found is None:
        return Verdict.NOT_JUDGED, "The figures of this valve do not allow a verdict."
    if found.verdict is not Verdict.PASS or entry.step != 7:
        return found.verdict, found.why
    return _watched(run, entry)


def _watched(run: PowerUpRun, entry: PowerUpEntry) -> tuple[Verdict, str]:
    earlier = [one for one in _unbroken(run, entry) if one.id < entry.id]
    early = next((one for one in earlier if soak.minutes(one.at, entry.at) >= output.WATCH_MINUTES), None)
    if early is None or early.round is None or entry.round is None:
        return Verdict.UNDECIDED, (f"Read all valves again {output.WATCH_MINUTES} minutes after the first round: a current that "
                                   "keeps rising runs away.")
    moved = drift(ones_of(early.round), ones_of(entry.round), output.RISES, upwards=True)
    if moved.verdict is Verdict.PASS:
        return Verdict.PASS, ""
    gone = soak.minutes(early.at, entry.at)
    return moved.verdict, f"{moved.mark} rose by {moved.share:.0%} in {gone:.0f} minutes. Switch off if it goes on."


def _unbroken(run: PowerUpRun, entry: PowerUpEntry) -> list[PowerUpEntry]:
    """The rounds of this step that count together: those after the last abort that was resumed."""
    since = max((one.last_entry for one in run.aborts if one.last_entry < entry.id), default=0)
    return [one for one in run.entries if one.step == entry.step and one.round is not None and one.id > since]


def soak_of(run: PowerUpRun) -> SoakRun | None:
    """The soak run that belongs to this run: the newest that began after it."""
    order = session().get_one(RepairOrder, run.order_id)
    return next((one for one in safety_queries.soaks_of(order) if one.started_at >= run.started_at), None)


def soak_rounds(run: PowerUpRun, found: SoakRun) -> list[PowerUpEntry]:
    """The rounds of bias readings taken in a soak run, by time."""
    return [one for one in run.entries if one.round is not None and one.round.soak_id == found.id]


def _soak_shown(run: PowerUpRun) -> list[Entered]:
    """The soak step's item, shown by the soak run and the rounds in it."""
    found = soak_of(run)
    if found is None:
        return []
    verdict, why = soak_verdict(run, found)
    rounds = soak_rounds(run, found)
    if not rounds or (why and verdict is Verdict.PASS):
        return []
    return [Entered(rounds[-1].id, 12, "soak", go_of(verdict))]


def soak_verdict(run: PowerUpRun, found: SoakRun) -> tuple[Verdict, str]:
    """Whether the readings of a soak run let it count, and what speaks against it or is still to come (PASS with words)."""
    rounds = {one.round.moment: one for one in soak_rounds(run, found) if one.round is not None}
    if found.symptom_shown:
        return Verdict.FAIL, "The symptom showed."
    for one in rounds.values():
        verdict, why = round_verdict(run, one)
        if verdict is not Verdict.PASS:
            return verdict, why
    taken = [_soaked(one.round) for _, one in sorted(rounds.items(), key=lambda each: each[0] or 0) if one.round is not None]
    for later in taken[1:]:
        verdict, why = soak.moved(taken[0], later)
        if verdict is not Verdict.PASS:
            return verdict, why
    left = soak.missing((one for one in rounds if one is not None), found.needed_minutes)
    if left:
        return Verdict.PASS, "Still to measure: at " + ", ".join(f"{one} min" for one in left) + "."
    if found.came is None:
        return Verdict.PASS, "End the soak run."
    return (Verdict.FAIL, found.came.why_not) if found.came.why_not else (Verdict.PASS, "")


def _soaked(given: BiasRound) -> soak.Soaked:
    return soak.Soaked(given.moment or 0, ones_of(given), given.anode.value, given.anode.uncertainty)


@cached_until_write
def trials_of(run_id: int) -> Sequence[PowerUpTrial]:
    """Every row of trials of a run."""
    return session().scalars(sa.select(PowerUpTrial).where(PowerUpTrial.run_id == run_id).order_by(PowerUpTrial.id)).all()


def tried(run_id: int) -> list[Tried]:
    """The trials of a run, added up by kind."""
    found = {kind: [one for one in trials_of(run_id) if one.kind is kind] for kind in TrialKind}
    return [Tried(kind, sum(one.trials for one in rows), sum(one.shown for one in rows)) for kind, rows in found.items() if rows]


def _trials_shown(run: PowerUpRun) -> list[Entered]:
    """Trials answer their item once there were enough of them; one in which it showed aborts."""
    after = max((one.at for one in run.aborts if one.resumed_at), default=run.started_at)
    steps = {TrialKind.COLD_START: 12, TrialKind.TAP: 14}
    newest, found = max((one.id for one in run.entries), default=0) + 1, []
    for kind, step in steps.items():
        rows = [one for one in trials_of(run.id) if one.kind is kind and one.at >= after]
        if any(one.shown for one in rows):
            found.append(Entered(newest, step, kind.item, Go.ABORT))
        elif sum(one.trials for one in rows) >= kind.least:
            found.append(Entered(newest, step, kind.item, Go.GO))
    return found


def _test_shown(order: RepairOrder) -> list[Entered]:
    last = safety_queries.last_completed(order)
    if last is None:
        return []
    return [Entered(10**9, 15, "test", Go.GO)] if safety_queries.last_test_passed(order) else []


@cached_until_write
def mains_of(run_id: int) -> PowerUpMains | None:
    """What is known of the mains transformer, the newest."""
    return session().scalar(sa.select(PowerUpMains).where(PowerUpMains.run_id == run_id).order_by(PowerUpMains.id.desc()).limit(1))


@cached_until_write
def waiver_of(order_id: int) -> PowerUpWaiver | None:
    """Why the amp may leave without a finished run, the newest."""
    return session().scalar(sa.select(PowerUpWaiver).where(PowerUpWaiver.order_id == order_id)
                            .order_by(PowerUpWaiver.id.desc()).limit(1))


def rounds_of(run: PowerUpRun) -> list[PowerUpEntry]:
    """Rounds of bias readings, newest first."""
    return [one for one in reversed(run.entries) if one.round is not None]
