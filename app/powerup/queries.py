"""Reading runs back: what they know of their amp, where they stand, what their rounds came to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.orm import joinedload, selectinload

from app.db import session
from app.discharge import queries as discharge
from app.discharge.rules.listing import Supply
from app.findings.rules.life import Status
from app.measuring.models import Reading
from app.measuring.rules import Verdict
from app.orders import power as power_log
from app.orders.models import RepairOrder
from app.powerup.hands import in_the_run, taken_back
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
from app.powerup.rounds import ones_of, unsure, verdict_of, why_doubted, why_proves_nothing
from app.powerup.rules import soak
from app.powerup.rules.course import Entered, Go, Halt, StepState, course, go_of, standing, why_waits
from app.powerup.rules.items import Amp, split
from app.powerup.rules.mains import MAGNETISING_ALLOWANCE
from app.powerup.rules.output import limits_from_memory
from app.powerup.rules.power import AT_1K, Power, beside_1k, power
from app.powerup.rules.steps import BESIDE
from app.powerup.rules.trials import TrialKind, Tried
from app.records.rules import ProtectionClass
from app.request_cache import cached_until_write
from app.safety import gate as safety
from app.safety import queries as safety_queries
from app.safety.models.testing import SoakRun
from app.shop.queries import the_shop

OPEN_TO = 13  # the last step with the chassis open


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
    discharged: bool
    test_is_early: bool

    @property
    def abort(self) -> PowerUpAbort | None:
        """The abort that has not been resumed."""
        return next((one for one in self.run.aborts if one.resumed_at is None), None)

    @property
    def done(self) -> bool:
        return all(state.is_done for state in self.states)

    def waits(self, number: int) -> str:
        return why_waits(self.states, self.halts, number)

    def said(self, number: int, go: Go) -> tuple[str, str]:
        """Sign and word of what a step or its item came to. A discharge that was shown once is green only while it is shown."""
        return ("none", "shown then, not now") if number == 1 and go is Go.GO and not self.discharged else (go.sign, go.value)

    def why_not_go(self, entry: PowerUpEntry | None) -> str:
        """What speaks against a reading in its band; empty if nothing does."""
        if entry is None or entry.reading is None:
            return ""
        return next((why for one in _rests_on(self.run, entry) if (why := why_proves_nothing(one) or why_doubted(one))), "")


@cached_until_write
def where(run_id: int) -> Where:
    """Where a run stands: every step, every entry that counts."""
    run = _whole(run_id)
    amp, order = amp_of(run), session().get_one(RepairOrder, run.order_id)
    entries = {one.id: one for one in run.entries}
    entered = [Entered(one.id, one.step, one.item, _go(run, one), bool(one.left_why)) for one in run.entries]
    halts = tuple(Halt(one.step, one.last_entry, _decided(one), one.resumed_from) for one in run.aborts)
    every = (*halts, *taken_back(run))
    stands = {key: entries[one.id] for key, one in standing(entered, every).items()}
    passed, early = _test(run, order, stands)
    since = max((one.at for one in in_the_run(run)), default=run.started_at)
    shown = [*_soak_shown(run), *_trials_shown(run, since), *passed]
    kept = [one for one in entered if one.item != "soak"]
    return Where(run, amp, course(amp, [*kept, *shown], every), halts, stands, discharge.is_discharged(order), early)


def _decided(abort: PowerUpAbort) -> bool:
    return abort.finding.disposition is not None or abort.finding.status is Status.WITHDRAWN


def _go(run: PowerUpRun, entry: PowerUpEntry) -> Go:
    """What an entry came to: of a round of bias readings, the three minutes of watching with it."""
    if entry.left_why:
        return Go.NOT_JUDGED
    if entry.seen is not None:
        return Go.GO if entry.seen else Go.ABORT
    if entry.round is not None:
        return go_of(verdict_of(run, entry)[0], from_memory=bool(limits_from_memory(run.valve)))
    assert entry.reading is not None  # noqa: S101 - held by the table
    if entry.item == AT_1K:
        found = power_of(run, entry)
        came = go_of(found.judged.verdict) if found else Go.OPEN
    else:
        came = go_of(entry.reading.verdict)
    if came is not Go.GO:
        return came
    rests_on = _rests_on(run, entry)
    if any(why_proves_nothing(one) for one in rests_on):
        return Go.NOT_JUDGED
    if any(why_doubted(one) for one in rests_on):
        return Go.DOUBT
    return Go.UNCONFIRMED if safety.UNCONFIRMED in entry.reading.basis else Go.GO


def _rests_on(run: PowerUpRun, entry: PowerUpEntry) -> list[Reading]:
    """The readings that an entry is judged by: of power, the load's with it."""
    load = _load_before(run, entry) if entry.item in (AT_1K, *dict(BESIDE)) else None
    return [one for one in (entry.reading, load) if one is not None]


def _load_before(run: PowerUpRun, entry: PowerUpEntry) -> Reading | None:
    return next((one.reading for one in reversed(run.entries) if one.id < entry.id and one.item == "load" and one.reading), None)


def power_of(run: PowerUpRun, entry: PowerUpEntry) -> Power | None:
    """Power into the load that was measured last before these volts; None while no load was. Only of 1 kHz is a power expected."""
    load, volt = _load_before(run, entry), entry.reading
    if load is None or volt is None or load.value <= 0 or volt.value <= 0:
        return None
    expected_w = run.expected_w if entry.item == AT_1K else None
    return power(volt.value, unsure(volt), load.value, unsure(load), expected_w)


def beside(found: Where, step: int) -> dict[str, str]:
    """Power at the frequencies beside 1 kHz, in words by item."""
    at = {key: power_of(found.run, one) for (number, key), one in found.standing.items() if number == step and AT_1K in key}
    return {key: beside_1k(here, at.get(AT_1K)) for key, _hz in BESIDE if (here := at.get(key)) is not None}


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
    return [Entered(rounds[-1].id, 12, "soak", go_of(verdict, from_memory=bool(limits_from_memory(run.valve))))]


def soak_verdict(run: PowerUpRun, found: SoakRun) -> tuple[Verdict, str]:
    """Whether the readings of a soak run let it count, and what speaks against it or is still to come (PASS with words)."""
    rounds = {one.round.moment: one for one in soak_rounds(run, found) if one.round is not None}
    if found.symptom_shown:
        return Verdict.FAIL, "The symptom showed."
    if off := power_log.was_off_between(run.order_id, found.started_at, min(found.ends_at, found.ended_at or found.ends_at)):
        return Verdict.UNDECIDED, f"The amp was recorded as off at {power_log.clock_time(off)}, in the soak run: begin another one."
    for one in rounds.values():
        verdict, why = verdict_of(run, one)
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
    return soak.Soaked(given.moment or 0, ones_of(given), given.anode.value, unsure(given.anode))


@cached_until_write
def trials_of(run_id: int) -> Sequence[PowerUpTrial]:
    """Every row of trials of a run."""
    return session().scalars(sa.select(PowerUpTrial).where(PowerUpTrial.run_id == run_id).order_by(PowerUpTrial.id)).all()


def tried(run_id: int) -> list[Tried]:
    """The trials of a run, added up by kind."""
    found = {kind: [one for one in trials_of(run_id) if one.kind is kind] for kind in TrialKind}
    return [Tried(kind, sum(one.trials for one in rows), sum(one.shown for one in rows)) for kind, rows in found.items() if rows]


def _trials_shown(run: PowerUpRun, since: datetime) -> list[Entered]:
    """Trials answer their item once there were enough of them since `since`; one in which it showed aborts."""
    after = max(since, *(one.at for one in run.aborts if one.resumed_at), run.started_at)
    steps = {TrialKind.COLD_START: 12, TrialKind.TAP: 14}
    newest, found = max((one.id for one in run.entries), default=0) + 1, []
    for kind, step in steps.items():
        rows = [one for one in trials_of(run.id) if one.kind is kind and one.at >= after]
        if any(one.shown for one in rows):
            found.append(Entered(newest, step, kind.item, Go.ABORT))
        elif sum(one.trials for one in rows) >= kind.least:
            found.append(Entered(newest, step, kind.item, Go.GO))
    return found


def _test(run: PowerUpRun, order: RepairOrder, stands: Mapping[tuple[int, str], PowerUpEntry]) -> tuple[list[Entered], bool]:
    """The safety test that passed and stands, and whether it was completed too early: with the chassis open, bias is still set."""
    last = safety_queries.last_completed(order)
    if last is None or last.completed_at is None or not safety_queries.last_test_passed(order):
        return [], False
    still_open = [one.at for (step, _), one in stands.items() if step <= OPEN_TO]
    open_until = max(run.started_at, *(one.at for one in run.aborts), *still_open)
    if last.completed_at < open_until:
        return [], True
    return [Entered(10**9, 15, "test", Go.GO)], False


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
