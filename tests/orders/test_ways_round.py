"""Ways round the gates that somebody tried: what changes after a gate was passed is still held at the door.

The rows are those of the design's table of gates; each test names what is missing when the amp would leave.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, GateClosed, RuleBroken
from app.findings import queries as findings_queries
from app.findings.service import outcome as outcome_service
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.measuring import queries as measuring
from app.measuring.rules import Phase, State
from app.measuring.service import instruments as instruments_service
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.spec import InstrumentFacts
from app.orders import authority, power
from app.orders import service as orders
from app.orders.gates import missing_in, missing_to_leave
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, End, Stage
from app.parts import service as parts
from app.photos import queries as pictures
from app.photos import service as photos
from app.reassembly.queries.way import records_of, way_back
from app.records.rules import ProtectionClass
from app.records.spec import AmpFacts
from app.safety import queries as safety
from app.safety.service import proofs as proofs_service
from app.safety.service import soaking as soaking_service
from app.safety.service import testing as testing_service
from tests import factories
from tests.factories import NOW
from tests.handover import make as hand
from tests.orders import steps
from tests.parts import make as store
from tests.people import BY


class Walk:
    """One order and a clock that goes on by an hour with each thing done."""

    def __init__(self) -> None:
        self.now = NOW
        with transaction():
            steps.equip()
            self.id = factories.order(amp=factories.amp(protection_class=steps.CLASS_I)).id

    @property
    def order(self) -> RepairOrder:
        return session().get_one(RepairOrder, self.id)

    @contextmanager
    def later(self, hours: float = 1) -> Iterator[RepairOrder]:
        self.now += timedelta(hours=hours)
        with transaction():
            yield self.order

    def do(self, *acts: Callable[[RepairOrder, datetime], None]) -> None:
        for act in acts:
            with self.later() as order:
                act(order, self.now)

    def to(self, stage: Stage) -> Walk:
        """Properly through every stage before this one."""
        for one in IN_ORDER[: IN_ORDER.index(stage)]:
            self.do(*steps.PROPER[one])
            self.on()
        return self

    def on(self) -> None:
        with self.later() as order:
            orders.move_on(order, by=BY, now=self.now)

    def back(self, stage: Stage) -> None:
        with self.later() as order:
            orders.move_back(order, stage, reason="it was not right", by=BY, now=self.now)

    def missing(self) -> str:
        return " ".join(one.text for one in missing_to_leave(self.order))


@pytest.fixture
def walk(context: Flask) -> Walk:
    return Walk()


def ready_to_go(walk: Walk) -> Walk:
    walk.to(Stage.RETURN).do(*steps.PROPER[Stage.RETURN])
    assert walk.missing() == ""
    return walk


def test_a_class_better_read_after_the_test_makes_the_test_void(walk: Walk) -> None:
    """A test as for class I or II proves nothing of an amp of the other class: other steps belong to it (IEC 61140)."""
    ready_to_go(walk)
    with walk.later() as order:
        amp = order.amp
        records_service.change_amp(amp, AmpFacts(amp.maker, amp.model, "none found", "230 V 50 Hz", ProtectionClass.II), by=BY,
                                   now=walk.now)
    assert "void. It was done as for class I, and the amp’s sheet says class II now" in walk.missing()
    with walk.later() as order, pytest.raises(GateClosed):
        steps.release(order, walk.now)


def test_a_meter_quarantined_after_the_test_makes_it_void(walk: Walk) -> None:
    ready_to_go(walk)
    with walk.later():
        meter = steps.tool("E1")
        facts = InstrumentFacts(meter.name, meter.kind, calibrated_on=meter.calibrated_on, due_on=meter.due_on,
                                state=State.QUARANTINED)
        instruments_service.change_instrument(meter, facts, by=BY, now=walk.now)
    assert walk.missing().startswith("Safety test 1 is void. E1, which it was done with, is quarantined. Test again.")


def test_an_amp_in_pieces_or_one_that_failed_is_not_left_running(walk: Walk) -> None:
    """A soak run once began with 28 pieces off, and on an amp that had just failed."""
    walk.to(Stage.TEARDOWN).do(*steps.PROPER[Stage.TEARDOWN])
    with pytest.raises(RuleBroken, match="still off the amp"), transaction():
        steps.soaked(walk.order, NOW)
    walk.on()
    for stage in (Stage.QUOTE, Stage.PARTS, Stage.REASSEMBLY):
        walk.do(*steps.PROPER[stage])
        walk.on()
    walk.do(steps.read, steps.proved, steps.failed)
    with pytest.raises(RuleBroken, match="failed at"), transaction():
        soaking_service.start_soak(walk.order, load="8 Ω", attended=True, by=BY, now=NOW)


def test_powered_it_neither_moves_nor_goes_back_together(walk: Walk) -> None:
    """An amp was once moved back to intake while it was on."""
    walk.to(Stage.REASSEMBLY)
    with transaction():
        power.power_up_by_word(walk.order, "bias set", reason="covers off to measure", by=BY, now=NOW)
    for act in (lambda: orders.move_on(walk.order, by=BY, now=NOW),
                lambda: orders.move_back(walk.order, Stage.INTAKE, reason="tried", by=BY, now=NOW),
                lambda: orders.end(walk.order, End.UNREPAIRED, by=BY, now=NOW), lambda: steps.put_back(walk.order, NOW),
                lambda: steps.discharged(walk.order, NOW)):
        with pytest.raises(RuleBroken, match="has been powered since"), transaction():
            act()


def test_an_amp_opened_at_the_door_is_counted_soaked_and_tested_anew(walk: Walk) -> None:
    ready_to_go(walk)
    walk.do(steps.discharged, steps.took_off)
    way = way_back(walk.order)
    assert "CT" in way.invalidated and "CT" in {step.id for step in way.left}
    walk.do(steps.put_back)
    assert way_back(walk.order).finished and len(records_of(walk.order, undone=True)) == 1
    walk.do(steps.passed)
    assert "After the last soak run began" in walk.missing()


def test_what_was_read_before_the_amp_went_back_is_read_again(walk: Walk) -> None:
    """As left means before leaving: the invariant of the design, the same point as found and as left."""
    ready_to_go(walk)
    walk.back(Stage.REASSEMBLY)
    walk.on()
    walk.do(steps.soaked, steps.passed)
    assert walk.missing() == "Read HT as left again: the order went back after it was read."
    walk.do(steps.read)
    assert walk.missing() == ""


def test_what_must_not_be_energised_is_not_and_does_not_leave(walk: Walk) -> None:
    ready_to_go(walk)
    with walk.later() as order:
        danger_service.impound(order, "smoke from the transformer", by=BY, now=walk.now)
    assert "marked “do not energise”: smoke from the transformer" in walk.missing()
    for act in (steps.soaked, steps.passed):
        with walk.later() as order, pytest.raises(RuleBroken, match="do not energise"):
            act(order, walk.now)
    with walk.later() as order:
        danger_service.lift(order, "a resistor on the test lead, not the amp", by=BY, now=walk.now)
    assert walk.missing() == ""


def test_a_reading_that_fails_or_was_corrected_proves_no_finding(walk: Walk) -> None:
    walk.to(Stage.SAFETY_TEST).do(steps.read_badly)
    with walk.later() as order:
        finding, bad = findings_queries.findings_of(order)[0], measuring.standing_readings(order)[0]
        with pytest.raises(BadInput, match="300 V is fail, which does not prove a repair"):
            proofs_service.prove(finding, result="as it should be", reading=bad, by=BY, now=walk.now)
    walk.do(steps.read)
    with walk.later() as order:
        proofs_service.prove(findings_queries.findings_of(order)[0], result="HT is right",
                             reading=measuring.standing_readings(order)[0],
                             by=BY,
                      now=walk.now)
    walk.do(steps.soaked, steps.passed)
    assert walk.missing() == ""
    with walk.later() as order:
        good = next(one for one in measuring.standing_readings(order) if one.point_id)
        taken = readings_service.Taken.at(measuring.points_of(order)[0], "441", steps.tool("M2"), Phase.AS_LEFT)
        readings_service.correct(good, taken, reason="misread", by=BY, now=walk.now)
    assert "the reading that proved it was corrected" in walk.missing()


def test_an_authority_withdrawn_at_the_door_holds_the_amp(walk: Walk) -> None:
    ready_to_go(walk)
    with walk.later() as order:
        authority.withdraw(authority.ledger(order.id)[-1], "it was for another amp", by=BY, now=walk.now)
    assert "Record what Wren Adler answered" in walk.missing()


def test_nothing_of_an_ended_order_is_changed(walk: Walk) -> None:
    """A come-back is a new order; what an ended one says stays as it was when the amp left."""
    ready_to_go(walk).do(steps.release)
    given = {"reason": "it looks better so", "by": BY, "now": walk.now}
    tried: tuple[Callable[[RepairOrder], object], ...] = (
        lambda order: outcome_service.reopen(findings_queries.findings_of(order)[0], **given),
        lambda order: outcome_service.withdraw(findings_queries.findings_of(order)[0], **given),
        lambda order: testing_service.void_test(safety.tests_of(order)[0], **given),
        lambda order: photos.strike(pictures.of_order(order.id)[0], **given),
        lambda order: points_service.withdraw_point(measuring.points_of(order)[0], **given),
        lambda order: authority.withdraw(authority.ledger(order.id)[-1], **given),
    )
    for act in tried:
        with walk.later() as order, pytest.raises(RuleBroken, match="The repair has ended"):
            act(order)


def test_what_could_hurt_is_not_given_back_to_be_switched_on(walk: Walk) -> None:
    walk.to(Stage.TEARDOWN).do(*steps.PROPER[Stage.TEARDOWN])
    with walk.later() as order:
        hand.leaves_unrepaired(order, now=walk.now, works="it plays", measures=())
    walk.do(steps.checked_off, steps.old_parts, steps.settled, steps.warned, steps.labelled, steps.tied_on)
    missing = missing_in(walk.order, End.UNREPAIRED)
    assert [one.endpoint for one in missing] == ["handover.unrepaired"] and "it may not be switched on" in missing[0].text
    walk.do(steps.written_unrepaired, steps.warned, steps.labelled, steps.tied_on)
    assert missing_in(walk.order, End.UNREPAIRED) == ()


def test_no_amp_waited_for_its_owner_before_it_came_in(walk: Walk) -> None:
    """A notice dated before the check-in would make the time to wait be over at once."""
    with walk.later() as order, pytest.raises(GateClosed):
        hand.notice(order, walk.now.date(), now=walk.now)
    with walk.later() as order:
        hand.leaves_unrepaired(order, now=walk.now)
    with walk.later() as order, pytest.raises(BadInput, match="The amp can be collected since"):
        hand.notice(order, (walk.now - timedelta(days=400)).date(), today=walk.now.date(), now=walk.now)


def test_a_part_that_came_and_is_not_in_holds_the_amp_and_one_fitted_late_is_read_again(walk: Walk) -> None:
    ready_to_go(walk)
    with walk.later() as order:
        part = store.part(order)
        parts.receive(order, part, store.arrival(charged_minor=0), by=BY, now=walk.now)
    assert "Fit 3 × 47u 450 V at C14, or drop it with a reason." in walk.missing()
    with walk.later() as order:
        parts.fit(order, part, "C14", by=BY, now=walk.now)
    assert "Read HT as left again: 3 × 47u 450 V was fitted after it was read." in walk.missing()
    walk.do(steps.read)
    assert "Read HT" not in walk.missing()
