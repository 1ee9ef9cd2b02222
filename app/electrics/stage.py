"""A resistance-coupled triode stage with a cathode resistor, at rest and for small signals."""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.arrays import Array, ArrayLike, np
from app.electrics.errors import ElectricsError, not_negative, positive, reals, within, yes_or_no
from app.electrics.extremes import finite_result
from app.electrics.valves import TriodeModel, Valve, ValveLike, as_valve
from app.electrics.valves.koren import triode_point

_TURNS = 200  # a quarter of them halve the bracket: 1e-15 of it is left even if no Newton step helps
_CUT_OFF_A = 1e-6


@dataclass(frozen=True)
class Stage:
    """Operating point and small-signal figures: volts to ground, amperes, ohms, watts of one section.

    gain is a magnitude (the stage inverts), loaded by next_grid_ohm; output_ohm is what the next stage sees
    looking back, without that load. share_of_max is None where no
    limit is known here. notes says in words what is out of the ordinary.
    """

    anode_v: float
    cathode_v: float
    anode_a: float
    gain: float
    output_ohm: float
    dissipation_w: float
    mu: float
    gm_s: float
    rp_ohm: float | None
    share_of_max: float | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class StageSamples:
    """The same figures for many stages at once, one array element each; made for a Monte Carlo over
    tolerances."""

    anode_v: Array
    cathode_v: Array
    anode_a: Array
    gain: Array
    output_ohm: Array
    dissipation_w: Array


@finite_result
def triode_stage(
    *,
    valve: ValveLike,
    supply_v: float,
    anode_ohm: float,
    cathode_ohm: float,
    bypassed: bool = True,
    next_grid_ohm: float | None = None,
) -> Stage:
    """Solve a self-biased common-cathode stage: anode resistor to the supply, cathode resistor, grid at 0 V
    dc.

    supply_v above 0 to 5000 V; anode_ohm and next_grid_ohm above 0; cathode_ohm 0 or more (0: grid at
    cathode). Every such stage has exactly one solution, Ia = f(Vb - Ia (Ra + Rk), -Ia Rk), since f falls as
    Ia rises. Gain = mu R / (rp + R + (mu + 1) Rk), R = Ra parallel to next_grid_ohm, Rk = 0 when bypassed;
    output impedance Ra parallel to rp + (mu + 1) Rk. Source: the equivalent circuit of any handbook, as in
    worked public examples of triode stages; valve as app.electrics.valves. Mid-band: coupling and bypass
    capacitors are taken as short circuits. ElectricsError outside the ranges, for an unknown valve or one
    that is no triode.
    """
    entry = as_valve(valve)
    model = entry.triode()
    supply = within("supply_v", positive("supply_v", supply_v), 0.0, 5000.0)
    ra, rk = positive("anode_ohm", anode_ohm), not_negative("cathode_ohm", cathode_ohm)
    grid = None if next_grid_ohm is None else positive("next_grid_ohm", next_grid_ohm)
    amp = rest_current(model, supply, ra, rk)
    _ia, gm, ga = triode_point(model, supply - amp * (ra + rk), -amp * rk)
    gain, output = _small_signal(gm, ga, ra, 0.0 if yes_or_no("bypassed", bypassed) else rk,
                                 ra if grid is None else _parallel(ra, grid))
    ia, across = float(amp), float(supply - amp * (ra + rk))
    watt = ia * across
    limit_w = entry.limits().anode_w
    share = None if limit_w is None else watt / limit_w
    return Stage(
        supply - ia * ra, ia * rk, ia, float(gain), float(output), watt,
        mu=float(gm / ga) if ga > 0.0 else model.mu, gm_s=float(gm), rp_ohm=float(1.0 / ga) if ga > 0.0 else None,
        share_of_max=share, notes=_notes(entry, ia, ia * rk, across, share, supply),
    )  # fmt: skip


@finite_result
def triode_stage_samples(
    *,
    valve: ValveLike,
    supply_v: ArrayLike,
    anode_ohm: ArrayLike,
    cathode_ohm: ArrayLike,
    bypassed: bool = True,
    next_grid_ohm: ArrayLike | None = None,
    emission: ArrayLike = 1.0,
) -> StageSamples:
    """triode_stage for arrays of part values, broadcast against each other; 10,000 stages take under 0.3 s.

    emission multiplies the valve's current (1.0 as in the sheet, 0.7 a tired one) and must be above 0.
    Ranges, equation, source and errors as triode_stage; an ElectricsError names the argument when any element
    is out of range.
    """
    model = as_valve(valve).triode()
    supply, ra = _all_positive("supply_v", supply_v), _all_positive("anode_ohm", anode_ohm)
    rk, strong = _all_positive("cathode_ohm", cathode_ohm, zero=True), _all_positive("emission", emission)
    load = ra if next_grid_ohm is None else _parallel(ra, _all_positive("next_grid_ohm", next_grid_ohm))
    amp = rest_current(model, supply, ra, rk, strong)
    across = supply - amp * (ra + rk)
    _ia, gm, ga = triode_point(model, across, -amp * rk)
    gain, output = _small_signal(gm * strong, ga * strong, ra, np.zeros_like(rk) if yes_or_no("bypassed", bypassed) else rk, load)
    cathode = amp * rk
    parts = (supply - amp * ra, cathode, amp, gain, output, amp * across)
    return StageSamples(*(np.asarray(part, dtype=np.float64) for part in np.broadcast_arrays(*parts)))


@finite_result
def stage_gain(*, mu: float, rp_ohm: float, load_ohm: float, cathode_ohm: float = 0.0) -> float:
    """Gain of a triode stage from its sheet figures, mu R / (rp + R + (mu + 1) Rk), as a magnitude.

    mu, rp_ohm, load_ohm above 0 (load_ohm: anode resistor parallel to the next grid resistor); cathode_ohm 0
    or more, 0 when bypassed. Source: equivalent circuit, as in worked public examples. ElectricsError outside
    the ranges.
    """
    m, rp, load = positive("mu", mu), positive("rp_ohm", rp_ohm), positive("load_ohm", load_ohm)
    return m * load / (rp + load + (m + 1.0) * not_negative("cathode_ohm", cathode_ohm))


def rest_current(
    model: TriodeModel, supply: ArrayLike, ra: ArrayLike, rk: ArrayLike, emission: ArrayLike = 1.0
) -> Array:
    """Anode current (A) at rest, for scalars and arrays; no checks.

    Newton's step on f(Ia) = valve's current - Ia, kept inside a bracket that starts as 0 to Vb/(Ra + Rk);
    where a step leaves the bracket, and every fourth time anyway, the bracket is halved, so that it ends for
    any values.
    """
    vb, below, strong = (np.asarray(value, dtype=np.float64) for value in (supply, rk, emission))
    whole = np.asarray(ra, dtype=np.float64) + below
    low, high = np.broadcast_arrays(0.0 * (vb / whole) * strong, vb / whole)
    amp = 0.5 * (low + high)
    for turn in range(1, _TURNS):
        current, gm, ga = triode_point(model, vb - amp * whole, -amp * below)
        miss = strong * current - amp
        low, high = np.where(miss > 0.0, amp, low), np.where(miss > 0.0, high, amp)
        step = amp + miss / (1.0 + strong * (gm * below + ga * whole))
        moving = np.abs(step - amp) > 1e-13 * vb / whole
        if not bool(np.any(moving)):
            break
        halved = (step < low) | (step > high) | (moving & (turn % 4 == 0))
        amp = np.where(halved, 0.5 * (low + high), step)
    return np.asarray(amp, dtype=np.float64)


def _small_signal(
    gm: Array, ga: Array, ra: ArrayLike, rk: ArrayLike, load: ArrayLike
) -> tuple[Array, Array]:
    """(gain, output impedance), written with conductances so that a valve in cut-off (ga = 0) divides by
    nothing."""
    degeneration = 1.0 + (gm + ga) * np.asarray(rk)
    gain = gm * np.asarray(load) / (degeneration + ga * np.asarray(load))
    return gain, 1.0 / (1.0 / np.asarray(ra, dtype=np.float64) + ga / degeneration)


def _parallel(one: ArrayLike, other: ArrayLike) -> Array:
    return np.asarray(1.0 / (1.0 / np.asarray(one, dtype=np.float64) + 1.0 / np.asarray(other)),
                      dtype=np.float64)


def _all_positive(argument: str, value: ArrayLike, *, zero: bool = False) -> Array:
    array: Array = reals(argument, value)
    bad = ~np.isfinite(array) | ((array < 0.0) if zero else (array <= 0.0))
    if bool(np.any(bad)):
        allowed = "zero or more in every sample" if zero else "above zero in every sample"
        raise ElectricsError(argument, float(array[bad][0]), allowed)
    return array


def _notes(
    entry: Valve, ia: float, cathode_v: float, across: float, share: float | None, supply: float
) -> tuple[str, ...]:
    limits = entry.limits()
    notes: list[str] = []
    if ia < _CUT_OFF_A:
        notes.append(f"practically cut off: at {supply:g} V the {entry.name} passes less than 1 µA here")
    elif cathode_v < 0.5:
        notes.append(f"biased at {-cathode_v:.2f} V: above about -0.5 V the grid begins to draw current")
    if share is None:
        notes.append(f"no limit known here of what the anode of a {entry.name} may dissipate")
    elif share > 1.0:
        notes.append(f"the anode takes {share:.0%} of its {entry.anode_limit_w():g} W ({limits.system})")
    if limits.anode_v is not None and across > limits.anode_v:
        notes.append(f"{across:.0f} V across the valve is above its {limits.anode_v:g} V ({limits.system})")
    return tuple(notes)
