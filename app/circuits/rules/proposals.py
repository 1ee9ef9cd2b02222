"""Which single fault, or which two at once, explain the readings of a sheet best. Pure.

A proposal is never a verdict: that is the technician's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import TYPE_CHECKING

from app.circuits.rules.assembled import Assembled, PartOf, regulation_of, source_of
from app.circuits.rules.blocks import BIAS_LAYOUTS, Block, Kind, Sheet, field_of
from app.circuits.rules.compare import HEAVY
from app.circuits.rules.supply import supply_faults, volts_with
from app.circuits.rules.work import GRID_HIGH, GRID_LOW, METER_OHM, Solved, Unsolved, loadings, solved, used, valued
from app.electrics import BiasRange, ElectricsError, bias_network, show

if TYPE_CHECKING:
    from app.electrics import Fault, PairProposal

KINDS = ("open", "short", "drifted", "leaky", "weak", "gassy", "shifted")
_TOLD, _FITS = 6, 2.5
_PAIRS_TOLD = 4
_LEAST_U, _MOST_U = 0.002, 0.05
_OPEN_OHM = 10e6  # what a bias feed is loaded with when it is read


@dataclass(frozen=True)
class Proposed:
    """One fault. words: what it is; misfit: what it leaves unexplained, in standard deviations a reading; predicts: (node,
    volts that a meter would show there with it).
    """

    part: PartOf
    kind: str
    words: str
    misfit: float
    explains: tuple[str, ...]
    predicts: tuple[tuple[str, float], ...]

    @property
    def fits(self) -> bool:
        """Whether it explains the readings at all well."""
        return self.misfit <= _FITS

    @property
    def place(self) -> str:
        """Where a finding of it lies."""
        return place_of(self.part)


@dataclass(frozen=True)
class ProposedPair:
    """Two faults at once. words, places: of each; the rest as `Proposed`."""

    words: tuple[str, ...]
    places: tuple[str, ...]
    misfit: float
    explains: tuple[str, ...]
    predicts: tuple[tuple[str, float], ...]

    @property
    def said(self) -> str:
        """Both in one sentence."""
        return f"Two parts at once: {' and '.join(self.words)}"


@dataclass(frozen=True)
class Search:
    """What was found. used: the nodes whose readings were held against the sheet; next_node: the reading that would tell the
    first proposals apart, by how much they differ there for what is known of it; pairs: searched only where no single fault
    explains the readings, and pair_node: what next_node is, of them.
    """

    used: tuple[str, ...]
    proposals: tuple[Proposed, ...] = ()
    next_node: str | None = None
    why_not: str = ""
    pairs: tuple[ProposedPair, ...] = ()
    pair_node: str | None = None

    @property
    def fits(self) -> bool:
        """Whether a single fault explains all readings."""
        return any(one.fits for one in self.proposals)


@lru_cache(maxsize=24)
def search(sheet: Sheet, mains_v: float | None, readings: tuple[tuple[str, float, float], ...],
           meter_ohm: float = METER_OHM, failing: tuple[str, ...] = ()) -> Search:
    """The faults that explain these readings, best first: (node, volts DC at the sheet's mains, expanded uncertainty in volts).

    The meter's own load is taken off each reading. Readings of nodes that the sheet does not know are left out, and those of
    which the meter takes much: with a fault it takes another share.  failing: the nodes that failed. Among many readings that
    are right a few that are wrong may pass for chance; then these alone are searched.
    """
    try:
        found = solved(sheet, mains_v)
    except Unsolved as wrong:
        return Search((), why_not=str(wrong))
    taken = loadings(found.made, meter_ohm) if found.made.circuit.parts else {}
    volts = {node: _unloaded(found, node, volt, taken[node]) for node, volt, _u in readings
             if found.made.node(node) and (taken[node] <= HEAVY or _is_grid(found, node))}
    if not volts:
        return Search((), why_not="No node that the sheet knows was read in volts DC.")
    shares = [u / abs(volt) for node, volt, u in readings if node in volts and abs(volt) > 1.0]
    uncertainty = min(max([_LEAST_U, *shares]), _MOST_U)
    told = _proposed(found, sheet, volts, uncertainty, taken)
    few = {node: volt for node, volt in volts.items() if node in failing}
    if not told.proposals and few and len(few) < len(volts):
        told = _proposed(found, sheet, few, uncertainty, taken)
    return told


def _is_grid(found: Solved, node: str) -> bool:
    known = found.made.node(node)
    return known is not None and known.grid


def _unloaded(found: Solved, node: str, volt: float, loading: float) -> float:
    """What stood there before the meter did; what a grid current that no model has may be is taken as what is expected."""
    known = found.made.node(node)
    if known is not None and known.grid and GRID_LOW <= volt <= GRID_HIGH:
        return found.point.volt[node]
    return volt / (1.0 - loading)


def _proposed(found: Solved, sheet: Sheet, volts: dict[str, float], uncertainty: float, taken: dict[str, float]) -> Search:
    from app.electrics import propose, propose_pairs

    made = found.made
    there = {part.name for part in made.circuit.parts}
    wanted: list[str | tuple[str, str] | Fault] = [(name, kind) for name in made.parts if name in there for kind in KINDS]
    wanted += [*_before_the_reservoirs(found, sheet), *_of_the_bias(made, sheet)]
    try:
        proposals = propose(made.circuit, volts, faults=wanted, tolerances=used(made), uncertainty=uncertainty)
        one_fits = any(one.misfit <= _FITS for one in proposals)
        pairs = () if one_fits else propose_pairs(made.circuit, volts, faults=wanted, tolerances=used(made),
                                                  uncertainty=uncertainty, fits=_FITS)
    except ElectricsError as wrong:
        return Search(tuple(volts), why_not=f"It could not be searched: {wrong}")
    shown = {one.name for one in made.nodes}

    def metered(predicts: dict[str, float]) -> tuple[tuple[str, float], ...]:
        return tuple((node, volt * (1.0 - taken[node])) for node, volt in predicts.items() if node in shown)

    said = tuple(Proposed(part_of(made, sheet, one.part), one.kind,
                          fault_words(made, sheet, one.part, one.kind, one.size), one.misfit,
                          tuple(node for node in one.explains if node in shown), metered(one.predicts))
                 for one in proposals[:_TOLD])
    apart = next((one.tells_apart for one in proposals if one.tells_apart in shown), None)
    both = tuple(_pair(made, sheet, one, metered(one.predicts)) for one in pairs[:_PAIRS_TOLD])
    return Search(tuple(volts), said, apart, pairs=both,
                  pair_node=next((one.tells_apart for one in pairs if one.tells_apart in shown), None))


def _pair(made: Assembled, sheet: Sheet, one: PairProposal, predicts: tuple[tuple[str, float], ...]) -> ProposedPair:
    shown = {node for node, _volt in predicts}
    return ProposedPair(tuple(fault_words(made, sheet, *fault) for fault in one.faults),
                        tuple(place_of(part_of(made, sheet, name)) for name, _kind, _size in one.faults), one.misfit,
                        tuple(node for node in one.explains if node in shown), predicts)


def place_of(part: PartOf) -> str:
    """Where a finding of a part lies."""
    return f"{part.reference}, {part.words}" if part.reference else part.words


def _before_the_reservoirs(found: Solved, sheet: Sheet) -> Iterator[Fault]:
    """Dried reservoirs and lost halves of rectifiers, each solved with what the amplifier then draws."""
    from app.electrics import Fault, solve

    for rail, feed in found.made.feeds.items():
        ohm = found.made.circuit.part(regulation_of(rail)).value
        for fault in supply_faults(feed, sheet):
            drawn, volts = found.point.amp[regulation_of(rail)], 0.0
            for _ in range(3):
                given = volts_with(fault.feed, ohm, max(drawn, 1e-6))
                if given is None:
                    break
                volts = given
                drawn = solve(valued(found.made.circuit, source_of(rail), volts)).amp[regulation_of(rail)]
            else:
                yield Fault(fault.part, fault.kind, fault.size, {source_of(rail): volts})


def _of_the_bias(made: Assembled, sheet: Sheet) -> Iterator[Fault]:
    """What a lifted wiper, a drifted range resistor, a dried reservoir or no feed at all make of a set bias."""
    from app.electrics import Fault

    for block in sheet.of_kind(Kind.BIAS):
        winding = sheet.block(block.word("fed_by"))
        mains = sheet.block(winding.word("fed_by")) if winding else None
        if block.name in made.unknown or winding is None or mains is None:
            continue

        network = partial(_network, block, winding.number("volt") * made.factor, mains.number("hz"))
        usual, source, name = network(), source_of(block.name), block.name
        set_v = abs(block.number("set_v")) * made.factor
        yield Fault(f"{name}.pot_ohm", "open", None, {source: abs(usual.wiper_open_v)})
        yield Fault(f"{name}.series_ohm", "open", None, {source: 0.0})
        for times in (0.5, 0.7, 1.5, 2.0, 3.0):
            yield Fault(f"{name}.range_ohm", "drifted", times, {source: set_v * network(ranged=times).mid_v / usual.mid_v})
        for times in (0.1, 0.02):
            yield Fault(f"{name}.farad", "dried", times, {source: set_v * network(farad=times).mid_v / usual.mid_v})


def _network(block: Block, tap_v: float, hz: float, *, farad: float = 1.0, ranged: float = 1.0) -> BiasRange:
    """The network of a bias supply with its reservoir and its range resistor at so many times their values."""
    return bias_network(tap_vrms=tap_v, mains_hz=hz, series_ohm=block.number("series_ohm"),
                        reservoir_farad=block.number("farad") * farad, range_ohm=block.number("range_ohm") * ranged,
                        pot_ohm=block.number("pot_ohm"), load_ohm=_OPEN_OHM, layout=BIAS_LAYOUTS[block.word("layout")])


def part_of(made: Assembled, sheet: Sheet, name: str) -> PartOf:
    """The part of that name, those before a reservoir too, which are in no circuit."""
    if name in made.parts:
        return made.parts[name]
    block_name, _dot, field = name.rpartition(".")
    block = sheet.block(block_name)
    if block is None:
        return PartOf(name, "", name, "")
    label = field_of(block.kind, field).label
    return PartOf(block_name, field, f"{block_name} {label[:1].lower()}{label[1:]}", block.of(field).reference)


def fault_words(made: Assembled, sheet: Sheet, name: str, kind: str, size: float | None) -> str:
    """The fault in the bench's words, with what it amounts to."""
    part = part_of(made, sheet, name)
    what = place_of(part)
    block = sheet.block(part.block)
    value = block.of(part.field).number if block and part.field else None
    unit = field_of(block.kind, part.field).unit if block and part.field else ""
    if kind == "drifted" and size is not None and value is not None:
        return f"{what}: drifted to about {show(value * size, 'ohm', digits=2)}"
    if kind == "dried" and size is not None:
        return f"{what}: dried out, to about {size:.0%} of its capacitance"
    if kind == "leaky" and size is not None:
        return f"{what}: leaky, about {show(size, 'ohm', digits=2)}"
    if kind == "weak" and size is not None:
        return f"{what}: weak, about {size:.0%} of the sheet’s emission"
    if kind == "gassy" and size is not None:
        return f"{what}: grid current, about {show(size, 'A', digits=2)}"
    if kind == "shifted" and size is not None and unit == "V" and value is not None:
        return f"{what}: about {show(value * size, 'V', digits=3)} instead of {show(value, 'V', digits=3)}"
    if kind == "shifted" and size is not None:
        return f"{what}: about {size:.0%} of what they should be"
    return f"{what}: {kind}"
