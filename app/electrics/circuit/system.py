"""A circuit made into arrays: modified nodal analysis with the parts' values kept apart from where they stand.

What a part adds to the equations is its value times a pattern that depends on its nodes alone.  The patterns are laid
out once; the equations of thousands of circuits that differ in their values are then one matrix product.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from numpy.typing import NDArray

from app.electrics.arrays import np
from app.electrics.circuit.laws import PENTODE_GRID, TRIODE_GRID, Array, Row, row
from app.electrics.circuit.parts import GROUND, Circuit, Part
from app.electrics.circuit.paths import refuse_floating, refuse_source_loops
from app.electrics.valves.kinds import PentodeModel, TriodeModel

CURVED = ("diode", "triode", "pentode")


@dataclass(frozen=True)
class Values:
    """The values of a circuit's parts, a row a sample: conductances (S), sources (V, A), emissions by kind."""

    siemens: Array
    volts: Array
    amps: Array
    diodes: Array
    triodes: Array
    pentodes: Array

    def repeat(self, samples: int) -> Values:
        """The first row so many times, to be changed."""
        return Values(*(np.repeat(getattr(self, name)[:1], samples, axis=0) for name in _FIELDS))

    def rows(self, which: NDArray[np.intp] | slice | list[int]) -> Values:
        """Some of the samples."""
        return Values(*(getattr(self, name)[which] for name in _FIELDS))

    def sources_times(self, factor: Array) -> Values:
        """The same with every source multiplied, a factor a sample."""
        return replace(self, volts=self.volts * factor[:, None], amps=self.amps * factor[:, None])


_FIELDS = ("siemens", "volts", "amps", "diodes", "triodes", "pentodes")


@dataclass(frozen=True)
class Flow:
    """The currents of the curved parts at some volts, and their slopes, in the order of the system's patterns."""

    amps: Array
    slopes: Array


@dataclass(frozen=True)
class Stamp:
    """Where numbers of one sort (conductances, slopes) stand in the matrix: only the places that any of them touches.

    A node hangs on a few others, so that most of a matrix is nought whatever the values are; the product over the places
    that are touched takes a tenth of the time of one over the whole matrix.
    """

    at: NDArray[np.intp]
    pattern: Array

    @staticmethod
    def of(patterns: Sequence[Array], size: int) -> Stamp:
        """From one matrix for each number, flat."""
        whole = np.array(patterns, dtype=np.float64).reshape(len(patterns), size * size)
        at = np.flatnonzero(whole.any(axis=0))
        return Stamp(at, np.ascontiguousarray(whole[:, at]))

    def onto(self, matrix: Array, numbers: Array) -> None:
        """Add the numbers (a row a sample) to the matrices (one a sample), in place."""
        matrix.reshape(len(matrix), -1)[:, self.at] += numbers @ self.pattern


@dataclass(frozen=True)
class System:
    """The patterns of one circuit.

    size: nodes, then one unknown for each source and each choke without resistance.  ports: the volts that control
    the curved parts, from the unknowns: diodes, then anode and grid of each triode, then anode, screen and grid of each
    pentode.  currents: (from, to) of each curved current.  slopes: (current, port) of each slope.
    """

    parts: tuple[Part, ...]
    nodes: tuple[str, ...]
    size: int
    fixed: Array
    siemens: tuple[str, ...]
    siemens_stamp: Stamp
    through: Array
    volts: tuple[str, ...]
    volts_pattern: Array
    amps: tuple[str, ...]
    amps_pattern: Array
    branches: tuple[str, ...]
    diodes: tuple[str, ...]
    triodes: tuple[str, ...]
    pentodes: tuple[str, ...]
    triode_row: Row[TriodeModel]
    pentode_row: Row[PentodeModel]
    ports: Array
    inject: Array
    slope_stamp: Stamp
    slope_of: tuple[tuple[int, int], ...]
    nominal: Values

    def linear(self, values: Values) -> tuple[Array, Array]:
        """(matrix, right side) of everything that is not curved, a sample each."""
        count = len(values.siemens)
        matrix = np.repeat(self.fixed[None], count, axis=0)
        self.siemens_stamp.onto(matrix, values.siemens)
        right = values.volts @ self.volts_pattern + values.amps @ self.amps_pattern
        return matrix, right

    @property
    def grid_perveance(self) -> tuple[float, float]:
        """Of a triode's grid and of a pentode's."""
        return TRIODE_GRID, PENTODE_GRID


class _Layout:
    """Rows and columns of the unknowns; the reference has none."""

    def __init__(self, circuit: Circuit) -> None:
        named = dict.fromkeys(node for part in circuit.parts for node in part.nodes if node != GROUND)
        self.nodes = tuple(named)
        self.row = {node: number for number, node in enumerate(self.nodes)}
        self.branches = tuple(p.name for p in circuit.parts if p.kind == "volts" or (p.kind == "inductor" and not p.second))
        self.branch = {name: len(self.nodes) + number for number, name in enumerate(self.branches)}
        self.size = len(self.nodes) + len(self.branches)

    def across(self, plus: str, minus: str) -> Array:
        """The volts between two nodes as a row over the unknowns; as a column, a current from plus to minus."""
        found = np.zeros(self.size)
        if plus != GROUND:
            found[self.row[plus]] += 1.0
        if minus != GROUND:
            found[self.row[minus]] -= 1.0
        return found

    def stack(self, rows: Sequence[Array], width: int) -> Array:
        return np.array(rows, dtype=np.float64).reshape(len(rows), width)


def _of(circuit: Circuit, *kinds: str) -> list[Part]:
    return [part for part in circuit.parts if part.kind in kinds]


def _fixed(layout: _Layout, circuit: Circuit) -> Array:
    """The rows and columns of sources and of chokes without resistance."""
    matrix = np.zeros((layout.size, layout.size))
    for part in _of(circuit, "volts", "inductor"):
        if part.name in layout.branch:
            across, at = layout.across(*part.nodes), layout.branch[part.name]
            matrix[:, at] += across
            matrix[at, :] += across
    return matrix


def _conductances(circuit: Circuit) -> list[tuple[Part, float]]:
    """Every path that a conductance may stand in, with the conductance: 0 for a capacitor that does not leak.

    A diode has one too, of 0, so that a short across it is a value and not another circuit.
    """
    found: list[tuple[Part, float]] = []
    for part in circuit.parts:
        if part.kind == "resistor":
            found.append((part, 1.0 / part.value))
        elif part.kind == "capacitor":
            found.append((part, 0.0 if part.second is None else 1.0 / part.second))
        elif part.kind == "inductor" and part.second:
            found.append((part, 1.0 / part.second))
        elif part.kind == "diode":
            found.append((part, 0.0))
    return found


def gas_name(valve: str) -> str:
    """The name of the grid current source that a gassy valve has; 0 in a sound one."""
    return f"{valve}.gas"


def _currents(part: Part, first_port: int) -> Iterator[tuple[tuple[str, str], list[int]]]:
    """Each curved current of a part: from and to, and the ports whose volts move it."""
    if part.kind == "diode":
        yield part.nodes[:2], [first_port]  # type: ignore[misc]
    elif part.kind == "triode":
        anode, grid, cathode = part.nodes
        yield (anode, cathode), [first_port, first_port + 1]
        yield (grid, cathode), [first_port + 1]
    else:
        anode, screen, grid, cathode = part.nodes
        yield (anode, cathode), [first_port, first_port + 1, first_port + 2]
        yield (screen, cathode), [first_port, first_port + 1, first_port + 2]
        yield (grid, cathode), [first_port + 2]


def build(circuit: Circuit) -> System:
    """Lay a circuit out; ElectricsError for a node that floats and for a loop of sources."""
    refuse_floating(circuit)
    refuse_source_loops(circuit)
    layout = _Layout(circuit)
    size = layout.size
    paths = _conductances(circuit)
    sources, drives = _of(circuit, "volts"), _of(circuit, "amps")
    curved = [part for kind in CURVED for part in _of(circuit, kind)]
    ports: list[Array] = []
    inject: list[Array] = []
    slopes: list[Array] = []
    slope_of: list[tuple[int, int]] = []
    for part in curved:
        first = len(ports)
        ports += [layout.across(node, part.nodes[-1]) for node in part.nodes[:-1]]
        for (start, end), moved_by in _currents(part, first):
            current = layout.across(start, end)
            for port in moved_by:
                slope_of.append((len(inject), port))
                slopes.append(np.outer(current, ports[port]).ravel())
            inject.append(current)
    volt_rows = [np.eye(size)[layout.branch[part.name]] for part in sources]
    amp_rows = [-layout.across(*part.nodes) for part in drives]
    amp_names, amp_values = [part.name for part in drives], [part.value for part in drives]
    for part in curved:
        if part.kind != "diode":
            amp_names.append(gas_name(part.name))
            amp_values.append(0.0)
            amp_rows.append(-layout.across(part.nodes[0], part.nodes[-2]))  # ions: from the anode into the grid
    through = [layout.across(*part.nodes) for part, _ in paths]
    triodes, pentodes = _of(circuit, "triode"), _of(circuit, "pentode")
    return System(
        parts=circuit.parts, nodes=layout.nodes, size=size, fixed=_fixed(layout, circuit),
        siemens=tuple(part.name for part, _ in paths),
        siemens_stamp=Stamp.of([np.outer(one, one).ravel() for one in through], size),
        through=layout.stack(through, size),
        volts=tuple(part.name for part in sources), volts_pattern=layout.stack(volt_rows, size),
        amps=tuple(amp_names), amps_pattern=layout.stack(amp_rows, size), branches=layout.branches,
        diodes=tuple(part.name for part in _of(circuit, "diode")),
        triodes=tuple(part.name for part in triodes), pentodes=tuple(part.name for part in pentodes),
        triode_row=row([part.valve.triode() for part in triodes if part.valve]),
        pentode_row=row([part.valve.pentode() for part in pentodes if part.valve]),
        ports=layout.stack(ports, size), inject=layout.stack(inject, size),
        slope_stamp=Stamp.of(slopes, size), slope_of=tuple(slope_of),
        nominal=Values(
            np.array([[siemens for _, siemens in paths]]).reshape(1, len(paths)),
            np.array([[part.value for part in sources]]).reshape(1, len(sources)),
            np.array([amp_values], dtype=np.float64).reshape(1, len(amp_values)),
            *(np.array([[part.value for part in _of(circuit, kind)]]).reshape(1, -1) for kind in CURVED),
        ),
    )  # fmt: skip
