"""Round the output transformer: ratio, reflected load, power, damping, mismatch, catch diodes, and heater
balance.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.class_ab import CompositeLine, PushPull, composite_line, push_pull
from app.electrics.errors import ElectricsError, finite, not_negative, positive, whole
from app.electrics.extremes import finite_result

LOAD_CAUTION = (
    "Anodes and the primary carry lethal voltages, more than the supply while the amplifier plays. Never run it "
    "without a load, nor put a voltage on the secondary with the primary within reach."
)

__all__ = [
    "LOAD_CAUTION",
    "CompositeLine",
    "Flyback",
    "HeaterBalance",
    "Mismatch",
    "PushPull",
    "composite_line",
    "damping_factor",
    "flyback",
    "heater_balance",
    "mismatch",
    "output_ohm",
    "output_power",
    "push_pull",
    "reflected_load",
    "turns_ratio",
]


@dataclass(frozen=True)
class Mismatch:
    """ratio: load over nominal, which is also what the anode-to-anode load is multiplied by. verdict is one
    of "matched", "tolerable", "too low", "too high"; words says it to a person."""

    ratio: float
    verdict: str
    words: str


@dataclass(frozen=True)
class Flyback:
    """A string of catch diodes from one anode to ground, cathode of the string at the anode.

    reverse_v is the peak across the string, per_diode_v across each if they share alike; margin is
    diode_piv_v over per_diode_v (2.0 = twice what is needed), margin_v the volts to spare on each.
    """

    reverse_v: float
    per_diode_v: float
    margin: float
    margin_v: float
    verdict: str
    words: str
    on_failure: str


@dataclass(frozen=True)
class HeaterBalance:
    """Two equal resistors across a heater winding, their junction earthed (or at a dc voltage).

    current_a flows through both; power_each_w in one, power_w in the pair.
    """

    current_a: float
    power_each_w: float
    power_w: float
    words: str


@finite_result
def turns_ratio(*, primary_v: float, secondary_v: float) -> float:
    """Turns ratio from a small alternating voltage put on one winding and read on both: n = Vp / Vs.

    Both above 0 V, same kind (rms or peak), no load. Feed the secondary with a volt or less: the primary
    multiplies it. Source: definition of an ideal transformer. ElectricsError outside the ranges.
    """
    return positive("primary_v", primary_v) / positive("secondary_v", secondary_v)


@finite_result
def reflected_load(*, turns_ratio: float, load_ohm: float) -> float:
    """Load that the primary shows (ohm): n squared times the load; anode to anode when n is of the whole
    primary.

    Both above 0. Winding resistance is not in it. Source: definition of an ideal transformer. ElectricsError
    otherwise.
    """
    return positive("turns_ratio", turns_ratio) ** 2 * positive("load_ohm", load_ohm)


@finite_result
def output_power(*, volt_rms: float, load_ohm: float) -> float:
    """Power into a resistive load (W): V² / R, with the true rms voltage.

    volt_rms 0 or more, load_ohm above 0. A dummy load needs twice that as rating (common practice, no
    source). Source: Joule's law. ElectricsError outside the ranges.
    """
    return not_negative("volt_rms", volt_rms) ** 2 / positive("load_ohm", load_ohm)


@finite_result
def damping_factor(*, open_v: float, loaded_v: float, load_ohm: float) -> float:
    """Load over output impedance, from the volts without and with load at the same drive: V / (V0 - V).

    loaded_v above 0 and below open_v (equal volts would mean no output impedance at all), load_ohm above 0,
    where output_ohm gives the impedance itself. Open a valve amplifier's load only at low level and for a
    moment; the better way is two loads. Source: voltage divider. ElectricsError outside the ranges.
    """
    return positive("load_ohm", load_ohm) / output_ohm(open_v=open_v, loaded_v=loaded_v, load_ohm=load_ohm)


@finite_result
def output_ohm(*, open_v: float, loaded_v: float, load_ohm: float) -> float:
    """Output impedance (ohm) from the volts without and with load: R (V0 - V) / V. Ranges as
    damping_factor."""
    empty, loaded = positive("open_v", open_v), positive("loaded_v", loaded_v)
    if loaded >= empty:
        raise ElectricsError("loaded_v", loaded_v, f"below open_v ({empty:g} V)")
    return positive("load_ohm", load_ohm) * (empty - loaded) / loaded


@finite_result
def mismatch(*, nominal_ohm: float, load_ohm: float) -> Mismatch:
    """What a load on a tap made for another does: the reflected load is multiplied by load / nominal.

    Both above 0. Within 10 % matched; to 2:1 either way tolerable at moderate level; beyond that not.
    Source of the factor: ideal transformer; of the 2:1: common practice, no source (from memory).
    ElectricsError outside the ranges.
    """
    ratio = positive("load_ohm", load_ohm) / positive("nominal_ohm", nominal_ohm)
    scale = f"The anodes see {ratio:.3g} times the load they were meant for."
    # A hair over 2:1 for tolerances in the last digit of a reading.
    slack = 2.0 * (1.0 + 1e-9)
    if abs(ratio - 1.0) <= 0.1:
        return Mismatch(ratio, "matched", f"{scale} Matched.")
    if ratio > slack:
        return Mismatch(
            ratio, "too high",
            f"{scale} Too high: the anodes swing far above the supply, and sockets and transformer may arc. "
            "Open circuit is the end of this road; never play without a load.",
        )  # fmt: skip
    if ratio < 1.0 / slack:
        return Mismatch(
            ratio, "too low", f"{scale} Too low: less power, and more current and heat in the output valves."
        )
    return Mismatch(ratio, "tolerable", f"{scale} Tolerable at moderate level, not at full power for long.")


def flyback(*, supply_v: float, swing_v: float | None = None, diodes: int = 1, diode_piv_v: float) -> Flyback:
    """Reverse volts on a string of catch diodes from anode to ground: (Vb + swing) / diodes.

    supply_v above 0; swing_v is the peak that the anode rises above the supply (0 or more), by default the
    supply itself, the most that the other half of a push-pull primary can push it to; diodes 1 to 12;
    diode_piv_v above 0. The string blocks in use and conducts only when an anode is driven below ground by
    the transformer with its load lost. Source: push-pull geometry; margin of 1.5 to call it good and the
    failure: common practice, no source. ElectricsError outside the ranges.
    """
    vb = positive("supply_v", supply_v)
    swing = vb if swing_v is None else not_negative("swing_v", swing_v)
    whole("diodes", diodes, 1, 12)
    piv = positive("diode_piv_v", diode_piv_v)
    each = (vb + swing) / diodes
    margin = piv / each
    if margin < 1.0:
        verdict, said = "too few", f"Each would stand {each:.0f} V, above its {piv:g} V: it will break down."
    elif margin < 1.5:
        verdict, said = "thin", f"Each stands {each:.0f} V of its {piv:g} V. No room for spikes or uneven sharing."
    else:
        verdict, said = "good", f"Each stands {each:.0f} V of its {piv:g} V."
    failure = (
        "A catch diode usually fails short: the anode's supply then goes to earth through the half primary, the fuse blows, "
        "and the output transformer is spared. With the wrong fuse it is not."
    )
    return Flyback(vb + swing, each, margin, piv - each, verdict, said, failure)


@finite_result
def heater_balance(*, heater_v: float, ohm_each: float) -> HeaterBalance:
    """Artificial centre tap of a heater winding by two equal resistors: I = V / 2R, I² R in each.

    heater_v (rms, across the whole winding) 0 or more, ohm_each above 0; 100 ohm each is usual at 6.3 V. A
    humdinger is a pot across the winding that does the same with a movable tap, so that the hum can be set to
    its least. One leg shorted to ground puts the whole winding's volts across one resistor, four times its
    power, which burns it open like a fuse. Not with a winding that has a centre tap of its own. Source: Ohm's
    law; practice common, no source. ElectricsError outside the ranges.
    """
    volt, ohm = not_negative("heater_v", finite("heater_v", heater_v)), positive("ohm_each", ohm_each)
    current = volt / (2.0 * ohm)
    each = current * current * ohm
    words = (
        f"{current * 1e3:.1f} mA through the pair, {each:.2f} W in each; a humdinger pot of {2.0 * ohm:g} ohm does the "
        f"same and can be set for least hum. A leg shorted to earth puts {4.0 * each:.2f} W into one resistor."
    )
    return HeaterBalance(current, each, 2.0 * each, words)
