"""A run as the bench does it: turns, guards, power, aborts, the soak run, the gate."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from flask import Flask

from app.db import session, transaction
from app.discharge import queries as discharge
from app.errors import BadInput, RuleBroken
from app.intake.service import danger as danger_service
from app.measuring.rules import Verdict
from app.orders import power
from app.orders.models import RepairOrder
from app.powerup import gate, queries, rounds
from app.powerup.models import PowerUpRun
from app.powerup.rules.course import Go
from app.powerup.rules.items import Band, Biased
from app.powerup.rules.mains import Asked
from app.powerup.rules.trials import TrialKind
from app.powerup.service import bias as bias_service
from app.powerup.service import entries as entries_service
from app.powerup.service import runs as runs_service
from app.powerup.service.entries import Given
from app.safety.service import soaking
from tests.factories import NOW
from tests.people import BY
from tests.powerup import make
from tests.powerup.make import Bench
from tests.safety import make as safety


def go(run: PowerUpRun, number: int) -> Go:
    return queries.where(run.id).states[number].go


def items(run: PowerUpRun, number: int) -> dict[str, Go]:
    return {item.key: came for item, came in queries.where(run.id).states[number].items}


def test_a_run_goes_step_by_step_to_the_soak(app: Flask) -> None:
    with app.app_context(), transaction():
        run = make.begun()
        Bench(run).to(12)
        assert [go(run, number) for number in range(12)] == [*[Go.GO] * 7, Go.MEMORY, *[Go.GO] * 4]
        assert power.powered(run.order_id) is not None
        assert not queries.where(run.id).done and queries.where(run.id).waits(12) == ""
        with pytest.raises(RuleBroken, match="Step 12 is not done"):
            runs_service.finish(run, by=BY, now=NOW)


def test_a_powered_step_lapses_the_discharge(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(4)
        order = session().get_one(RepairOrder, run.order_id)
        assert discharge.is_discharged(order)
        bench.step(4)
        assert not discharge.is_discharged(order)


def test_cold_steps_are_refused_on_power_and_without_a_discharge(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(2)
        order = session().get_one(RepairOrder, run.order_id)
        power.power_up(order, "another reading", by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="powered since"):
            bench.step(2)
        power.power_off(order, by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="powered since"):  # the discharge lapsed: it has to be shown again
            bench.step(2)
        make.discharged(order)
        bench.step(2)
        assert go(run, 2) is Go.GO


def test_nothing_is_switched_on_under_do_not_energise(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(4)
        danger_service.impound(session().get_one(RepairOrder, run.order_id), "burnt lead", by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="do not energise"):
            bench.step(4)
        assert power.powered(run.order_id) is None


def test_no_step_is_taken_before_its_turn(app: Flask) -> None:
    with app.app_context(), transaction():
        run = make.begun()
        bench = Bench(run)
        with pytest.raises(RuleBroken, match="Step 0 comes first"):
            bench.step(4)
        bench.to(6)
        with pytest.raises(RuleBroken, match="Step 6 comes first"):
            bench.bias(7)
        assert power.powered(run.order_id) is not None


@pytest.mark.parametrize(("number", "key", "typed"), [
    (2, "pe", "0.52"), (2, "ht", "12k"), (2, "grid:V6", "OL"), (3, "insulation", "0.4M"), (4, "bias:V6", "-3"),
    (4, "heaters", "8.1"),
    (5, "ht", "538"), (5, "current", "0.6"), (6, "anode:V1", "260"), (10, "power", "12"), (11, "hum", "90m")])
def test_each_limit_stops_the_run(app: Flask, number: int, key: str, typed: str) -> None:
    with app.app_context(), transaction():
        run = make.begun()
        bench = Bench(run, {f"{number}:{key}": typed})
        bench.to(number)
        bench.step(number)
        assert items(run, number)[key] is not Go.GO
        assert not queries.where(run.id).states[number].is_done and queries.where(run.id).waits(number + 1)


def test_an_earth_is_proved_by_an_earth_bond_tester_only(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(2)
        for meter, level, words in ((bench.meter, 0.2, "needs an earth-bond tester"), (bench.tester, None, "test current")):
            with pytest.raises(BadInput, match=words):
                entries_service.measure(run, 2, "pe", Given("0.1", meter, level=level), by=BY, now=NOW)
        with pytest.raises(BadInput, match="test volts|less than"):
            bench.step(2)
            entries_service.measure(run, 3, "insulation", Given(">200M", bench.tester, level=100), by=BY, now=NOW)


def test_a_fixed_limit_is_not_typed_over(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(2)
        entry = entries_service.measure(run, 2, "pe", Given("0.9", bench.tester, Band(None, 5, "mine"), 0.2), by=BY, now=NOW)
        assert entry.reading is not None and entry.reading.verdict is Verdict.FAIL and (entry.reading.upper or 9) < 1


def test_typed_limits_need_a_source_and_bias_stays_negative(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(4)
        for key, band, words in (("mains", Band(100, 200, ""), "where these limits come from"),
                                 ("bias:V5", Band(None, 5, "mine"), "negative"), ("ht", Band(None, 600, "mine"), "rated 500 V")):
            with pytest.raises(BadInput, match=words):
                entries_service.measure(run, 4, key, Given("-40" if key != "mains" else "150", bench.meter, band), by=BY, now=NOW)


def test_a_reading_without_a_band_is_not_judged(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(2)
        entries_service.measure(run, 2, "plug", Given("14", bench.meter), by=BY, now=NOW)
        state = items(run, 2)
        assert state["plug"] is Go.OPEN
        entries_service.leave(run, 2, "plug", why="no sheet gives it", by=BY, now=NOW)
        assert items(run, 2)["plug"] is Go.NOT_JUDGED
        with pytest.raises(RuleBroken, match="guards a life"):
            entries_service.leave(run, 2, "ht", why="no time", by=BY, now=NOW)


def test_a_failed_reading_is_not_tried_once_more_but_may_be_corrected(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(2)
        entries_service.measure(run, 2, "ht", Given("22k", bench.meter), by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="Abort the step"):
            entries_service.measure(run, 2, "ht", Given("220k", bench.meter), by=BY, now=NOW)
        corrected = Given("220k", bench.meter, correcting="a nought too few")
        later = entries_service.measure(run, 2, "ht", corrected, by=BY, now=NOW)
        assert later.reading is not None and later.reading.correction_reason == "a nought too few"
        assert items(run, 2)["ht"] is Go.GO


def test_bias_wants_two_rounds_three_minutes_apart(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(7)
        with pytest.raises(RuleBroken, match="most negative"):
            bench.bias(7)
        entries_service.look(run, 7, "cold", seen=True, by=BY, now=bench.later())
        assert rounds.verdict_of(run, bench.bias(7))[0] is Verdict.UNDECIDED
        assert rounds.verdict_of(run, bench.bias(7))[0] is Verdict.UNDECIDED  # a minute is too short
        bench.later(3)
        assert rounds.verdict_of(run, bench.bias(7))[0] is Verdict.PASS


def test_a_current_that_rises_for_three_minutes_aborts(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at_bias()
        bench.bias(7, "32m", "33m")
        bench.later(4)
        verdict, why = rounds.verdict_of(run, bench.bias(7, "36m", "37m"))
        assert verdict is Verdict.FAIL and "rose by" in why


def test_a_bias_fault_is_found_becomes_a_finding_and_locks_the_run(app: Flask) -> None:
    """Planted: no bias at V6's grid, so it draws 92 mA. The pair is apart and V6 is over its limit."""
    with app.app_context(), transaction():
        run, bench = make.run_at_bias()
        entry = bench.bias(7, "36m", "92m")
        verdict, why = rounds.verdict_of(run, entry)
        assert verdict is Verdict.FAIL and why.startswith("V6: ") and go(run, 7) is Go.ABORT
        with pytest.raises(RuleBroken, match="aborts this step"):
            bench.bias(7)
        with pytest.raises(BadInput, match="Switch the amp off"):
            runs_service.abort(run, 7, runs_service.finding_facts(why, "bias", "V6"), off=False, by=BY, now=NOW)
        facts = runs_service.finding_facts(why, "bias", "V6")
        made = runs_service.abort(run, 7, facts, off=True, by=BY, now=bench.later())
        assert power.powered(run.order_id) is None and made.finding.place == "V6"
        with pytest.raises(RuleBroken, match="Decide on its finding"):
            entries_service.look(run, 7, "glow", seen=True, by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="Decide on finding"):
            runs_service.resume(run, hypothesis="V6 had no bias: pin 5 dry, −54 V now", hands_in=True, by=BY, now=NOW)
        missing = gate.powered_up(session().get_one(RepairOrder, run.order_id))
        assert missing and missing[0].holds and "aborted at step 7" in missing[0].text
        make.decided(run)
        with pytest.raises(BadInput, match="what you expect"):
            runs_service.resume(run, hypothesis=" ", hands_in=True, by=BY, now=NOW)
        resumed = runs_service.resume(run, hypothesis="V6 had no bias: pin 5 dry, −54 V now", hands_in=True, by=BY, now=NOW)
        assert resumed.resumed_from == 0 and {go(run, number) for number in range(16)} == {Go.OPEN}
        make.discharged(session().get_one(RepairOrder, run.order_id), bench.later())
        for number in range(12):
            bench.step(number)
        assert go(run, 7) is Go.MEMORY


def test_readings_of_before_an_abort_do_not_count_for_the_three_minutes(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at_bias()
        bench.bias(7)
        facts = runs_service.finding_facts("a blue arc in V5", "output stage")
        runs_service.abort(run, 7, facts, off=True, by=BY, now=bench.later())
        make.decided(run)
        runs_service.resume(run, hypothesis="another V5", hands_in=False, by=BY, now=bench.later())
        entries_service.look(run, 7, "cold", seen=True, by=BY, now=bench.later(5))
        assert rounds.verdict_of(run, bench.bias(7))[0] is Verdict.UNDECIDED


def test_every_valve_is_read_and_cathode_bias_asks_for_the_cathodes(app: Flask) -> None:
    with app.app_context(), transaction():
        run = make.begun(given=replace(make.BEGUN, biased=Biased.CATHODE))
        bench = Bench(run)
        bench.to(7)
        entries_service.look(run, 7, "cold", seen=True, by=BY, now=bench.later())
        with pytest.raises(BadInput, match="cathode resistor"):
            bench.bias(7)
        with pytest.raises(BadInput, match="cathode current of V6"):
            bench.bias(7, "36m", "", cathode="22")


def test_the_power_counts_the_measured_load(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(10)
        with pytest.raises(BadInput, match="Measure the load first"):
            entries_service.measure(run, 10, "power", Given("18.2", bench.meter), by=BY, now=NOW)
        bench.step(10)
        entry = queries.where(run.id).standing[10, "power"]
        found = queries.power_of(queries.where(run.id).run, entry)
        assert found is not None and found.watt == pytest.approx(18.2**2 / 7.95) and found.unsure is not None
        assert go(run, 10) is Go.GO


def test_power_at_80_hz_and_5_khz_is_kept_beside_1_khz_and_never_passes_without_a_limit(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(10)
        with pytest.raises(BadInput, match="Measure the load first"):
            entries_service.measure(run, 10, "power-80", Given("12", bench.meter), by=BY, now=NOW)
        entries_service.measure(run, 10, "load", Given("7.95", bench.meter), by=BY, now=bench.later())
        entries_service.measure(run, 10, "power-80", Given("12", bench.meter), by=BY, now=bench.later())
        assert queries.beside(queries.where(run.id), 10) == {"power-80": "18.1 W ±550 mW; 1 kHz is not measured"}
        entries_service.measure(run, 10, "power", Given("18.2", bench.meter), by=BY, now=bench.later())
        found = queries.where(run.id)
        # 20 log (12 / 18.2): of one load the powers stand as the squares of the volts.
        assert queries.beside(found, 10)["power-80"].startswith("18.1 W ±550 mW: −3.6 dB against 41.7 W")
        state = found.states[10]
        came = {item.key: go for item, go in state.items}
        assert came["power-80"] is Go.NOT_JUDGED and came["power-5k"] is Go.OPEN and came["power"] is Go.GO
        assert state.go is Go.OPEN, "the halves are not looked at yet"
        entries_service.look(run, 10, "even", seen=True, by=BY, now=bench.later())
        assert go(run, 10) is Go.GO, "what is only kept takes nothing from what was shown, and holds nothing up"


@pytest.mark.parametrize(("lower", "came"), [(11.0, Go.GO), (14.0, Go.ABORT), (12.0, Go.DOUBT)])
def test_with_a_limit_from_the_amps_papers_it_is_judged(app: Flask, lower: float, came: Go) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(10)
        for key, typed in (("load", "7.95"), ("power", "18.2")):
            entries_service.measure(run, 10, key, Given(typed, bench.meter), by=BY, now=bench.later())
        with pytest.raises(BadInput, match="must be at least, too"):
            entries_service.measure(run, 10, "power-80", Given("12", bench.meter, Band(None, 20, "its papers")), by=BY, now=NOW)
        entries_service.measure(run, 10, "power-80", Given("12", bench.meter, Band(lower, None, "its papers")), by=BY,
                                now=bench.later())
        assert {item.key: word for item, word in queries.where(run.id).states[10].items}["power-80"] is came
        if came is not Go.GO:
            assert go(run, 10) is came


def test_what_a_finished_run_never_kept_takes_nothing_from_it(app: Flask) -> None:
    """Runs from before the two frequencies were asked for: their step stands as it did."""
    with app.app_context(), transaction():
        run, bench = make.run_at(10)
        for key, typed in (("load", "7.95"), ("power", "18.2")):
            entries_service.measure(run, 10, key, Given(typed, bench.meter), by=BY, now=bench.later())
        entries_service.look(run, 10, "even", seen=True, by=BY, now=bench.later())
        state = queries.where(run.id).states[10]
        assert state.is_done and state.go is Go.GO


def test_soak_readings_belong_to_their_moment_and_decide_step_twelve(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(12)
        order = session().get_one(RepairOrder, run.order_id)
        with pytest.raises(RuleBroken, match="No soak run is on"):
            bench.bias(12)
        _proven(order, bench)
        soak = soaking.start_soak(order, load="8 Ω, 1 kHz", attended=True, by=BY, now=bench.later())
        for minutes, moment in ((0, 0), (16, 15), (62, 60), (121, 120)):
            bench.now = soak.started_at + timedelta(minutes=minutes - 1)
            entry = bench.bias(12)
            assert entry.round is not None and entry.round.moment == moment
        assert queries.soak_verdict(run, soak) == (Verdict.PASS, "End the soak run.")
        soaking.end_soak(soak, symptom_shown=False, observations="nothing", by=BY, now=bench.later())
        assert queries.soak_verdict(run, soak) == (Verdict.PASS, "") and go(run, 12) is Go.OPEN  # cold starts are still to do
        entries_service.tried(run, TrialKind.COLD_START, trials=3, shown=0, by=BY, now=bench.later())
        assert go(run, 12) is Go.MEMORY


def test_a_soak_that_drifts_or_misses_a_reading_is_no_go(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(12)
        order = session().get_one(RepairOrder, run.order_id)
        _proven(order, bench)
        soak = soaking.start_soak(order, load="8 Ω", attended=True, by=BY, now=bench.later())
        bench.bias(12)
        assert "15 min, 60 min, 120 min" in queries.soak_verdict(run, soak)[1] and go(run, 12) is not Go.GO
        bench.now = soak.started_at + timedelta(minutes=60)
        bench.bias(12, "42m", "43m")
        assert queries.soak_verdict(run, soak)[0] is Verdict.FAIL and go(run, 12) is Go.ABORT


def test_a_fault_that_shows_in_a_trial_aborts(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(12)
        entries_service.tried(run, TrialKind.COLD_START, trials=2, shown=0, by=BY, now=bench.later())
        assert go(run, 12) is not Go.GO
        with pytest.raises(BadInput, match="what showed"):
            entries_service.tried(run, TrialKind.COLD_START, trials=1, shown=1, by=BY, now=NOW)
        entries_service.tried(run, TrialKind.COLD_START, trials=1, shown=1, words="it hummed", by=BY, now=bench.later())
        assert go(run, 12) is Go.ABORT


def test_a_begun_run_holds_the_amp_until_finished_or_answered_for(app: Flask) -> None:
    with app.app_context(), transaction():
        order = make.order()
        assert gate.powered_up(order) == []
        run = make.begun(order)
        assert "step 0" in gate.powered_up(order)[0].text
        with pytest.raises(RuleBroken, match="Stop it"):
            runs_service.waive(order, reason="only a valve was changed", by=BY, now=NOW)
        with pytest.raises(BadInput, match="why it is stopped"):
            runs_service.stop(run, reason="", by=BY, now=NOW)
        runs_service.stop(run, reason="the customer collects it", by=BY, now=NOW)
        assert "was stopped" in gate.powered_up(order)[0].text
        with pytest.raises(BadInput, match="in a sentence"):
            runs_service.waive(order, reason="ok", by=BY, now=NOW)
        runs_service.waive(order, reason="returned unopened after a valve swap", by=BY, now=NOW + timedelta(minutes=1))
        assert gate.powered_up(order) == []
        make.runs_service.begin(order, make.BEGUN, by=BY, now=NOW + timedelta(hours=1))
        assert gate.powered_up(order)


def test_one_run_at_a_time_and_none_with_a_valve_that_cannot_be_judged(app: Flask) -> None:
    with app.app_context(), transaction():
        order = make.order()
        for other, words in (({"valve": "12AX7"}, "dissipation"), ({"valve": "EL99"}, "EL99"), ({"marks": "V5, v5"}, "twice"),
                             ({"expected_source": ""}, "where the expected power")):
            with pytest.raises(BadInput, match=words):
                make.begun(order, replace(make.BEGUN, **other))  # type: ignore[arg-type]
        make.begun(order)
        with pytest.raises(RuleBroken, match="under way"):
            make.begun(order)


def test_the_mains_calculation_gives_step_five_its_limit(app: Flask) -> None:
    with app.app_context(), transaction():
        run = make.begun()
        asked = Asked("1x 12AX7, 2x 6L6GC", 6.3, 230.0, 50.0, no_load_a=0.1)
        with pytest.raises(BadInput, match="no-load current"):
            bias_service.keep_mains(run, asked, by=BY, now=NOW)
        bias_service.keep_mains(run, asked, no_load_source="measured bare", by=BY, now=NOW)
        most = queries.amp_of(run).most_a
        assert most is not None and most[0] == pytest.approx(0.13) and "measured bare" in most[1]


def test_readings_of_a_run_carry_instrument_and_uncertainty(app: Flask) -> None:
    with app.app_context(), transaction():
        run, bench = make.run_at(8)
        kept = [one for one in run.entries if one.round is not None]
        for one in kept[0].round.valves:  # type: ignore[union-attr]
            assert one.current.uncertainty and one.current.instrument_words.startswith("M77")


def _proven(order: RepairOrder, bench: Bench) -> None:
    """Earth and insulation of the whole amp have passed in a safety test."""
    power.power_off(order, by=BY, now=bench.later())
    safety.earthed(order, now=bench.later())


def test_a_whole_run_is_finished_and_holds_the_amp_no_more(app: Flask) -> None:
    with app.app_context(), transaction():
        order = make.order()
        run = make.begun(order)
        make.whole(run)
        assert run.finished and gate.powered_up(order) == []
        with pytest.raises(RuleBroken, match="has ended"):
            entries_service.look(run, 0, "count", seen=True, by=BY, now=NOW)
