"""Sums of the supply: the reservoir, what smooths it, and what the mains does to it all."""

from __future__ import annotations

from collections.abc import Sequence

from app.bench.sums.kinds import Answer, Cited, Field, Figure, Given, Sum, choice, judged, ours, quantity, tell
from app.bench.sums.mains import MAINS_FIELDS, mains_notes, mains_ratio
from app.bench.sums.other_valve import RECTIFIER_FIELDS, asked_rectifier, offered
from app.bench.sums.pictures.waves import ripple
from app.electrics import (
    LC,
    RC,
    ColdStart,
    ElectricsError,
    Supply,
    capacitor_input,
    cold_start,
    energy_hazard,
    filter_chain,
    heater_voltage,
    rectifier_limits,
    reservoir_under,
    stored_energy,
)
from app.electrics.limits import Limit, limit

MATTER = "Supply"
_RECTIFIERS = (("full_wave_ct", "full wave, centre tap"), ("bridge", "bridge"), ("half_wave", "half wave"))
_DROPS = (("silicon", "silicon diodes"), *offered("rectifier"))
_CHARGED = ("The reservoir keeps its charge after switch-off, and rises to the no-load voltage with the valves out. "
            "Discharge through a resistor and measure before a hand goes in.")
WINDING: tuple[Field, ...] = (
    quantity("secondary_vrms", "Winding, off load", "V", "325", "Rms; of one leg where there is a centre tap."),
    choice("rectifier", "Rectifier", _RECTIFIERS, "full_wave_ct"),
    choice("drop", "Made of", _DROPS, "silicon", covers=("rectifier_valve",)),
    quantity("source_ohm", "Resistance in the charging path", "ohm", "100",
             "Winding, primary as seen from it, and any resistor in series; of one leg."),
    quantity("reservoir_farad", "Reservoir", "F", "47u"),
    quantity("reservoir_rated_v", "Reservoir's rated voltage", "V", "", "As printed on it.", optional=True),
)
MAINS_HZ = choice("mains_hz", "Mains frequency", (("50", "50 Hz"), ("60", "60 Hz")), "50", chips=True)


def solved(given: Given) -> Supply:
    """The supply of these fields, the winding at the mains as it is now."""
    return capacitor_input(
        secondary_vrms=given.number("secondary_vrms") * mains_ratio(given), rectifier=given.word("rectifier"),
        source_ohm=given.number("source_ohm"),
        reservoir_farad=given.number("reservoir_farad"), mains_hz=float(given.word("mains_hz")), load_ohm=given.maybe("load_ohm"),
        load_a=given.maybe("load_a"), drop=asked_rectifier(given))


def _started(given: Given, stages: Sequence[RC | LC] = ()) -> ColdStart:
    """The same winding switched on with its capacitors empty and nothing drawn, as while the valves warm up."""
    return cold_start(
        secondary_vrms=given.number("secondary_vrms") * mains_ratio(given), rectifier=given.word("rectifier"),
        source_ohm=given.number("source_ohm"),
        reservoir_farad=given.number("reservoir_farad"), mains_hz=float(given.word("mains_hz")), stages=stages,
        drop=asked_rectifier(given))


def _ratings(given: Given, supply: Supply, start: ColdStart) -> tuple[Limit, ...]:
    """The rectifier's sheet, and the volts printed on each capacitor against the highest that a start drives it to."""
    limits: tuple[Limit, ...] = ()
    rectifier_valve = asked_rectifier(given)
    if rectifier_valve is not None:
        limits = rectifier_limits(rectifier_valve=rectifier_valve, supply=supply, source_ohm=given.number("source_ohm"),
                                  reservoir_farad=given.number("reservoir_farad"))
    capacitors = (("reservoir_rated_v", "Reservoir"), ("rated_v", "Capacitor after it"))
    for (name, label), volts in zip(capacitors, start.highest_v, strict=False):
        rated = given.maybe(name)
        if rated is not None:
            limits += (limit(f"{label}: voltage at start-up", volts, rated, "V", source="as printed on the part",
                             note="the highest while the valves are cold and nothing is drawn"),)
    return limits


def _reservoir(given: Given) -> Answer:
    found = solved(given)
    start = _started(given)
    held = stored_energy(given.number("reservoir_farad"), start.highest_v[0])
    picture = ripple(found)
    limits = _ratings(given, found, start)
    return Answer(
        f"The reservoir sits at {tell(found.mean_v, 'V')} with {tell(found.ripple_vpp, 'V')} of ripple, "
        f"and rises to {tell(found.no_load_v, 'V')} with nothing drawn.",
        (Figure("mean_v", "Mean", found.mean_v, "V", 4), Figure("ripple_vpp", "Ripple, peak to peak", found.ripple_vpp, "V"),
         Figure("ripple_hz", "Ripple's frequency", found.ripple_hz, "Hz"),
         Figure("mean_load_a", "Drawn", found.mean_load_a, "A"),
         Figure("no_load_v", "Nothing drawn", found.no_load_v, "V"),
         Figure("highest_v", "Highest at start-up", start.highest_v[0], "V"),
         Figure("inrush_worst_a", "First peak, switched on at the crest", start.inrush_worst_a, "A"),
         Figure("peak_diode_a", "Peak in one diode", found.peak_diode_a, "A"),
         Figure("rms_diode_a", "Rms in one diode", found.rms_diode_a, "A"),
         Figure("diode_piv_v", "Reverse voltage on each diode", found.diode_piv_v, "V"),
         Figure("no_load_j", "Energy at the highest voltage", held, "J")),
        verdict=judged(limits), limits=limits, notes=mains_notes(given, given.number("secondary_vrms")),
        pictures=(picture,) if picture else (),
        cautions=energy_hazard(given.number("reservoir_farad"), start.highest_v[0]).cautions)


RESERVOIR = Sum(
    "reservoir", MATTER, "Reservoir", "What a winding, its rectifier and the first capacitor give under load.",
    (*WINDING, quantity("load_ohm", "Load as a resistance", "ohm", "3k", "Either this or a current; both stand side by side.",
                         optional=True, covers=("load",)),
     quantity("load_a", "Load as a current", "A", "", optional=True), MAINS_HZ, *RECTIFIER_FIELDS, *MAINS_FIELDS),
    _reservoir,
    "The voltage at the end of a mains cycle must be that at its start. In between the winding charges the reservoir through its "
    "resistance and the rectifier whenever it stands higher, and the load draws it down; the cycle is solved for that, not "
    "taken from a rule of thumb.",
    (Cited("C", "Checked against ngspice: mean within 0.2 %, ripple within 1 %."),
     Cited("S", "O. H. Schade, Analysis of Rectifier Operation, 1943, as reproduced in Lee, Electronic Transformers and Circuits."),
     Cited("S", "Perveances of the rectifiers from Malcolm-Brown's fits in a public model library; 5U4G from one point of "
                "its sheet.")),
    _CHARGED)


def _smoothing(given: Given) -> Answer:
    supply = solved(given)
    farad, drawn = given.number("farad"), given.number("stage_a")
    if given.word("part") == "choke":
        stage: LC | RC = LC(given.number("henry"), given.number("dcr_ohm"), farad, drawn)
    else:
        stage = RC(given.number("ohm"), farad, drawn)
    if drawn > given.number("load_a"):
        raise ElectricsError("stage_a", drawn, f"at most load_a, {tell(given.number('load_a'), 'A')}: it is a part of that")
    before = reservoir_under(supply, (stage,))
    node = filter_chain(supply, (stage,))[0]
    start = _started(given, (stage,))
    limits = _ratings(given, supply, start)
    peak = (f" At start-up, before the valves draw, it reaches {tell(start.highest_v[1], 'V')}."
            if start.highest_v[1] > 1.02 * node.mean_v else "")
    return Answer(
        f"After the {given.word('part')} there are {tell(node.mean_v, 'V')} with {tell(node.ripple_vpp, 'V')} of ripple; "
        f"the reservoir before it has {tell(before.ripple_vpp, 'V')}.{peak}",
        (Figure("mean_v", "Smoothed mean", node.mean_v, "V", 4),
         Figure("ripple_vpp", "Ripple left, peak to peak", node.ripple_vpp, "V"),
         Figure("reservoir_v", "Reservoir before it", before.mean_v, "V", 4),
         Figure("less", "Ripple is divided by", before.ripple_vpp / node.ripple_vpp if node.ripple_vpp > 0 else 0.0),
         Figure("current_a", f"Through the {given.word('part')}", node.current_a, "A"),
         Figure("reservoir_highest_v", "Reservoir, highest at start-up", start.highest_v[0], "V"),
         Figure("highest_v", "Capacitor after it, highest at start-up", start.highest_v[1], "V"),
         Figure("settled_v", "Nothing drawn, settled", start.settled_v[1], "V"),
         Figure("stored_j", "Energy in its capacitor at the highest", stored_energy(farad, start.highest_v[1]), "J")),
        verdict=judged(limits), limits=limits, notes=mains_notes(given, given.number("secondary_vrms")),
        cautions=energy_hazard(farad, start.highest_v[1]).cautions)


SMOOTHING = Sum(
    "smoothing", MATTER, "Smoothing", "One choke or resistor after the reservoir, and the capacitor behind it.",
    (*WINDING,
     quantity("load_a", "Drawn altogether", "A", "130m", "From the reservoir and from behind the part.",
              covers=("load_ohm", "load")),
     MAINS_HZ, choice("part", "After the reservoir", (("choke", "choke"), ("resistor", "resistor")), "choke", chips=True),
     quantity("henry", "Choke", "H", "10", only=("part", "choke")),
     quantity("dcr_ohm", "Choke's resistance", "ohm", "100", only=("part", "choke")),
     quantity("ohm", "Resistor", "ohm", "1k", only=("part", "resistor")),
     quantity("farad", "Capacitor after it", "F", "47u"),
     quantity("rated_v", "Its rated voltage", "V", "", "As printed on it.", optional=True),
     quantity("stage_a", "Of that, drawn after it", "A", "60m", covers=("stages[0].load_a", "stages")),
     *RECTIFIER_FIELDS, *MAINS_FIELDS),
    _smoothing,
    "Rectifier, reservoir, choke or resistor and the second capacitor are solved together for one mains cycle that repeats itself. "
    "For a feel of it: a choke divides ripple by about (2π f)² L C − 1, a resistor by about 2π f R C.",
    (Cited("C", "Checked against ngspice: mean within 0.5 %, ripple within 3 %, start-up within 0.5 % with a linear choke."),),
    _CHARGED)


def _tap(given: Given) -> Answer:
    found = heater_voltage(nominal_v=given.number("nominal_v"), measured_mains_v=given.number("measured_mains_v"),
                           tap_v=given.number("tap_v"))
    high = given.number("ht_v") * (1.0 + found.departure)
    kind = "pass" if found.band == "full_life" else "doubt" if found.verdict == "pass" else "fail"
    return Answer(
        f"The heaters get {ours(found.words)[0].lower()}{ours(found.words)[1:]}",
        (Figure("heater_v", "Heater", found.heater_v, "V"), Figure("departure", "Away from nominal", found.departure, "%"),
         Figure("ht_v", "HT of that amp becomes", high, "V")),
        verdict=(kind, {"pass": "within 5 %", "doubt": "within 10 %", "fail": "outside 10 %"}[kind]))  # type: ignore[arg-type]


TAP = Sum(
    "mains-tap", MATTER, "Mains voltage and tap", "What the measured mains voltage does on the tap that is set.",
    (quantity("measured_mains_v", "Mains voltage as measured", "V", "241", covers=("measured_v",)),
     quantity("tap_v", "Tap that is set", "V", "220"),
     quantity("nominal_v", "Heater voltage at that tap", "V", "6.3"), quantity("ht_v", "HT at that tap", "V", "400")),
    _tap, "Every winding follows the primary: nominal voltage times measured mains voltage over the tap's voltage.",
    (Cited("S", "Tube CAD Journal, October 2000, quoting a handbook: oxide cathodes stand ±10 %."),
     Cited("S", "A maker's 5U4G sheet: ±5 % for full life.")),
    "Set a tap with the plug pulled. Local rules and licensed practice come first on anything before the transformer.")

SUMS = (RESERVOIR, SMOOTHING, TAP)
