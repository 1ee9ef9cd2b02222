"""Stages, cathode bias and push-pull against ngspice (Debian), which solves the same valve law in a circuit.

The valve law is written out here as ngspice expressions from the table's parameters, so a slip in the Python
form, its slopes, or the solving shows. Source of the comparison: ngspice in batch mode.
"""

from __future__ import annotations

import pytest

from app.electrics import PentodeModel, TriodeModel, cathode_bias, push_pull, triode_stage, valve
from tests.reference.ngspice import measure


def triode_source(m: TriodeModel, name: str, anode: str, grid: str, cathode: str) -> str:
    va = f"max(v({anode},{cathode}),1e-3)"
    inner = f"{m.kp!r}*({1 / m.mu!r}+(v({grid},{cathode})+{m.vct!r})/sqrt({m.kvb!r}+{va}*{va}))"
    e1 = f"({va}/{m.kp!r}*ln(1+exp({inner})))"
    return f"b{name} {anode} {cathode} i={2 / m.kg1!r}*pow({e1},{m.ex!r})"


def pentode_sources(m: PentodeModel, name: str, anode: str, screen: str, grid: str, cathode: str) -> str:
    va, vs = f"max(v({anode},{cathode}),1e-3)", f"v({screen},{cathode})"
    inner = f"{m.kp!r}*({1 / m.mu!r}+v({grid},{cathode})/sqrt({m.ks!r}+{vs}*{vs}))"
    share = f"(ln(1+exp({inner}))/{m.kp!r})"
    whole = f"{3.141592653589793 / m.kg1!r}*pow({vs}*{share},{m.ex!r})*(1+{m.slope!r}*{va})"
    above = f"(0.6366197723675814*atan({va}/{m.kvb!r}))"
    ratio = f"({m.screen_base!r}+{m.screen_drive!r}*{share})*{above}+{m.screen_knee!r}*(1-{above})"
    return f"b{name}a {anode} {cathode} i={whole}*{above}\nb{name}s {screen} {cathode} i={whole}*({ratio})"


def control(*commands: str) -> str:
    return "\n".join([".control", *commands, ".endc", ".end", ""])


STAGES = [  # valve, supply, anode ohm, cathode ohm, next grid ohm
    ("12AX7", 300, 100e3, 1500, 1e6),
    ("12AX7", 250, 220e3, 2700, 470e3),
    ("12AX7", 410, 47e3, 820, 220e3),
    ("12AX7", 300, 100e3, 10e3, 1e6),
    ("12AT7", 300, 100e3, 1000, 470e3),
    ("12AT7", 350, 33e3, 330, 1e6),
    ("12AU7", 280, 47e3, 2200, 220e3),
    ("12AY7", 260, 100e3, 1500, 1e6),
    ("6SN7GT", 300, 47e3, 1500, 330e3),
    ("6SL7GT", 300, 220e3, 3300, 1e6),
]


@pytest.mark.parametrize(("name", "supply", "ra", "rk", "rg"), STAGES)
@pytest.mark.parametrize("bypassed", [True, False])
def test_triode_stage_matches_ngspice(name, supply, ra, rk, rg, bypassed):
    netlist = "\n".join([
        "* stage", f"vb b 0 {supply}", "vin g 0 dc 0 ac 1", f"ra b a {ra}", f"rk k 0 {rk}",
        triode_source(valve(name).triode(), "1", "a", "g", "k"), "cc a out 1", f"rg out 0 {rg}",
        "ck k 0 10" if bypassed else "", ".options reltol=1e-7 abstol=1e-14 vntol=1e-9",
        control("op", "let anode=v(a)", "let cathode=v(k)", "print anode cathode",
                "ac lin 1 1k 1k", "let gain=mag(v(out))", "print gain"),
    ])  # fmt: skip
    want = measure(netlist)
    got = triode_stage(valve=name, supply_v=supply, anode_ohm=ra, cathode_ohm=rk, bypassed=bypassed, next_grid_ohm=rg)
    assert got.anode_v == pytest.approx(want["anode"], rel=1e-3)
    assert got.cathode_v == pytest.approx(want["cathode"], rel=1e-3)
    assert got.gain == pytest.approx(want["gain"], rel=1e-3)


@pytest.mark.parametrize("bypassed", [True, False])
def test_output_impedance_matches_a_current_pushed_into_the_anode(bypassed):
    netlist = "\n".join([
        "* output impedance", "vb b 0 300", "vin g 0 0", "ra b a 100k", "rk k 0 1500", "iac 0 a dc 0 ac 1",
        triode_source(valve("12AX7").triode(), "1", "a", "g", "k"), "ck k 0 10" if bypassed else "",
        control("ac lin 1 1k 1k", "let zout=mag(v(a))", "print zout"),
    ])  # fmt: skip
    got = triode_stage(valve="12AX7", supply_v=300, anode_ohm=100e3, cathode_ohm=1500, bypassed=bypassed)
    assert got.output_ohm == pytest.approx(measure(netlist)["zout"], rel=1e-3)


BIASED = [  # valve, supply, screen, cathode ohm, valves, half-winding ohm
    ("EL84", 310, 310, 130, 2, 100),
    ("EL84", 320, 300, 270, 1, 0),
    ("6V6GT", 340, 320, 250, 2, 120),
    ("6L6GC", 380, 370, 250, 2, 60),
    ("EL34", 375, 364, 130, 2, 50),
    ("EL84", 330, 325, 68, 4, 80),
]


@pytest.mark.parametrize(("name", "supply", "screen", "rk", "count", "winding"), BIASED)
def test_cathode_bias_matches_ngspice(name, supply, screen, rk, count, winding):
    model = valve(name).pentode()
    lines = ["* cathode bias", f"vb b 0 {supply}", f"vs s 0 {screen}", "vg g 0 0", f"rk k 0 {rk}"]
    for index in range(count):
        lines += [f"rw{index} b a{index} {winding or 1e-6}",
                  pentode_sources(model, str(index), f"a{index}", "s", "g", "k")]  # fmt: skip
    lines += [
        ".options reltol=1e-6",
        control("op", "let cathode=v(k)", "let anode=v(a0)", "let screens=-i(vs)", "print cathode anode screens"),
    ]
    want = measure("\n".join(lines))
    got = cathode_bias(valve=name, supply_v=supply, screen_v=screen, cathode_ohm=rk, valves=count, winding_ohm=winding)
    assert got.cathode_v == pytest.approx(want["cathode"], rel=1e-3)
    assert got.screen_a * count == pytest.approx(want["screens"], rel=2e-3)
    assert supply - got.anode_a * winding == pytest.approx(want["anode"], rel=1e-3)


AMPLIFIERS = [  # valve, supply, screen, bias, load
    ("6L6GC", 450, 400, -37, 5600),
    ("6V6GT", 285, 285, -19, 8000),
    ("EL34", 425, 375, -38, 3400),
    ("EL84", 330, 320, -12.5, 8000),
    ("6550", 480, 330, -35, 4000),
]


@pytest.mark.parametrize(("name", "supply", "screen", "bias", "load"), AMPLIFIERS)
def test_push_pull_matches_ngspice_with_a_real_winding(name, supply, screen, bias, load):
    """Three coupled coils (100 H a half primary, coupling 0.999999) and 8 ohm; a 1 kHz sine to 0 V on the
    grids."""
    model, half = valve(name).pentode(), 100.0
    secondary = 4 * half * 8 / load
    netlist = "\n".join([
        "* push-pull", f"vb b 0 {supply}", f"vs s 0 {screen}",
        f"vg1 g1 0 sin({bias} {-bias} 1k)", f"vg2 g2 0 sin({bias} {bias} 1k)",
        "vm1 a1 p1 0", "vm2 a2 p2 0", f"l1 a1x b {half}", f"l2 b a2x {half}", f"l3 out 0 {secondary!r}",
        "r1 a1 a1x 1e-3", "r2 a2 a2x 1e-3", "k12 l1 l2 0.999999", "k13 l1 l3 0.999999", "k23 l2 l3 0.999999",
        "rl out 0 8", pentode_sources(model, "1", "p1", "s", "g1", "0"),
        pentode_sources(model, "2", "p2", "s", "g2", "0"),
        ".options method=trap reltol=1e-5", ".tran 2u 5m 3m 2u",
        control("run", "meas tran out rms v(out) from=3m to=5m", "meas tran peak max i(vm1) from=3m to=5m",
                "meas tran supply avg i(vb) from=3m to=5m", "meas tran screens avg i(vs) from=3m to=5m"),
    ])  # fmt: skip
    want = measure(netlist)
    got = push_pull(valve=name, supply_v=supply, screen_v=screen, bias_v=bias, load_aa_ohm=load)
    assert got.power_w == pytest.approx(want["out"] ** 2 / 8, rel=0.01)
    assert got.peak_anode_a == pytest.approx(want["peak"], rel=0.01)
    assert got.mean_supply_a == pytest.approx(-want["supply"], rel=0.01)
    assert got.mean_screen_a == pytest.approx(-want["screens"], rel=0.01)
    drawn = -want["supply"] * supply
    assert got.anode_dissipation_w == pytest.approx((drawn - want["out"] ** 2 / 8) / 2, rel=0.02)


def test_the_pentode_law_in_the_netlist_is_not_empty():
    """Guards the comparison itself: at the sheet's point (6V6GT, 45 mA) ngspice finds a current near it."""
    netlist = "\n".join([
        "* point", "va a 0 250", "vs s 0 250", "vg g 0 -12.5",
        pentode_sources(valve("6V6GT").pentode(), "1", "a", "s", "g", "0"),
        control("op", "let amp=-i(va)", "print amp"),
    ])  # fmt: skip
    assert measure(netlist)["amp"] == pytest.approx(45e-3, rel=0.1)
