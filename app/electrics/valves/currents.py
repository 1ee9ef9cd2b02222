"""Currents of a valve at given electrode volts, checked scalars in and out."""

from __future__ import annotations

from app.electrics.errors import positive, within
from app.electrics.extremes import finite_result
from app.electrics.valves.kinds import PentodeModel, TriodeModel, Valve
from app.electrics.valves.koren import pentode_anode, pentode_screen, triode_anode
from app.electrics.valves.lookup import find

ValveLike = str | Valve

ANODE_V = (0.0, 5000.0)
SCREEN_V = (0.0, 2000.0)
GRID_V = (-1000.0, 100.0)


def as_valve(valve: ValveLike) -> Valve:
    """The valve itself, or the one of that name; ElectricsError when unknown."""
    return valve if isinstance(valve, Valve) else find("valve", valve)


@finite_result
def triode_current(valve: ValveLike, *, anode_v: float, grid_v: float) -> float:
    """Anode current (A) of one triode section, volts to the cathode.

    anode_v 0 to 5000 V, grid_v -1000 to 100 V; grid current is not modelled, so figures above 0 V on the grid
    are a rough guide. Within 10 % of the sheet's current at every point of the valve's entry; 0 in cut-off.
    Equation: app.electrics.valves.koren.triode_anode (Koren 1996, with a contact potential). ElectricsError
    for an unknown valve, one that is no triode, or volts outside the range.
    """
    model = as_valve(valve).triode()
    va, vg = within("anode_v", anode_v, *ANODE_V), within("grid_v", grid_v, *GRID_V)
    return float(triode_anode(model, va, vg))


@finite_result
def pentode_currents(
    valve: ValveLike, *, anode_v: float, screen_v: float, grid_v: float
) -> tuple[float, float]:
    """(anode current, screen current) in A of one pentode or beam tetrode, volts to the cathode.

    anode_v 0 to 5000 V, screen_v 0 to 2000 V, grid_v -1000 to 100 V; no grid current. Anode current within 10
    % of the sheet's at every point of the valve's entry; screen current follows the sheet's ratio (within
    about 20 %), since Koren's own screen term is wrong by factors. Equations: app.electrics.valves.koren.
    Errors as triode_current.
    """
    model = as_valve(valve).pentode()
    va, vs = within("anode_v", anode_v, *ANODE_V), within("screen_v", screen_v, *SCREEN_V)
    vg = within("grid_v", grid_v, *GRID_V)
    return float(pentode_anode(model, va, vs, vg)), float(pentode_screen(model, va, vs, vg))


@finite_result
def koren_triode(
    *,
    anode_v: float,
    grid_v: float,
    mu: float,
    ex: float,
    kg1: float,
    kp: float,
    kvb: float,
    vct: float = 0.0,
) -> float:
    """Anode current (A) of Koren's triode with parameters of your own, factor 2 included.

    All parameters above zero save vct (V, any). Source: N. Koren 1996. ElectricsError outside the ranges.
    """
    model = TriodeModel(
        positive("mu", mu), within("ex", ex, 1.0, 3.0), positive("kg1",
                                                                 kg1), positive("kp",
                                                                                kp), positive("kvb", kvb),
        within("vct", vct, -5.0, 5.0),
    )  # fmt: skip
    return float(triode_anode(model, within("anode_v", anode_v, *ANODE_V), within("grid_v", grid_v, *GRID_V)))


@finite_result
def koren_pentode(
    *, anode_v: float, screen_v: float, grid_v: float, mu: float, ex: float, kg1: float, kp: float, kvb: float
) -> float:
    """Anode current (A) of Koren's plain pentode with parameters of your own, factor 2 included.

    All parameters above zero. It gives no screen current, since that term of the form is not to be trusted.
    Source: N. Koren 1996. ElectricsError outside the ranges.
    """
    model = PentodeModel(
        positive("mu", mu), within("ex", ex, 1.0, 3.0), positive("kg1",
                                                                 kg1), positive("kp",
                                                                                kp), positive("kvb", kvb)
    )
    va, vs = within("anode_v", anode_v, *ANODE_V), within("screen_v", screen_v, *SCREEN_V)
    return float(pentode_anode(model, va, vs, within("grid_v", grid_v, *GRID_V)))
