"""Sums of the small-signal stage."""

from __future__ import annotations

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, choice, percent, quantity, tell
from app.bench.sums.other_valve import asked, limit_fields, offered
from app.bench.sums.pictures.drawing import Picture
from app.bench.sums.pictures.lines import triode_line
from app.bench.sums.pictures.scales import spread
from app.electrics import Valve, fit_error, simulate, triode_stage, triode_stage_samples

MATTER = "Stages"
DRAWS = 2_000


def model_of(entry: Valve) -> tuple[Cited, ...]:
    """Where a valve's model and its limits come from."""
    cited = []
    if entry.model_source is not None:
        fit = fit_error(entry)
        points = "its one published point" if fit.points == 1 else f"each of its {fit.points} published points"
        cited.append(Cited(entry.model_source.mark, f"Model of the {entry.name}: {entry.model_source.text}. Its current is within "
                                                    f"{tell(fit.worst, '%', 2)} at {points}"))
    if entry.ratings is not None:
        cited.append(Cited(entry.ratings.mark_of("anode_w"), f"Limits of the {entry.name}: {entry.ratings.source.text}"))
    return tuple(cited)


def _stage(given: Given) -> Answer:
    entry, bypassed = asked(given, "triode"), given.word("bypassed") == "yes"
    parts = {name: given.number(name) for name in ("supply_v", "anode_ohm", "cathode_ohm")}
    found = triode_stage(valve=entry, **parts, bypassed=bypassed, next_grid_ohm=given.maybe("next_grid_ohm"))
    pictures: list[Picture] = [triode_line(entry, found, **parts)]
    tolerance, figures = given.number("tolerance"), []
    wander = {"anode_ohm": tolerance, "cathode_ohm": tolerance, "emission": given.number("spread"),
              "supply_v": given.number("mains_tolerance")}
    if any(wander.values()):
        drawn = simulate(triode_stage_samples, nominal={"valve": entry, **parts, "bypassed": bypassed, "emission": 1.0},
                         tolerances=wander, samples=DRAWS)["anode_v"]
        pictures.append(spread("The anode's voltage, parts, valve and HT drawn at random", drawn, "V", "the anode"))
        figures = [Figure("anode_low_v", "Anode, 5 in 100 below", drawn.p05, "V"),
                   Figure("anode_high_v", "Anode, 5 in 100 above", drawn.p95, "V")]
    return Answer(
        f"The {entry.name} rests with {tell(found.anode_v, 'V')} on its anode and {tell(found.cathode_v, 'V')} on its cathode, "
        f"at {tell(found.anode_a, 'A')}; it amplifies {found.gain:.0f} times.",
        (Figure("anode_v", "Anode", found.anode_v, "V", 4), Figure("cathode_v", "Cathode", found.cathode_v, "V"),
         Figure("anode_a", "Current", found.anode_a, "A"), Figure("gain", "Gain", found.gain, "×"),
         Figure("output_ohm", "Output impedance", found.output_ohm, "ohm"),
         Figure("dissipation_w", "Dissipation", found.dissipation_w, "W"),
         Figure("share_of_max", "of the sheet's limit", "no limit known here" if found.share_of_max is None else found.share_of_max,
                "%", 2), *figures),
        notes=found.notes, pictures=tuple(pictures),
        sources=model_of(entry))


STAGE = Sum(
    "stage", MATTER, "Triode stage", "Where a stage with its own cathode resistor comes to rest, and what it amplifies.",
    (choice("valve", "Valve", offered("triode"), "12AX7"), quantity("supply_v", "HT at the stage", "V", "300"),
     quantity("anode_ohm", "Anode resistor", "ohm", "100k"), quantity("cathode_ohm", "Cathode resistor", "ohm", "1k5"),
     choice("bypassed", "Cathode bypassed", (("yes", "yes"), ("no", "no")), "yes", chips=True),
     quantity("next_grid_ohm", "Next grid leak", "ohm", "1M", "Loads the stage; leave empty for none.", optional=True),
     percent("tolerance", "Resistors' tolerance", "10", "0 = no tolerance spread."),
     percent("spread", "Valve spread", "30", "A valve may be so much stronger or weaker than its sheet.", high=80.0),
     percent("mains_tolerance", "Mains voltage variation", "10", "The HT follows it."), *limit_fields("triode")),
    _stage,
    "The current is the one at which the valve passes, at its own anode and grid voltage, just what both resistors leave it. "
    "Gain is µ times the load over the valve's resistance plus the load; with the cathode not bypassed its resistor counts "
    "µ + 1 times more.",
    (Cited("C", "Checked against ngspice at 0.1 %."),
     Cited("M", "30 % as the spread of new valves: common practice, no source."),
     Cited("S", "N. Koren, Improved vacuum tube models for SPICE simulations, 1996, the factor of two included."),
     Cited("S", "Equivalent circuit of a triode stage, as in worked public examples.")),
    "The anode end of that resistor carries the HT. Clip on with the amp off and discharged, read with hands away; the model "
    "stands for a new valve, not for the one in the socket.")

SUMS = (STAGE,)
