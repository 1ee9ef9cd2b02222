"""Three whole sheets against ngspice (Debian), from the winding to the last preamp anode, in the time domain.

The sums solve a supply for its steady state and the amplifier at rest, and bring both together; ngspice is given winding,
rectifier, every capacitor and every valve at once, begins 3 % below, and is let run. Means over the last cycles: 0.5 % of the
volts of rails, 1 % or 20 mV elsewhere (a cathode's volts ride on ripple that the sums at rest have not got).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from app.circuits.rules.assembled import regulation_of, source_of
from app.circuits.rules.blocks import Kind, Sheet
from app.circuits.rules.work import solved, work
from app.electrics import valve
from app.electrics.circuit.parts import Circuit
from tests.circuits import make
from tests.reference import nets, ngspice
from tests.reference.tally import within

SHEETS = {"long-tail pair, fixed bias, valve rectifier": make.sheet(make.PUSH_PULL),
          "cathodyne, cathode bias, bridge": make.sheet(make.CATHODE_BIASED),
          "pentode input, shared cathode, one output valve": make.sheet(make.PENTODE_INPUT)}
BELOW = 0.97
BEHIND = 0.08
SETTLE_S, CYCLES, STEP_S = 2.4, 4, 1e-4
STRAY_F = 50e-12


def _plain(name: str) -> str:
    return "n" + "".join(sign if sign.isalnum() else "_" for sign in name).lower()


def _named(made: Circuit, leave_out: set[str]) -> Circuit:
    """The circuit without the sources that stand for its supplies, under names that a netlist can have."""
    other = Circuit()
    for part in made.parts:
        if part.name not in leave_out:
            nodes = tuple(node if node == "0" else _plain(node) for node in part.nodes)
            other._parts[_plain(part.name)] = replace(part, name=_plain(part.name), nodes=nodes)
    return other


def _netlist(sheet: Sheet) -> tuple[str, dict[str, float]]:
    """The transient of a sheet, and the volts that the sums say of each node."""
    found = solved(sheet, None)
    (feed,) = found.made.feeds.values()
    rail = feed.reservoir
    whole = _named(found.made.circuit, {source_of(rail), regulation_of(rail)})
    volts = {_plain(node): volt for node, volt in found.point.volt.items() if node not in ("0", f"{rail} inside")} | {"0": 0.0}
    amps = {_plain(name): amp for name, amp in found.point.amp.items()}
    perveance = None
    if feed.drop is not None:
        limits = valve(feed.drop).rectifier
        assert limits is not None
        perveance = limits.perveance
    chokes = {_plain(f"{one.name}.ohm"): one.number("henry") for one in sheet.of_kind(Kind.CHOKE)}
    lines = ngspice.rectifier(kind=feed.rectifier, vrms=feed.vrms, ohm=feed.ohm, hertz=feed.hz, perveance=perveance,
                              out=_plain(rail))
    for line in nets.netlist(whole):
        if line.startswith("c"):
            _name, one, other, _farad = line.split()
            line += f" ic={BELOW * (volts[one] - volts[other])!r}"
        if line.startswith("l"):
            line += f" ic={BELOW * amps[line.split()[0][1:]]!r}"
        if (henry := chokes.get(line.split()[0][1:])) is not None:  # at rest a choke is its winding; its ripple is another
            name, one, other, ohm = line.split()
            lines.append(f"l{name} {one} x{name} {henry!r} ic={BELOW * amps[name[1:]]!r}")
            line = f"{name} x{name} {other} {ohm}"
        lines.append(line)
    # What every electrode and lead has to chassis: without it a time step at the start has no solution.
    lines += [f"cstray{node} {node} 0 {STRAY_F!r} ic={BELOW * volt!r}" for node, volt in volts.items() if node != "0"]
    asked = [f"m{number} avg v({node})" for number, node in enumerate(volts) if node != "0"]
    for one in found.rails:
        asked += [f"pp_{_plain(one.name)} pp v({_plain(one.name)})", f"rms_{_plain(one.name)} rms v({_plain(one.name)})"]
    return ngspice.transient(lines, hertz=feed.hz, settle_s=SETTLE_S, cycles=CYCLES, step_s=STEP_S, measures=asked), volts


def _ripple(sheet: Sheet, measured: dict[str, float], volts: dict[str, float]) -> None:
    """Ripple of the rails peak to peak, 5 %, of those behind a dropper or choke 8 %; true rms where the digits tell it, 5 %.

    The sums draw a steady current from a rail, where ngspice's valves draw less as the volts fall: the more rails, the more of it.
    """
    said = {_plain(one.node.name): one.now.value for one in work(sheet, None).expected if one.node.ripple}
    seen = 0
    for one in solved(sheet, None).rails:
        rail = _plain(one.name)
        true_rms = max(measured[f"rms_{rail}"] ** 2 - measured[f"m{list(volts).index(rail)}"] ** 2, 0.0) ** 0.5
        print(f"\n{one.name}: {one.ripple_vpp:.4g} V, ngspice {measured[f'pp_{rail}']:.4g} V peak to peak; "
              f"{one.ripple_vrms:.4g} V, ngspice {true_rms:.4g} V rms")
        assert said[_plain(f"{one.name} ripple")] == one.ripple_vrms
        if one.ripple_vpp > 0.02:
            seen += 1
            assert one.ripple_vpp == pytest.approx(measured[f"pp_{rail}"], rel=0.05 if seen == 1 else BEHIND), one.name
        if one.ripple_vrms > 0.5:
            assert one.ripple_vrms == pytest.approx(true_rms, rel=0.05), one.name
    assert seen >= 2


@pytest.mark.timeout(300)
@pytest.mark.parametrize("name", SHEETS)
def test_every_node_of_a_whole_sheet(name: str) -> None:
    netlist, volts = _netlist(SHEETS[name])
    measured = ngspice.measure(netlist)
    worst = (0.0, "")
    rails = {_plain(f"HT{number}") for number in range(1, 5)}
    for number, (node, volt) in enumerate(volts.items()):
        if node == "0":
            continue
        true, before = measured[f"m{number}"], measured[f"m{number}_was"]
        allowed = max(0.005 * abs(true), 0.01) if node in rails else max(0.01 * abs(true), 0.02)
        assert abs(true - before) <= 0.2 * allowed, f"{node} has not settled: {before:.6g} V, then {true:.6g} V"
        assert within(abs(volt - true), allowed, "V"), node
        worst = max(worst, (abs(volt - true) / allowed, f"{node}: {volt:.6g} V, ngspice {true:.6g} V"))
    _ripple(SHEETS[name], measured, volts)
    print(f"\n{name}: largest error {worst[0]:.2f} of what is allowed ({worst[1]})")
    assert worst[0] <= 1.0, worst[1]
