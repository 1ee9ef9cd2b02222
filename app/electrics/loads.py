"""What hangs on a part and what it was made for: heaters on a winding, a supply on a transformer, a leak on a grid, speakers
on a tap. Each holds its figure against a rating."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.electrics.errors import ElectricsError, not_negative, one_of, positive, several, whole, within, yes_or_no
from app.electrics.extremes import finite_result
from app.electrics.limits import Limit, limit
from app.electrics.output import Mismatch, mismatch
from app.electrics.supply.reservoir import RECTIFIERS, Supply
from app.electrics.valves import Heater, Valve, ValveLike, as_valve
from app.electrics.valves.grid_leaks import GRID_LEAKS

HEATER_BAND = 0.12  # a heater belongs to a winding whose nominal volts are this near to its own: common practice, no source
EFFICIENCY = 0.9  # of a mains transformer of a hundred watts or so: common practice, no source
MISMATCH_MOST = 2.0  # either way, at moderate level: common practice, no source


@dataclass(frozen=True)
class HeaterLoad:
    """All heaters on one winding: amperes, watts, each valve's share, whether every figure was seen in a sheet, the limit."""

    ampere: float
    watt: float
    each: tuple[tuple[str, int, float], ...]  # type, how many, amperes of one
    seen: bool
    limits: tuple[Limit, ...]


@finite_result
def heater_load(
    *, valves: Sequence[tuple[ValveLike, int]], winding_v: float, winding_a: float | None = None, more_a: float = 0.0
) -> HeaterLoad:
    """Add the heaters on a winding of nominal winding_v (above 0 to 100 V), and hold the sum against its rated current.

    valves: (type, how many 1 to 24), each connected for the winding; more_a: lamps and the balance pair (0 A or more).
    winding_a: what the winding is rated for, above 0; no limit is judged without it. Heater currents are the sheets' nominal
    ones; a sheet allows a few per cent of spread. Source: the valves' entries. ElectricsError for a valve without a heater
    for these volts, an unknown one, or none at all.
    """
    volts = within("winding_v", positive("winding_v", winding_v), 0.1, 100.0)
    more, rated = not_negative("more_a", more_a), None if winding_a is None else positive("winding_a", winding_a)
    each, seen = [], True
    for pair in several("valves", valves, "pairs of a type and how many"):
        entry, count = _counted(pair)
        heater = _heater_for(entry, volts)
        each.append((entry.name, count, heater.ampere))
        seen = seen and heater.source.mark in ("S", "T")
    total = sum(count * ampere for _, count, ampere in each) + more
    if total <= 0.0:
        raise ElectricsError("valves", valves, "at least one valve")
    limits: tuple[Limit, ...] = ()
    if rated is not None:
        limits = (limit("heater winding's current", total, rated, "A", source="as typed: printed on the transformer or its sheet",
                        note="" if seen else "some heater currents are from memory of the sheet", unconfirmed=not seen),)
    return HeaterLoad(total, total * volts, tuple(each), seen, limits)


def _counted(pair: object) -> tuple[Valve, int]:
    if not isinstance(pair, tuple) or len(pair) != 2:
        raise ElectricsError("valves", pair, "pairs of a type and how many")
    return as_valve(pair[0]), whole("valves", pair[1], 1, 24)


def _heater_for(entry: Valve, volts: float) -> Heater:
    found = min(entry.heaters, key=lambda one: abs(one.volt - volts), default=None)
    if found is None or abs(found.volt - volts) > HEATER_BAND * volts:
        have = " or ".join(f"{one.volt:g} V" for one in entry.heaters) or "none known here"
        raise ElectricsError("valves", entry.name, f"valves with a heater for {volts:g} V; this one's is {have}")
    return found


@dataclass(frozen=True)
class TransformerLoad:
    """A mains transformer under load, all VA rms: its HT winding, its heaters, together, the primary and its current."""

    ht_va: float
    heater_va: float
    secondary_va: float
    primary_va: float
    primary_a: float
    limits: tuple[Limit, ...]


@finite_result
def transformer_load(
    *, supply: Supply, secondary_vrms: float, rectifier: str, heater_va: float, mains_v: float,
    efficiency: float = EFFICIENCY, rated_va: float | None = None
) -> TransformerLoad:  # fmt: skip
    """What a supply and its heaters take from a mains transformer.

    supply: from `capacitor_input` with this winding (secondary_vrms, V, per leg with a centre tap) and rectifier, one of
    full_wave_ct, bridge, half_wave. A reservoir draws its current in short pulses, so a winding's rms current is above the DC
    one: I of one diode in each leg, that times the root of 2 in a bridge's winding. The primary sees both legs of a centre tap, and
    its VA are taken as the sum of HT and heaters over the efficiency (0.5 to 1): an upper bound, since the pulses and the heaters'
    current do not peak in step. rated_va: what the transformer is rated for; no limit is judged without it. Source: definition of
    apparent power; the efficiency is common practice. ElectricsError outside the ranges.
    """
    if not isinstance(supply, Supply):
        raise ElectricsError("supply", supply, "a result of capacitor_input")
    volts, kind = positive("secondary_vrms", secondary_vrms), one_of("rectifier", rectifier, RECTIFIERS)
    heaters, mains = not_negative("heater_va", heater_va), positive("mains_v", mains_v)
    share, rated = within("efficiency", efficiency, 0.5, 1.0), None if rated_va is None else positive("rated_va", rated_va)
    diode = supply.rms_diode_a
    line = diode if kind == "half_wave" else math.sqrt(2.0) * diode
    wound = volts * (2.0 * diode if kind == "full_wave_ct" else line)
    primary = (volts * line + heaters) / share
    if primary <= 0.0:
        raise ElectricsError("heater_va", heater_va, "above 0 where the supply draws nothing")
    together = wound + heaters
    limits: tuple[Limit, ...] = ()
    if rated is not None:
        limits = (limit("transformer's VA", together, rated, "VA", source="as typed: printed on the transformer or its sheet"),)
    return TransformerLoad(wound, heaters, together, primary, primary / mains, limits)


@dataclass(frozen=True)
class CouplingLeak:
    """A coupling capacitor that leaks: what it lifts the next grid by, and the current that does it."""

    lift_v: float
    leak_a: float
    limits: tuple[Limit, ...]


@finite_result
def coupling_leak(*, anode_v: float, leak_ohm: float, grid_leak_ohm: float, allowed_v: float) -> CouplingLeak:
    """How far a coupling capacitor's leakage lifts the grid behind it: V = Va * Rg / (Rg + Rleak).

    anode_v: volts across the capacitor with the grid at 0 V, 0 or more; leak_ohm its insulation resistance and grid_leak_ohm from
    that grid to its bias or to earth, both above 0; allowed_v: how far that bias may move, above 0, which is judged as unconfirmed
    since no sheet says it. Source: voltage divider. ElectricsError outside the ranges.
    """
    volts, leak = not_negative("anode_v", anode_v), positive("leak_ohm", leak_ohm)
    grid, allowed = positive("grid_leak_ohm", grid_leak_ohm), positive("allowed_v", allowed_v)
    current = volts / (grid + leak)
    held = limit("grid lifted by", current * grid, allowed, "V", source="as typed; common practice, no source", unconfirmed=True)
    return CouplingLeak(current * grid, current, (held,))


@finite_result
def grid_leak_limit(*, valve: ValveLike, ohm: float, fixed_bias: bool, sharing: int = 1, allowed_ohm: float | None = None) -> Limit:
    """Hold the resistance from an output valve's grid to its bias (fixed_bias) or to earth against the sheet's most.

    ohm above 0; sharing 1 to 8: grids on the same resistor, each of which may count on its part only. allowed_ohm: a limit read
    from a sheet, in place of the table's. Source: the table of app.electrics.valves.grid_leaks. ElectricsError for an unknown
    valve, or where no limit is known here and none is given.
    """
    entry, count = as_valve(valve), whole("sharing", sharing, 1, 8)
    value, fixed = positive("ohm", ohm), yes_or_no("fixed_bias", fixed_bias)
    name = f"grid circuit of a {entry.name}, {'fixed' if fixed else 'cathode'} bias"
    note = f"{count} grids share it" if count > 1 else ""
    if allowed_ohm is not None:
        return limit(name, value, positive("allowed_ohm", allowed_ohm) / count, "ohm", source="typed here", note=note)
    known = GRID_LEAKS.get(entry.name)
    if known is None:
        raise ElectricsError("valve", entry.name, "one whose grid circuit is limited in the table; no limit is known here: type it")
    return limit(name, value, (known.fixed_ohm if fixed else known.self_ohm) / count, "ohm", note=note,
                 source=f"{known.source.text}{', from memory' if known.source.mark == 'M' else ''}",
                 unconfirmed=known.source.mark == "M")  # fmt: skip


@dataclass(frozen=True)
class SpeakerLoad:
    """Speakers on one tap: ohms together, the mismatch, and what each takes of the power (W; empty without a power)."""

    load_ohm: float
    found: Mismatch
    each_w: tuple[float, ...]
    limits: tuple[Limit, ...]


@finite_result
def speaker_load(
    *, ohms: Sequence[float], wiring: str, nominal_ohm: float, power_w: float | None = None, rated_w: float | None = None
) -> SpeakerLoad:
    """Speakers wired in "parallel" or in "series" on a tap of nominal_ohm.

    ohms: the nominal impedance of each, 1 to 8 of them, above 0; power_w: what the amp gives into the tap, rated_w: what the least
    of them is rated for, both above 0 where given. The same volts (parallel) or the same current (series) share the power out.
    Held: the mismatch either way against 2 : 1, which is common practice and unconfirmed, and the hottest one against rated_w.
    Source: Ohm's law; see `mismatch`. ElectricsError outside the ranges.
    """
    each = [positive(f"ohms[{number}]", one) for number, one in enumerate(several("ohms", ohms, "ohms of each speaker"))]
    if not 1 <= len(each) <= 8:
        raise ElectricsError("ohms", ohms, "1 to 8 speakers")
    parallel = one_of("wiring", wiring, ("parallel", "series")) == "parallel"
    together = 1.0 / sum(1.0 / one for one in each) if parallel else sum(each)
    found = mismatch(nominal_ohm=nominal_ohm, load_ohm=together)
    limits = [limit("mismatch, either way", max(found.ratio, 1.0 / found.ratio), MISMATCH_MOST, "times", unconfirmed=True,
                    source="2 : 1 at moderate level: common practice, no source")]
    shares: tuple[float, ...] = ()
    if power_w is not None:
        power = positive("power_w", power_w)
        shares = tuple(power * (together / one if parallel else one / together) for one in each)
        if rated_w is not None:
            limits.append(limit("hottest speaker", max(shares), positive("rated_w", rated_w), "W",
                                source="as typed: printed on the speaker"))
    return SpeakerLoad(together, found, shares, tuple(limits))
