"""The sheet worked: supplies and circuit solved together, and what a meter should show at every node. Pure.

A sheet is worked at the tap's volts and at the mains as measured: what is read is said both ways.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from app.circuits.rules.assemble import ANY_MAINS, READ_MAINS, assemble
from app.circuits.rules.assembled import GROUND, Assembled, Node, regulation_of, source_of
from app.circuits.rules.blocks import Kind, Sheet
from app.circuits.rules.ripple import band_of_ripple, spread_of_ripples
from app.circuits.rules.supply import Rail, rails_of
from app.circuits.rules.wiring import in_chain, tree_of
from app.electrics import ElectricsError, heater_voltage, show, valve

if TYPE_CHECKING:
    from app.electrics import Circuit, Point

SAMPLES, SEED = 400, 1
METER_OHM = 10e6  # the usual input of a digital meter on volts DC: common practice, no source
_ROUNDS, _CLOSE = 20, 2e-4
_NOTHING_V = 1e-4  # what is left of a node at chassis is the arithmetic's
# A grid that returns to chassis stands within this of it: the current that a hot cathode drives into a large grid leak is in
# no model here. Common practice, no source.
GRID_LOW, GRID_HIGH = -1.0, 0.1
FLOOR_V = 0.003  # what is left when nothing of the node can vary
HEATERS_WITHIN = 0.10  # `heater_voltage`, which names its source
_BEYOND = 1.5


@dataclass(frozen=True)
class Range:
    """What a meter should show: the value and the band about it, volts."""

    low: float
    value: float
    high: float


@dataclass(frozen=True)
class Expected:
    """What a node should read at the mains as measured, and at the tap's volts. loading: the share that the meter takes; words:
    what is to be known of the reading itself.
    """

    node: Node
    now: Range
    at_tap: Range
    loading: float
    words: str = ""


@dataclass(frozen=True)
class Worked:
    """All that follows from a sheet. why_not: by block, what cannot be known yet and for want of what."""

    expected: tuple[Expected, ...] = ()
    rails: tuple[Rail, ...] = ()
    why_not: tuple[tuple[str, tuple[str, ...]], ...] = ()
    notes: tuple[str, ...] = ()
    factor: float = 1.0
    watts: tuple[tuple[str, float, float | None], ...] = ()

    def of(self, node: str) -> Expected | None:
        """What is expected of a node."""
        return next((one for one in self.expected if one.node.name == node), None)


@dataclass
class Solved:
    """An assembled sheet at rest."""

    made: Assembled
    point: Point
    rails: tuple[Rail, ...]
    refused: dict[str, tuple[str, ...]] = field(default_factory=dict)


class Unsolved(Exception):
    """The circuit has no rest; the words say why."""


@lru_cache(maxsize=48)
def work(sheet: Sheet, mains_v: float | None, meter_ohm: float = METER_OHM) -> Worked:
    """What every node of a sheet should read. mains_v: the mains at the amp, None if nobody read it."""
    try:
        now = solved(sheet, mains_v)
        tap = now if now.made.factor == 1.0 else solved(sheet, None)
    except Unsolved as wrong:
        made = assemble(sheet, mains_v)
        return Worked(why_not=(*made.unknown.items(), ("the whole", (str(wrong),))), notes=tuple(made.notes), factor=made.factor,
                      expected=_heaters(sheet, made, set()))
    dropped = {*now.refused, *tap.refused}
    why_not = {**now.made.unknown, **tap.refused, **now.refused}
    direct = (*_direct(sheet, now, tap, meter_ohm, dropped), *_ripples(sheet, now, tap, dropped))
    return Worked((*direct, *_heaters(sheet, now.made, dropped)), tuple(one for one in now.rails if one.name not in dropped),
                  tuple(why_not.items()), tuple(now.made.notes), now.made.factor, _watts(now))


def solved(sheet: Sheet, mains_v: float | None) -> Solved:
    """The sheet's circuit with what its supplies give; Unsolved in words if there is none."""
    from app.electrics import Point, solve  # here: a page that shows no sheet must not wait for numpy

    made = assemble(sheet, mains_v)
    try:
        point = solve(made.circuit) if made.circuit.parts else Point({GROUND: 0.0}, {}, {})
        for _ in range(_ROUNDS):
            if not made.feeds or _settled(made, point):
                break
            _set_supplies(made, point)
            point = solve(made.circuit)
        else:
            raise Unsolved("the supply and what it feeds settle at no volts: look at the windings’ ohms and the loads")
        return Solved(made, point, _rails(made, sheet, point), _refused(made, sheet, point))
    except ElectricsError as wrong:
        raise Unsolved(_words(wrong)) from wrong


def _words(wrong: ElectricsError) -> str:
    if wrong.argument.startswith("load_"):
        return "the winding cannot give what the sheet draws from it: its volts, its ohms or a load is wrong"
    return f"it cannot be solved: {wrong.argument} {wrong.value} must be {wrong.allowed}"


def _drawn(point: Point, rail: str) -> float:
    return max(point.amp[regulation_of(rail)], 1e-6)


def _settled(made: Assembled, point: Point) -> bool:
    return all(abs(feed.at(_drawn(point, rail)).mean_v - point.volt[rail]) <= _CLOSE * abs(point.volt[rail])
               for rail, feed in made.feeds.items())


def _set_supplies(made: Assembled, point: Point) -> None:
    """Let each source be what its supply is about the current that is drawn."""
    for rail, feed in made.feeds.items():
        volts, ohm = feed.line(_drawn(point, rail))
        made.circuit = valued(valued(made.circuit, source_of(rail), volts), regulation_of(rail), ohm)


def valued(circuit: Circuit, name: str, value: float) -> Circuit:
    """The circuit with one part of another value."""
    return circuit.replace(name, lambda part: replace(part, value=value))


def _rails(made: Assembled, sheet: Sheet, point: Point) -> tuple[Rail, ...]:
    found: list[Rail] = []
    for rail, feed in made.feeds.items():
        block = sheet.block(rail)
        if block is not None:
            inside = tree_of(block, sheet)
            current = {name: max(point.amp[part], 0.0) for name, part in made.through.items() if name in inside}
            found += rails_of(feed, sheet, {**current, rail: _drawn(point, rail)})
    places = {one.name: place for place, one in enumerate(in_chain(sheet))}
    return tuple(sorted(found, key=lambda one: places[one.name]))


def _refused(made: Assembled, sheet: Sheet, point: Point) -> dict[str, tuple[str, ...]]:
    """Blocks of which a valve stands where its model says nothing; an output stage takes its supply with it."""
    found: dict[str, tuple[str, ...]] = {}
    for part in made.circuit.parts:
        if part.valve is None:
            continue
        why = _outside(part.name, part.nodes, part.valve.name, point)
        if not why:
            continue
        block = made.parts[part.name].block
        found[block] = (why,)
        stage = sheet.block(block)
        if stage is not None and stage.kind is Kind.OUTPUT and (rail := sheet.block(stage.word("fed_by"))) is not None:
            for name in tree_of(rail, sheet):
                for one in (name, *(b.name for b in sheet.blocks if b.word("fed_by") == name)):
                    found.setdefault(one, (f"{block} draws what its model says nothing about",))
    # Stages on one cathode resistor stand and fall together: first what has the resistor, then all that share it.
    sharing = [(one.name, one.shares) for one in sheet.of_kind(Kind.STAGE) if one.shares]
    for name, other in (*sharing, *((owner, sharer) for sharer, owner in sharing)):
        if name in found:
            found.setdefault(other, (f"{name}, on the same cathode resistor, is not known",))
    return found


def _outside(name: str, nodes: tuple[str, ...], type_name: str, point: Point) -> str:
    limits = valve(type_name).limits()
    cathode = point.volt[nodes[-1]]
    across, drive = point.volt[nodes[0]] - cathode, point.volt[nodes[-2]] - cathode
    watts = point.watt[f"{name}.anode"]
    if drive > 0.3:
        return f"the grid of {name} comes out {drive:.1f} V above its cathode, where its model is a guess"
    if limits.anode_v is not None and across > _BEYOND * limits.anode_v:
        return f"{name} comes out at {across:.0f} V anode to cathode; a {type_name} is rated {limits.anode_v:g} V"
    if limits.anode_w is not None and watts > _BEYOND * limits.anode_w:
        return f"{name} comes out at {watts:.0f} W; a {type_name} is rated {limits.anode_w:g} W: no valve stands that"
    return ""


def _direct(sheet: Sheet, now: Solved, tap: Solved, meter_ohm: float, dropped: set[str]) -> tuple[Expected, ...]:
    """Every node in volts DC, as the meter would show it."""
    nodes = [one for one in now.made.nodes if not one.mains and one.block not in dropped and one.name in now.point.volt]
    if not nodes:
        return ()
    from app.electrics import expected

    bands = expected(now.made.circuit, tolerances=used(now.made), samples=SAMPLES, seed=SEED)
    taken = loadings(now.made, meter_ohm)
    found = []
    order = dict.fromkeys([*(one.name for one in in_chain(sheet)), *(one.name for one in sheet.blocks)])
    places = {name: place for place, name in enumerate(order)}
    for node in sorted(nodes, key=lambda one: places[one.block]):
        band, loss = bands[node.name], 1.0 - taken[node.name]
        here = _range(node, band.low * loss, band.nominal * loss, band.high * loss)
        value = tap.point.volt[node.name] * loss
        scale = value / here.value if abs(here.value) > 1e-6 else 1.0
        there = here if tap is now else _range(node, here.low * scale, value, here.high * scale)
        found.append(Expected(node, here, there, taken[node.name]))
    return tuple(found)


def _ripples(sheet: Sheet, now: Solved, tap: Solved, dropped: set[str]) -> tuple[Expected, ...]:
    """What rides on every rail, as a true-rms meter shows it."""
    rails, found = {one.name: one for one in tap.rails}, []
    spreads = spread_of_ripples(sheet, now.made, now.rails, used(now.made)) if now.rails else {}
    for rail in now.rails:
        if rail.name in dropped or rail.name not in rails:
            continue
        here, there = (Range(*band_of_ripple(one.ripple_vrms, spreads[rail.name])) for one in (rail, rails[rail.name]))
        words = f"true rms without the DC, {rail.ripple_hz:g} Hz; {show(rail.ripple_vpp, 'V', digits=2)} peak to peak"
        found.append(Expected(Node(f"{rail.name} ripple", rail.name, "ripple", ripple=True), here, there, 0.0, words))
    return tuple(found)


def _range(node: Node, low: float, value: float, high: float) -> Range:
    value = 0.0 if abs(value) < _NOTHING_V else value
    low, high = min(low, value, high), max(low, value, high)
    if node.grid:
        return Range(min(low, GRID_LOW), value, max(high, GRID_HIGH))
    return Range(min(low, value - FLOOR_V), value, max(high, value + FLOOR_V))


def used(made: Assembled) -> dict[str, float]:
    """The tolerances of what is in the circuit: kinds of which it has no part are left out."""
    return {name: share for name, share in made.tolerances.items() if share > 0.0}


def loadings(made: Assembled, meter_ohm: float) -> dict[str, float]:
    """The share of each node's volts that a meter from it to chassis takes: its source resistance, from the slopes at rest."""
    from app.electrics.arrays import np
    from app.electrics.circuit.newton import flow, jacobian, settle
    from app.electrics.circuit.system import build

    system = build(made.circuit)
    x = settle(system, system.nominal)
    matrix, _right = system.linear(system.nominal)
    with np.errstate(all="ignore"):
        whole = jacobian(system, matrix, flow(system, x @ system.ports.T, system.nominal).slopes)[0]
    ohms = np.diag(np.linalg.inv(whole))
    return {node: float(max(ohm, 0.0) / (max(ohm, 0.0) + meter_ohm)) for node, ohm in zip(system.nodes, ohms, strict=False)}


def _heaters(sheet: Sheet, made: Assembled, dropped: set[str]) -> tuple[Expected, ...]:
    """Heaters in volts AC: nominal times what the mains is of its tap, within a tenth of nominal."""
    found = []
    mains = next(sheet.of_kind(Kind.MAINS), None)
    tap = mains.of("tap_v").number if mains else None
    for node in made.nodes:
        block = sheet.block(node.block)
        if not node.mains or block is None or tap is None or node.block in dropped:
            continue
        nominal = block.number("volt")
        at = heater_voltage(nominal_v=nominal, measured_mains_v=tap * made.factor, tap_v=tap).heater_v
        low, high = nominal * (1 - HEATERS_WITHIN), nominal * (1 + HEATERS_WITHIN)
        found.append(Expected(node, Range(low, at, high), Range(low, nominal, high), 0.0))
    return tuple(found)


def _watts(now: Solved) -> tuple[tuple[str, float, float | None], ...]:
    """(valve, watts in its anode, the limit of its sheet)."""
    return tuple((part.name, now.point.watt[f"{part.name}.anode"], part.valve.limits().anode_w)
                 for part in now.made.circuit.parts
                 if part.valve is not None and now.made.parts[part.name].block not in now.refused)


def mains_spread(made: Assembled) -> float:
    """How far the mains may be from what the sheet was worked at."""
    return READ_MAINS if made.tolerances["volts"] < ANY_MAINS else ANY_MAINS
