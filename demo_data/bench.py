"""What the bench does in the demo: strips down, quotes, orders, puts back, measures, tests."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from app.bench.sums import service as calculations
from app.bench.sums.sections import SUMS
from app.bench.sums.targets import Target
from app.bench.sums.work import MINE, work_out
from app.db import session
from app.discharge import service as discharging
from app.discharge.rules.listing import Supply
from app.findings import queries as findings_queries
from app.findings.models.findings import Finding
from app.findings.rules.life import Confidence, DecidedBy
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.findings.spec import FindingFacts
from app.kept.rules import Purpose
from app.measuring import queries as measuring
from app.measuring.insulation import test_volts
from app.measuring.rules import Phase as When
from app.measuring.rules import Quantity, Verdict
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.spec import PointFacts
from app.orders import power
from app.orders.models import Channel, RepairOrder
from app.parts import queries as parts
from app.parts import service as buying
from app.parts.models import Part
from app.parts.rules import Arrival, Incoming, Need, PartKind, Rating
from app.photos import pins
from app.photos.models import Photo
from app.quote import queries as quotes
from app.quote.rules.lines import Draft, Hours
from app.quote.rules.words import HowAcknowledged, PartCondition, asked
from app.quote.service import answers as answers_service
from app.quote.service import declined as declined_service
from app.quote.service import issuing as issuing_service
from app.quote.service import lines as lines_service
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.fitting import fitted
from app.reassembly.queries.limits import bench_limit, ordinary_volts
from app.reassembly.queries.way import ReassemblyState, counts_of, way_back
from app.reassembly.service import counts as counts_service
from app.reassembly.service import fitting as fitting_service
from app.reassembly.service import proofs as proofs_service
from app.reassembly.service import steps as steps_service
from app.removals.service import record as record_service
from app.removals.spec import RemovalFacts
from app.safety.rules import StepKind
from app.safety.service import proofs as safety_proofs_service
from app.safety.service import soaking as soaking_service
from app.safety.service import testing as testing_service
from demo_data.counter import PEN, Stage
from demo_data.setting import Bench
from demo_data.story import Off, Story

GOOD = {StepKind.BOND: "0.112", StepKind.INSULATION: ">200M", StepKind.LEAKAGE: "0.34m", StepKind.TOUCH: "0.05m"}
FUSE = "T 1.6 A L 250 V"
# name, quantity, expected, lower, upper, as found, as left
POINTS = (
    ("HT at the reservoir", Quantity.VOLT_DC, 412.0, 396.0, 428.0, "381", "409"),
    ("Screens", Quantity.VOLT_DC, 404.0, 388.0, 420.0, "372", "402"),
    ("Bias, V4 and V5", Quantity.VOLT_DC, -38.2, -40.5, -36.0, "-33.1", "-38.4"),
    ("Heaters", Quantity.VOLT_AC, 6.3, 5.99, 6.62, "6.31", "6.34"),
    ("Output across the load at onset of clipping", Quantity.VOLT_AC, 16.5, 15.5, 17.9, "12.5", "16.6"),  # 34 W into 8 Ω
)


def make_safe(order: RepairOrder, story: Story, stage: Stage) -> None:
    """List what holds a charge, discharge it, and read every capacitor; where the stick came off early, a second time."""
    supply = discharging.record_list(order, story.supply, by=stage.crew.bench, now=stage.later(hours=20))
    session().flush()
    meter = next(one for one in measuring.instruments() if one.name == "M2")
    for volts in story.volts_left:
        typed = {one.id: f"{'-' if one.supply is Supply.BIAS else ''}{volt:g}"
                 for one, volt in zip(supply.capacitors, volts, strict=False)}
        stick = discharging.Stick(10e3, 25.0, 7.0 if max(volts) > 10 else 90.0)
        discharging.record_round(
            order,
            discharging.Round(typed, meter, "9 V battery", True, True, stick),
            by=stage.crew.bench,
            now=stage.later(minutes=4),
        )
        session().flush()


def find(order: RepairOrder, story: Story, shown: list[Photo], stage: Stage) -> list[Finding]:
    """Record each finding and pin it to its photo."""
    made = []
    for one in story.found:
        facts = FindingFacts(
            area=one.area,
            observation=one.observation,
            place=one.place,
            cause=one.cause,
            confidence=Confidence.PROBABLE,
            origin=one.origin,
            hazard=one.hazard,
            severity=one.severity,
            probability=one.probability,
            equipment_severity=one.equipment,
            function_severity=one.function,
            check_words=one.check,
        )
        finding = findings_service.record_finding(order, facts, by=stage.crew.bench, now=stage.later(minutes=9))
        session().flush()
        if one.picture is not None:
            _, places = stage.plates(story.inside[one.picture])
            x, y = places.get(one.pin, (0.5, 0.5))
            pins.drop(
                shown[one.picture],
                "finding",
                finding.id,
                str(finding.number),
                x=x,
                y=y,
                by=stage.crew.bench,
                now=stage.later(minutes=1),
            )
        made.append(finding)
    return made


def decide(found: list[Finding], story: Story, stage: Stage) -> None:
    for finding, one in zip(found, story.found, strict=True):
        outcome_service.decide(
            finding,
            one.disposition,
            words=one.work,
            authority=DecidedBy.TECHNICIAN,
            by=stage.crew.bench,
            now=stage.later(minutes=3),
        )


def take_off(order: RepairOrder, story: Story, stage: Stage) -> None:
    """Everything that comes off, in order."""
    _record(order, story.off, stage)


def fit_new(order: RepairOrder, story: Story, stage: Stage) -> None:
    """What never came off and is in the way back all the same."""
    _record(order, story.new, stage)


def _record(order: RepairOrder, listed: tuple[Off, ...], stage: Stage) -> None:
    for one in listed:
        facts = RemovalFacts(
            name=one.name,
            kind=one.kind,
            unit=one.unit,
            place=one.place,
            side=one.side,
            under=one.under,
            stack=one.stack,
            stack_times=one.times,
            other_stacks=one.others,
            cavity=one.cavity,
            closes=one.closes,
            fixed_to=one.fixed_to,
            ends=one.ends,
            fasteners=one.fasteners,
            bag=one.bag or one.mark,
            stays_on_loom=one.on_loom,
            fate=one.fate,
            fate_reason=one.reason,
            old_part=one.old_part,
            minutes=4,
        )
        record_service.record_removal(order, one.mark, facts, by=stage.crew.bench, now=stage.later(minutes=5))
        session().flush()


def quote(order: RepairOrder, story: Story, stage: Stage) -> None:
    """A line for each finding, then the revision."""
    for finding, one in zip(findings_queries.findings_of(order), story.found, strict=True):
        draft = Draft(
            group=one.group,
            what=one.work,
            hours=Hours(*one.hours),
            finding_id=finding.id,
            parts=", ".join(f"{p.quantity} × {p.what}" for p in one.parts),
            parts_minor=sum(p.minor for p in one.parts),
            condition=PartCondition.NEW if one.parts else None,
            warranty_days=90,
        )
        lines_service.add(order, draft, by=stage.crew.bench, now=stage.later(minutes=4))
    session().flush()
    issuing_service.issue(
        order,
        issuing_service.Terms(days_to_complete=14, could_change="More may show once it runs under load."),
        by=stage.crew.counter,
        now=stage.later(minutes=10),
    )
    session().flush()


def authorise(order: RepairOrder, story: Story, stage: Stage) -> None:
    """By phone, the next day. What is declined for safety's sake is acknowledged in writing."""
    sent = quotes.revisions(order.id)[0]
    declined = {finding.id for finding, one in zip(findings_queries.findings_of(order), story.found, strict=True) if one.declined}
    decisions = {one.id: one.finding_id not in declined for one in sent.lines if asked(one.group)}
    at = stage.later(hours=22)
    answers_service.authorise(
        order,
        sent,
        answers_service.Answer(decisions, sent.at_most_minor, Channel.PHONE, at, reached_at=story.who.phone),
        by=stage.crew.counter,
        now=at,
    )
    session().flush()
    for line in quotes.to_acknowledge(order):
        paper = declined_service.Acknowledgement(
            hazard="Left as it is, this can hurt whoever uses or opens the amp.",
            advice="Have it done before the amp is used again.",
            made_safe="explained at the counter",
            how=HowAcknowledged.SCREEN,
            signer_name=order.authority.name,
            signature=PEN,
        )
        declined_service.acknowledge(order, line, paper, by=stage.crew.counter, now=stage.later(hours=2))
        session().flush()


def need_parts(order: RepairOrder, story: Story, stage: Stage) -> None:
    """Write down what each agreed line calls for, and order it."""
    lines = {line.finding_id: line for line in quotes.agreed_lines(order)}
    for finding, one in zip(findings_queries.findings_of(order), story.found, strict=True):
        line = lines.get(finding.id)
        for want in one.parts if line else ():
            need = Need(
                want.what,
                want.kind,
                want.quantity,
                want.place,
                Rating(want.volts, want.watts),
                "highest no-load volts with the supply 10 % up" if want.volts else "twice what it dissipates" if want.watts else "",
                PartCondition.NEW,
            )
            part = buying.need(order, need, line.line_root_id if line else None, by=stage.crew.bench, now=stage.later(minutes=3))
            session().flush()
            if want.place == "C1" and want.kind is PartKind.CAPACITOR:
                calculate_reservoir(order, part, stage)
            buying.order_part(
                order,
                part,
                buying.Purchase("Harbour Electronic Supply", want.minor, stage.now.date() + timedelta(days=6)),
                by=stage.crew.counter,
                now=stage.later(minutes=4),
            )
    session().flush()


def calculate_reservoir(order: RepairOrder, part: Part, stage: Stage) -> None:
    """Keep what the supply does at 10 % high mains, and let the place of the first capacitor take its volts and ripple."""
    given = {field.name: field.default for field in SUMS["reservoir"].fields}
    given |= {"secondary_vrms": "340", "source_ohm": "110", "load_ohm": "", "load_a": "120m"}
    kept = calculations.keep_sum(work_out(SUMS["reservoir"], given | {MINE: "yes"}), order_id=order.id,
                                 note="C1, winding at 10 % high mains", by=stage.crew.bench, now=stage.later(minutes=6))
    session().flush()
    for key, purpose in (("highest_v", Purpose.VOLTS), ("ripple_vpp", Purpose.RIPPLE)):
        figure = next(one for one in kept.figures if one.key == key)
        calculations.use(order, kept, figure, Target(purpose, part=part), by=stage.crew.bench, now=stage.later(minutes=1))
    session().flush()


def receive_parts(order: RepairOrder, stage: Stage, leave: int = 0) -> None:
    """The parcel comes; `leave` pieces of it are still on their way."""
    waiting = list(parts.parts_of(order))
    stage.later(days=4)
    for part in waiting[: len(waiting) - leave]:
        came = Arrival(
            PartCondition.NEW,
            Rating(part.need.rating.volts and part.need.rating.volts * 1.15, part.need.rating.watts),
            "26-31",
            Incoming.PASSED,
            "value and leakage measured",
            part.ordered_minor or 0,
        )
        buying.receive(order, part, came, by=stage.crew.counter, now=stage.later(minutes=5))
    session().flush()


def mend(order: RepairOrder, stage: Stage) -> None:
    """Do the work on each finding, and fit the parts."""
    for finding in findings_queries.findings_of(order):
        if finding.disposition and finding.disposition.value not in ("customer_declined", "monitor", "accept_as_is", "refer"):
            outcome_service.act_on(finding, words="done as quoted", by=stage.crew.bench, now=stage.later(minutes=40))
    for part in parts.parts_of(order):
        if part.state.value == "received":
            buying.fit(order, part, part.place, by=stage.crew.bench, now=stage.later(minutes=6))
    session().flush()


def put_back(order: RepairOrder, bench: Bench, stage: Stage, *, leave: int = 0) -> None:
    """Along the way back, in the plan's order; `leave` steps stay to do."""
    way = way_back(order)
    while len(way.left) > leave:
        step = way.ready(stage.now)[0].id
        _do(order, way, step, bench, stage)
        session().flush()
        before, way = way, way_back(order)
        if step not in way.records:
            raise RuntimeError(f"{before.label(step)} was not done: {[one.faults for one in counts_of(order)][-1:]}")


def _do(order: RepairOrder, way: ReassemblyState, step: str, bench: Bench, stage: Stage) -> None:
    by, now, kind = stage.crew.bench, stage.later(minutes=4), way.kind(step)
    if kind == "measured":
        limit = bench_limit(order, way.origins[step][0])
        typed = "0.09" if limit.lower is None else ">200M"
        tested: dict[str, Any] = {}
        if way.origins[step][0] == "IR":
            if fitted(order) is None:
                fitting_service.answer_fitted(order, conducts=False, by=by, now=now)
            here = fitted(order)
            tested = {"level": test_volts(ordinary_volts(order), conducts=here.what if here else ""), "unplugged": True}
        proofs_service.measure(order, step, typed=typed, instrument=bench.tester, by=by, now=now, **tested)
    elif kind == "counted":
        figures = {one.key: one.expected for one in due_at(order, way, step)}
        counts_service.count_closure(order, step, counted=figures, ends=ends_due(way, step), looked=True, by=by, now=now)
    else:
        steps_service.do_step(order, step, by=by, now=now)


def read_points(order: RepairOrder, bench: Bench, stage: Stage, when: When) -> None:
    """The commissioning readings, as found or as left."""
    if not measuring.points_of(order):
        for name, quantity, expected, lower, upper, _, _ in POINTS:
            points_service.add_point(
                order,
                PointFacts(name, quantity, expected, lower, upper, "computed from its own parts at 230 V"),
                by=stage.crew.bench,
                now=stage.later(minutes=1),
            )
        session().flush()
    for point, (name, quantity, expected, lower, upper, before, after) in zip(measuring.points_of(order), POINTS, strict=True):
        taken = readings_service.Taken(
            name,
            quantity,
            before if when is When.AS_FOUND else after,
            bench.meter,
            when,
            "no signal, 8 Ω load",
            231.0,
            expected,
            lower,
            upper,
            "computed from its own parts at 230 V",
            point.id,
        )
        readings_service.take(order, taken, by=stage.crew.bench, now=stage.later(minutes=3))
    switch_off(order, stage)
    session().flush()


def prove(order: RepairOrder, story: Story, stage: Stage) -> None:
    """What each check showed."""
    for finding, one in zip(findings_queries.findings_of(order), story.found, strict=True):
        if finding.status.value in ("done", "decided"):
            safety_proofs_service.prove(finding, result=one.proof, instrument="M2", by=stage.crew.bench, now=stage.later(minutes=5))
    session().flush()


def switch_off(order: RepairOrder, stage: Stage) -> None:
    """Off and unplugged, if it was on."""
    session().flush()
    if power.powered(order.id) is not None:
        power.power_off(order, by=stage.crew.bench, now=stage.later(minutes=1))
    session().flush()


def soak(order: RepairOrder, stage: Stage) -> None:
    run = soaking_service.start_soak(
        order,
        load="8 Ω, music at a third of full power",
        attended=True,
        mains_v=231.0,
        by=stage.crew.bench,
        now=stage.later(minutes=10),
    )
    session().flush()
    soaking_service.end_soak(
        run,
        symptom_shown=False,
        observations="steady, no smell; transformer 58 °C at the end",
        by=stage.crew.bench,
        now=stage.later(minutes=150),
    )
    switch_off(order, stage)


def test_safety(order: RepairOrder, bench: Bench, stage: Stage, **wrong: str) -> None:
    """A whole test under the profile in force; `wrong` overrides a reading by kind."""
    known = fitted(order)
    run = testing_service.start_test(
        order,
        testing_service.Setup(2.4, 1.0, "its own lead", "in its cabinet, 21 °C", 231.0, conducts=bool(known and known.what)),
        by=stage.crew.bench,
        now=stage.later(minutes=20),
    )
    session().flush()
    for step in run.steps:
        now = stage.later(minutes=2)
        if step.kind.is_seen:
            testing_service.answer(step, seen=True, words=FUSE if step.kind is StepKind.FUSE else "", by=stage.crew.bench, now=now)
        else:
            testing_service.measure(
                step,
                typed=wrong.get(step.kind.name.lower(), GOOD[step.kind]),
                instrument=bench.tester,
                level=step.least_level,
                by=stage.crew.bench,
                now=now,
            )
        if step.verdict is not Verdict.PASS:
            break
    session().flush()
    testing_service.complete_test(run, tag=f"F{order.number}", by=stage.crew.bench, now=stage.later(minutes=2))
    switch_off(order, stage)
    session().flush()
