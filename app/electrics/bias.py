"""Idle current of output valves: how hot they sit, how hot they should, and what a shared cathode resistor
gives."""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.errors import ElectricsError, not_negative, positive, whole, within
from app.electrics.extremes import finite_result
from app.electrics.sourced import Status
from app.electrics.valves import PentodeModel, Valve, ValveLike, as_valve, pentode_currents
from app.electrics.valves.koren import pentode_anode, pentode_screen

MEASURE_CAUTION = (
    "Anode voltage is lethal. Clip the meter on with the amplifier off and the reservoirs discharged, "
    "and take the reading without holding the probe."
)


@dataclass(frozen=True)
class Idle:
    """One output valve at rest: amperes, watts, and shares of the sheet's maxima (1.0 = at the limit).

    share_of_max is the anode's dissipation, screen_share_of_max the screen's (0.0 for a triode). system is
    the rating system of both limits, limit_mark the standing of limit_w. words says the verdict.
    """

    anode_a: float
    screen_a: float
    anode_dissipation_w: float
    share_of_max: float
    screen_share_of_max: float
    screen_dissipation_w: float
    cathode_v: float
    cathode_a: float
    limit_w: float
    limit_mark: Status
    system: str
    words: str


@finite_result
def idle_point(
    *,
    valve: ValveLike,
    anode_v: float,
    cathode_a: float,
    screen_a: float | None = None,
    screen_share: float | None = None,
    cathode_v: float = 0.0,
    screen_v: float | None = None,
) -> Idle:
    """What a reading of cathode current means: Ia = Ik - Ig2, Pa = Ia (Va - Vk).

    anode_v and cathode_v are volts to ground; cathode_a is one valve's (0 or more). The screen current is
    screen_a if given, else screen_share (0 to 1) of the cathode current, else the share at the nearest point
    of the sheet. screen_v, to ground, is taken as anode_v if not given: the least favourable case when the
    screen is fed through a choke or resistor from the same node. Source: definition of dissipation; limits
    from the valve's entry. ElectricsError outside the ranges, for both screen_a and screen_share at once, and
    when the cathode is above the anode.
    """
    entry = as_valve(valve)
    ik, vk = not_negative("cathode_a", cathode_a), not_negative("cathode_v", cathode_v)
    va = positive("anode_v", anode_v)
    vs = va if screen_v is None else positive("screen_v", screen_v)
    if vk >= va or vk >= vs:
        raise ElectricsError("cathode_v", cathode_v, f"below the anode and screen volts ({min(va, vs):g})")
    screen = _screen_current(entry, va - vk, ik, screen_a, screen_share)
    return idle_of(entry, va - vk, vs - vk, ik - screen, screen, vk)


@finite_result
def idle_target(*, valve: ValveLike, anode_v: float, share: float) -> float:
    """Anode current (A) at which one valve dissipates share of its rated maximum: share * Pa / Va.

    anode_v (above 0) is anode to cathode; share above 0 to 1, where 0.7 is the usual class AB figure (common
    practice, no source). The sheet's maximum is of the rating system that idle_point names. ElectricsError
    outside the ranges.
    """
    part = within("share", positive("share", share), 0.0, 1.0)
    return part * as_valve(valve).anode_limit_w() / positive("anode_v", anode_v)


def idle_grid(*, valve: ValveLike, anode_v: float, screen_v: float, share: float) -> float | None:
    """Grid volts (to the cathode, 0 or below) at which one valve's anode dissipates share of its rated maximum.

    anode_v above 0 to 5000 and screen_v 0 to 2000 V, to the cathode; share above 0 to 1. None where even 0 V on the
    grid gives less. Solved on the valve's model (app.electrics.valves.koren) by halving from -300 V, to 1e-9 V. The
    model is of a valve as its sheet has it; one at hand differs by 30 % and more: set a bias by the current.
    ElectricsError outside the ranges or for a valve that is no pentode or beam tetrode.
    """
    wanted = idle_target(valve=valve, anode_v=anode_v, share=share)

    def anode(grid: float) -> float:
        return pentode_currents(valve, anode_v=anode_v, screen_v=screen_v, grid_v=grid)[0]

    if anode(0.0) <= wanted:
        return None
    low, high = -300.0, 0.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if anode(middle) > wanted else (middle, high)
    return 0.5 * (low + high)


@finite_result
def anode_current_by_resistance(*, drop_v: float, winding_ohm: float) -> float:
    """Anode current (A) from the volts across half the primary and that half's resistance: I = V / R.

    drop_v 0 or more (a negative reading means the leads are swapped), winding_ohm above 0, measured cold and
    with the amplifier off; warm copper reads the current high by 0.4 % a kelvin. Includes no screen current.
    With several valves on the half it is their sum. Source: Ohm's law. ElectricsError outside the ranges.
    """
    return not_negative("drop_v", drop_v) / positive("winding_ohm", winding_ohm)


@finite_result
def cathode_bias(
    *,
    valve: ValveLike,
    supply_v: float,
    screen_v: float,
    cathode_ohm: float,
    valves: int = 2,
    winding_ohm: float = 0.0,
) -> Idle:
    """Solve output valves that share one cathode resistor, grids at 0 V dc: Vk = n (Ia + Ig2) Rk.

    supply_v and screen_v are volts to ground (above 0 to 5000 and 2000), cathode_ohm above 0, valves 1 to 8;
    winding_ohm is the resistance from the supply to one anode (0 or more). The result is for one valve,
    cathode_v being the bias. There is exactly one solution, since currents fall as Vk rises, save where the
    screens alone would lift the cathodes to a low anode supply: that is refused as no solution. Valve as
    app.electrics.valves. ElectricsError outside the ranges or for a valve that is no pentode or beam tetrode.
    """
    from scipy.optimize import brentq  # here: a page that asks for no sum must not wait for scipy

    entry = as_valve(valve)
    model, vb = entry.pentode(), within("supply_v", positive("supply_v", supply_v), 0.0, 5000.0)
    vs = within("screen_v", positive("screen_v", screen_v), 0.0, 2000.0)
    rk, winding = positive("cathode_ohm", cathode_ohm), not_negative("winding_ohm", winding_ohm)
    whole("valves", valves, 1, 8)

    def excess(vk: float) -> float:
        anode, screen, _across = _currents(model, vb, vs, vk, winding)
        return valves * (anode + screen) * rk - vk

    ceiling = min(vb, vs)
    if excess(ceiling) >= 0.0:
        raise ElectricsError("supply_v", supply_v,
                             "higher: the screens alone lift the cathodes to it, no solution")
    vk = float(brentq(excess, 0.0, ceiling, xtol=1e-13)) if excess(0.0) > 0.0 else 0.0
    anode, screen, across = _currents(model, vb, vs, vk, winding)
    return idle_of(entry, across, vs - vk, anode, screen, vk)


def _currents(
    model: PentodeModel, supply: float, screen: float, vk: float, winding: float
) -> tuple[float, float, float]:
    """(anode current, screen current, anode-cathode volts) at bias vk, the winding's own drop solved for."""
    from scipy.optimize import brentq

    vs, across = screen - vk, supply - vk
    if winding > 0.0 and across > 0.0:

        def short(volt: float) -> float:
            return supply - vk - winding * float(pentode_anode(model, volt, vs, -vk)) - volt

        across = float(brentq(short, 0.0, across, xtol=1e-13))
    return float(pentode_anode(model, across, vs, -vk)), float(pentode_screen(model, across, vs, -vk)), across


def _screen_current(
    entry: Valve, across: float, ik: float, screen_a: float | None, screen_share: float | None
) -> float:
    if screen_a is not None and screen_share is not None:
        raise ElectricsError("screen_share", screen_share, "left out when screen_a is given")
    if screen_a is not None:
        return within("screen_a", screen_a, 0.0, ik)
    if screen_share is not None:
        return within("screen_share", screen_share, 0.0, 1.0) * ik
    return sheet_screen_share(entry, across, ik) * ik


@finite_result
def sheet_screen_share(valve: ValveLike, anode_v: float, cathode_a: float) -> float:
    """Share of the cathode current that goes to the screen, at the published point nearest in volts and
    current.

    0.0 for a triode. Nearness is the sum of the two relative distances. anode_v is anode to cathode.
    """
    entry, reading = as_valve(valve), max(not_negative("cathode_a", cathode_a), 1e-6)
    across = not_negative("anode_v", anode_v)
    points = [p for p in entry.points if p.screen_a is not None]
    if not points:
        return 0.0
    near = min(points, key=lambda p: abs(across / p.anode_v - 1.0) + abs(reading / p.anode_a - 1.0))
    screen = near.screen_a or 0.0
    return screen / (near.anode_a + screen)


def idle_of(entry: Valve, across: float, screen_v: float, anode: float, screen: float, vk: float) -> Idle:
    """An idle from its volts across the valve (V), its currents (A) and its cathode (V); no checks."""
    limits = entry.limits()
    watt, screen_w = anode * across, screen * screen_v
    share = watt / entry.anode_limit_w()
    screen_share = screen_w / limits.screen_w if limits.screen_w else 0.0
    return Idle(
        anode, screen, watt, share, screen_share, screen_w, vk, anode + screen, entry.anode_limit_w(),
        limits.mark_of("anode_w"), limits.system,
        _words(entry, across, share, screen_share),
    )  # fmt: skip


def _words(entry: Valve, across: float, share: float, screen_share: float) -> str:
    limits = entry.limits()
    doubt = ", from memory" if limits.mark_of("anode_w") == "M" else ""
    limit = f"the sheet's {entry.anode_limit_w():g} W ({limits.system}{doubt})"
    if share > 1.0:
        said = f"Too hot: {share:.0%} of {limit}. Switch off and find out why before going on."
    elif share < 0.02:
        said = f"Next to no current: {share:.1%} of {limit}. Cut off, or the reading is not this valve's."
    else:
        said = f"The anode dissipates {share:.0%} of {limit}."
    if screen_share > 1.0:
        said += f" The screen is over its maximum: {screen_share:.0%} of {limits.screen_w:g} W."
    if limits.anode_v is not None and across > limits.anode_v:
        said += f" {across:.0f} V on the anode is above its {limits.anode_v:g} V."
    return said
