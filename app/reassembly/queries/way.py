"""The plan of an order, computed afresh from its ledger, with what of it is done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import groupby

import sqlalchemy as sa

from app.db import session
from app.discharge import queries as discharge
from app.findings import queries as findings_queries
from app.findings.models.special import BakeOut
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.parts import queries as parts
from app.parts.models import Part
from app.parts.rules import PartState
from app.quote import queries as quote
from app.reassembly import planner
from app.reassembly.models import BenchHandover, ClosureCount, PlanSeen, StepRecord
from app.reassembly.queries.ledger import to_planner
from app.reassembly.rules import (
    CAVITY,
    COUNTED,
    POWERED,
    PROOFS,
    Difference,
    cavity_label,
    count_label,
    counts_whole,
    difference,
    invalidated,
    is_own,
    kind_of,
)
from app.records.rules import ProtectionClass
from app.removals import queries as removals
from app.removals.models import Removal
from app.removals.rules import Fate
from app.removals.spaces import Scope
from app.request_cache import cached_until_write
from app.shop.queries import day

BLANK = "…"


@dataclass(frozen=True)
class ReassemblyState:
    """Steps by id in plan order, what each is for, what is done; `problem` says in words why there is no plan."""

    order: RepairOrder
    steps: Mapping[str, planner.Step]
    origins: Mapping[str, tuple[str, str]]
    records: Mapping[str, StepRecord]
    removals: Mapping[str, Removal]
    plan: planner.Plan | None
    problem: str = ""
    changed: Difference | None = None
    left: tuple[planner.Step, ...] = field(default=())
    parts: tuple[Part, ...] = field(default=())  # needed or ordered, and not here yet
    baking: Mapping[str, tuple[BakeOut, ...]] = field(default_factory=dict)  # mark of a removal → its board is in the warmth
    invalidated: Mapping[str, StepRecord] = field(default_factory=dict)  # proofs that something they follow has overtaken
    conflicts: tuple[planner.Conflict, ...] = field(default=())  # records that contradict each other; the plan stands beside them
    questions: tuple[planner.Question, ...] = field(default=())  # what the records leave open and one tap settles
    never_back: tuple[str, ...] = field(default=())  # marks that must not go back, whatever their record says

    @property
    def done(self) -> list[str]:
        """Ids of steps that are done and still part of the plan."""
        return [name for name in self.records if name in self.steps]

    @property
    def finished(self) -> bool:
        return not self.problem and not self.conflicts and not self.left

    @property
    def counted_whole(self) -> bool:
        """Whether every count that the plan asks for was made, closed, and still stands."""
        counts = [name for name, (what, _) in self.origins.items() if what in COUNTED]
        return bool(counts) and not self.left and all(name in self.records for name in counts)

    def kind(self, step: str) -> str:
        """'measured', 'counted', 'powered', 'dead', 'decide' or 'done'."""
        return kind_of(self.origins[step])

    def label(self, step: str) -> str:
        return self.steps[step].label or step if step in self.steps else step

    def pattern(self, step: str) -> str:
        """Its label with a blank where the thing stands, so that like steps read alike."""
        removal = self.removal_of(step)
        return self.label(step).replace(removal.title, BLANK) if removal else self.label(step)

    def removal_of(self, step: str) -> Removal | None:
        """What the step is about, if it is about one removal."""
        return self.removals.get(self.origins[step][1]) if step in self.origins else None

    @property
    def charged(self) -> bool:
        """Whether a stage of this plan had it on power, and nobody has discharged and measured it since."""
        live = any(what in POWERED and name in self.records for name, (what, _) in self.origins.items())
        return live and not discharge.is_discharged(self.order)

    def why_unagreed(self, step: str) -> str:
        """Why nobody has agreed to what a step fits anew: no answer to the quote yet, or its line was declined; else empty."""
        removal = self.removal_of(step)
        if removal is None or removal.fate not in (Fate.REPLACE, Fate.NEW) or not is_own(self.origins[step][0]):
            return ""
        if IN_ORDER.index(self.order.stage) < IN_ORDER.index(Stage.PARTS):
            return f"the order is at {self.order.stage.word.lower()}"
        declined = {line.line_root_id for line in quote.declined_lines(self.order)}
        called = [part for part in parts.parts_of(self.order) if part.removal_id == removal.id]
        return "its line of the quote was declined" if any(part.line_root_id in declined for part in called) else ""

    def why(self, step: str) -> list[planner.Reason]:
        """Why it comes only now: its reasons but those that go without saying, those that protect somebody first."""
        told = [one for one in self.steps[step].reasons if one.rule not in ("own-order", "count-after-work")]
        return sorted({(one.rule, one.records): one for one in told}.values(), key=lambda one: (-one.strength, one.before))

    def waits_for(self, step: str) -> list[str]:
        """Steps that must be done before this one and are not."""
        return [name for name in self.steps[step].after if name not in self.records]

    def dries(self, step: str, now: datetime) -> list[StepRecord]:
        """What this step waits for that is done and still drying or curing."""
        before = [self.records[name] for name in self.steps[step].after if name in self.records]
        return [one for one in before if one.dries_until and one.dries_until > now]

    def awaits(self, step: str) -> list[Part]:
        """New parts for this removal's place that have not come in."""
        removal = self.removal_of(step)
        if removal is None or not is_own(self.origins[step][0]):
            return []
        return [part for part in self.parts if part.removal_id == removal.id]

    def bakes(self, step: str) -> tuple[BakeOut, ...]:
        """The bake-out of this removal's board, until somebody has ended it: what is in the warmth is not fitted."""
        return self.baking.get(self.origins[step][1], ()) if is_own(self.origins[step][0]) else ()

    def ready(self, now: datetime) -> list[planner.Step]:
        """What can be done now, in plan order."""
        return [step for step in self.left if not self.waits_for(step.id) and not self.dries(step.id, now)
                and not self.awaits(step.id) and not self.bakes(step.id)]

    def running(self, now: datetime) -> list[StepRecord]:
        """What dries or cures by itself at this moment."""
        return [one for one in self.records.values() if one.dries_until and one.dries_until > now]


@cached_until_write
def way_back(order: RepairOrder, *, planned: bool = True) -> ReassemblyState:
    """Compute it. Records that contradict each other come back as conflicts beside the plan; what cannot be planned as words.

    `planned=False` leaves out the search for a good order, where only steps and what they wait for matter.
    """
    standing = removals.of_order(order)
    records = {one.step: one for one in records_of(order)}
    by_mark = {one.mark: one for one in standing}
    ledger = to_planner(standing)
    earthed = order.amp.protection_class is not ProtectionClass.II
    try:
        found = planner.way_back_of(ledger, earthed=earthed)
        origins = found.origins
        overtaken = _is_invalidated(records, found.steps, origins)
        done = [step.id for step in found.steps if step.id in records]
        made = planner.plan(found.steps, done=done) if planned else None
    except planner.PlanError as wrong:
        return ReassemblyState(order, {}, {}, records, by_mark, None, str(wrong))
    units = len(removals.units(order))
    steps = tuple(_named(step, origins[step.id], by_mark, units) for step in found.steps)
    named = {step.id: step for step in steps}
    to_come = (*(part for part in parts.parts_of(order) if part.state in (PartState.NEEDED, PartState.ORDERED)),
               *parts.to_get_again(order))
    way = ReassemblyState(
        order, named, origins, records, by_mark, made, "", _changed(order, steps) if planned else None, (), to_come,
        _baking(order, standing), overtaken, found.conflicts, _open_questions(found.questions, by_mark), found.never_back)
    if made is None:
        open_steps = [step for step in steps if step.id not in records]
        return replace(way, left=tuple(sorted(open_steps, key=lambda step: bool(way.waits_for(step.id)))))
    return replace(way, left=_grouped(way, [named[step.id] for step in made.steps]))


def _open_questions(asked: Sequence[planner.Question], by_mark: Mapping[str, Removal]) -> tuple[planner.Question, ...]:
    """What is asked about records that can still be corrected."""
    return tuple(one for one in asked if one.record in by_mark and by_mark[one.record].ended_at is None)


def _is_invalidated(records: dict[str, StepRecord], steps: Sequence[planner.Step],
                    origins: Mapping[str, tuple[str, str]]) -> dict[str, StepRecord]:
    """Take out of the records, and return, the measurements and counts before which something was still to come."""
    here = {step.id for step in steps}
    done = {name: one.id for name, one in records.items() if name in here}
    return {name: records.pop(name) for name in invalidated(done, steps, [one for one in done if origins[one][0] in PROOFS])}


def say_part(part: Part) -> str:
    """'4 × 220 kΩ, due 27 Nov 2026'."""
    if part.expected_on:
        return f"{part.title}, due {day(part.expected_on)}"
    if part.state is PartState.DROPPED:
        return f"{part.title}, to be ordered again"
    return f"{part.title}, not ordered yet" if part.state is PartState.NEEDED else part.title


def say_bake(bake: BakeOut) -> str:
    """'the bake-out of finding 3 to end'."""
    return f"the bake-out of finding {bake.finding.number} to end"


def _baking(order: RepairOrder, standing: Sequence[Removal]) -> dict[str, tuple[BakeOut, ...]]:
    """Running bake-outs by mark of what they hold up: the board that came off, and what came off that board."""
    marks = {one.id: one.mark for one in standing}
    found: dict[str, tuple[BakeOut, ...]] = {}
    for bake in findings_queries.bake_outs(order, running=True):
        for hold in bake.holds:
            if hold.struck_at is None and hold.removal_id in marks:
                found[marks[hold.removal_id]] = (*found.get(marks[hold.removal_id], ()), bake)
    return found


@cached_until_write
def records_of(order: RepairOrder, *, undone: bool = False) -> Sequence[StepRecord]:
    """Steps done, oldest first; `undone` asks for those taken back instead."""
    wanted = StepRecord.undone_at.is_not(None) if undone else StepRecord.undone_at.is_(None)
    return session().scalars(sa.select(StepRecord).where(StepRecord.order_id == order.id, wanted).order_by(StepRecord.id)).all()


@cached_until_write
def counts_of(order: RepairOrder) -> Sequence[ClosureCount]:
    """Every count at a closure, oldest first, those that did not close too."""
    return session().scalars(sa.select(ClosureCount).where(ClosureCount.order_id == order.id).order_by(ClosureCount.id)).all()


def waiting_handover(order: RepairOrder) -> BenchHandover | None:
    """The handover that the second person has still to count, if there is one."""
    return next((one for one in handovers_of(order) if one.waits), None)


def handovers_of(order: RepairOrder) -> Sequence[BenchHandover]:
    """Every handover of the open amp, oldest first."""
    return session().scalars(sa.select(BenchHandover).where(BenchHandover.order_id == order.id)
                             .order_by(BenchHandover.id)).all()


@cached_until_write
def seen_of(order: RepairOrder) -> PlanSeen | None:
    """The plan as it was last worked from."""
    return session().scalar(sa.select(PlanSeen).where(PlanSeen.order_id == order.id))


def _named(step: planner.Step, origin: tuple[str, str], by_mark: Mapping[str, Removal], units: int) -> planner.Step:
    """A count says what of, and what closes after it."""
    what, owner = origin
    if what == CAVITY:
        closing = [one.title for one in by_mark.values() if one.fate.goes_back and planner.closes_it(one.mark, one.closes, owner)]
        return replace(step, label=cavity_label(owner, " and ".join(closing)))
    if what not in ("CT", "CT_cover", "CT_final"):
        return step
    cover = by_mark[owner] if what == "CT_cover" else None
    unit = None if counts_whole(what, units) else cover.unit if cover else owner
    return replace(step, label=count_label(Scope(unit).words, cover.title if cover else "", last=what == "CT_final"))


def _grouped(way: ReassemblyState, order: Sequence[planner.Step]) -> tuple[planner.Step, ...]:
    """The planned order with like steps together where one stays at the same side, place and unit anyway."""
    found: list[planner.Step] = []
    for _, run in groupby(order, key=lambda step: (step.unit, step.side, step.place)):
        waiting = list(run)
        last = way.pattern(found[-1].id) if found else ""
        while waiting:
            names = {step.id for step in waiting}
            free = [step for step in waiting if not names & set(step.after)]
            step = next((one for one in free if way.pattern(one.id) == last), free[0])
            waiting.remove(step)
            found.append(step)
            last = way.pattern(step.id)
    return tuple(found)


def _changed(order: RepairOrder, steps: Sequence[planner.Step]) -> Difference | None:
    seen = seen_of(order)
    if seen is None:
        return None
    return difference({name: (label, tuple(after)) for name, (label, after) in seen.steps.items()}, steps)
