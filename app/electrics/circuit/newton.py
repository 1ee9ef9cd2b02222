"""Newton's method on many samples of one circuit at once, and what is tried where it does not settle.

Each step takes every curved part as a straight line through its present volts; how far those volts may move in a step
is limited (a diode by its bend, a grid by some volts), as circuit simulators do it.  A sample that does not settle is
walked there: sources raised from nothing, and failing that with a capacitor on every node and growing time steps,
which follows the circuit as it would settle on a bench.
"""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import NDArray

from app.electrics.arrays import np
from app.electrics.circuit.laws import Array, diode, grid, limited_diode, pentode, triode
from app.electrics.circuit.system import Flow, System, Values
from app.electrics.errors import ElectricsError

ABSOLUTE_V, RELATIVE = 1e-8, 1e-9
_STEPS = 80
_WALK = 120  # time steps: 26 where none is taken back; a fault of which no volts come to rest is given up after these
# A short of milliohms between paths of megohms leaves no more digits than this in a matrix of 64-bit numbers: a sample
# that only trembles by it has settled, however long it goes on trembling.  A thousandth of what is asked of a solution.
_TREMBLE, _TREMBLES_AFTER = 1e-6, 25
_GRID_STEP_V, _ANODE_SHARE, _LOW_ANODE_V = 4.0, 0.2, 1e-4
_DEAD_DIODE = 1e-3
_RUNAWAY_V = 1e7


@dataclass(frozen=True)
class Settled:
    """Unknowns and port volts, a row a sample, and which samples settled."""

    x: Array
    ports: Array
    fine: NDArray[np.bool_]


def flow(system: System, ports: Array, values: Values) -> Flow:
    """Currents of the curved parts at the volts of their ports, and their slopes, in the system's order."""
    nd, nt = len(system.diodes), len(system.triodes)
    amps: list[Array] = []
    slopes: list[Array] = []
    if nd:
        current, slope = diode(ports[:, :nd], values.diodes)
        amps.append(current)
        slopes.append(slope)
    triode_grid, pentode_grid = system.grid_perveance
    if nt:
        anode_v, grid_v = ports[:, nd : nd + 2 * nt : 2], ports[:, nd + 1 : nd + 2 * nt : 2]
        current, gm, ga = triode(system.triode_row, anode_v, grid_v, values.triodes)
        into, by_grid = grid(triode_grid, grid_v)
        amps.append(np.stack((current, into), axis=2).reshape(len(ports), -1))
        slopes.append(np.stack((ga, gm, by_grid), axis=2).reshape(len(ports), -1))
    if system.pentodes:
        base = nd + 2 * nt
        anode_v, screen_v, grid_v = (ports[:, base + number :: 3] for number in range(3))
        found = pentode(system.pentode_row, anode_v, screen_v, grid_v, values.pentodes)
        into, by_grid = grid(pentode_grid, grid_v)
        amps.append(np.stack((found.anode, found.screen, into), axis=2).reshape(len(ports), -1))
        slopes.append(np.stack((*found.anode_by, *found.screen_by, by_grid), axis=2).reshape(len(ports), -1))
    if not amps:
        return Flow(np.zeros((len(ports), 0)), np.zeros((len(ports), 0)))
    return Flow(np.concatenate(amps, axis=1), np.concatenate(slopes, axis=1))


def jacobian(system: System, matrix: Array, slopes: Array) -> Array:
    """A copy of the linear matrix with the slopes of the curved parts added."""
    whole = matrix.copy()
    system.slope_stamp.onto(whole, slopes)
    return whole


def equivalent(system: System, found: Flow, ports: Array) -> Array:
    """What the straight lines through the present volts add to the right side."""
    rest = found.amps.copy()
    for number, (current, port) in enumerate(system.slope_of):
        rest[:, current] -= found.slopes[:, number] * ports[:, port]
    return -(rest @ system.inject)


def limited(system: System, new: Array, old: Array, values: Values) -> Array:
    """The port volts that a step is allowed to reach."""
    nd, nt = len(system.diodes), len(system.triodes)
    out = new.copy()
    if nd:
        # A dead diode bends nowhere.
        out[:, :nd] = np.where(values.diodes > _DEAD_DIODE, limited_diode(new[:, :nd], old[:, :nd]), new[:, :nd])
    for at in [slice(nd + 1, nd + 2 * nt, 2), slice(nd + 2 * nt + 2, None, 3)]:
        room = _GRID_STEP_V + 0.5 * np.abs(old[:, at])
        out[:, at] = np.clip(new[:, at], old[:, at] - room, old[:, at] + room)
    # Below nought an anode passes nothing and has no slope that would lead back: it comes down to it by shares.
    base = nd + 2 * nt
    for at in [slice(nd, base, 2), slice(base, None, 3), slice(base + 1, None, 3)]:
        falls = (old[:, at] > _LOW_ANODE_V) & (new[:, at] < _ANODE_SHARE * old[:, at])
        out[:, at] = np.where(falls, _ANODE_SHARE * old[:, at], new[:, at])
    return out


def newton(system: System, values: Values, start: Array, *, extra: Array | None = None, toward: Array | None = None) -> Settled:
    """Settle every sample from `start`; `extra` (S) from every node to the volts `toward` is a walk's time step."""
    matrix, right = system.linear(values)
    if extra is not None and toward is not None:
        count = len(system.nodes)
        matrix = matrix.copy()
        matrix[:, np.arange(count), np.arange(count)] += extra[:, None]
        right = right.copy()
        right[:, :count] += extra[:, None] * toward[:, :count]
    x, ports = start.copy(), start @ system.ports.T
    fine = np.zeros(len(x), dtype=bool)
    busy = np.arange(len(x))
    for number in range(_STEPS):
        now = ports[busy]
        part = values.rows(busy)
        found = flow(system, now, part)
        whole = matrix[busy]  # a copy, as every choice by numbers is
        system.slope_stamp.onto(whole, found.slopes)
        step = _solved(whole, right[busy] + equivalent(system, found, now))
        wanted = step @ system.ports.T
        moved = limited(system, wanted, now, part)
        fixed, share = (ABSOLUTE_V, RELATIVE) if number < _TREMBLES_AFTER else (_TREMBLE, _TREMBLE)
        still = (np.abs(wanted - now) <= fixed + share * np.abs(now)).all(axis=1)
        # The nodes that hang on no curved part follow at once; the others have to stand still too.
        still &= (np.abs(step - x[busy]) <= 1e-6 + max(1e-7, share) * np.abs(step)).all(axis=1) | (system.ports.shape[0] == 0)
        x[busy], ports[busy] = step, moved
        fine[busy[still]] = True
        busy = busy[~still]
        if not len(busy):
            break
    return Settled(x, ports, np.asarray(fine & np.isfinite(x).all(axis=1), dtype=np.bool_))


def _solved(matrix: Array, right: Array) -> Array:
    """The stacked solution; a matrix that has none gives volts that no circuit has, so that its sample does not settle."""
    try:
        return np.asarray(np.linalg.solve(matrix, right[:, :, None])[:, :, 0], dtype=np.float64)
    except np.linalg.LinAlgError:
        out = np.full(right.shape, np.nan)
        for number in range(len(matrix)):
            try:
                out[number] = np.linalg.solve(matrix[number], right[number])
            except np.linalg.LinAlgError:
                continue
        return out


def settle(system: System, values: Values, start: Array | None = None) -> Array:
    """The unknowns of every sample; ElectricsError where one has no solution, by the node that runs away."""
    count = len(values.siemens)
    first = np.zeros((count, system.size)) if start is None else start
    with np.errstate(all="ignore"):
        found = newton(system, values, first)
        x = found.x
        for sample in np.flatnonzero(~found.fine):
            x[sample] = _walked(system, values.rows([int(sample)]))
    _refuse_runaway(system, x)
    return x


def _walked(system: System, values: Values) -> Array:
    """One stubborn sample."""
    for walk in (_by_sources, _by_time):
        x = walk(system, values)
        if x is not None:
            return np.asarray(x[0])
    raise ElectricsError("circuit", "one whose volts do not settle", "a circuit that has a solution")


def _by_sources(system: System, values: Values) -> Array | None:
    """Raise every source from nothing, in steps that grow while they settle and shrink where they do not."""
    x = np.zeros((1, system.size))
    reached, step = 0.0, 0.1
    for _ in range(200):
        aim = min(1.0, reached + step)
        found = newton(system, values.sources_times(np.array([aim])), x)
        if found.fine[0]:
            x, reached, step = found.x, aim, 2.0 * step
            if reached == 1.0:
                return x
        else:
            step *= 0.25
            if step < 1e-7:
                return None
    return None


def _by_time(system: System, values: Values) -> Array | None:
    """Let the circuit settle as with a capacitor on every node: the conductance of a time step falls from 1 S."""
    x = np.zeros((1, system.size))
    siemens = 1.0
    for _ in range(_WALK):
        found = newton(system, values, x, extra=np.array([siemens]), toward=x)
        if found.fine[0]:
            x, siemens = found.x, siemens * 0.3
            if siemens < 1e-13:
                last = newton(system, values, x)
                return last.x if last.fine[0] else None
        else:
            siemens *= 8.0
            if siemens > 1e9:
                return None
    return None


def _refuse_runaway(system: System, x: Array) -> None:
    volts = np.abs(x[:, : len(system.nodes)])
    if not np.isfinite(x).all():
        raise ElectricsError("circuit", "one without a solution", "a circuit that has one")
    if volts.size and float(volts.max()) > _RUNAWAY_V:
        node = system.nodes[int(volts.max(axis=0).argmax())]
        allowed = "one that finite volts satisfy: a current is driven into it that no part can carry away"
        raise ElectricsError("node", node, allowed)
