"""Capacitor-input supplies against ngspice run here: mean 0.2 %, ripple and diode currents 1 %.

Source: Debian's ngspice on the netlist each test builds, and figures of an earlier run of ngspice 39 where
given.
"""

from dataclasses import dataclass

import pytest

from app.electrics import capacitor_input
from tests.reference import ngspice

PERVEANCE = {"GZ34": 3.961806e-3, "5Y3GT": 0.352292e-3, "5U4GB": 0.783455e-3}


@dataclass(frozen=True)
class Case:
    kind: str
    vrms: float
    ohm: float
    farad: float
    hertz: float
    load_ohm: float | None = None
    load_a: float | None = None
    drop: str | None = None
    settle_s: float = 0.3
    step_s: float = 1e-5
    # mean and ripple of an earlier run, where one is on record
    mean_v: float | None = None
    ripple_v: float | None = None


CASES = {
    "silicon_50": Case("full_wave_ct", 325, 100, 47e-6, 50, 3e3, mean_v=397.60, ripple_v=19.39),
    "silicon_60": Case("full_wave_ct", 325, 100, 47e-6, 60, 3e3, mean_v=397.79, ripple_v=16.17),
    "gz34": Case("full_wave_ct", 325, 100, 47e-6, 50, 3e3, drop="GZ34", mean_v=380.5, ripple_v=17.64),
    "negative_50": Case("half_wave", 50, 470, 50e-6, 50, 42e3, settle_s=4, step_s=3e-5, mean_v=62.76, ripple_v=0.512),
    "negative_60": Case("half_wave", 50, 470, 50e-6, 60, 42e3, settle_s=4, step_s=3e-5, mean_v=62.76, ripple_v=0.427),
    "bridge_low_volts": Case("bridge", 18, 5, 220e-6, 60, 500, settle_s=0.5),
    "bridge_current": Case("bridge", 240, 30, 100e-6, 50, load_a=0.2),
    "small_reservoir": Case("full_wave_ct", 300, 50, 8e-6, 60, 5e3),
    "soft_valve": Case("full_wave_ct", 275, 250, 16e-6, 50, load_a=0.06, drop="5Y3GT"),
    "light_load": Case("full_wave_ct", 350, 500, 8e-6, 50, 200e3, settle_s=0.8, step_s=2e-5),
    "half_wave_valve": Case("half_wave", 230, 20, 100e-6, 50, load_a=0.08, drop="5U4GB", settle_s=1),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_supply_agrees_with_ngspice(case: Case) -> None:
    supply = capacitor_input(
        secondary_vrms=case.vrms,
        rectifier=case.kind,
        source_ohm=case.ohm,
        reservoir_farad=case.farad,
        mains_hz=case.hertz,
        load_ohm=case.load_ohm,
        load_a=case.load_a,
        drop=case.drop,
    )
    perveance = PERVEANCE[case.drop] if case.drop else None
    lines = ngspice.rectifier(kind=case.kind, vrms=case.vrms, ohm=case.ohm, hertz=case.hertz, perveance=perveance)
    # Started 0.5 % low; that the answer has been left behind is checked below by two windows in succession.
    lines.append(f"c1 r 0 {case.farad!r} ic={round(supply.mean_v * 0.995, 3)!r}")
    lines.append(f"rl r 0 {case.load_ohm!r}" if case.load_ohm else f"il r 0 {case.load_a!r}")
    found = ngspice.measure(
        ngspice.transient(
            lines,
            hertz=case.hertz,
            settle_s=case.settle_s,
            cycles=4,
            step_s=case.step_s,
            measures=["vm avg v(r)", "vpp pp v(r)", "peak max i(vd1)", "rms rms i(vd1)"],
        )
    )
    assert found["vm"] == pytest.approx(found["vm_was"], rel=2e-5), "ngspice had not settled"
    assert supply.mean_v == pytest.approx(found["vm"], rel=0.002)
    assert supply.ripple_vpp == pytest.approx(found["vpp"], rel=0.01)
    assert supply.peak_diode_a == pytest.approx(found["peak"], rel=0.01)
    assert supply.rms_diode_a == pytest.approx(found["rms"], rel=0.01)
    if case.mean_v is not None and case.ripple_v is not None:
        assert supply.mean_v == pytest.approx(case.mean_v, rel=0.002)
        assert supply.ripple_vpp == pytest.approx(case.ripple_v, rel=0.01)


def test_leg_currents_on_record() -> None:
    """325-0-325 V, 100 ohm a leg, 47 uF, 3 kohm, 50 Hz: ngspice 39: 0.603 A peak, 0.1786 A rms, 132.5 mA."""
    case = CASES["silicon_50"]
    supply = capacitor_input(
        secondary_vrms=case.vrms,
        rectifier=case.kind,
        source_ohm=case.ohm,
        reservoir_farad=case.farad,
        mains_hz=case.hertz,
        load_ohm=case.load_ohm,
    )
    assert supply.peak_diode_a == pytest.approx(0.603, rel=0.005)
    assert supply.rms_diode_a == pytest.approx(0.1786, rel=0.005)
    assert supply.mean_load_a == pytest.approx(0.1325, rel=0.002)
    # I/(2fC) would say 28.2 V: a short-pulse rule that fails where the winding's resistance stretches the
    # pulse.
    assert supply.ripple_vpp < 0.75 * supply.mean_load_a / (2.0 * case.hertz * case.farad)
