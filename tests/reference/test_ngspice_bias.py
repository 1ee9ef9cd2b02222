"""Bias networks against ngspice run here, both layouts, both ends of the pot and the lifted wiper: 0.3 %.

Source: Debian's ngspice on the netlist each test builds, and figures of an earlier run of ngspice 39 where
given.
"""

import pytest

from app.electrics import bias_network, capacitor_input
from tests.reference import ngspice

OHM_CLOSED = 1e-3  # a pot's end: nothing, to a simulator


def feed_volts(*, tap: float, series: float, farad: float, hertz: float, network: list[str], start: float) -> float:
    """Mean volts at node `out` of a negative half-wave supply with its reservoir at node `r`."""
    peak = tap * 2**0.5
    lines = [
        ngspice.SILICON,
        f"va p 0 sin(0 {peak!r} {hertz!r})",
        f"rs p a {series!r}",
        "d1 r a si",
        f"c1 r 0 {farad!r} ic={start!r}",
        *network,
    ]
    found = ngspice.measure(
        ngspice.transient(
            lines, hertz=hertz, settle_s=2.5, cycles=4, step_s=4e-5, measures=["vr avg v(r)", "vo avg v(out)"]
        )
    )
    assert found["vr"] == pytest.approx(found["vr_was"], rel=5e-5), "ngspice had not settled"
    return found["vo"]


def test_junction_on_record() -> None:
    """50 V tap, 470 ohm, 50 uF, 15 k over 27 k: ngspice 39 gave -62.76 V and -40.35 V, at 50 and at 60 Hz.

    A 15 k pot with its wiper at the 27 k end, and grid leaks too high to load it, is the same network.
    """
    for hertz in (50.0, 60.0):
        bias = bias_network(
            tap_vrms=50.0,
            mains_hz=hertz,
            series_ohm=470.0,
            reservoir_farad=50e-6,
            range_ohm=27e3,
            pot_ohm=15e3,
            load_ohm=1e9,
            layout="divider",
        )
        assert bias.hottest_v == pytest.approx(-40.35, rel=0.003)
        assert bias.coldest_v == pytest.approx(-62.76, rel=0.003)
        supply = capacitor_input(
            secondary_vrms=50.0,
            rectifier="half_wave",
            source_ohm=470.0,
            reservoir_farad=50e-6,
            mains_hz=hertz,
            load_ohm=42e3,
        )
        assert supply.peak_diode_a == pytest.approx(15.4e-3, rel=0.01)
        assert supply.rms_diode_a == pytest.approx(4.28e-3, rel=0.01)


def test_divider_agrees_with_ngspice() -> None:
    tap, series, farad, hertz = 48.0, 1e3, 47e-6, 60.0
    bias = bias_network(
        tap_vrms=tap,
        mains_hz=hertz,
        series_ohm=series,
        reservoir_farad=farad,
        range_ohm=22e3,
        pot_ohm=10e3,
        load_ohm=50e3,
        layout="divider",
    )
    hot = ["rp r out 10k", "rr out 0 22k", "rl out 0 50k"]
    cold = [f"rx r out {OHM_CLOSED!r}", "rp out b 10k", "rr b 0 22k", "rl out 0 50k"]
    case = {"tap": tap, "series": series, "farad": farad, "hertz": hertz}
    assert bias.hottest_v == pytest.approx(feed_volts(**case, network=hot, start=-57.5), rel=0.003)
    assert bias.coldest_v == pytest.approx(feed_volts(**case, network=cold, start=-57.0), rel=0.003)


def test_pot_to_ground_agrees_with_ngspice() -> None:
    tap, series, farad, hertz = 60.0, 220.0, 22e-6, 50.0
    bias = bias_network(
        tap_vrms=tap,
        mains_hz=hertz,
        series_ohm=series,
        reservoir_farad=farad,
        range_ohm=33e3,
        pot_ohm=50e3,
        load_ohm=110e3,
        layout="pot_to_ground",
        floor_ohm=10e3,
    )
    case = {"tap": tap, "series": series, "farad": farad, "hertz": hertz}
    upper, load = "rr r out 33k", "rl out 0 110k"
    hot, cold, lifted = [upper, load, "rf out 0 10k"], [upper, load, "rf out 0 60k"], [upper, load]
    assert bias.hottest_v == pytest.approx(feed_volts(**case, network=hot, start=-78.5), rel=0.003)
    assert bias.coldest_v == pytest.approx(feed_volts(**case, network=cold, start=-80.0), rel=0.003)
    assert bias.wiper_open_v == pytest.approx(feed_volts(**case, network=lifted, start=-81.0), rel=0.003)
