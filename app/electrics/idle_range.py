"""An idle over what nobody chooses: the mains at its ends, and a valve that is stronger or weaker than its sheet.

The mains moves HT, screens and bias alike, so the three are moved together, never each to its own worst end.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from app.electrics.bias import Idle, cathode_bias, idle_of
from app.electrics.errors import finite, positive, within
from app.electrics.extremes import finite_result
from app.electrics.limits import Limit, limit
from app.electrics.sourced import Sourced
from app.electrics.valves import Valve, ValveLike, as_valve
from app.electrics.valves.fit import emitting
from app.electrics.valves.koren import pentode_anode, pentode_screen

# Currents of new valves of one type at one bias: common practice, no source.
VALVE_SPREAD = 0.30
MAINS_SPREAD = 0.10
# What share of its rating an anode idles at in class AB. 70 % of a design-centre rating is common practice, no source. A
# design-maximum rating of the same valve lies 10 % higher (seen: tubecad.com, December 2000), an absolute one 20 % (the KT88's
# sheet, from memory): the same heat is a smaller share of them.
_USUAL = {"design-centre": 0.70, "design-maximum": 0.70 / 1.1, "absolute maximum": 0.70 * 35.0 / 42.0}
_NO_CURVES_EX = 1.5
# What a rating leaves to the user, by its system: IEC 60134, from memory.
_SYSTEM_SAYS = {
    "design-centre": "a design-centre limit is meant for the nominal mains and a valve as its sheet has it",
    "design-maximum": "a design-maximum limit holds at the highest mains, for a valve as its sheet has it",
    "absolute maximum": "an absolute limit holds at the highest mains and for the strongest valve",
    "not stated": "its sheet names no rating system, so it is taken as an absolute limit",
    "typed here": "no rating system was entered with it, so it is taken as an absolute limit",
}


@dataclass(frozen=True)
class IdleRange:
    """One valve's idle as the sheet's valve has it, the same at the highest mains, and the strongest valve's there.

    The highest mains is the hottest: with all volts together every current grows (`heat_factor`).
    """

    nominal: Idle
    mains: Idle
    hottest: Idle


def usual_share(valve: ValveLike) -> Sourced:
    """The usual idle in class AB as a share of the valve's anode rating, by the rating's system; the note says which and why.

    A valve whose sheet names no system is treated as one with an absolute rating. ElectricsError for a rectifier.
    """
    system = as_valve(valve).limits().system
    share = _USUAL.get(system, _USUAL["absolute maximum"])
    return Sourced(share, status="M", source="70 % of a design-centre rating: common practice, no source",
                   note=_SYSTEM_SAYS[system])


def heat_factor(valve: ValveLike, factor: float) -> float:
    """What the anode's heat is multiplied by when HT, screen and a fixed bias all are multiplied by `factor` (0.5 to 2).

    Currents of Koren's form go with the power EX of the volts, so watts go with EX + 1: at 10 % more mains from 3 % below the
    model itself to 7 % above. Of a valve with limits only the exponent is that of the 3/2-power law, above any fitted one here.
    """
    entry = as_valve(valve)
    limits_only = entry.kind == "pentode" and entry.model is None
    exponent = _NO_CURVES_EX if limits_only else entry.pentode().ex
    return float(within("factor", factor, 0.5, 2.0) ** (exponent + 1.0))


@finite_result
def fixed_bias_range(
    *, valve: ValveLike, anode_v: float, screen_v: float, grid_v: float, spread: float = VALVE_SPREAD, mains: float = MAINS_SPREAD
) -> IdleRange:
    """The idle of one valve at a fixed bias; volts to the cathode at the nominal mains, all three moving with it.

    anode_v above 0 to 2000, screen_v above 0 to 1000, grid_v -300 to 0 V; spread and mains are fractions, 0 to below 1 and 0 to
    0.5. ElectricsError outside the ranges.
    """
    entry = as_valve(valve)
    va, vs = within("anode_v", anode_v, 1e-3, 2000.0), within("screen_v", screen_v, 1e-3, 1000.0)
    vg = within("grid_v", grid_v, -300.0, 0.0)

    def idle(kind: Valve, factor: float) -> Idle:
        model, a, s, g = kind.pentode(), va * factor, vs * factor, vg * factor
        return idle_of(entry, a, s, float(pentode_anode(model, a, s, g)), float(pentode_screen(model, a, s, g)), 0.0)

    return _over(entry, idle, spread, mains)


@finite_result
def cathode_bias_range(
    *, valve: ValveLike, supply_v: float, screen_v: float, cathode_ohm: float, valves: int = 2, winding_ohm: float = 0.0,
    spread: float = VALVE_SPREAD, mains: float = MAINS_SPREAD,
) -> IdleRange:
    """The same for valves that share a cathode resistor, which takes back a part of what mains and valves do.

    Arguments and errors as `cathode_bias`, spread and mains as `fixed_bias_range`; all valves on the resistor are taken alike.
    """
    entry, vb, vs = as_valve(valve), positive("supply_v", supply_v), positive("screen_v", screen_v)

    def idle(kind: Valve, factor: float) -> Idle:
        return cathode_bias(valve=kind, supply_v=vb * factor, screen_v=vs * factor, cathode_ohm=cathode_ohm, valves=valves,
                            winding_ohm=winding_ohm)

    return _over(entry, idle, spread, mains)


def _over(entry: Valve, idle: Callable[[Valve, float], Idle], spread: float, mains: float) -> IdleRange:
    strong, high = 1.0 + within("spread", spread, 0.0, 0.9), 1.0 + within("mains", mains, 0.0, 0.5)
    return IdleRange(idle(entry, 1.0), idle(entry, high), idle(emitting(entry, strong), high))


def idle_limits(
    *, valve: ValveLike, nominal_w: float, mains_w: float, hottest_w: float, anode_v: float | None = None,
    screen_w: float | None = None, cathode_a: float | None = None, spread: float = VALVE_SPREAD, mains: float = MAINS_SPREAD,
) -> tuple[Limit, ...]:
    """Hold an idle against the valve's ratings, at the nominal mains, at its worst, and with the strongest valve there.

    anode_v: to the cathode at the nominal mains, held at the highest unless the system is design-centre. screen_w, cathode_a: the
    highest of each; all three where known. `decides` marks the anode's bar that the rating's own system
    is meant for (IEC 60134, from memory). A rating that the sheet does not name is left out.
    """
    entry = as_valve(valve)
    wide, swing = within("spread", spread, 0.0, 0.9), within("mains", mains, 0.0, 0.5)
    ratings = entry.limits()

    def held(rating: str, name: str, found: float, allowed: float, unit: str, note: str = "") -> Limit:
        memory = ratings.mark_of(rating) == "M"
        source = f"{entry.name} data sheet, {ratings.system}" + (", from memory" if memory else ", as seen quoted")
        if ratings.system == "typed here":
            source = ratings.source.text
        return limit(name, found, allowed, unit, source=source, note=note, unconfirmed=memory)

    watt = entry.anode_limit_w()
    high = f"mains {swing * 100:.3g} % high" if swing else "at the nominal mains"
    strong = f"{high}, a valve {wide * 100:.3g} % stronger than its sheet" if wide else f"{high}, a valve as its sheet has it"
    bars = [held("anode_w", "anode's heat", nominal_w, watt, "W", _SYSTEM_SAYS[ratings.system]),
            held("anode_w", "anode's heat at the highest mains", mains_w, watt, "W", high),
            held("anode_w", "anode's heat at worst", hottest_w, watt, "W", strong)]
    deciding = {"design-centre": 0, "design-maximum": 1}.get(ratings.system, 2)
    found = [replace(one, decides=number == deciding) for number, one in enumerate(bars)]
    if anode_v is not None and ratings.anode_v is not None:
        centre = ratings.system == "design-centre"
        volts = finite("anode_v", anode_v) * (1.0 if centre else 1.0 + swing)
        found.append(held("anode_v", "anode voltage", volts, ratings.anode_v, "V",
                          _SYSTEM_SAYS["design-centre"] if centre else high))
    if screen_w is not None and ratings.screen_w is not None:
        found.append(held("screen_w", "screen's heat at worst", screen_w, ratings.screen_w, "W", strong))
    if cathode_a is not None and ratings.cathode_a is not None:
        found.append(held("cathode_a", "cathode current at worst", cathode_a, ratings.cathode_a, "A", strong))
    return tuple(found)

