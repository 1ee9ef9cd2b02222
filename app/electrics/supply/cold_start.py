"""Switching on with cold valves: the highest volts that every capacitor of the chain sees before anything is drawn.

The network is linear but for the rectifier, and the rectifier feeds one node.  Over a time step its current is
taken as a straight line, for which the linear part has an exact solution (matrix exponential); what is left, the
current at the step's end, is the rectifier's own law with a little more resistance in series.  While the rectifier
blocks, a whole mains pulse is one product.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, several, within
from app.electrics.extremes import finite_result
from app.electrics.supply.chain import LC, RC, chain_network, check_stages, filter_chain, reservoir_under
from app.electrics.supply.reservoir import Load, capacitor_input, winding
from app.electrics.supply.steady import Network, Source
from app.electrics.valves import Valve

_STEPS, _MOST_STEPS = 200, 4000
_TURN = 0.15  # rad of the fastest ring in one step
_LEAST_PULSES, _ALL_STEPS = 60, 150_000
_RINGS, _LEAST_RINGS = 40.0, 3.0
_AS_HIGH = 0.999


@dataclass(frozen=True)
class ColdStart:
    """A supply from switch-on, capacitors empty and valves cold.

    highest_v: the highest volts on each capacitor, reservoir first: what its rating has to stand.  highest_at_s: when
    the highest of them is reached (within a thousandth).  inrush_peak_a: peak rectifier current with the mains
    switched on as it passes zero; inrush_worst_a: with the mains switched on at its crest.  settled_v: what each
    capacitor comes to; with nothing drawn a choke leaves it above the winding's peak.  diode_piv_v: reverse volts on
    each rectifier while the reservoir is at its highest.
    """

    highest_v: tuple[float, ...]
    highest_at_s: float
    inrush_peak_a: float
    settled_v: tuple[float, ...]
    inrush_worst_a: float = 0.0
    diode_piv_v: float = 0.0


@dataclass(frozen=True)
class _Stepper:
    """One time step: x(h) = free @ x + early * i(0) + late * i(h), and the same free run for every step of a pulse."""

    source: Source
    free: Array
    early: Array
    late: Array
    runs: Array
    emf: Array

    def conduct(self, state: Array, current: float, step: int) -> tuple[Array, float]:
        """The state and current at the end of this step of the pulse, the rectifier conducting."""
        blocked = self.free @ state + self.early * current
        u = float(self.emf[step + 1]) - float(blocked[0])
        after = max(self.source.law.passed(u, self.source.ohm + float(self.late[0])), 0.0) if u > 0.0 else 0.0
        return blocked + self.late * after, after


def _stepper(source: Source, net: Network, steps: int) -> _Stepper:
    from scipy.linalg import expm  # here: a page that asks for no sum must not wait for scipy

    h, n = source.period_s / steps, len(net.drive)
    whole = np.zeros((n + 2, n + 2))
    whole[:n, :n] = net.matrix * h
    whole[0, n] = h / net.reservoir_farad
    whole[n, n + 1] = 1.0
    solved = expm(whole)
    free, constant, ramp = solved[:n, :n], solved[:n, n], solved[:n, n + 1]
    runs = np.empty((steps, n, n))
    runs[0] = free
    for step in range(1, steps):
        runs[step] = free @ runs[step - 1]
    return _Stepper(source, free, constant - ramp, ramp, runs, source.emf(np.linspace(0.0, source.period_s, steps + 1)))


@dataclass
class _Record:
    """What is kept of a run: the highest of every pulse, and when."""

    rows: list[int]
    step_s: float
    inrush_a: float = 0.0
    highest: list[Array] = field(default_factory=list)
    moments: list[Array] = field(default_factory=list)

    def pulse(self, states: Array, start_s: float) -> None:
        volts = states[:, self.rows]
        at = volts.argmax(axis=0)
        self.highest.append(volts[at, np.arange(len(self.rows))])
        self.moments.append(start_s + (at + 1) * self.step_s)

    def first_at(self, volt: float) -> float:
        """When a node first came to so many volts; the end of the run where none did."""
        for highest, moments in zip(self.highest, self.moments, strict=True):
            reached = highest >= volt
            if reached.any():
                return float(moments[reached].min())
        return float(self.moments[-1].max())


def _run(stepper: _Stepper, size: int, pulses: int, record: _Record) -> Array:
    """Every pulse in turn from empty; returns the last state."""
    steps = len(stepper.runs)
    state, current = np.zeros(size), 0.0
    for pulse in range(pulses):
        states = np.empty((steps, size))
        step = 0
        while step < steps:
            if current == 0.0:
                free = stepper.runs[: steps - step] @ state
                on = stepper.emf[step + 1 :] > free[:, 0]
                blocked = int(on.argmax()) if on.any() else steps - step
                states[step : step + blocked] = free[:blocked]
                step += blocked
                state = free[blocked - 1] if blocked else state
                if step == steps:
                    break
            state, current = stepper.conduct(state, current, step)
            record.inrush_a = max(record.inrush_a, current)
            states[step] = state
            step += 1
        record.pulse(states, pulse * steps * record.step_s)
    return state


def _modes(net: Network, source: Source) -> tuple[Array, Array]:
    """Rates (1/s) of the chain's rings, with the rectifier blocking and with it holding the reservoir: decay and turn."""
    held = net.matrix.copy()
    held[0, 0] -= 1.0 / (source.ohm * net.reservoir_farad)
    rates = np.concatenate((np.linalg.eigvals(net.matrix), np.linalg.eigvals(held)))
    rings = rates[np.abs(rates.imag) > 1e-9 * np.abs(rates)]
    return np.maximum(-rings.real, 0.0), np.abs(rings.imag)


def _span(net: Network, source: Source, farads: float) -> tuple[int, int]:
    """(steps in a pulse, pulses) that show every ring of the chain until it has died away, and the first charging."""
    decay, turn = _modes(net, source)
    if not len(turn):
        return _STEPS, _pulses(10.0 * source.ohm * farads, source, _STEPS)
    fast, slow = float(turn.max()), float(turn.min())
    steps = max(_STEPS, math.ceil(source.period_s * fast / _TURN))
    if steps > _MOST_STEPS or _LEAST_RINGS * 2.0 * math.pi / slow > _ALL_STEPS / steps * source.period_s:
        found = f"a chain that rings at {slow / (2.0 * math.pi):.3g} to {fast / (2.0 * math.pi):.3g} Hz"
        raise ElectricsError("stages", found, "chokes and capacitors that ring neither so fast, so slowly nor so far apart")
    dies = 9.0 / max(float(decay.min()), 1e-12)
    return steps, _pulses(10.0 * source.ohm * farads + min(dies, _RINGS * 2.0 * math.pi / slow), source, steps)


def _pulses(seconds: float, source: Source, steps: int) -> int:
    return int(min(max(seconds / source.period_s + 1.0, _LEAST_PULSES), _ALL_STEPS / steps))


def _settled(source: Source, volts: Array, farads: Sequence[float]) -> tuple[float, ...]:
    """With nothing drawn: the winding's peak, or what the charge that a choke has pumped in comes to, shared by all."""
    shared = float(np.dot(volts, farads)) / sum(farads)
    return (max(source.peak_v, shared),) * len(farads)


@finite_result
def cold_start(
    *,
    secondary_vrms: float,
    rectifier: str,
    source_ohm: float,
    reservoir_farad: float,
    mains_hz: float,
    stages: Sequence[RC | LC] = (),
    load_ohm: float | None = None,
    drop: str | Valve | None = None,
) -> ColdStart:
    """Switch a capacitor-input supply on with every capacitor empty and every valve cold.

    secondary_vrms to mains_hz and drop as `capacitor_input`; a valve rectifier is taken as hot, the worst case.
    stages: the `RC` and `LC` of the chain; their load_a is not drawn, since the valves are cold.  load_ohm: a bleeder
    or load on the reservoir, None for nothing drawn.  The mains comes on as it passes zero.

    A choke carries on when the reservoir is full: the capacitor behind it is driven far above the winding's peak, and
    with nothing drawn the charge stays.  `Supply.no_load_v` knows nothing of that; a capacitor's rating has to stand
    `highest_v`.  Solved step by step (see this module), within 0.5 % of ngspice where chokes ring slower than 1 kHz;
    chokes are taken as linear: one that saturates lets more through.
    Raises ElectricsError for a bad argument, and for chokes that ring too fast to follow.
    Caution: the volts stay on the capacitors after switch-off.
    """
    source = winding(secondary_vrms=secondary_vrms, rectifier=rectifier, source_ohm=source_ohm, mains_hz=mains_hz, drop=drop)
    farad = within("reservoir_farad", reservoir_farad, 1e-12, 1000.0)
    load = Load(0.0 if load_ohm is None else 1.0 / within("load_ohm", load_ohm, 1e-3, 1e15), 0.0)
    chain = several("stages", stages, "RC and LC stages in their order")
    check_stages(chain)
    idle = [replace(stage, load_a=0.0) for stage in chain]
    net, after = chain_network(farad, load, idle)
    rows, farads = [0, *after], [farad, *(stage.farad for stage in idle)]
    settled = None
    if load_ohm is not None:
        supply = capacitor_input(
            secondary_vrms=secondary_vrms, rectifier=rectifier, source_ohm=source_ohm, reservoir_farad=farad,
            mains_hz=mains_hz, load_ohm=load_ohm, drop=drop,
        )  # fmt: skip
        nodes = filter_chain(supply, idle, added=True)
        settled = (reservoir_under(supply, idle, added=True).mean_v, *(node.mean_v for node in nodes))
    steps, pulses = _span(net, source, sum(farads))
    record = _Record(rows, source.period_s / steps)
    state = _run(_stepper(source, net, steps), len(net.drive), pulses, record)
    settled = settled or _settled(source, state[rows], farads)
    highest = np.maximum(np.max(record.highest, axis=0), settled)
    worst, _slope = source.law.current(np.asarray(source.peak_v), source.ohm)
    # Each rectifier of a bridge stands the reservoir alone; the others stand the winding's other crest besides.
    reverse_v = float(highest[0]) + (0.0 if rectifier == "bridge" else source.peak_v)
    return ColdStart(
        highest_v=tuple(map(float, highest)),
        highest_at_s=record.first_at(_AS_HIGH * float(highest.max())),
        inrush_peak_a=record.inrush_a,
        settled_v=tuple(map(float, settled)),
        inrush_worst_a=max(float(worst), record.inrush_a),
        diode_piv_v=reverse_v,
    )
