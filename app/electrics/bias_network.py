"""The negative grid-bias supply: a half-wave rectifier, its reservoir, and the network that sets the bias.

The two layouts are drawn in `bias_network`.  Method: the network is a resistance across the reservoir;
`app.electrics.supply.samples` solves the half-wave supply into it for whole arrays (exact between the instants
of switching, the silicon diode by its chord).
Caution: a bias supply is proven at every grid pin before an output valve is fitted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

from app.electrics.arrays import Array, ArrayLike, np
from app.electrics.errors import ElectricsError, not_negative, one_of, reals, within
from app.electrics.extremes import finite_result
from app.electrics.supply.samples import mean_volts

LAYOUTS = ("pot_to_ground", "divider")


@dataclass(frozen=True)
class BiasRange:
    """The bias volts (negative) a network can set, and what parts out of value make of it.

    hottest_v, coldest_v: the ends of the pot's travel, nominal parts.  wiper_open_v: with the wiper lifted.
    hottest_worst_v, coldest_worst_v: the least and the most negative of those ends over every corner of the
    resistors' tolerances and the mains'.  coldest_least_v: the least bias that the cold end gives over those corners.
    lifted_wiper_hotter: the lifted wiper leaves less bias than any setting would: fit a fail-safe resistor.
    mid_v: at half travel, nominal.  mid_range_low_v, mid_range_high_v: the same with range_ohm alone at its
    low and its high tolerance, everything else nominal: what a drifting range resistor does to a set bias.
    reservoir_v: the most negative the reservoir's mean gets, nominal, with the pot at either end or its
    wiper lifted.
    """

    hottest_v: float
    coldest_v: float
    wiper_open_v: float
    hottest_worst_v: float
    coldest_worst_v: float
    lifted_wiper_hotter: bool
    mid_v: float
    mid_range_low_v: float
    mid_range_high_v: float
    reservoir_v: float
    coldest_least_v: float


def _parallel(a: Array, b: Array) -> Array:
    return a * b / (a + b)


def _network(layout: str, upper: Array, pot: Array, load: Array, travel: Array, floor: Array) -> tuple[Array, Array]:
    """Resistance across the reservoir, and the share of its volts at the feed; `upper` is range_ohm."""
    if layout == "divider":
        below = _parallel(pot * travel + upper, load)
        total = pot * (1.0 - travel) + below
        return total, below / total
    leg = pot * travel + floor
    below = _parallel(leg, load)
    return upper + below, below / (upper + below)


def _lifted(layout: str, upper: Array, pot: Array, load: Array) -> tuple[Array, Array]:
    """As `_network`, with the wiper lifted."""
    if layout == "divider":
        return pot + upper, np.zeros_like(pot + upper)
    return upper + load, load / (upper + load)


@finite_result
def bias_volts(
    *,
    tap_vrms: ArrayLike,
    mains_hz: float,
    series_ohm: ArrayLike,
    reservoir_farad: ArrayLike,
    range_ohm: ArrayLike,
    pot_ohm: ArrayLike,
    load_ohm: ArrayLike,
    layout: str,
    travel: ArrayLike = 0.5,
    floor_ohm: ArrayLike = 0.0,
) -> Array:
    """Bias volts (negative) for arrays of part values, broadcast together; 10,000 take about 50 ms.

    travel: 0 at the hottest end of the pot to 1 at the coldest.  Other arguments as `bias_network`.
    Raises ElectricsError for values not above zero (floor_ohm: below zero) and a travel outside 0 to 1.
    """
    one_of("layout", layout, LAYOUTS)
    upper, pot, load = (
        _array("range_ohm", range_ohm),
        _array("pot_ohm", pot_ohm),
        _array("load_ohm", load_ohm),
    )
    place, floor = _array("travel", travel, low=0.0, high=1.0), _array("floor_ohm", floor_ohm, low=0.0)
    ohm, share = _network(layout, upper, pot, load, place, floor)
    return _feed(tap_vrms, mains_hz, series_ohm, reservoir_farad, ohm, share)


def _array(name: str, value: ArrayLike, *, low: float | None = None, high: float = math.inf) -> Array:
    array: Array = reals(name, value)
    above = array > 0.0 if low is None else array >= low
    wrong = ~(np.isfinite(array) & above & (array <= high))
    if np.any(wrong):
        allowed = "above zero" if low is None else f"{low:g} or more" if high == math.inf else f"{low:g} to {high:g}"
        raise ElectricsError(name, float(np.ravel(array)[np.ravel(wrong)][0]), allowed)
    return array


def _feed(tap: ArrayLike, mains_hz: float, series: ArrayLike, farad: ArrayLike, ohm: Array, share: Array) -> Array:
    volts = mean_volts(
        secondary_vrms=tap,
        rectifier="half_wave",
        source_ohm=series,
        reservoir_farad=farad,
        mains_hz=mains_hz,
        load_ohm=ohm,
    )
    return np.asarray(-volts * share)


@finite_result
def bias_network(
    *,
    tap_vrms: float,
    mains_hz: float,
    series_ohm: float,
    reservoir_farad: float,
    range_ohm: float,
    pot_ohm: float,
    load_ohm: float,
    tolerance: float = 0.0,
    layout: str,
    range_tolerance: float | None = None,
    mains_tolerance: float = 0.0,
    floor_ohm: float = 0.0,
) -> BiasRange:
    """Solve a bias supply with its network at both ends of the pot, with its wiper lifted, and over tolerance.

    "divider":                                      "pot_to_ground":

    tap --[series]--|<|--+------+                   tap --[series]--|<|--+--[range]--+----- grids
                         |      |                                        |           |
                         |    [   ]                                      |         [   ]
                      ---+--- [pot]<----- grids                       ---+---      [pot]<--+  (lower end free)
                      ------- [   ]                                   -------      [   ]   |
                         |      |                                        |                 |
                         |   [range]                                     |              [floor]
                         |      |                                        |                 |
    ground --------------+------+-----              ground --------------+-----------------+---

    Volts are negative to ground; load_ohm stands from the grids' feed to ground.  "divider": hottest with the wiper at the range
    end; lifted, the grids fall to 0 V and the valves run away.  "pot_to_ground", the pot a rheostat: hottest at nothing, 0 V
    unless floor_ohm, a fixed resistor under it, holds it; lifted, the grids go colder, towards the supply.

    tap_vrms: 1 to 1000 V.  mains_hz: 10 to 1000.  series_ohm: charging resistor and winding together, 0.01 to 1e6.
    reservoir_farad: 1 pF to 1000 F.  range_ohm, pot_ohm, load_ohm (the grid leaks in parallel): 1e-6 to 1e15 ohm.  tolerance: a
    fraction, 0 to 0.5, of series_ohm, range_ohm, pot_ohm, load_ohm and floor_ohm alike; every corner is tried.  range_tolerance:
    of range_ohm alone where it differs (a carbon part among metal film).  mains_tolerance: a fraction of tap_vrms, 0 to 0.5.
    layout: "pot_to_ground" or "divider".  floor_ohm: zero or more, only for "pot_to_ground".

    That a drifted carbon part in the range position is worse than 1 % metal film is common practice, no source; mid_range_low_v
    and mid_range_high_v give it in volts.  Raises ElectricsError for arguments out of range.
    """
    one_of("layout", layout, LAYOUTS)
    within("tap_vrms", tap_vrms, 1.0, 1000.0)
    within("mains_hz", mains_hz, 10.0, 1000.0)
    within("series_ohm", series_ohm, 0.01, 1e6)
    within("reservoir_farad", reservoir_farad, 1e-12, 1000.0)
    parts = np.array([within(name, ohm, 1e-6, 1e15) for name, ohm in
                      (("range_ohm", range_ohm), ("pot_ohm", pot_ohm), ("load_ohm", load_ohm))])
    if not_negative("floor_ohm", floor_ohm) and layout == "divider":
        raise ElectricsError("floor_ohm", floor_ohm, "zero in the divider layout, where range_ohm is the floor")
    spread = _Spread(
        parts=within("tolerance", tolerance, 0.0, 0.5),
        ranging=tolerance if range_tolerance is None else within("range_tolerance", range_tolerance, 0.0, 0.5),
        mains=within("mains_tolerance", mains_tolerance, 0.0, 0.5),
    )
    nominal = np.array([tap_vrms, series_ohm, *parts, floor_ohm])
    return _solve(layout, nominal, spread, mains_hz, reservoir_farad)


@dataclass(frozen=True)
class _Spread:
    parts: float
    ranging: float
    mains: float


def _solve(layout: str, nominal: Array, spread: _Spread, mains_hz: float, farad: float) -> BiasRange:
    """Every case in one array: nominal and corners hot, the same cold, half travel, the lifted wiper."""
    signs = np.array(list(product((-1.0, 1.0), repeat=6)))
    apart = np.full(6, spread.parts)
    apart[0], apart[2] = spread.mains, spread.ranging
    corners = nominal * (1.0 + signs * apart)
    drifted = np.array([nominal, nominal, nominal])
    drifted[1:, 2] *= [1.0 - spread.ranging, 1.0 + spread.ranging]
    ends = np.concatenate((nominal[None, :], corners))
    count = len(ends)
    tap, series, upper, pot, load, floor = np.concatenate((ends, ends, drifted, nominal[None, :])).T
    travel = np.concatenate((np.zeros(count), np.ones(count), np.full(4, 0.5)))
    ohm, share = _network(layout, upper, pot, load, travel, floor)
    ohm[-1:], share[-1:] = _lifted(layout, upper[-1:], pot[-1:], load[-1:])
    reservoir = _feed(tap, mains_hz, series, farad, ohm, np.ones(1))
    feed = reservoir * share + 0.0  # -0.0 reads badly
    hot, cold, middle, opened = feed[:count], feed[count : 2 * count], feed[-4:-1], float(feed[-1])
    return BiasRange(
        hottest_v=float(hot[0]),
        coldest_v=float(cold[0]),
        wiper_open_v=opened,
        hottest_worst_v=float(np.max(hot)),
        coldest_worst_v=float(np.min(cold)),
        lifted_wiper_hotter=opened > float(hot[0]),
        mid_v=float(middle[0]),
        mid_range_low_v=float(middle[1]),
        mid_range_high_v=float(middle[2]),
        reservoir_v=float(min(reservoir[0], reservoir[count], reservoir[-1])),
        coldest_least_v=float(np.max(cold)),
    )
