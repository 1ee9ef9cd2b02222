"""Discharged, every capacitor measured below the limit; over when it is powered, or when the list changes."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.discharge import queries, service
from app.discharge.models import DischargeReading, MadeSafe
from app.discharge.rules.listing import Origin
from app.discharge.service import Round, Stick, WrongReadings
from app.errors import BadInput, RuleBroken
from app.handover.service import going_out
from app.handover.service.going_out import show_working
from app.intake.service.danger import impound
from app.measuring.rules import Kind, Quantity, State, Statement
from app.measuring.service import instruments as instruments_service
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.spec import InstrumentFacts
from app.orders import gates, power, standing
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.safety.rules import StepKind
from app.safety.service import testing as testing_service
from app.safety.service.soaking import start_soak
from tests import factories
from tests.discharge.make import CHAIN, ONE, discharged, given, listed, meter
from tests.factories import NOW
from tests.findings.make import order_at
from tests.measuring import make as measuring
from tests.people import BY
from tests.safety import make as proving


def is_discharged(order: RepairOrder) -> bool:
    session().flush()
    return queries.is_discharged(order) and standing.calculate(order, NOW).discharged and bool(gates.shown_discharged(order))


def test_every_capacitor_below_the_limit_shows_it_discharged(context: Flask) -> None:
    with transaction():
        order = order_at()
        assert not is_discharged(order)
        discharged(order, "2.4", "2.9", "3.1", "4.2", "-0.3")
        assert is_discharged(order) and queries.shown(order).startswith("Highest of 5: 4.2 V on C4, ")


@pytest.mark.parametrize(("typed", "why"), [
    (("8", "12", "30", "42"), "Not shown below the limit: C2, C3, C4."), (("9.9",), "Not shown below the limit: C1."),
    (("0.5", ""), "Not read: C2."), (("0.5", "0.5", "0.5", "0.5", "-38"), "Not shown below the limit: bias C1."),
    (("0.5", "0.5", "0.5", "OL"), "Not shown below the limit: C4.")])
def test_one_capacitor_over_or_unread_and_nothing_is_shown(context: Flask, typed: tuple[str, ...], why: str) -> None:
    """The first node at 8 V, the far one at 42 V: one reading on the first once made it safe. It is kept, and shows nothing."""
    with transaction():
        order = order_at()
        discharged(order)
        discharged(order, *typed)
        assert not is_discharged(order) and queries.why_not(order) == why
        assert [item.text for item in gates.missing_in(order, Stage.TEARDOWN)][0].startswith(why)
        assert len(queries.records_of(order)) == 2


@pytest.mark.parametrize("proved", [{"before": False}, {"after": False}])
def test_a_meter_that_was_not_proved_shows_nothing(context: Flask, proved: dict[str, bool]) -> None:
    with transaction():
        order = order_at()
        service.record_round(order, given(listed(order), **proved), by=BY, now=NOW)
        assert not is_discharged(order) and "not proved" in queries.why_not(order)


def test_readings_that_cannot_be_are_told_one_by_one(context: Flask) -> None:
    with transaction():
        order = order_at()
        supply = listed(order)
        with pytest.raises(WrongReadings) as refused:
            service.record_round(order, given(supply, "0", "-3", "1.2", "x", "0.4"), by=BY, now=NOW)
        assert sorted(refused.value.each) == [supply.capacitors[n].id for n in (0, 1, 3, 4)]
        assert queries.state(order.id) is None


@pytest.mark.parametrize(("facts", "words"), [
    ({"kind": Kind.CAPACITOR_TESTER}, "must not go across"),
    ({"stated": (Statement(Quantity.VOLT_DC, 60, 0.5, 3, 0.01),)}, "must not go"),
    ({"stated": ()}, "must not go across"), ({"due_on": date(2026, 1, 1)}, "overdue"),
    ({"state": State.INDICATION}, "indication only"),
    ({"calibrated_on": None, "due_on": None}, "no calibration")])
def test_an_instrument_that_cannot_show_it_is_refused(context: Flask, facts: dict[str, object], words: str) -> None:
    with transaction():
        order = order_at()
        odd = measuring.instrument("X9", **facts)  # type: ignore[arg-type]
        session().flush()
        with pytest.raises(BadInput, match=words) as refused:
            service.record_round(order, given(listed(order), instrument=odd), by=BY, now=NOW)
        assert refused.value.field == "instrument"


def test_a_stick_of_10_ohm_into_450_volts_is_refused(context: Flask) -> None:
    with transaction():
        order = order_at()
        with pytest.raises(BadInput, match="10 Ω into 450 V is 45 A at first touch") as refused:
            service.record_round(order, given(listed(order), stick=Stick(10.0, 50.0)), by=BY, now=NOW)
        assert refused.value.field == "stick_ohm"
        service.record_round(order, given(listed(order), stick=None), by=BY, now=NOW)  # it bled by itself: the readings show it
        assert is_discharged(order)


def test_nothing_is_recorded_without_a_list_or_on_power(context: Flask) -> None:
    with transaction():
        order = order_at()
        with pytest.raises(RuleBroken, match="List the capacitors"):
            service.record_round(order, Round({1: "0.2"}, meter(), "battery", True, True), by=BY, now=NOW)
        supply = listed(order)
        power.powered_again(order, by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="has been powered since"):
            service.record_round(order, given(supply), by=BY, now=NOW)
        power.power_off(order, by=BY, now=NOW)
        assert not is_discharged(order)  # off is not discharged
        discharged(order)
        assert is_discharged(order)


def test_a_later_list_ends_it(context: Flask) -> None:
    with transaction():
        order = order_at()
        discharged(order, layout=ONE)
        listed(order, CHAIN)
        assert not is_discharged(order) and "list" in queries.why_not(order)


def test_it_ends_with_a_word_that_it_was_powered_even_under_do_not_energise(context: Flask) -> None:
    with transaction():
        order = order_at()
        discharged(order)
        impound(order, "cut mains lead", by=BY, now=NOW)
        power.powered_again(order, by=BY, now=NOW)
        assert not is_discharged(order) and power.powered(order.id) is not None
        power.powered_again(order, by=BY, now=NOW)  # said twice


def reading(order: RepairOrder, quantity: Quantity, typed: str, *, powered: bool | None = None) -> None:
    stated = (Statement(quantity, 1000, 1, 0, 0),)
    point = points_service.add_point(order, points_service.PointFacts("HT1", quantity, None, None, None, ""), by=BY, now=NOW)
    session().flush()
    taken = readings_service.Taken.at(point, typed, measuring.instrument("M2", stated=stated), powered=powered)
    readings_service.take(order, taken, by=BY, now=NOW)


@pytest.mark.parametrize(("quantity", "typed", "holds"), [
    (Quantity.VOLT_DC, "441", False), (Quantity.AMP_DC, "38m", False), (Quantity.VOLT_AC, "6.3", False), (Quantity.OHM, "4k7",
                                                                                                          True),
    (Quantity.FARAD, "22u", True)])
def test_a_reading_that_needs_power_ends_it(context: Flask, quantity: Quantity, typed: str, holds: bool) -> None:
    """A reading of 441 V once left the record standing."""
    with transaction():
        order = order_at()
        discharged(order)
        reading(order, quantity, typed)
        assert is_discharged(order) is holds and (power.powered(order.id) is None) is holds


def test_441_volts_on_an_amp_that_is_said_to_be_unplugged_are_refused(context: Flask) -> None:
    """It went in as "unplugged and discharged", under "do not energise" too, and left the record standing."""
    with transaction():
        order = order_at()
        discharged(order)
        with pytest.raises(BadInput, match="no discharged amp") as refused:
            reading(order, Quantity.VOLT_DC, "441", powered=False)
        assert refused.value.field == "powered"


def barred() -> RepairOrder:
    """Earth and insulation passed in a test that is running; then the danger is seen."""
    order = proving.order()
    proving.profile()
    proving.earthed(order)
    impound(order, "cut mains lead", by=BY, now=NOW)
    return order


@pytest.mark.parametrize("act", ["reading", "leakage", "functional", "soak", "shown", "word"])
def test_nothing_that_energises_is_taken_under_do_not_energise(context: Flask, act: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every way in. The functional step of a test that was running, and showing it working, once asked nothing."""
    monkeypatch.setattr(going_out, "must_be_finished", lambda order: None)  # the other gate of showing it has tests of its own
    with transaction():
        order = barred()
        test = proving.queries.running_test(order)
        assert test is not None
        if act == "functional":
            for step in test.steps:
                if step.kind.is_seen and step.kind.is_unplugged and step.verdict is None:
                    testing_service.answer(step, seen=True, words="T2A 250 V", by=BY, now=NOW)
        acts = {
            "reading": lambda: reading(order, Quantity.VOLT_DC, "441"),
            "leakage": lambda: testing_service.measure(proving.step_of(test, StepKind.LEAKAGE), typed="0.2m",
                                                       instrument=proving.tester(), by=BY, now=NOW),
            "functional": lambda: testing_service.answer(proving.step_of(test, StepKind.FUNCTIONAL), seen=True, by=BY, now=NOW),
            "soak": lambda: start_soak(order, load="8 ohm, music", attended=True, by=BY, now=NOW),
            "shown": lambda: show_working(order, True, by=BY, now=NOW),
            "word": lambda: power.power_up_by_word(order, "listened to", reason="as found", by=BY, now=NOW),
        }
        with pytest.raises(RuleBroken, match="do not energise"):
            acts[act]()


@pytest.mark.parametrize("act", ["functional", "leakage", "soak", "shown"])
def test_what_energises_the_amp_ends_it(context: Flask, act: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(going_out, "must_be_finished", lambda order: None)  # the other gate of showing it has tests of its own
    with transaction():
        order = proving.order()
        proving.profile()
        discharged(order)
        test = proving.earthed(order)
        assert is_discharged(order)
        for step in test.steps:
            if step.kind.is_unplugged and step.verdict is None:
                testing_service.answer(step, seen=True, words="T2A 250 V", by=BY, now=NOW)
        assert is_discharged(order)
        if act == "functional":
            testing_service.answer(proving.step_of(test, StepKind.FUNCTIONAL), seen=True, by=BY, now=NOW)
        elif act == "leakage":
            testing_service.measure(proving.step_of(test, StepKind.LEAKAGE), typed="0.2m",
                                    instrument=proving.tester(), by=BY, now=NOW)
        elif act == "soak":
            start_soak(order, load="8 ohm, music", attended=True, by=BY, now=NOW)
        else:
            show_working(order, True, by=BY, now=NOW)
        assert not is_discharged(order)
        assert (power.powered(order.id) is None) is (act == "shown")  # shown at the counter, and off again


def test_a_meter_set_aside_afterwards_shows_nothing_discharged(context: Flask) -> None:
    with transaction():
        order = order_at()
        discharged(order)
        assert is_discharged(order)
        facts = InstrumentFacts("D1", Kind.MULTIMETER, calibrated_on=date(2025, 6, 1), due_on=date(2036, 6, 1),
                                state=State.QUARANTINED)
        instruments_service.change_instrument(meter(), facts, by=BY, now=NOW)
        assert not is_discharged(order)
        assert queries.why_not(order) == "D1, which it was measured with, is quarantined."
        assert not standing.calculate(order, NOW).discharged


def test_what_0_1_recorded_stays_readable_and_counts_for_one_capacitor(context: Flask) -> None:
    with transaction():
        order = order_at()
        session().add(MadeSafe(order_id=order.id, volts=0.4, limit_volts=10, across="the reservoir", instrument="meter 2",
                               how="10k", at=NOW, by_name="Ines"))
        session().flush()
        assert not is_discharged(order) and len(queries.earlier_form(order)) == 1
        assert [item.text for item in gates.missing_in(order, Stage.TEARDOWN)][0].startswith("Only one reading was recorded")
        order.stage = Stage.PARTS
        assert [item for item in gates.missing_in(order, Stage.TEARDOWN) if item.endpoint == "discharge.page"] == []


def test_the_database_changes_no_reading(app: Flask, context: Flask) -> None:
    with transaction():
        discharged(order_at())
    with pytest.raises(sa.exc.DBAPIError), transaction():
        session().execute(sa.update(DischargeReading).values(value=0.1))


def test_a_list_is_offered_from_the_last_repair_the_sheets_and_usual_layouts(context: Flask) -> None:
    with transaction():
        order = order_at()
        first = queries.offers(order)
        assert {one.origin for one in first} == {Origin.USUAL}
        made = service.record_list(order, first[0].layout, by=BY, now=NOW)
        assert (made.origin, made.origin_words) == (Origin.USUAL, first[0].words)
        assert listed(order, CHAIN).origin is Origin.TYPED
        again = factories.order(amp=order.amp)
        session().flush()
        offer = queries.offers(again)[0]
        assert offer.origin is Origin.EARLIER and offer.layout == CHAIN
        assert service.record_list(again, offer.layout, by=BY, now=NOW + timedelta(days=1)).origin is Origin.EARLIER
