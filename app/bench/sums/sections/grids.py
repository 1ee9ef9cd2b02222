"""What pulls on a grid: a coupling capacitor that leaks, and too much resistance to its bias."""

from __future__ import annotations

from dataclasses import replace

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, choice, count, judged, quantity, tell
from app.bench.sums.other_valve import NAME_FIELDS, OTHER, asked_by_name, offered
from app.electrics import MEASURE_CAUTION, ElectricsError, coupling_leak, grid_leak_limit

MATTER = "Grids"


def _coupling(given: Given) -> Answer:
    bias = abs(given.number("bias_v"))
    if not bias > 0.0:
        raise ElectricsError("bias_v", bias, "other than 0")
    found = coupling_leak(anode_v=given.magnitude("anode_v"), leak_ohm=given.number("leak_ohm"),
                          grid_leak_ohm=given.number("grid_leak_ohm"), allowed_v=given.number("allowed") * bias)
    return Answer(
        f"The capacitor lifts that grid by {tell(found.lift_v, 'V')}, {tell(found.lift_v / bias, '%', 2)} of its bias of "
        f"{tell(bias, 'V')}; {tell(found.leak_a, 'A')} flow through it.",
        (Figure("lift_v", "Grid lifted by", found.lift_v, "V"), Figure("leak_a", "Through the capacitor", found.leak_a, "A"),
         Figure("share", "of the bias", found.lift_v / bias, "%")),
        verdict=judged(found.limits), limits=found.limits,
        notes=("Read across the grid leak with the valve out and the HT on, the lift is measured at once: a healthy film capacitor "
               "shows a few millivolts (common practice, no source).",))


COUPLING = Sum(
    "coupling-leak", MATTER, "Leaking coupling capacitor", "What its leakage does to the next grid.",
    (quantity("anode_v", "Anode before it, to earth", "V", "180"),
     quantity("leak_ohm", "Its insulation resistance", "ohm", "100M", "At its working voltage, which a meter does not have.",
              covers=("leak",)),
     quantity("grid_leak_ohm", "Grid leak behind it", "ohm", "220k"),
     quantity("bias_v", "Bias of that grid", "V", "-38"),
     replace(count("allowed", "It may move by", "5", 1, 50, unit="%"), kind="percent", low=0.1, high=50.0, covers=("allowed_v",))),
    _coupling, "Leakage and grid leak divide the anode's voltage: V times grid leak over the sum of both.",
    (Cited("C", "Voltage divider."), Cited("M", "5 % of the bias as what it may move: common practice, no source.")),
    "A grid that is lifted runs its valve hot, the anode red at worst. " + MEASURE_CAUTION)


def _grid_leak(given: Given) -> Answer:
    typed = given.maybe("sheet_ohm")
    if given.word("valve") == OTHER and typed is None:
        raise ElectricsError("sheet_ohm", None, "entered, from the sheet of that type")
    entry = asked_by_name(given)
    found = grid_leak_limit(valve=entry, ohm=given.number("ohm"), fixed_bias=given.word("bias") == "fixed",
                            sharing=given.whole("sharing"), allowed_ohm=typed)
    if typed is not None:
        sheet = given.word("other_sheet").strip()
        found = replace(found, source=f"typed here, source: {sheet}" if sheet else "typed here, no sheet named",
                        unconfirmed=not sheet)
    return Answer(
        f"The grid has {tell(found.found, 'ohm')} to its {'bias' if given.word('bias') == 'fixed' else 'earth'}; "
        f"{tell(found.allowed, 'ohm')} are allowed.",
        (Figure("ohm", "In the grid's circuit", found.found, "ohm"), Figure("allowed_ohm", "Allowed at most", found.allowed, "ohm"),
         Figure("share", "of that", found.found / found.allowed, "%")),
        verdict=judged((found,)), limits=(found,))


GRID_LEAK = Sum(
    "grid-leak", MATTER, "Grid leak", "Whether the resistance from an output valve's grid is within its sheet.",
    (choice("valve", "Valve", offered("pentode"), "EL34"),
     quantity("ohm", "From the grid to bias or earth", "ohm", "220k", "Grid leak, half the pot and what else is in the way."),
     choice("bias", "Bias", (("fixed", "fixed"), ("self", "cathode resistor")), "fixed", chips=True),
     count("sharing", "Grids on that resistor", "1", 1, 8),
     quantity("sheet_ohm", "Most by its sheet", "ohm", "", "Only where the table has none, or the sheet at hand says otherwise.",
              optional=True, covers=("allowed_ohm",)), *NAME_FIELDS),
    _grid_leak,
    "A sheet names the most resistance for fixed bias, and more of it for a cathode resistor, which answers a rise. Grids that "
    "share a resistor share its limit.",
    (Cited("C", "A grid's own current times its circuit's resistance is what the bias moves."),),
    "A valve that draws grid current through too much resistance runs away: anode red, then HT fuse. " + MEASURE_CAUTION)

SUMS = (COUPLING, GRID_LEAK)
