"""The smoothing stages after the reservoir, solved together with the rectifier that feeds them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, not_negative, several, within, yes_or_no
from app.electrics.extremes import finite_result
from app.electrics.supply.reservoir import Load, Supply, never_settles, solve_reservoir, too_much, with_wave
from app.electrics.supply.steady import Network, NeverSettles, NoSteadyState, Wave, settle


@dataclass(frozen=True)
class RC:
    """A series resistor (ohm, above zero), a capacitor (F) after it, and the current (A) drawn there."""

    ohm: float
    farad: float
    load_a: float


@dataclass(frozen=True)
class LC:
    """A choke (H, with its winding resistance), a capacitor (F) after it, and the current (A) drawn there."""

    henry: float
    dcr_ohm: float
    farad: float
    load_a: float


Stage = RC | LC


@dataclass(frozen=True)
class Node:
    """One smoothed node: volts and ripple in use, energy in its capacitor, and the volts with nothing drawn.

    stored_j is at mean_v; no_load_stored_j is at no_load_v, what a hand meets with the valves out.
    current_a is the current in the resistor or choke before the node.  ripple_vrms is what a true-rms meter shows of the ripple.
    """

    mean_v: float
    ripple_vpp: float
    stored_j: float
    no_load_v: float
    no_load_stored_j: float = 0.0
    current_a: float = 0.0
    ripple_vrms: float = 0.0


def check_stages(stages: Sequence[Stage]) -> None:
    """Refuse a stage that is neither RC nor LC, and values out of range, by number and name."""
    for number, stage in enumerate(stages):
        where = f"stages[{number}]"
        if isinstance(stage, RC):
            within(f"{where}.ohm", stage.ohm, 1e-3, 1e9)
        elif isinstance(stage, LC):
            within(f"{where}.henry", stage.henry, 1e-9, 1e6)
            within(f"{where}.dcr_ohm", stage.dcr_ohm, 0.0, 1e9)
        else:
            raise ElectricsError(where, stage, "an RC or an LC")
        within(f"{where}.farad", stage.farad, 1e-12, 1000.0)
        not_negative(f"{where}.load_a", stage.load_a)


def _series_ohm(stage: Stage) -> float:
    return stage.ohm if isinstance(stage, RC) else stage.dcr_ohm


def chain_network(farad: float, load: Load, stages: Sequence[Stage]) -> tuple[Network, list[int]]:
    """The whole chain as dx/dt = A x + b, and the row of each node's volts.

    Rows: the reservoir's volts, then for an RC its node's volts, for an LC its current and its node's volts.
    """
    size = 1 + sum(1 if isinstance(stage, RC) else 2 for stage in stages)
    matrix, drive = np.zeros((size, size)), np.zeros(size)
    matrix[0, 0], drive[0] = -load.siemens / farad, -load.ampere / farad
    rows: list[int] = []
    before, before_farad, row = 0, farad, 0
    for stage in stages:
        if isinstance(stage, RC):
            row += 1
            matrix[before, before] -= 1.0 / (stage.ohm * before_farad)
            matrix[before, row] += 1.0 / (stage.ohm * before_farad)
            matrix[row, before] += 1.0 / (stage.ohm * stage.farad)
            matrix[row, row] -= 1.0 / (stage.ohm * stage.farad)
        else:
            choke, row = row + 1, row + 2
            matrix[choke, before] += 1.0 / stage.henry
            matrix[choke, row] -= 1.0 / stage.henry
            matrix[choke, choke] -= stage.dcr_ohm / stage.henry
            matrix[before, choke] -= 1.0 / before_farad
            matrix[row, choke] += 1.0 / stage.farad
        drive[row] -= stage.load_a / stage.farad
        rows.append(row)
        before, before_farad = row, stage.farad
    return Network(matrix, drive, farad), rows


@dataclass(frozen=True)
class _Hung:
    """A chain hung on a supply and solved: the drawn total, the steady period, and the row of each node."""

    load: Load
    wave: Wave
    rows: list[int]


def _hang(supply: Supply, stages: Sequence[Stage], *, added: bool) -> _Hung:
    if not isinstance(supply, Supply):
        raise ElectricsError("supply", supply, "a result of capacitor_input")
    check_stages(stages)
    source, load, farad = supply.source, supply.load, supply.reservoir_farad
    if source is None or load is None:
        raise ElectricsError("supply", supply, "a result of capacitor_input")
    chain_a = sum(stage.load_a for stage in stages)
    alone = None
    if not yes_or_no("added", added) and supply.mean_load_a > 0.0:
        # The stages' currents are a part of the supply's load: what is left is drawn at the reservoir.
        share = max(0.0, 1.0 - chain_a / supply.mean_load_a)
        load = Load(load.siemens * share, load.ampere * share)
        alone = supply.wave if share > 0.0 else None
    total, asked = Load(load.siemens, load.ampere + chain_a), ("stages", chain_a)
    if alone is None:
        alone = solve_reservoir(source, farad, total, asked)
    net, rows = chain_network(farad, load, stages)
    if total.siemens == 0.0 and total.ampere == 0.0:
        level = np.zeros(len(net.drive))
        level[[0, *rows]] = alone.mean(alone.state[:, 0])
        return _Hung(total, replace(alone, state=np.tile(level, (len(alone.time_s), 1))), rows)
    try:
        return _Hung(total, settle(source, net, alone), rows)
    except NeverSettles:
        raise never_settles(farad) from None
    except NoSteadyState:
        raise too_much(source, farad, asked) from None


@finite_result
def reservoir_under(supply: Supply, stages: Sequence[Stage], *, added: bool = False) -> Supply:
    """The supply itself with the chain hung on it: reservoir and diode figures as the chain leaves them.

    Arguments, reading of the currents and errors as `filter_chain`.
    """
    hung = _hang(supply, several("stages", stages, "RC and LC stages in their order"), added=added)
    return with_wave(supply, hung.load, replace(hung.wave, state=hung.wave.state[:, :1]))


@finite_result
def filter_chain(supply: Supply, stages: Sequence[Stage], *, added: bool = False) -> tuple[Node, ...]:
    """Volts and ripple at every node of a smoothing chain hung on `supply`; one Node a stage, none for none.

    **Whose current is it?**  The load that `supply` was solved with is everything drawn from the reservoir,
    so the stages' currents are a part of it: only what they leave over is drawn at the reservoir itself.
    The first node's mean is then supply.mean_v less the drop of the stages' currents, but for what a small
    reservoir's ripple gains from the chain (`reservoir_under` gives the supply as the chain leaves it).
    Where the stages together draw more than that load (a supply solved with load_a=0,
    say) the reservoir carries the stages' currents alone.  With `added=True` the stages' currents come on
    top of the supply's own load instead, and the reservoir is solved anew.

    Each stage's load_a (A, zero or more) is a constant current drawn at its node; a series part carries all
    the currents after it.  The reservoir, the rectifier and the chain are solved together, so the chain's
    pull on the reservoir's ripple and every harmonic are in the answer.  Method: see
    `app.electrics.supply.steady`.

    Parts: resistor 1 mohm to 1 Gohm, choke 1 nH to 1 MH of 0 to 1 Gohm, capacitor 1 pF to 1000 F.
    Raises ElectricsError for a bad part, for a Supply that `capacitor_input` did not make, and where a node's
    current cannot be given.  Caution: after switch-off every node can hold its no-load volts.
    """
    if not several("stages", stages, "RC and LC stages in their order"):
        return ()
    hung = _hang(supply, stages, added=added)
    carried = sum(stage.load_a for stage in stages)
    nodes: list[Node] = []
    for number, (stage, row) in enumerate(zip(stages, hung.rows, strict=True)):
        volts: Array = hung.wave.state[:, row]
        mean_v = hung.wave.mean(volts)
        if stage.load_a > 0.0 and float(np.min(volts)) < 0.0:
            allowed = f"less: {carried:g} A through {_series_ohm(stage):g} ohm leaves the node without volts"
            raise ElectricsError(f"stages[{number}].load_a", stage.load_a, allowed)
        nodes.append(
            Node(
                mean_v=mean_v,
                ripple_vpp=float(np.ptp(volts)),
                stored_j=0.5 * stage.farad * mean_v**2,
                no_load_v=supply.no_load_v,
                no_load_stored_j=0.5 * stage.farad * supply.no_load_v**2,
                current_a=carried,
                ripple_vrms=hung.wave.alternating(volts),
            )
        )
        carried -= stage.load_a
    return tuple(nodes)
