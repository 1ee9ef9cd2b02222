"""Random circuits of the kinds a bench meets, seeded, and the same circuits as netlists for ngspice.

Every family draws its values from the ranges that amplifiers use (common practice, no source), and some well outside.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace

from app.electrics import valve
from app.electrics.circuit import laws
from app.electrics.circuit.parts import Circuit, Part
from app.electrics.supply.rectifiers import SILICON_IS, SILICON_N, SILICON_OHM
from tests.reference.test_ngspice_stages import pentode_sources, triode_source

SMALL = ("12AX7", "12AT7", "12AU7", "12AY7", "6SN7GT", "6SL7GT")
OUTPUT = ("6L6GC", "6V6GT", "EL34", "EL84", "6550", "5881", "6973", "7591")
OHMS = {"12AX7": (47e3, 330e3), "6SL7GT": (47e3, 330e3), "12AY7": (33e3, 220e3)}

DIODE = f".model si D(IS={SILICON_IS!r} N={SILICON_N!r} RS={SILICON_OHM!r})"


def some(rng: random.Random, low: float, high: float) -> float:
    """Evenly over the decades, to three digits."""
    return float(f"{10 ** rng.uniform(math.log10(low), math.log10(high)):.3g}")


def network(rng: random.Random) -> Circuit:
    """Resistors, sources and diodes: every node has a resistor towards an earlier one, so none floats."""
    made, nodes = Circuit(), ["0"]
    for number in range(rng.randint(2, 14)):
        node = f"n{number}"
        made.resistor(f"R{number}", node, rng.choice(nodes), some(rng, 10, 1e6))
        nodes.append(node)
    for number in range(rng.randint(1, 3)):
        made.volts(f"V{number}", f"s{number}", "0", round(rng.uniform(-400, 400), 1))
        made.resistor(f"RS{number}", f"s{number}", rng.choice(nodes[1:]), some(rng, 10, 1e5))
    for number in range(rng.randint(0, 2)):
        made.amps(f"I{number}", *rng.sample(nodes, 2), some(rng, 1e-6, 50e-3))
    for number in range(rng.randint(0, 8)):
        made.resistor(f"RX{number}", *rng.sample(nodes, 2), some(rng, 10, 1e6))
    for number in range(rng.randint(1, 6)):
        made.diode(f"D{number}", *rng.sample(nodes, 2))
    return made


def _stage(made: Circuit, rng: random.Random, number: int, rail: str, name: str | None = None) -> tuple[str, str]:
    """A common cathode stage on a rail; its anode and grid nodes."""
    kind = name or rng.choice(SMALL)
    low, high = OHMS.get(kind, (10e3, 100e3))
    a, g, k = f"a{number}", f"g{number}", f"k{number}"
    made.resistor(f"RA{number}", rail, a, some(rng, low, high))
    made.resistor(f"RG{number}", g, "0", some(rng, 1e5, 4.7e6))
    made.resistor(f"RK{number}", k, "0", some(rng, 220, 10e3))
    made.capacitor(f"CK{number}", k, "0", 25e-6)
    made.triode(f"V{number}", a, g, k, kind, emission=round(rng.uniform(0.5, 1.2), 3))
    return a, g


def common_cathode(rng: random.Random) -> Circuit:
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(120, 450), 1))
    anode, _grid = _stage(made, rng, 1, "hv")
    return made.capacitor("CC", anode, "o", some(rng, 1e-9, 1e-6)).resistor("RO", "o", "0", some(rng, 1e5, 1e6))


def follower(rng: random.Random) -> Circuit:
    """A stage with the next valve's grid straight on its anode: that grid can be driven above its cathode."""
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(200, 420), 1))
    anode, _grid = _stage(made, rng, 1, "hv", "12AX7")
    made.triode("V2", "hv", anode, "k2", rng.choice(SMALL)).resistor("RK2", "k2", "0", some(rng, 33e3, 220e3))
    return made


def long_tail(rng: random.Random) -> Circuit:
    kind = rng.choice(("12AX7", "12AT7", "12AU7", "6SL7GT", "6SN7GT"))
    low, high = OHMS.get(kind, (10e3, 100e3))
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(200, 420), 1))
    for side in "12":
        made.resistor(f"RA{side}", "hv", f"a{side}", some(rng, low, high))
        made.resistor(f"RG{side}", f"g{side}", "t", some(rng, 470e3, 1e6))
        made.triode(f"V{side}", f"a{side}", f"g{side}", "k", kind)
    return made.resistor("RK", "k", "t", some(rng, 330, 2.2e3)).resistor("RT", "t", "0", some(rng, 4.7e3, 47e3))


def cathodyne(rng: random.Random) -> Circuit:
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(200, 420), 1))
    ohm = some(rng, 22e3, 100e3)
    made.resistor("RA", "hv", "a", ohm).resistor("RK", "k", "j", some(rng, 680, 3.3e3)).resistor("RT", "j", "0", ohm)
    return made.resistor("RG", "g", "j", some(rng, 470e3, 1e6)).triode("V1", "a", "g", "k", rng.choice(SMALL))


def pentode_stage(rng: random.Random) -> Circuit:
    """An output type starved as a voltage amplifier: both anode and screen far below the supply."""
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(200, 400), 1))
    made.resistor("RA", "hv", "a", some(rng, 10e3, 220e3)).resistor("RS", "hv", "s", some(rng, 47e3, 1e6))
    made.resistor("RK", "k", "0", some(rng, 470, 4.7e3)).resistor("RG", "g", "0", 1e6).capacitor("CS", "s", "0", 1e-7)
    return made.pentode("V1", "a", "s", "g", "k", rng.choice(OUTPUT))


def preamp_pentode(rng: random.Random) -> Circuit:
    """A small pentode as a first stage: screen dropper and capacitor as large as they are met."""
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(200, 400), 1))
    ohm = some(rng, 68e3, 330e3)
    made.resistor("RA", "hv", "a", ohm).resistor("RS", "hv", "s", round(ohm * rng.uniform(3.5, 5.5), 0))
    made.resistor("RK", "k", "0", some(rng, 680, 3.3e3)).resistor("RG", "g", "0", 1e6).capacitor("CS", "s", "0", 1e-7)
    return made.pentode("V1", "a", "s", "g", "k", rng.choice(("EF86", "6SJ7")))


def shared_cathode(rng: random.Random) -> Circuit:
    """Two triodes on one bypassed cathode resistor."""
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(200, 400), 1))
    kind = rng.choice(SMALL)
    for side in (1, 2):
        made.resistor(f"RA{side}", "hv", f"a{side}", some(rng, 47e3, 220e3)).resistor(f"RG{side}", f"g{side}", "0", 1e6)
        made.triode(f"V{side}", f"a{side}", f"g{side}", "k", kind)
    return made.resistor("RK", "k", "0", some(rng, 390, 1.8e3)).capacitor("CK", "k", "0", 1e-4)


def fixed_bias(rng: random.Random) -> Circuit:
    """A pair with its bias supply solved along: a source, its diode and divider."""
    kind = rng.choice(OUTPUT)
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(280, 480), 1)).volts("C", "0", "n", round(rng.uniform(30, 75), 1))
    made.resistor("RB1", "b0", "n", some(rng, 220, 2e3)).diode("D1", "b", "b0").resistor("RB2", "b", "w", some(rng, 1e3, 47e3))
    made.resistor("RB3", "w", "0", some(rng, 10e3, 100e3)).inductor("L", "hv", "sc", 10.0, some(rng, 50, 500))
    for side in "12":
        made.inductor(f"T{side}", "hv", f"a{side}", 20.0, some(rng, 20, 250))
        made.resistor(f"RS{side}", "sc", f"s{side}", some(rng, 100, 2.2e3))
        made.resistor(f"RG{side}", f"g{side}", "w", some(rng, 1e5, 470e3))
        made.resistor(f"RK{side}", f"k{side}", "0", rng.choice((1.0, 10.0)))
        made.pentode(f"V{side}", f"a{side}", f"s{side}", f"g{side}", f"k{side}", kind, emission=round(rng.uniform(0.6, 1.2), 3))
    return made


def cathode_bias(rng: random.Random) -> Circuit:
    kind = rng.choice(("EL84", "6V6GT", "EL34", "6L6GC"))
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(220, 400), 1)).resistor("RK", "k", "0", some(rng, 68, 470))
    made.resistor("RS", "hv", "s", some(rng, 47, 4.7e3))
    for side in "12":
        made.inductor(f"T{side}", "hv", f"a{side}", 20.0, some(rng, 20, 250))
        made.resistor(f"RG{side}", f"g{side}", "0", some(rng, 1e5, 470e3))
        made.pentode(f"V{side}", f"a{side}", "s", f"g{side}", "k", kind, emission=round(rng.uniform(0.6, 1.2), 3))
    return made


def supply_chain(rng: random.Random) -> Circuit:
    made, before = Circuit().volts("B", "raw", "0", round(rng.uniform(200, 480), 1)), "raw"
    for number in range(rng.randint(2, 5)):
        node = f"n{number}"
        if rng.random() < 0.3:
            made.inductor(f"L{number}", before, node, 10.0, some(rng, 50, 500))
        else:
            made.resistor(f"R{number}", before, node, some(rng, 220, 47e3))
        made.capacitor(f"C{number}", node, "0", 22e-6, some(rng, 1e5, 1e8)).amps(f"I{number}", node, "0", some(rng, 1e-5, 5e-3))
        before = node
    return made.resistor("RL", before, "0", some(rng, 100e3, 470e3))


def bias_supply(rng: random.Random) -> Circuit:
    made = Circuit().volts("C", "0", "n", round(rng.uniform(30, 90), 1)).resistor("R0", "n", "d", some(rng, 100, 10e3))
    made.diode("D", "c", "d").capacitor("C1", "0", "c", 50e-6, some(rng, 1e5, 1e8)).resistor("R1", "c", "p", some(rng, 1e3, 47e3))
    made.resistor("P1", "p", "w", some(rng, 1e3, 25e3)).resistor("P2", "w", "q", some(rng, 1e3, 25e3))
    return made.resistor("R2", "q", "0", some(rng, 4.7e3, 47e3)).resistor("RG", "w", "g", 220e3).resistor("RM", "g", "0", 10e6)


def amplifier(rng: random.Random) -> Circuit:
    """A whole one: output pair, screen choke, droppers, splitter, two to four small stages, bias supply."""
    made, before = fixed_bias(rng), "sc"
    for number in range(3, rng.randint(5, 7)):
        rail = f"r{number}"
        made.resistor(f"RD{number}", before, rail, some(rng, 4.7e3, 33e3)).capacitor(f"CD{number}", rail, "0", 22e-6, 1e7)
        _stage(made, rng, number, rail)
        before = rail
    made.resistor("RAL", before, "al", 82e3).resistor("RAR", before, "ar", 100e3)
    made.resistor("RGL", "gl", "t", 1e6).resistor("RGR", "gr", "t", 1e6)
    made.triode("V8", "al", "gl", "kt", "12AX7").triode("V9", "ar", "gr", "kt", "12AX7")
    made.resistor("RKT", "kt", "t", some(rng, 330, 1e3)).resistor("RT", "t", "0", some(rng, 6.8e3, 22e3))
    return made.capacitor("CL", "al", "g1", 22e-9, some(rng, 1e8, 1e12)).capacitor("CR", "ar", "g2", 22e-9, some(rng, 1e8, 1e12))


VALVE_NETS: dict[str, Callable[[random.Random], Circuit]] = {
    "common cathode": common_cathode, "follower": follower, "long-tail pair": long_tail, "cathodyne": cathodyne,
    "pentode stage": pentode_stage, "fixed bias": fixed_bias, "cathode bias": cathode_bias, "bias supply": bias_supply,
    "supply chain": supply_chain, "amplifier": amplifier, "preamp pentode": preamp_pentode, "shared cathode": shared_cathode,
}  # fmt: skip
ALL_NETS = {"resistors, sources, diodes": network, **VALVE_NETS}


def _grid(part: Part, grid: str, cathode: str, perveance: float) -> str:
    return f"b{part.name}g {grid} {cathode} i={perveance!r}*pow(max(v({grid},{cathode}),0),1.5)"


def _valve(part: Part) -> list[str]:
    assert part.valve is not None
    scaled = f"*{part.value!r}"
    if part.kind == "triode":
        anode, grid, cathode = part.nodes
        law = triode_source(valve(part.valve.name).triode(), part.name, anode, grid, cathode) + scaled
        # Below nought the anode passes nothing; the shared expression stops at a millivolt instead.
        return [law, _grid(part, grid, cathode, laws.TRIODE_GRID), f"rg{part.name} {anode} {cathode} 1e12"]
    anode, screen, grid, cathode = part.nodes
    both = pentode_sources(valve(part.valve.name).pentode(), part.name, anode, screen, grid, cathode).split("\n")
    held = [line.replace("i=", f"i={part.value!r}*(") + ")" for line in both]
    gmin = [f"rga{part.name} {anode} {cathode} 1e12", f"rgs{part.name} {screen} {cathode} 1e12"]
    return [*held, _grid(part, grid, cathode, laws.PENTODE_GRID), *gmin]


def prefixed(made: Circuit, prefix: str) -> Circuit:
    """The same circuit with other names, so that many stand in one netlist; the reference stays."""
    other = Circuit()
    for part in made.parts:
        nodes = tuple(node if node == "0" else prefix + node for node in part.nodes)
        other._parts[prefix + part.name] = replace(part, name=prefix + part.name, nodes=nodes)
    return other


def netlist(made: Circuit, *, driven: str = "") -> list[str]:
    """The lines of a circuit; the source named by `driven` is the one that a small signal comes from."""
    lines = []
    for part in made.parts:
        at, name = " ".join(part.nodes), part.name
        if part.kind == "resistor":
            lines.append(f"r{name} {at} {part.value!r}")
        elif part.kind == "capacitor":
            lines.append(f"c{name} {at} {part.value!r}")
            lines += [f"rl{name} {at} {part.second!r}"] if part.second else []
        elif part.kind == "inductor":
            start, end = part.nodes
            lines += [f"l{name} {start} x{name} {part.value!r}", f"rw{name} x{name} {end} {part.second or 1e-6!r}"]
        elif part.kind in ("volts", "amps"):
            lines.append(f"{part.kind[0].replace('a', 'i')}{name} {at} dc {part.value!r}" + (" ac 1" if name == driven else ""))
        elif part.kind == "diode":
            lines.append(f"d{name} {at} si")
        else:
            lines += _valve(part)
    return lines


def ladder(rng: random.Random) -> Circuit:
    """A filter: every node has a resistor or choke towards an earlier one, capacitors and chokes across the rest."""
    made, nodes = Circuit().volts("IN", "in", "0", 0.0), ["in"]
    for number in range(rng.randint(2, 7)):
        node, before = f"n{number}", rng.choice(nodes)
        if rng.random() < 0.25:
            made.inductor(f"L{number}", before, node, some(rng, 1e-3, 20), some(rng, 1, 500))
        else:
            made.resistor(f"R{number}", before, node, some(rng, 100, 1e6))
        made.capacitor(f"C{number}", node, rng.choice(["0", *nodes]), some(rng, 47e-12, 47e-6))
        nodes.append(node)
    made.resistor("RO", nodes[-1], "0", some(rng, 1e3, 1e6))
    return made.resistor("OUT", nodes[-1], "o", 1.0).resistor("RM", "o", "0", 1e7)


def tone(rng: random.Random) -> Circuit:
    """Treble, bass and middle on one slope resistor, driven from a stage's output resistance, with the pots anywhere."""
    made = Circuit().volts("IN", "in", "0", 0.0).resistor("RS", "in", "s", some(rng, 600, 100e3))
    at = [rng.uniform(0.02, 0.98) for _ in range(3)]
    made.capacitor("C1", "s", "t", some(rng, 100e-12, 1e-9)).resistor("R1", "s", "m", some(rng, 33e3, 100e3))
    made.capacitor("C2", "m", "b", some(rng, 10e-9, 220e-9)).capacitor("C3", "m", "d", some(rng, 10e-9, 220e-9))
    made.resistor("P1", "t", "o", 250e3 * (1 - at[0])).resistor("P2", "o", "b", 250e3 * at[0])
    made.resistor("P3", "b", "d", 1e6 * at[1]).resistor("P4", "d", "0", 25e3 * at[2])
    return made.resistor("RL", "o", "0", some(rng, 220e3, 4.7e6))


def coupled(rng: random.Random) -> Circuit:
    """Two stages with their coupling and bypass capacitors, and the Miller capacitance of the second put in."""
    made = Circuit().volts("B", "hv", "0", round(rng.uniform(220, 420), 1)).volts("IN", "in", "0", 0.0)
    first, grid_1 = _stage(made, rng, 1, "hv")
    second, grid_2 = _stage(made, rng, 2, "hv")
    made.resistor("RIN", "in", grid_1, some(rng, 1e3, 100e3)).capacitor("CC", first, "j", some(rng, 1e-9, 100e-9))
    made.resistor("RJ", "j", grid_2, some(rng, 1e3, 470e3)).capacitor("CM", second, grid_2, some(rng, 1e-12, 10e-12))
    return made.capacitor("CO", second, "o", some(rng, 1e-9, 1e-6)).resistor("RO", "o", "0", some(rng, 1e5, 1e6))
