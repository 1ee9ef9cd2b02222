"""The rules of a first power-up: order and limits, bias by rating system, power, trials, soak, mains transformer."""

from __future__ import annotations

import math

import pytest

from app.electrics import ElectricsError
from app.electrics.valves import as_valve
from app.measuring.rules import Verdict
from app.powerup.rules import drift as drifting
from app.powerup.rules import mains, output, soak
from app.powerup.rules.course import Entered, Go, Halt, counts_for, course, current, resumes_from, why_not_left, why_waits
from app.powerup.rules.drift import drift
from app.powerup.rules.items import Amp, Biased, ReadBy, Sort
from app.powerup.rules.output import One, Round, assess
from app.powerup.rules.power import power
from app.powerup.rules.steps import STEPS
from app.powerup.rules.trials import TrialKind, Tried, upper_bound

AMP = Amp("6L6GC", ("V5", "V6"), Biased.FIXED, ("V1", "V2"), load_ohm=8.0, expected_w=40.0, expected_source="schematic",
          earth=(0.3, "profile"), insulation=(1e6, "profile"), test_v=500.0, capacitor_v=500.0)


def entered(number: int, key: str, go: Go = Go.GO, id_: int = 1, *, left: bool = False) -> Entered:
    return Entered(id_, number, key, go, left)


def all_of(numbers: range) -> list[Entered]:
    found = [(step.number, item.key) for step in STEPS if step.number in numbers for item in step.items(AMP)]
    return [entered(number, key, id_=place + 1) for place, (number, key) in enumerate(found)]


def test_there_are_sixteen_steps_in_the_order_of_practice() -> None:
    """No valves, then small valves, then output valves, then power: published practice, as quoted in trade notes."""
    assert [step.number for step in STEPS] == list(range(16))
    keys = [step.key for step in STEPS]
    assert keys.index("insulation") < keys.index("lamp") < keys.index("full") < keys.index("small") < keys.index("output")
    assert keys.index("output") < keys.index("power") < keys.index("soak") < keys.index("test")
    assert all(not step.powered for step in STEPS[:4]) and all(step.powered for step in STEPS[4:15])


def test_what_guards_a_life_has_no_way_round() -> None:
    guards = {(step.number, item.key) for step in STEPS for item in step.items(AMP) if item.guards}
    assert {(2, "pe"), (2, "ht"), (2, "grid:V5"), (3, "insulation"), (4, "bias:V6"), (5, "bias:V5"), (5, "ht"),
            (7, "bias")} <= guards
    for step in STEPS:
        for item in step.items(AMP):
            assert bool(why_not_left(item)) == (item.guards or item.sort in (Sort.BIAS, Sort.TEST)), item.key


def test_bias_is_asked_at_every_grid_contact_before_output_valves_go_in() -> None:
    for number in (4, 5):
        items = {item.key: item for item in STEPS[number].items(AMP)}
        assert items["bias:V5"].band and items["bias:V5"].band.upper is not None and items["bias:V5"].band.upper < 0
        assert "bias:V6" in items
    cathode = Amp("6L6GC", ("V5",), Biased.CATHODE)
    assert not [item for item in STEPS[5].items(cathode) if item.key.startswith("bias")]


def test_earth_and_insulation_ask_for_their_testers_and_take_no_other_limit() -> None:
    pe, insulation = STEPS[2].items(AMP)[0], STEPS[3].items(AMP)[0]
    assert (pe.tester, pe.fixed, insulation.tester, insulation.fixed) == (ReadBy.BOND, True, ReadBy.INSULATION, True)
    assert not any(item.key == "pe" for item in STEPS[2].items(Amp("6L6GC", ("V5",), Biased.FIXED, earthed=False)))


def test_a_step_waits_for_all_before_it() -> None:
    states = course(AMP, all_of(range(4)), ())
    assert why_waits(states, (), 4) == "" and "Step 4 comes first" in why_waits(states, (), 5)
    state = current(states)
    assert state is not None and state.step.number == 4
    missing = [one for one in all_of(range(4)) if (one.step, one.item) != (3, "insulation")]
    assert "Step 3 comes first" in why_waits(course(AMP, missing, ()), (), 4)


@pytest.mark.parametrize("go", [Go.DOUBT, Go.NOT_JUDGED, Go.OPEN, Go.ABORT])
def test_nothing_but_a_reading_in_its_band_lets_a_guarding_step_go(go: Go) -> None:
    entries = [one if one.item != "insulation" else entered(3, "insulation", go, one.id) for one in all_of(range(4))]
    states = course(AMP, entries, ())
    assert not states[3].is_done and why_waits(states, (), 4)


def test_left_unjudged_is_said_and_never_called_go() -> None:
    plain = next(item for item in STEPS[2].items(AMP) if item.key == "plug")
    guard = next(item for item in STEPS[2].items(AMP) if item.key == "ht")
    assert counts_for(plain, entered(2, "plug", Go.NOT_JUDGED, left=True)) is Go.NOT_JUDGED
    assert counts_for(plain, entered(2, "plug", Go.NOT_JUDGED)) is Go.OPEN  # a reading without a band
    assert counts_for(guard, entered(2, "ht", Go.NOT_JUDGED, left=True)) is Go.OPEN
    small = [entered(6, f"anode:{mark}", Go.NOT_JUDGED, 900 + place, left=True) for place, mark in enumerate(AMP.small)]
    state = course(AMP, small, ())[6]
    assert state.go is Go.NOT_JUDGED and state.is_done


def test_an_abort_locks_what_follows_until_decided_and_resumed() -> None:
    entries = all_of(range(8))
    states = course(AMP, entries, ())
    assert "Decide on its finding" in why_waits(states, (Halt(7, 99, False, None),), 8)
    assert "resume the run" in why_waits(states, (Halt(7, 99, True, None),), 8)
    taken_back = (Halt(7, 99, True, 7),)
    again = course(AMP, entries, taken_back)
    assert again[6].is_done and not again[7].is_done and "Step 7 comes first" in why_waits(again, taken_back, 8)
    assert not course(AMP, entries, (Halt(7, 99, True, 1),))[2].is_done


def test_hands_in_the_amp_bring_the_cold_checks_back() -> None:
    assert resumes_from(7, hands_in=True) == 0 and resumes_from(7, hands_in=False) == 7 and resumes_from(0, hands_in=True) == 0


def test_the_rule_of_three_on_its_worked_figures() -> None:
    """Hanley and Lippman-Hand, JAMA 249 (1983), 1743, from memory: about 3/n. Exact: 30 → 9.5 %, 100 → 3.0 %."""
    assert upper_bound(30) == pytest.approx(0.0950, abs=5e-4) and upper_bound(100) == pytest.approx(0.0295, abs=5e-4)
    for trials in (20, 100, 1000):
        assert upper_bound(trials) == pytest.approx(3 / trials, rel=0.08)
        assert (1 - upper_bound(trials)) ** trials == pytest.approx(0.05)
    assert "not reproduced in 30 trials" in Tried(TrialKind.TAP, 30, 0).words and "9.5 %" in Tried(TrialKind.TAP, 30, 0).words
    assert "not reproduced" not in Tried(TrialKind.TAP, 30, 1).words
    with pytest.raises(ValueError, match="one trial"):
        upper_bound(0)


def test_power_with_the_uncertainty_of_volts_and_load() -> None:
    """u(P)/P = √((2 u(V)/V)² + (u(R)/R)²), JCGM 100 5.1.6: 20 V ±0.2 V into 8 Ω ±0.08 Ω is 50 W ±√5 %."""
    found = power(20.0, 0.2, 8.0, 0.08, 50.0)
    assert found.watt == pytest.approx(50.0) and found.unsure == pytest.approx(50.0 * math.sqrt(0.02**2 + 0.01**2))
    assert found.judged.verdict is Verdict.PASS and found.least_w == 40.0
    assert power(18.0, 0.2, 8.0, 0.08, 50.0).judged.verdict is Verdict.UNDECIDED  # 40.5 W ±1.0: the load's share counts
    assert power(17.0, 0.2, 8.0, 0.08, 50.0).judged.verdict is Verdict.FAIL
    assert power(20.0, 0.2, 8.0, 0.08, None).judged.verdict is Verdict.NOT_JUDGED
    assert power(20.0, None, 8.0, 0.08, 50.0).judged.verdict is Verdict.NOT_JUDGED


def pair(first: float, second: float, **given: object) -> output.OutputFound:
    ones = tuple(One(mark, amps, amps * 0.005, 2e-3, 2e-5) for mark, amps in (("V5", first), ("V6", second)))
    return assess(Round("6L6GC", ones, 450.0, 3.0, 440.0, **given))  # type: ignore[arg-type]


def test_dissipation_is_volts_times_anode_current() -> None:
    """38 mA less 2 mA of screen at 450 V: 16.2 W by hand; the screen 2 mA × 440 V = 0.88 W."""
    found = pair(38e-3, 38e-3)
    assert found.valves[0].idle.anode_dissipation_w == pytest.approx(16.2)
    assert found.valves[0].idle.screen_dissipation_w == pytest.approx(0.88)
    assert found.imbalance == 0 and found.verdict is Verdict.PASS


@pytest.mark.parametrize(("name", "counted"), [("EL84", "nominal"), ("6L6GC", "high")])
def test_each_limit_is_held_by_its_own_rating_system(name: str, counted: str) -> None:
    """IEC 60134, from memory: design-centre at the nominal mains, design-maximum at the highest."""
    entry = as_valve(name)
    assert (entry.limits().system == "design-centre") == (counted == "nominal")
    found = assess(Round(name, (One("V1", 20e-3, 1e-4, 2e-3, 1e-5),), 300.0, 2.0, 300.0)).valves[0]
    watt = 300.0 * 18e-3
    if counted == "nominal":
        assert found.counted_w == pytest.approx(watt)
    else:
        assert 1.15 * watt < found.counted_w < 1.40 * watt
    assert found.limit_w == entry.anode_limit_w()


def test_too_hot_is_off_and_near_the_limit_is_set_colder() -> None:
    hot = pair(90e-3, 88e-3)
    assert hot.verdict is Verdict.FAIL and "Switch off" in hot.why
    limit = as_valve("6L6GC").anode_limit_w()
    near = next(one for one in (pair(amps / 1e4, amps / 1e4) for amps in range(300, 900, 5))
                if 0.92 < one.valves[0].share < 0.96)
    assert near.verdict is Verdict.UNDECIDED and "more negative" in near.why and near.valves[0].limit_w == limit


def test_a_cut_off_valve_and_a_lopsided_pair_abort() -> None:
    assert "cut off" in pair(0.5e-3 + 2e-3, 38e-3).why
    apart = pair(30e-3, 38e-3)
    assert apart.imbalance == pytest.approx(8 / 34) and apart.imbalance_verdict is Verdict.FAIL and apart.verdict is Verdict.FAIL
    assert pair(36e-3, 38e-3).imbalance_verdict is Verdict.PASS


def test_a_meter_without_accuracy_judges_no_bias() -> None:
    ones = (One("V5", 38e-3, None), One("V6", 38e-3, None))
    assert assess(Round("6L6GC", ones, 450.0, 3.0)).verdict is Verdict.NOT_JUDGED


def test_a_screen_over_its_limit_is_off() -> None:
    ones = (One("V5", 40e-3, 1e-4, 15e-3, 1e-4),)
    assert "screen" in assess(Round("6L6GC", ones, 450.0, 3.0, 450.0)).why


def test_the_pots_ends_put_this_very_valve_hotter_and_colder() -> None:
    found = pair(38e-3, 38e-3, grid_v=-52.0, ends=(-70.0, -40.0)).valves[0]
    cold, hot = found.ends
    assert cold.anode_a < found.idle.anode_a < hot.anode_a
    same = pair(38e-3, 38e-3, grid_v=-52.0, ends=(-52.0, -52.0)).valves[0]
    assert same.ends[0].anode_a == pytest.approx(same.idle.anode_a)


def test_the_target_knows_class_screen_and_power() -> None:
    found = pair(38e-3, 38e-3, load_aa_ohm=5600.0).target
    assert found is not None and found.power_w is not None and found.class_a_w is not None and found.grid_v is not None
    assert found.class_words.startswith("class AB") and 30 < found.power_w < 80 and -70 < found.grid_v < -35
    assert found.anode_a == pytest.approx(found.share * as_valve("6L6GC").anode_limit_w() / 450.0)
    assert pair(38e-3, 38e-3).target.power_w is None  # type: ignore[union-attr] - no load, no power


def test_two_pairs_share_the_load_and_double_the_power() -> None:
    four = tuple(One(f"V{place}", 38e-3, 2e-4, 2e-3, 2e-5) for place in range(4))
    quad = assess(Round("6L6GC", four, 450.0, 3.0, 440.0, load_aa_ohm=2800.0)).target
    two = pair(38e-3, 38e-3, load_aa_ohm=5600.0).target
    assert quad is not None and two is not None and quad.power_w == pytest.approx(2 * (two.power_w or 0), rel=1e-6)


def test_impossible_rounds_are_refused() -> None:
    with pytest.raises(ElectricsError):
        assess(Round("6L6GC", (One("V5", 10e-3, 1e-4, 20e-3, 1e-4),), 450.0, 3.0))
    with pytest.raises(ElectricsError):
        assess(Round("6L6GC", (One("V5", 10e-3, 1e-4),), 20.0, 1.0, None, 40.0))


def test_a_rising_current_is_told_from_a_falling_one() -> None:
    def ones(amps: float) -> list[One]:
        return [One("V5", amps, amps * 0.002), One("V6", 38e-3, 1e-4)]

    assert drift(ones(38e-3), ones(44e-3), drifting.RISES, upwards=True).verdict is Verdict.FAIL
    assert drift(ones(38e-3), ones(33e-3), drifting.RISES, upwards=True).verdict is Verdict.PASS
    found = drift(ones(38e-3), ones(33e-3), soak.BIAS_DRIFT)
    assert found.verdict is Verdict.FAIL and found.mark == "V5"


def test_soak_moments_come_by_the_minutes() -> None:
    assert soak.due_moments(120) == (0, 15, 60, 120) and soak.due_moments(30) == (0, 15, 30)
    assert [soak.moment_at(minutes, 120) for minutes in (0, 14.9, 15, 61, 119, 120, 400)] == [0, 0, 15, 60, 60, 120, 120]
    assert soak.missing((0, 60), 120) == (15, 120)


def test_soak_drift_of_bias_and_ht() -> None:
    def at(moment: int, amps: float, ht: float) -> soak.Soaked:
        return soak.Soaked(moment, [One("V5", amps, amps * 0.002)], ht, 0.5)

    assert soak.moved(at(0, 38e-3, 450), at(60, 39e-3, 446))[0] is Verdict.PASS
    assert "V5 moved" in soak.moved(at(0, 38e-3, 450), at(60, 43e-3, 446))[1]
    assert "HT moved" in soak.moved(at(0, 38e-3, 450), at(60, 38e-3, 420))[1]


def test_heater_sum_fuse_and_primary_current() -> None:
    """Sheet currents at 6.3 V: 12AX7 0.3 A, 6L6GC 0.9 A: 4 × 0.3 + 2 × 0.9 = 3.0 A, 18.9 VA."""
    asked = mains.Asked("4x 12AX7, 2 × 6L6GC", 6.3, 230.0, 50.0, heater_winding_a=4.0, ht_vrms=340.0, source_ohm=110.0,
                        reservoir_farad=50e-6, ht_a=0.18, rated_va=160.0, no_load_a=0.1)
    found = mains.load_of(asked)
    assert found.heater_a == pytest.approx(3.0) and found.heater_va == pytest.approx(18.9)
    assert found.heater_share == pytest.approx(0.75) and found.most_no_load_a == pytest.approx(0.13)
    assert found.va is not None and found.primary_a == pytest.approx(found.va / 230.0) and found.ht_va is not None
    # The winding gives at least what the load takes at the mean, and a capacitor input's rms current is 1.5 to 2.2 times the mean.
    assert 340.0 * 0.18 * 1.4 < found.ht_va < 340.0 * 0.18 * 2.3
    assert found.fuse is not None and float(found.fuse) >= 1.25 * found.primary_a and found.fuse.marking.startswith("T")
    unknown = mains.load_of(mains.Asked("2x EL34", 6.3, 230.0, 50.0))
    assert unknown.va is None and unknown.fuse is None and any("no fuse" in note for note in unknown.notes)


@pytest.mark.parametrize("text", ["", "2x EL99", "4x 12AX7, 3x"])
def test_heaters_that_cannot_be_summed_are_refused(text: str) -> None:
    with pytest.raises(ElectricsError):
        mains.heater_windings(text, 6.3)
