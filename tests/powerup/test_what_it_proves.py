"""No green word without what proves it: bands, instruments, hands, valves and tests that a first power-up rests on."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.measuring.rules import Quantity, State, Verdict
from app.measuring.service import calibrations
from app.measuring.service.calibrations import Certified
from app.measuring.tolerance import Calibrated, ErrorFound
from app.orders import chassis
from app.orders.models import RepairOrder
from app.powerup import gate, queries, rounds
from app.powerup.models import PowerUpRun
from app.powerup.rules.course import Go
from app.powerup.rules.items import Band, Biased
from app.powerup.service import entries as entries_service
from app.powerup.service.entries import Given
from app.removals.rules import Kind, Side
from app.removals.service import record as record_service
from app.removals.spec import RemovalFacts
from tests.factories import NOW
from tests.people import BY
from tests.powerup import make
from tests.powerup.make import Bench


def came(run: PowerUpRun, number: int, key: str) -> Go:
    return next(go for item, go in queries.where(run.id).states[number].items if item.key == key)


def pulled(order: RepairOrder, place: str, bench: Bench) -> None:
    kind = Kind.OUTPUT_VALVE if place in ("V5", "V6") else Kind.VALVE
    facts = RemovalFacts(name=f"valve {place}", kind=kind, place="valve sockets", side=Side.OUTSIDE, stack=("valve", "socket"))
    record_service.record_removal(order, place, facts, by=BY, now=bench.later())
    session().flush()


@pytest.mark.parametrize(("number", "key", "typed", "band", "words"), [
    (2, "ht", "300", Band(100, None, "mine"), "No sound amp reads less"), (2, "ht", "300k", Band(None, 1e6, "mine"), "at least"),
    (2, "grid:V5", "5M", Band(1e4, 1e7, "mine"), "enter none above"), (2, "grid:V5", "20k", Band(20.0, None, "mine"), "at most"),
    (4, "bias:V5", "-2", Band(None, -1, "mine"), "The limit here is"), (5, "ht", "480", Band(400, None, "mine"), "at most"),
    (5, "current", "0.6", Band(0.05, None, "mine"), "at most"), (2, "ht", "300k", Band(9e5, 1e5, "mine"), "above the upper")])
def test_a_typed_band_lets_nothing_pass_that_no_sound_amp_shows(
        app: Flask, number: int, key: str, typed: str, band: Band, words: str) -> None:
    with app.app_context(), transaction():
        run = make.begun()
        bench = Bench(run)
        bench.to(number)
        for item, _ in queries.where(run.id).states[number].items:
            if item.first:
                bench.item(number, item)
        with pytest.raises(BadInput, match=words):
            entries_service.measure(run, number, key, Given(typed, bench.meter, band), by=BY, now=bench.later())


def test_nothing_is_read_on_power_before_the_valves_were_seen_to_be_out(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(4)
        with pytest.raises(RuleBroken, match="First: every valve is out"):
            entries_service.measure(run, 4, "ht", Given("120", bench.meter), by=BY, now=bench.later())


def test_limits_from_memory_are_never_go_and_those_of_a_sheet_are(app: Flask) -> None:
    with app.app_context(), transaction():
        run = make.begun(given=replace(make.BEGUN, valve="EL34"))
        bench = Bench(run)
        bench.to(7)
        bench.step(7)
        assert came(run, 7, "bias") is Go.GO
        assert not Go.MEMORY.value.startswith("go") and Go.MEMORY.sign == Go.UNCONFIRMED.sign == "doubt"


@pytest.mark.parametrize("given", [
    {"cathode": "300"}, {"cathode": "-5"}, {"cathode": "0"}])
def test_cathode_volts_that_no_stage_has_do_not_cool_a_valve(app: Flask, given: dict[str, str]) -> None:
    with app.app_context(), transaction():
        run = make.begun(given=replace(make.BEGUN, biased=Biased.CATHODE))
        bench = Bench(run)
        bench.to(7)
        entries_service.look(run, 7, "cold", seen=True, by=BY, now=bench.later())
        with pytest.raises(BadInput, match="The cathodes stand above 0 V"):
            bench.bias(7, **given)


@pytest.mark.parametrize("typed", ["0", "-36m", "nan", "inf", "<80m", ">20m", "OL"])
def test_a_current_that_no_meter_shows_is_no_bias(app: Flask, typed: str) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at_bias()
        try:
            bench.bias(7, typed, "37m")
        except BadInput as wrong:
            assert wrong.field in ("current_V5", "screen_V5")
        else:
            assert came(run, 7, "bias") is Go.ABORT  # a valve without current is no go either


def test_bias_set_colder_begins_the_three_minutes_anew(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at_bias()
        bench.bias(7, "42m", "42m")
        bench.later(4)
        assert rounds.verdict_of(run, bench.bias(7, "35m", "35m"))[0] is Verdict.UNDECIDED
        bench.later(4)
        assert rounds.verdict_of(run, bench.bias(7, "35m", "35m"))[0] is Verdict.PASS


def test_a_quarantined_meter_takes_its_go_with_it(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(8)
        assert came(run, 5, "ht").passes and came(run, 7, "bias").passes
        bench.meter.state = State.QUARANTINED
        session().flush()
        assert came(run, 5, "ht") is Go.DOUBT and came(run, 7, "bias") is Go.DOUBT


def test_a_meter_found_wrong_since_is_counted_in_the_dissipation(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(8)
        assert came(run, 7, "bias").passes
        wrong = ErrorFound(Quantity.AMP_DC, 0, 0.4, 60.0, 0)
        day = (NOW + timedelta(days=2)).date()
        calibrations.record_calibration(bench.meter, Certified(
            day, "Tarn Metrology", Calibrated.OUTSIDE, due_on=make.DUE, good_on=bench.meter.calibrated_on, error=wrong),
            by=BY, now=NOW + timedelta(days=3))
        session().flush()
        assert not came(run, 7, "bias").passes


def test_hands_in_the_amp_take_back_what_was_entered_before(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(8)
        chassis.opened(run.order_id, "work on a finding was done", by=BY, now=bench.later())
        session().flush()
        assert {state.go for state in queries.where(run.id).states} == {Go.OPEN}


def test_a_finished_run_does_not_stand_after_hands_or_a_new_output_valve(app: Flask) -> None:
    with app.app_context(), transaction():
        order = make.order()
        run = make.begun(order)
        bench = make.whole(run)
        assert gate.powered_up(order) == []
        pulled(order, "V5", bench)
        assert "the removal of a valve was recorded" in gate.powered_up(order)[0].text


def test_a_valve_changed_in_the_run_is_read_again(app: Flask) -> None:
    with app.app_context(), transaction():
        order = make.order()
        run = make.begun(order)
        bench = Bench(run)
        bench.to(6)
        pulled(order, "V1", bench)
        bench.step(6)
        pulled(order, "V5", bench)  # it goes in at its step: nothing is taken back
        assert came(run, 6, "anode:V1") is Go.GO
        bench.step(7)
        assert came(run, 7, "bias").passes
        pulled(order, "V6", bench)
        assert came(run, 7, "bias") is Go.OPEN and came(run, 5, "ht") is Go.GO


def test_a_discharge_of_before_power_is_not_green(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(4)
        assert queries.where(run.id).said(1, Go.GO) == ("pass", "go")
        bench.step(4)
        assert queries.where(run.id).said(1, Go.GO) == ("none", "shown then, not now")


def test_a_safety_test_of_before_the_run_does_not_answer_its_last_step(app: Flask) -> None:
    with app.app_context(), transaction():
        order = make.order()
        run = make.begun(order)
        bench = Bench(run)
        bench.to(10)
        make.safety.off(order, now=bench.later())
        make.safety.completed(order, bench.tester, now=bench.later())
        assert came(run, 15, "test") is Go.GO
        bench.step(10)
        assert came(run, 15, "test") is Go.OPEN and queries.where(run.id).test_is_early
