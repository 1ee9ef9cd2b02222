"""What the mains transformer carries: heaters on a winding, and the whole of it."""

from __future__ import annotations

import re

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, VerdictKind, judged, percent, quantity, tell, words
from app.bench.sums.mains import MAINS_FIELDS, mains_notes, mains_ratio
from app.bench.sums.other_valve import RECTIFIER_FIELDS, asked_rectifier
from app.bench.sums.sections.supply import MAINS_HZ, WINDING, solved
from app.electrics import ElectricsError, heater_load, heater_voltage, preferred_fuse, transformer_load, valve

MATTER = "Mains transformer"
_PULLED = ("Unplugged and discharged before a hand goes in. Local rules and licensed practice come first on anything before the "
           "transformer.")
_MANY = re.compile(r"(?:(\d{1,2})\s*[x×*]\s*|(\d{1,2})\s+)?(\S.*)")


def read_valves(text: str) -> list[tuple[str, int]]:
    """'2 × EL34, 3 × 12AX7, GZ34' as types with how many; ElectricsError names the piece that is no valve."""
    found = []
    for piece in re.split(r"[,;+\n]+", text):
        if not piece.strip():
            continue
        matched = _MANY.fullmatch(piece.strip())
        if matched is None:
            raise ElectricsError("valves", piece, "types with how many of each, such as 2 × EL34, 3 × 12AX7")
        name = matched.group(3)
        try:
            valve(name)
        except ElectricsError as wrong:
            raise ElectricsError("valves", name, f"known types (“{name.strip()[:30]}” is none: enter its current with "
                                                 "the lamps)") from wrong
        found.append((name, int(matched.group(1) or matched.group(2) or 1)))
    return found


def _heaters(given: Given) -> Answer:
    volts, valves = given.number("winding_v"), read_valves(given.word("valves"))
    found = heater_load(valves=valves, winding_v=volts, winding_a=given.maybe("winding_a"), more_a=given.maybe("more_a") or 0.0)
    figures = [Figure("ampere", "All heaters", found.ampere, "A"), Figure("watt", "Their power", found.watt, "W")]
    figures += [Figure(f"each_{number}", f"{count} × {name}", f"{tell(count * ampere, 'A')}")
                for number, (name, count, ampere) in enumerate(found.each, start=1)]
    notes = [entry.remark[0].upper() + entry.remark[1:] + "." for entry in (valve(name) for name, _ in valves) if entry.remark]
    verdict: tuple[VerdictKind, str] | None = judged(found.limits)
    if given.maybe("now_v") is not None:
        at = heater_voltage(nominal_v=volts, measured_mains_v=given.number("now_v"), tap_v=given.number("set_tap_v")
                            if mains_ratio(given) else 1.0)
        figures.append(Figure("heater_v", "Heaters get", at.heater_v, "V"))
        if at.verdict != "pass":
            verdict = ("fail", "heaters outside 10 %")
        elif at.band != "full_life" and (verdict is None or verdict[0] == "pass"):
            verdict = ("doubt", "heaters outside 5 %")
    rated = given.maybe("winding_a")
    spare = f", {tell(found.ampere / rated, '%', 2)} of the winding's {tell(rated, 'A')}" if rated else ""
    return Answer(f"The heaters take {tell(found.ampere, 'A')} at {tell(volts, 'V')}{spare}.", tuple(figures), verdict=verdict,
                  limits=found.limits, notes=(*mains_notes(given, volts), *dict.fromkeys(notes)),
                  sources=(Cited("S" if found.seen else "M", "Heater currents from the valves' entries, each with its sheet."),))


HEATERS = Sum(
    "heater-winding", MATTER, "Heaters on a winding", "Whether a winding bears the heaters of the valves that are to go in.",
    (words("valves", "Valves on it", "2 × EL34, 3 × 12AX7", "With how many of each; commas between."),
     quantity("winding_v", "Winding, nominal", "V", "6.3"),
     quantity("winding_a", "Rated current of the winding", "A", "", "As printed on the transformer, or in its sheet.",
              optional=True),
     quantity("more_a", "Lamps and what else hangs on it", "A", "", "A valve that is not in the table too.", optional=True),
     *MAINS_FIELDS),
    _heaters,
    "The heaters' nominal currents from the valves' sheets, added up for the connection that fits the winding.",
    (Cited("C", "Currents side by side add up."),
     Cited("S", "Tube CAD Journal, October 2000, quoting a handbook: oxide cathodes stand ±10 %.")),
    "A type with a hotter heater overloads a winding that bore the old one for years: it smells first and shorts then. " + _PULLED)


def _transformer(given: Given) -> Answer:
    supply, kind = solved(given), given.word("rectifier")
    volts = given.number("secondary_vrms") * mains_ratio(given)
    mains = given.maybe("now_v") or given.number("mains_v")
    rectifier_valve = asked_rectifier(given)
    typed = () if rectifier_valve is None or rectifier_valve.rectifier is None else (
        Cited(rectifier_valve.rectifier.source.mark, f"{rectifier_valve.name}: {rectifier_valve.rectifier.source.text}"),)
    found = transformer_load(supply=supply, secondary_vrms=volts, rectifier=kind, heater_va=given.number("heater_va"),
                             mains_v=mains, efficiency=given.number("efficiency"), rated_va=given.maybe("rated_va"))
    fuse = preferred_fuse(va=found.primary_va, mains_v=mains)
    return Answer(
        f"The primary takes {tell(found.primary_va, 'VA')}, {tell(found.primary_a, 'A')} at {tell(mains, 'V')}; the windings carry "
        f"{tell(found.secondary_va, 'VA')}. A fuse for that is {fuse.marking}.",
        (Figure("primary_va", "Primary", found.primary_va, "VA"), Figure("primary_a", "Primary current", found.primary_a, "A"),
         Figure("ht_va", "HT winding", found.ht_va, "VA"), Figure("heater_va", "Heaters", found.heater_va, "VA"),
         Figure("secondary_va", "Windings together", found.secondary_va, "VA"),
         Figure("mean_v", "HT at the reservoir", supply.mean_v, "V"), Figure("rated_a", "Fuse", fuse.rated_a, "A")),
        verdict=judged(found.limits), limits=found.limits, notes=mains_notes(given, given.number("secondary_vrms")),
        sources=(*typed, Cited(fuse.status, f"{fuse.source}; {fuse.note}.")))


TRANSFORMER = Sum(
    "transformer", MATTER, "VA and primary current", "What supply and heaters take from the mains, and the fuse for it.",
    (*(field for field in WINDING if field.name != "reservoir_rated_v"), quantity("load_a", "Drawn from the HT", "A", "130m",
                                                                                  covers=("load_ohm", "load")),
     quantity("heater_va", "Heaters, all windings", "VA", "30", "Voltage times current of each winding, added."),
     quantity("mains_v", "Mains voltage", "V", "230"), percent("efficiency", "Efficiency", "90", low=50.0, high=100.0),
     quantity("rated_va", "Rated VA of the transformer", "VA", "", "As printed on it or in its sheet.", optional=True), MAINS_HZ,
     *RECTIFIER_FIELDS, *MAINS_FIELDS),
    _transformer,
    "A reservoir draws its current in short pulses: the winding's rms current, and with it the VA, lie well above the DC drawn. "
    "The primary's VA are HT and heaters added, over the efficiency: an upper bound.",
    (Cited("C", "Rms currents from the solved supply, which is checked against ngspice."),
     Cited("M", "An efficiency of 90 %: common practice, no source.")),
    "The rating plate and the schematic come first; never a larger fuse to make it hold. " + _PULLED)

SUMS = (HEATERS, TRANSFORMER)
