"""Sums that ask what their answer rests on: the meter's frequency, the capacitance, the part's voltage, the region's ratings."""

from __future__ import annotations

import pytest

from app.bench.sums.sections import SUMS
from app.electrics import capacitor_input, leakage_limit, simulate, triode_stage_samples, valve
from tests.sums.test_sections import default, figure
from tests.sums.working import no_shop, worked  # noqa: F401 - a fixture


@pytest.mark.parametrize(("meter", "judged"), [("100", True), ("120", True), ("1k", False), ("100k", False), ("50", False)])
def test_an_esr_is_judged_at_the_frequency_of_its_sheet_alone(meter: str, judged: bool) -> None:
    answer = worked("esr", meter_hertz=meter).answer
    assert answer is not None and (answer.verdict is not None) is judged
    assert ("no verdict" in answer.sentence) is not judged
    assert judged or not answer.pictures


def test_an_esr_without_its_frequency_is_asked_for_it() -> None:
    found = worked("esr", meter_hertz="")
    assert found.answer is None and list(found.form.errors) == ["meter_hertz"]
    assert worked("esr", meter_hertz="", measured_ohm="").answer is not None


def test_reforming_accepts_at_the_leakage_of_its_part() -> None:
    """Modern, general: 0.03 CV (from memory); the page asks for C, and a reading is held against what C allows."""
    answer = default(SUMS["reforming"], grade="general", across_v=20.0)
    assert figure(answer, "accept_a") == pytest.approx(leakage_limit(47e-6, 450.0, grade="general"))
    assert answer.verdict is not None and answer.verdict[0] == "doubt"  # a limit of a new part, from memory
    assert figure(answer, "can_w") <= 1.0 and figure(answer, "short_a") <= 0.015
    leaky = default(SUMS["reforming"], grade="general", across_v=40.0)
    assert leaky.verdict == ("fail", "leaks too much") and figure(leaky, "leaks_a") > figure(leaky, "accept_a")
    assert "farad" in {field.name for field in SUMS["reforming"].fields if not field.optional}


def test_reforming_shows_both_of_its_caps_as_bars() -> None:
    assert [one.name for one in default(SUMS["reforming"]).limits] == ["heat in the can", "current, part shorted"]


def test_smoothing_refuses_more_current_after_than_in_all() -> None:
    found = worked("smoothing", load_a="60m", stage_a="80m")
    assert found.answer is None and list(found.form.errors) == ["stage_a"]
    assert "60 mA" in " ".join(found.form["stage_a"].errors)


def test_smoothing_shows_the_reservoir_under_the_load_it_has() -> None:
    """A choke stage draws its mean through the rectifier whatever is drawn where: the reservoir sags with the whole load."""
    light, heavy = default(SUMS["smoothing"], load_a=0.06), default(SUMS["smoothing"], load_a=0.13)
    assert figure(heavy, "reservoir_v") < figure(light, "reservoir_v") - 5.0
    alone = capacitor_input(secondary_vrms=325.0, rectifier="full_wave_ct", source_ohm=100.0, reservoir_farad=47e-6, mains_hz=50.0,
                            load_a=0.13)
    assert figure(heavy, "reservoir_v") == pytest.approx(alone.mean_v, rel=0.01)


def test_the_stages_spread_counts_its_valve_and_its_ht() -> None:
    """Drawn here by the same sampler with resistors alone: valve and HT widen it."""
    parts = {"valve": valve("12AX7"), "supply_v": 300.0, "anode_ohm": 100e3, "cathode_ohm": 1500.0, "bypassed": True}
    alone = simulate(triode_stage_samples, nominal=parts, tolerances={"anode_ohm": 0.1, "cathode_ohm": 0.1},
                     samples=2000)["anode_v"]
    narrow = default(SUMS["stage"], spread=0.0, mains_tolerance=0.0)
    assert figure(narrow, "anode_high_v") - figure(narrow, "anode_low_v") == pytest.approx(alone.p95 - alone.p05)
    width = {name: figure(answer, "anode_high_v") - figure(answer, "anode_low_v") for name, answer in (
        ("valve", default(SUMS["stage"], mains_tolerance=0.0)), ("HT", default(SUMS["stage"], spread=0.0)),
        ("both", default(SUMS["stage"])))}
    assert width["both"] > max(width["valve"], width["HT"]) and min(width.values()) > alone.p95 - alone.p05


def test_fuses_are_proposed_in_the_ratings_that_are_chosen() -> None:
    american = default(SUMS["fuse"], region="UL", mains_v=120.0)
    assert "2 A slow-blow" in american.sentence and not [one for one in american.figures if one.key.startswith("melts")]
    assert "T1A" in default(SUMS["fuse"]).sentence


def test_a_resistor_can_fail_by_its_voltage_alone() -> None:
    """1 M of half a watt at 450 V dissipates 0.2 W, and stands 350 V (MIL-R-11, from memory)."""
    answer = default(SUMS["resistor-power"], ohm=1e6, rated_watt=0.5, volt=450.0)
    assert answer.verdict == ("fail", "above its voltage limit")
    assert [one.verdict for one in answer.limits] == ["within", "above"]
    named = default(SUMS["resistor-power"], ohm=1e6, rated_watt=0.5, volt=450.0, element_v=500.0)
    assert named.verdict == ("pass", "fits")


def test_a_voltage_limit_from_memory_is_not_green() -> None:
    answer = default(SUMS["resistor-power"], ohm=1e6, rated_watt=0.5, volt=200.0)
    assert answer.verdict == ("doubt", "fits, voltage limit from memory")


@pytest.mark.parametrize(("text", "said"), [("047", ("47 pF", "47 nF")), ("220", ("22 pF", "220 pF"))])
def test_both_readings_of_a_marking_are_said(text: str, said: tuple[str, str]) -> None:
    answer = worked("capacitor-marking", text=text).answer
    assert answer is not None and answer.verdict == ("doubt", "two readings")
    assert all(value in answer.sentence for value in said)


@pytest.mark.parametrize(("text", "volts"), [("103M 1KV", 1000.0), ("3n3 1kV", 1000.0), ("474J 630", 630.0), ("2A104J", 100.0)])
def test_rated_volts_are_read_from_the_print(text: str, volts: float) -> None:
    answer = worked("capacitor-marking", text=text).answer
    assert answer is not None and figure(answer, "rated_v") == volts
