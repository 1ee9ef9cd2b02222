"""What an order waits for is stored with every save, and is what the gates would say now: over random lives, on both engines.

Seed: Hypothesis derandomized, so that every run takes the same lives.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from app import clock
from app.backup.verify import verify
from app.bench.queries import SIZE, rows
from app.db import Base, database, session, transaction
from app.errors import RuleBroken
from app.findings import queries as findings_queries
from app.findings.service import special
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.measuring.rules import State
from app.orders import renewal
from app.orders import service as orders
from app.orders.models import OrderStanding, Quarantine, RepairOrder
from app.orders.stages import IN_ORDER, End, Stage
from app.orders.standing import Standing, calculate, differences, from_row, of_order, stored
from app.photos import queries as pictures
from app.photos import service as photos
from app.records.rules import ProtectionClass
from app.records.spec import AmpFacts
from app.safety.models.profiles import Profile
from app.shop.queries import the_shop
from tests import factories
from tests.bench.make import counted
from tests.factories import NOW
from tests.orders import steps
from tests.pages import PageClient
from tests.people import BY

ENOUGH = settings(derandomize=True, phases=[Phase.generate], deadline=None, database=None, print_blob=False,
                  suppress_health_check=list(HealthCheck))


class Watch:
    """The shop's clock, which goes on with each act and can jump."""

    now = NOW


@pytest.fixture
def watch(monkeypatch: pytest.MonkeyPatch) -> Watch:
    watch = Watch()
    monkeypatch.setattr(clock, "now", lambda: watch.now)
    return watch


def row_of(order_id: int) -> Standing:
    return from_row(stored([order_id])[order_id])


def untrue(now: datetime, *order_ids: int) -> list[str]:
    """Of these orders, or of all: those without a row, and rows that claim what the records do not say; both in full."""
    session().rollback()
    wrong, asked = [], sa.select(RepairOrder).order_by(RepairOrder.id)
    for order in session().scalars(asked.where(RepairOrder.id.in_(order_ids)) if order_ids else asked).all():
        row = stored([order.id]).get(order.id)
        if row is None:
            wrong.append(f"{order.number} has no row")
        elif from_row(row).is_good(now):
            fresh = calculate(order, now)
            wrong += [f"{order.number} {name}: {from_row(row)} is not {fresh}" for name in differences(from_row(row), fresh)]
    return wrong


# What is done to the whole house, or to what several orders share.

def wording(_order: RepairOrder, _now: datetime) -> None:
    the_shop().name = f"{the_shop().name} & Son"


def other_currency(_order: RepairOrder, _now: datetime) -> None:
    the_shop().currency = "NZD" if the_shop().currency == "AUD" else "AUD"


def other_zone(_order: RepairOrder, _now: datetime) -> None:
    the_shop().time_zone = "Pacific/Auckland" if the_shop().time_zone == "Australia/Sydney" else "Australia/Sydney"


def no_profile(_order: RepairOrder, _now: datetime) -> None:
    for one in session().scalars(sa.select(Profile)):
        one.in_force = False


def profile_again(_order: RepairOrder, _now: datetime) -> None:
    first = session().scalars(sa.select(Profile).order_by(Profile.id)).first()
    if first is not None:
        first.in_force = True


def meter_doubted(_order: RepairOrder, _now: datetime) -> None:
    steps.tool("E1").state = State.QUARANTINED


def meter_good(_order: RepairOrder, _now: datetime) -> None:
    steps.tool("E1").state = State.IN_SERVICE


def meter_due(_order: RepairOrder, now: datetime) -> None:
    steps.tool("M2").due_on = now.date() + timedelta(days=2)


def other_class(order: RepairOrder, now: datetime) -> None:
    amp = order.amp
    to = ProtectionClass.II if amp.protection_class is ProtectionClass.I else ProtectionClass.I
    records_service.change_amp(amp, AmpFacts(amp.maker, amp.model, "none found", "230 V 50 Hz", to), by=BY, now=now)


def other_name(order: RepairOrder, _now: datetime) -> None:
    order.depositor.name = f"{order.depositor.name} the younger"


def impounded(order: RepairOrder, now: datetime) -> None:
    danger_service.impound(order, "smoke from the transformer", by=BY, now=now)


def lifted(order: RepairOrder, now: datetime) -> None:
    danger_service.lift(order, "a resistor on the test lead", by=BY, now=now)


def promised(order: RepairOrder, now: datetime) -> None:
    order.promised_on = now.date() + timedelta(days=1)


def picture_moved(order: RepairOrder, now: datetime) -> None:
    photos.move(pictures.of_order(order.id)[0], earlier=False, by=BY, now=now)


def left_drying(order: RepairOrder, now: datetime) -> None:
    special.start_bake_out(findings_queries.findings_of(order)[0], by=BY, now=now)


HOUSE = (wording, other_currency, other_zone, no_profile, profile_again, meter_doubted, meter_good, meter_due, other_class,
         other_name, impounded, lifted, promised, picture_moved, left_drying)


class Lives(RuleBasedStateMachine):
    """Two orders of one customer, and everything that people do to them, to the house, and by waiting."""

    watch = Watch()
    came_to_pass: dict[str, int] = {}

    def __init__(self) -> None:
        super().__init__()
        self.watch.now = max(self.watch.now, NOW)
        with transaction():
            who = factories.customer()
            self.ids = [factories.order(customer=who, amp=factories.amp(serial=serial, protection_class=steps.CLASS_I)).id
                        for serial in ("M30-1", "M30-2")]

    def order(self, which: int) -> RepairOrder:
        return session().get_one(RepairOrder, self.ids[which])

    @contextmanager
    def attempt(self, name: str) -> Iterator[None]:
        self.watch.now += timedelta(minutes=50)
        try:
            with transaction():
                yield
        except (RuleBroken, IndexError):
            return
        self.came_to_pass[name] = self.came_to_pass.get(name, 0) + 1

    def do(self, which: int, act: Callable[[RepairOrder, datetime], Any]) -> None:
        with self.attempt(act.__name__):
            act(self.order(which), self.watch.now)

    @initialize(first=st.integers(0, 7), second=st.integers(0, 7))
    def somebody_worked_on_them_first(self, first: int, second: int) -> None:
        for which, stages in ((0, first), (1, second)):
            for stage in IN_ORDER[:stages]:
                self.finish(which, stage)
                self.move_on(which)

    def finish(self, which: int, stage: Stage) -> None:
        for step in steps.PROPER[stage]:
            self.do(which, step)

    @rule(which=st.sampled_from((0, 1)), step=st.sampled_from([step for each in steps.PROPER.values() for step in each]))
    def do_something_right(self, which: int, step: Callable[[RepairOrder, datetime], None]) -> None:
        self.do(which, step)

    @rule(which=st.sampled_from((0, 1)), step=st.sampled_from((*steps.MISCHIEF, steps.failed, steps.void)))
    def do_something_else(self, which: int, step: Callable[[RepairOrder, datetime], None]) -> None:
        self.do(which, step)

    @rule(which=st.sampled_from((0, 1)), act=st.sampled_from(HOUSE))
    def change_the_house(self, which: int, act: Callable[[RepairOrder, datetime], None]) -> None:
        self.do(which, act)

    @rule(which=st.sampled_from((0, 1)))
    def move_on(self, which: int) -> None:
        with self.attempt("move on"):
            orders.move_on(self.order(which), by=BY, now=self.watch.now)

    @rule(which=st.sampled_from((0, 1)), there=st.sampled_from(IN_ORDER))
    def move_back(self, which: int, there: Stage) -> None:
        with self.attempt("move back"):
            orders.move_back(self.order(which), there, reason="it was not right", by=BY, now=self.watch.now)

    @rule(which=st.sampled_from((0, 1)), how=st.sampled_from(list(End)))
    def end(self, which: int, how: End) -> None:
        self.finish(which, Stage.RETURN)
        with self.attempt("end"):
            orders.end(self.order(which), how, by=BY, now=self.watch.now, reason="tried")

    @rule(which=st.sampled_from((0, 1)))
    def come_back(self, which: int) -> None:
        if not self.order(which).is_open:
            with self.attempt("came back"):
                self.ids[which] = steps.come_back(self.order(which), self.watch.now).id

    @rule(hours=st.sampled_from((1, 3, 14, 30, 24 * 20, 24 * 45)))
    def wait(self, hours: int) -> None:
        self.watch.now += timedelta(hours=hours)

    @invariant()
    def what_is_stored_is_what_the_gates_say(self) -> None:
        assert untrue(self.watch.now, *self.ids) == []

    @invariant()
    def what_a_page_says_is_what_the_gates_say(self) -> None:
        for which in (0, 1):
            assert differences(of_order(self.order(which)), calculate(self.order(which), self.watch.now)) == []

    def teardown(self) -> None:
        assert untrue(self.watch.now) == []  # those of earlier lives too


@pytest.mark.timeout(600)
def test_over_random_lives_what_is_stored_is_what_the_gates_say(app: Flask, engine_name: str, watch: Watch) -> None:
    Lives.watch, Lives.came_to_pass = watch, {}
    lives, length = (12, 12) if engine_name == "sqlite" else (2, 6)
    with app.app_context():
        with transaction():
            steps.equip()
        run_state_machine_as_test(Lives, settings=settings(ENOUGH, max_examples=lives, stateful_step_count=length))
    wanted = {"move on", "move back"} if engine_name == "sqlite" else {"move on"}
    assert wanted <= Lives.came_to_pass.keys(), Lives.came_to_pass
    done = {act.__name__ for act in HOUSE} & Lives.came_to_pass.keys()  # each of them is done by the next test, on both engines
    assert engine_name == "postgresql" or len(done) >= 4, done


@pytest.mark.timeout(300)
def test_every_act_on_the_house_is_seen_by_every_order(app: Flask, watch: Watch) -> None:
    """Orders that stand everywhere, one act after another; each is done, and no row claims what was true before."""
    Lives.watch, Lives.came_to_pass = watch, {}
    with app.app_context():
        with transaction():
            steps.equip()
        first, second = Lives(), Lives()
        first.somebody_worked_on_them_first(7, 5)
        second.somebody_worked_on_them_first(6, 2)
        for act in HOUSE:
            first.do(1, act)
            assert untrue(watch.now) == [], act.__name__
        first.finish(0, Stage.RETURN)
        with first.attempt("handed out"):
            steps.release(first.order(0), watch.now)
        first.teardown()
    assert {act.__name__ for act in HOUSE} - Lives.came_to_pass.keys() == set()


def test_what_is_written_past_the_records_is_seen(app: Flask, watch: Watch) -> None:
    """A statement that picks out one order's rows speaks for that order; one of which that cannot be told, for all."""
    with app.app_context():
        with transaction():
            ids = factories.order().id, factories.order(amp=factories.amp(serial="M30-2")).id
            for key in ids:
                danger_service.impound(session().get_one(RepairOrder, key), "it smokes", by=BY, now=NOW)
        before = stored(ids)
        with transaction() as current:
            current.execute(sa.update(Quarantine).where(Quarantine.order_id == ids[0]).values(reason="it burns"))
        assert untrue(watch.now) == [] and row_of(ids[0]).do_not_energise == "it burns"
        assert stored(ids)[ids[1]]["turn"] == before[ids[1]]["turn"]
        with transaction() as current:
            current.execute(sa.text("UPDATE quarantine SET reason = 'it burns'"))
        assert untrue(watch.now) == [] and row_of(ids[1]).do_not_energise == "it burns"


def test_a_change_to_the_house_is_told_at_once_and_saved_by_and_by(app: Flask, watch: Watch) -> None:
    many = renewal.AT_A_TIME + 3
    with app.app_context():
        with transaction():
            ids = [factories.order(amp=factories.amp(serial=f"M30-{one}")).id for one in range(many)]
        with transaction():
            wording(session().get_one(RepairOrder, ids[0]), watch.now)
        doubted = [key for key, row in stored(ids).items() if not from_row(row).is_good(watch.now)]
        assert len(doubted) == many - renewal.AT_A_TIME
        order = session().get_one(RepairOrder, doubted[0])
        assert of_order(order) == calculate(order, watch.now)
        with counted(app) as asked:
            of_order(order)
        assert len(asked) == 1, "worked out once while nothing is written"
        with transaction():
            factories.customer()
        assert all(from_row(row).is_good(watch.now) for row in stored(ids).values())


def test_the_clock_alone_makes_an_order_overdue(app: Flask, watch: Watch) -> None:
    """Promised for the 4th in Sydney, which is over there at 13:00 UTC (UTC+11 in March: tz database)."""
    with app.app_context():
        with transaction():
            order = factories.order()
            order.promised_on = date(2026, 3, 4)
            key = order.id
        said = row_of(key)
        assert (said.overdue, said.clock.text if said.clock else "") == (False, "The promised day is over")
        assert said.good_until == datetime(2026, 3, 4, 13, 0, tzinfo=UTC)
        watch.now = datetime(2026, 3, 4, 12, 59, tzinfo=UTC)
        assert not of_order(session().get_one(RepairOrder, key)).overdue
        watch.now = datetime(2026, 3, 4, 13, 0, tzinfo=UTC)
        assert of_order(session().get_one(RepairOrder, key)).overdue and not row_of(key).overdue
        with transaction():
            factories.customer()
        assert row_of(key).overdue


def test_a_gate_that_fails_on_another_order_does_not_stop_a_save(app: Flask, watch: Watch, monkeypatch: pytest.MonkeyPatch,
                                                                 caplog: pytest.LogCaptureFixture) -> None:
    with app.app_context():
        with transaction():
            one, other = factories.order().id, factories.order(amp=factories.amp(serial="M30-2")).id

        def breaks(order: RepairOrder, now: datetime) -> Standing:
            if order.id == other:
                raise ValueError("a gate is broken")
            return calculate(order, now)

        monkeypatch.setattr(renewal, "calculate", breaks)
        with transaction() as current:
            session().get_one(RepairOrder, one).shelf = "B2"
            renewal.question(current)
        assert session().get_one(RepairOrder, one).shelf == "B2"
        with pytest.raises(ValueError, match="broken"), transaction():
            session().get_one(RepairOrder, other).shelf = "B2"
    assert "The standing of order" in caplog.text


def test_how_each_table_leads_to_orders() -> None:
    """Whoever adds a table is asked here. What is not named is of an order, or a change of it questions every order."""
    found: dict[str, set[str]] = {}
    for name in Base.metadata.tables:
        found.setdefault(renewal.reach(name), set()).add(name)
    assert found["house"] == {"accuracy", "calibration", "calibration_error", "instrument", "person", "profile_step",
                              "safety_profile", "shop"}
    assert found["named"] == {"amp", "customer"}
    assert found["below"] == {"bench_handover_piece", "bias_reading", "bias_round", "closure_count_piece", "discharge_reading",
                              "incident_entry", "kept_paper", "mail_paper", "mail_recipient", "power_up_abort", "power_up_entry",
                              "power_up_mains", "power_up_trial", "proof_reading", "quote_decision", "quote_issued_line",
                              "removal_piece", "safety_step", "sound_figure", "step_outcome", "supply_capacitor", "task_before"}
    assert found["none"] <= renewal.NO_ORDER
    gates = "".join(path.read_text(encoding="utf-8") for path in Path("app").glob("*/gate.py"))
    assert not [name for name in renewal.NO_ORDER if f"import {name}" in gates]


def test_verify_names_an_order_whose_standing_is_not_true(app: Flask, watch: Watch) -> None:
    with app.app_context():
        with transaction():
            first, second = factories.order(), factories.order(amp=factories.amp(serial="M30-2"))
            numbers = first.number, second.number
        assert verify().troubles == ()
        with transaction() as current:
            current.execute(sa.update(OrderStanding.__table__).where(  # type: ignore[arg-type]
                OrderStanding.order_id == first.id).values(waits_for="Hand the amp out: nothing is missing.", held=True))
        assert verify().troubles == (f"repair {numbers[0]}: what it is said to wait for is not what its gates say "
                                     "(waits_for, held)",)
        row = sa.select(RepairOrder.__table__).where(RepairOrder.number == numbers[1])
        copied = dict(session().execute(row).mappings().one()) | {"id": 99, "number": 4099}
        session().rollback()
        with database().engine.connect().execution_options(writing=True) as raw, raw.begin():
            raw.execute(sa.insert(RepairOrder.__table__).values(**copied))  # type: ignore[arg-type]
        assert "repair 4099: what it waits for is not stored" in verify().troubles
        waits_for = {one.number: one.standing.waits_for for one in rows()}
        assert waits_for[4099] == "Enter the complaint in the customer’s own words."


def test_the_bench_list_says_what_is_stored(app: Flask, technician: PageClient) -> None:
    with app.app_context():
        with transaction():
            order = factories.order()
            danger_service.impound(order, "smoke from the transformer", by=BY, now=NOW)
            order.promised_on = date(2026, 3, 4)
            key = order.id
        waits_for = row_of(key).waits_for
    page = technician.get("/")
    assert waits_for in page.words and "Do not energise: smoke from the transformer" in page.words
    assert "the day is past" in page.words
    assert "Do not energise" in technician.get(f"/orders/{key}").words


def test_the_list_opens_when_every_amp_has_gone_out(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order.ended_as, order.ended_at = End.UNREPAIRED, NOW
        key = order.id
    page = technician.get("/")
    assert "No amp is checked in." in page.words and f"/orders/{key}" in page.links()


def test_a_long_list_comes_in_parts(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        for one in range(SIZE + 2):
            order = factories.order(amp=factories.amp(serial=f"M30-{one}"))
            order.stage = Stage.PARTS if one < 2 else Stage.INTAKE
    first, second = technician.get("/"), technician.get("/?page=2")
    assert "62 amps checked in · 2 wait for parts" in first.words
    stages = next(nav for nav in first.all("nav") if nav.get("aria-label") == "Stages")
    assert "".join(stages.itertext()).split() == ["All", "62", "Intake", "60", "Parts", "2"]
    assert "1 to 60 of 62" in first.words and "61 to 62 of 62" in second.words
    assert technician.get("/?stage=parts").words.count("Tarnholt Meridian 30") == 2
    assert technician.get("/?stage=parts&page=9").words.count("Tarnholt Meridian 30") == 2
    assert "No amp is in this stage." in technician.get("/?stage=quote").words
    assert technician.get("/?stage=elsewhere", status=404).words
