"""Circuits at rest and for small signals: laws of any textbook, the sums of single stages, and what is refused in words.

Whole circuits against ngspice: tests/reference/test_ngspice_circuits.py and test_ngspice_responses.py.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.electrics import Circuit, ElectricsError, cathode_bias, pentode_currents, response, solve, triode_stage
from app.electrics.circuit import laws
from app.electrics.circuit.laws import GMIN
from app.electrics.valves import valve
from tests.reference import nets


def divider() -> Circuit:
    return Circuit().volts("B", "b", "0", 300.0).resistor("R1", "b", "m", 100e3).resistor("R2", "m", "0", 50e3)


def test_a_divider_with_its_currents_and_watts() -> None:
    found = solve(divider())
    assert found.volt == pytest.approx({"0": 0.0, "b": 300.0, "m": 100.0})
    assert found.amp == pytest.approx({"R1": 2e-3, "R2": 2e-3, "B": -2e-3})
    assert found.watt == pytest.approx({"R1": 0.4, "R2": 0.2, "B": -0.6})


def test_a_current_source_drives_out_of_its_first_node_into_its_second() -> None:
    found = solve(Circuit().amps("I", "0", "n", 1e-3).resistor("R", "n", "0", 10e3))
    assert found.volt["n"] == pytest.approx(10.0) and found.watt["I"] == pytest.approx(-0.01)


def test_a_capacitor_is_open_but_for_its_leakage_and_a_choke_is_its_wire() -> None:
    made = divider().capacitor("C", "m", "0", 22e-6).inductor("L", "m", "o", 10.0, 50e3).resistor("RL", "o", "0", 50e3)
    assert solve(made).volt["o"] == pytest.approx(300.0 / (100.0 + 100.0 / 3.0) * 100.0 / 3.0 / 2.0)
    leaking = divider().capacitor("C", "m", "0", 22e-6, 50e3)
    assert solve(leaking).volt["m"] == pytest.approx(60.0)
    assert solve(divider().capacitor("C", "m", "0", 22e-6)).amp["C"] == 0.0
    bare = Circuit().volts("B", "b", "0", 9.0).inductor("L", "b", "o", 10.0, 0.0).resistor("R", "o", "0", 3.0)
    assert solve(bare).volt["o"] == pytest.approx(9.0) and solve(bare).amp["L"] == pytest.approx(3.0)


def test_a_stage_is_the_stage_that_is_worked_alone() -> None:
    made = Circuit().volts("B", "hv", "0", 300.0).resistor("RA", "hv", "a", 100e3).resistor("RK", "k", "0", 1500.0)
    made.resistor("RG", "g", "0", 1e6).triode("V1", "a", "g", "k", "12AX7")
    found, alone = solve(made), triode_stage(valve="12AX7", supply_v=300.0, anode_ohm=100e3, cathode_ohm=1500.0)
    assert found.volt["a"] == pytest.approx(alone.anode_v, rel=1e-6) and found.volt["k"] == pytest.approx(alone.cathode_v, rel=1e-6)
    assert found.watt["V1.anode"] == pytest.approx(alone.dissipation_w, rel=1e-6)
    assert found.amp["V1.cathode"] == pytest.approx(found.amp["V1.anode"]) and found.amp["V1.grid"] == 0.0


def test_a_pair_with_one_cathode_resistor_is_the_pair_that_is_worked_alone() -> None:
    made = Circuit().volts("B", "b", "0", 310.0).resistor("RK", "k", "0", 130.0)
    for side in "12":
        made.resistor(f"W{side}", "b", f"a{side}", 100.0).resistor(f"G{side}", f"g{side}", "0", 470e3)
        made.pentode(f"V{side}", f"a{side}", "b", f"g{side}", "k", "EL84")
    found, alone = solve(made), cathode_bias(valve="EL84", supply_v=310.0, screen_v=310.0, cathode_ohm=130.0, winding_ohm=100.0)
    assert found.volt["k"] == pytest.approx(alone.cathode_v, rel=1e-6)
    assert found.watt["V1.anode"] == pytest.approx(alone.anode_dissipation_w, rel=1e-6)
    assert found.watt["V2.screen"] == pytest.approx(alone.screen_dissipation_w, rel=1e-6)


def test_emission_multiplies_the_current() -> None:
    def held(emission: float) -> float:
        made = Circuit().volts("B", "a", "0", 250.0).volts("C", "g", "0", -12.0).volts("S", "s", "0", 250.0)
        return solve(made.pentode("V1", "a", "s", "g", "0", "EL34", emission=emission)).amp["V1.anode"]

    full = pentode_currents("EL34", anode_v=250.0, screen_v=250.0, grid_v=-12.0)[0]
    assert held(1.0) == pytest.approx(full, rel=1e-6) and held(0.4) == pytest.approx(0.4 * full, rel=1e-6)
    assert held(0.0) == pytest.approx(250.0 * GMIN, rel=1e-3)


def test_a_grid_driven_positive_draws_current_and_is_held_near_its_cathode() -> None:
    """300 V through 1 Mohm on a grid: without grid current it would stand at 300 V."""
    made = Circuit().volts("B", "hv", "0", 300.0).resistor("RA", "hv", "a", 100e3).resistor("R", "hv", "g", 1e6)
    found = solve(made.triode("V1", "a", "g", "0", "12AX7"))
    assert 0.2 < found.volt["g"] < 1.0
    assert found.amp["V1.grid"] == pytest.approx((300.0 - found.volt["g"]) / 1e6)
    assert found.amp["V1.grid"] == pytest.approx(laws.TRIODE_GRID * found.volt["g"] ** 1.5)


@pytest.mark.parametrize("name", nets.ALL_NETS)
def test_charge_and_power_are_kept(name: str) -> None:
    """Tellegen: the watts of all parts add up to nothing; Kirchhoff: so do the currents at every node."""
    made = nets.ALL_NETS[name](random.Random(11))
    found = solve(made)
    assert sum(found.watt.values()) == pytest.approx(0.0, abs=1e-6 * max(abs(watt) for watt in found.watt.values()) + 1e-12)
    into = dict.fromkeys(found.volt, 0.0)
    for part in made.parts:
        if part.valve is not None:
            electrodes = ("anode", "grid") if part.kind == "triode" else ("anode", "screen", "grid")
            for electrode, node in zip(electrodes, part.nodes, strict=False):
                into[node] += found.amp[f"{part.name}.{electrode}"]
            into[part.nodes[-1]] -= found.amp[f"{part.name}.cathode"]
        else:
            into[part.nodes[0]] += found.amp[part.name]
            into[part.nodes[1]] -= found.amp[part.name]
    whole = max(abs(current) for current in found.amp.values())
    assert all(abs(current) < 1e-6 * whole + 1e-12 for current in into.values())


def test_slopes_are_those_of_the_currents() -> None:
    """By differences of a ten-thousandth of a volt, for every port of a triode and of a pentode."""
    triodes, pentodes = laws.row([valve("12AX7").triode()]), laws.row([valve("EL34").pentode()])
    one, h = np.ones((1, 1)), 1e-4

    def at(volt: float) -> Any:
        return np.array([[volt]])

    for va, vg in ((250.0, -2.0), (60.0, -0.5), (150.0, 1.0), (20.0, -3.0)):
        _current, gm, ga = laws.triode(triodes, at(va), at(vg), one)
        for slope, a, g in ((gm, 0, 1), (ga, 1, 0)):
            high = laws.triode(triodes, at(va + a * h), at(vg + g * h), one)[0]
            low = laws.triode(triodes, at(va - a * h), at(vg - g * h), one)[0]
            assert float(slope[0, 0]) == pytest.approx(float((high - low)[0, 0]) / (2 * h), rel=1e-4, abs=1e-11)
    for va, vs, vg in ((250.0, 250.0, -12.0), (30.0, 300.0, -5.0), (400.0, 100.0, -2.0), (5.0, 200.0, 0.5)):
        found = laws.pentode(pentodes, at(va), at(vs), at(vg), one)
        for number, (a, s, g) in enumerate(((1, 0, 0), (0, 1, 0), (0, 0, 1))):
            up = laws.pentode(pentodes, at(va + a * h), at(vs + s * h), at(vg + g * h), one)
            down = laws.pentode(pentodes, at(va - a * h), at(vs - s * h), at(vg - g * h), one)
            anode, screen = float((up.anode - down.anode)[0, 0]) / (2 * h), float((up.screen - down.screen)[0, 0]) / (2 * h)
            assert float(found.anode_by[number][0, 0]) == pytest.approx(anode, rel=1e-4, abs=1e-10)
            assert float(found.screen_by[number][0, 0]) == pytest.approx(screen, rel=1e-4, abs=1e-10)


REFUSED: list[tuple[Callable[[], Any], str]] = [
    (lambda: solve(divider().resistor("R1", "m", "0", 1.0)), "R1"),
    (lambda: divider().resistor("", "m", "0", 1.0), "name"),
    (lambda: divider().resistor("R3", "m", None, 1.0), "node"),  # type: ignore[arg-type]
    (lambda: divider().resistor("R3", "m", "0", 0.0), "ohm"),
    (lambda: divider().resistor("R3", "m", "0", -5.0), "ohm"),
    (lambda: divider().resistor("R3", "m", "0", math.nan), "ohm"),
    (lambda: divider().capacitor("C", "m", "0", 0.0), "farad"),
    (lambda: divider().capacitor("C", "m", "0", 1e-6, 0.0), "leak_ohm"),
    (lambda: divider().inductor("L", "m", "0", 0.0, 1.0), "henry"),
    (lambda: divider().inductor("L", "m", "0", 1.0, -1.0), "dcr_ohm"),
    (lambda: divider().volts("V", "m", "0", math.inf), "v is"),
    (lambda: divider().amps("I", "m", "0", math.inf), "amp"),
    (lambda: divider().triode("V1", "m", "b", "0", "EL34"), "EL34"),
    (lambda: divider().pentode("V1", "m", "b", "b", "0", "12AX7"), "12AX7"),
    (lambda: divider().triode("V1", "m", "b", "0", "12AX7", emission=-0.1), "emission"),
    (lambda: solve(divider().capacitor("C", "m", "x", 1e-6)), "node is 'x'.*floats, with C on it"),
    (lambda: solve(divider().triode("V1", "m", "g", "0", "12AX7").capacitor("C", "g", "0", 1e-6)), "'g'.*floats, with V1, C on it"),
    (lambda: solve(divider().amps("I", "m", "x", 1e-3)), "'x'.*floats"),
    (lambda: solve(divider().resistor("R8", "x", "y", 1e3)), "'x'.*floats"),
    (lambda: solve(Circuit().resistor("R", "a", "b", 1e3)), 'node "0"'),
    (lambda: solve(divider().volts("V2", "b", "0", 300.0)), "loop of sources.*B, V2"),
    (lambda: solve(divider().volts("V2", "c", "b", 9.0).inductor("L", "c", "0", 1.0, 0.0)), "loop of sources.*L"),
    (lambda: solve(divider().volts("V2", "m", "m", 1.0)), "V2"),
    (lambda: solve(Circuit().amps("I", "0", "n", 1e-3).diode("D", "0", "n")), "node is 'n'.*carry away"),
    (lambda: solve(Circuit()), "empty"),
    (lambda: solve(None), "circuit"),  # type: ignore[arg-type]
    (lambda: response(divider(), source="R1", output="m", hz=100.0), "source"),
    (lambda: response(divider(), source="B", output="x", hz=100.0), "output"),
    (lambda: response(divider(), source="B", output="m", hz=-1.0), "hz"),
    (lambda: response(divider(), source="B", output="m", hz=[math.nan]), "hz"),
    (lambda: response(divider(), source="B", output="m", hz=None), "hz"),  # type: ignore[arg-type]
]


@pytest.mark.parametrize(("run", "named"), REFUSED)
def test_what_cannot_be_is_refused_by_name(run: Callable[[], Any], named: str) -> None:
    with pytest.raises(ElectricsError, match=named):
        run()


def test_a_copy_changes_alone() -> None:
    made = divider()
    changed = made.replace("R2", lambda part: type(part)(part.name, part.kind, part.nodes, 100e3))
    assert solve(changed).volt["m"] == pytest.approx(150.0) and solve(made).volt["m"] == pytest.approx(100.0)


def test_a_low_pass_is_3_db_down_at_its_corner() -> None:
    """1 / (1 + j w R C), any textbook."""
    made = Circuit().volts("IN", "in", "0", 5.0).resistor("R", "in", "o", 10e3).capacitor("C", "o", "0", 10e-9)
    corner = 1.0 / (2 * math.pi * 10e3 * 10e-9)
    found = response(made, source="IN", output="o", hz=[0.0, corner, 100 * corner])
    assert found == pytest.approx([1.0, 1.0 / (1.0 + 1.0j), 1.0 / (1.0 + 100.0j)])
    assert response(made, source="IN", output="o", hz=corner) == pytest.approx(0.5 - 0.5j)
    assert response(made, source="IN", output="0", hz=[corner]) == pytest.approx([0.0])


def test_a_choke_with_and_without_resistance_of_its_wire() -> None:
    for dcr in (0.0, 30.0):
        made = Circuit().volts("IN", "in", "0", 5.0).inductor("L", "in", "o", 2.0, dcr).resistor("R", "o", "0", 1e3)
        reactance = 2j * math.pi * 50.0 * 2.0
        assert response(made, source="IN", output="o", hz=[50.0])[0] == pytest.approx(1e3 / (1e3 + dcr + reactance))


@pytest.mark.parametrize("bypassed", [True, False])
def test_mid_band_gain_is_that_of_the_stage_worked_alone(bypassed: bool) -> None:
    made = Circuit().volts("B", "hv", "0", 300.0).volts("IN", "g", "0", 0.0).resistor("RA", "hv", "a", 100e3)
    made.resistor("RK", "k", "0", 1500.0).triode("V1", "a", "g", "k", "12AX7")
    made.capacitor("CO", "a", "o", 1.0).resistor("RO", "o", "0", 1e6)
    if bypassed:
        made.capacitor("CK", "k", "0", 1.0)
    alone = triode_stage(valve="12AX7", supply_v=300.0, anode_ohm=100e3, cathode_ohm=1500.0, bypassed=bypassed, next_grid_ohm=1e6)
    found = response(made, source="IN", output="o", hz=1e3)
    assert found.real == pytest.approx(-alone.gain, rel=1e-4) and abs(found.imag) < 1e-2 * alone.gain


def test_output_resistance_by_a_current_pushed_into_the_anode() -> None:
    made = Circuit().volts("B", "hv", "0", 300.0).volts("IN", "g", "0", 0.0).resistor("RA", "hv", "a", 100e3)
    made.resistor("RK", "k", "0", 1500.0).triode("V1", "a", "g", "k", "12AX7").amps("PUSH", "0", "a", 0.0)
    alone = triode_stage(valve="12AX7", supply_v=300.0, anode_ohm=100e3, cathode_ohm=1500.0, bypassed=False)
    assert response(made, source="PUSH", output="a", hz=1e3).real == pytest.approx(alone.output_ohm, rel=1e-4)


def test_random_sane_circuits_settle() -> None:
    """A sample; ten thousand of them by the command that DEVELOPERS.md names."""
    for number in range(330):
        name = list(nets.ALL_NETS)[number % len(nets.ALL_NETS)]
        found = solve(nets.ALL_NETS[name](random.Random(5000 + number)))
        assert all(math.isfinite(volt) for volt in found.volt.values())


def test_forty_nodes_take_less_than_ten_milliseconds() -> None:
    made = nets.amplifier(random.Random(7))
    taken = []
    for _ in range(30):
        start = time.thread_time()  # of this thread's own work: other programs at work on the machine prove nothing
        solve(made)
        taken.append(time.thread_time() - start)
    assert len(solve(made).volt) >= 35
    assert min(taken) < 0.010
