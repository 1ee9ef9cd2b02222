"""Sums round the output transformer and its load."""

from __future__ import annotations

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, VerdictKind, count, ours, quantity, tell
from app.bench.sums.pictures.scales import share
from app.bench.sums.sections.speakers import SPEAKERS
from app.electrics import LOAD_CAUTION, damping_factor, flyback, mismatch, output_ohm, output_power, reflected_load, turns_ratio

MATTER = "Output transformer"
_IDEAL = Cited("C", "Definition of an ideal transformer; a real one adds its windings' resistance.")


def _ratio(given: Given) -> Answer:
    found = turns_ratio(primary_v=given.number("primary_v"), secondary_v=given.number("secondary_v"))
    shown = reflected_load(turns_ratio=found, load_ohm=given.number("load_ohm"))
    return Answer(
        f"The ratio is {found:.1f} to 1; {tell(given.number('load_ohm'), 'ohm')} on that winding shows as {tell(shown, 'ohm')} "
        "from anode to anode.",
        (Figure("ratio", "Turns ratio", found, ": 1", 4), Figure("reflected_ohm", "Load the primary shows", shown, "ohm"),
         Figure("double_ohm", "with half the load", shown / 2, "ohm"), Figure("half_ohm", "with twice the load", shown * 2, "ohm")))


RATIO = Sum(
    "turns-ratio", MATTER, "Ratio and reflected load", "From two readings of alternating voltage with no valve in.",
    (quantity("primary_v", "On the whole primary", "V", "10"), quantity("secondary_v", "On the winding", "V", "378m"),
     quantity("load_ohm", "Load meant for it", "ohm", "8")),
    _ratio, "Voltage over voltage is the turns ratio; the load is multiplied by its square.", (_IDEAL,),
    "Amp unplugged, discharged and measured first. Feed a low alternating voltage into the primary, never mains voltage into "
    "the secondary: the ratio multiplies it.")


def _power(given: Given) -> Answer:
    load, volt = given.number("load_ohm"), given.number("volt_rms")
    found = output_power(volt_rms=volt, load_ohm=load)
    return Answer(f"That is {tell(found, 'W')}; the dummy load wants a rating of {tell(2 * found, 'W')} or more.",
                  (Figure("power_w", "Power", found, "W"), Figure("rating_w", "Dummy load's rating", 2 * found, "W"),
                   Figure("current_a", "Current in the load", volt / load, "A")))


POWER = Sum(
    "output-power", MATTER, "Power", "From the voltage across a dummy load.",
    (quantity("volt_rms", "Across the load, rms", "V", "20"), quantity("load_ohm", "Load", "ohm", "8")),
    _power, "Voltage squared over resistance, with the true rms voltage.",
    (Cited("C", "Joule's law."), Cited("M", "Twice the power as the load's rating: common practice, no source.")), LOAD_CAUTION)


def _damping(given: Given) -> Answer:
    given_v = {name: given.number(name) for name in ("open_v", "loaded_v", "load_ohm")}
    found, ohm = damping_factor(**given_v), output_ohm(**given_v)
    return Answer(f"The damping factor is {found:.2g}: the amp's output looks like {tell(ohm, 'ohm')}.",
                  (Figure("damping", "Damping factor", found), Figure("output_ohm", "Output impedance", ohm, "ohm")))


DAMPING = Sum(
    "damping", MATTER, "Damping", "From the voltage with the load and without, at one drive.",
    (quantity("open_v", "Without the load", "V", "3"), quantity("loaded_v", "With it", "V", "2.4"),
     quantity("load_ohm", "Load", "ohm", "8")),
    _damping, "What the load takes away tells the impedance behind it: R times (V without − V with) over V with.",
    (Cited("C", "Voltage divider."),),
    "Open the load only at a volt or two and for a moment; two loads of known resistance are the better way. " + LOAD_CAUTION)


def _mismatch(given: Given) -> Answer:
    found = mismatch(nominal_ohm=given.number("nominal_ohm"), load_ohm=given.number("load_ohm"))
    seen = found.ratio * given.number("primary_ohm")
    kind: VerdictKind = "pass" if found.verdict == "matched" else "doubt" if found.verdict == "tolerable" else "fail"
    return Answer(ours(found.words),
                  (Figure("ratio", "Load over nominal", found.ratio, "×"), Figure("seen_ohm", "The anodes see", seen, "ohm")),
                  verdict=(kind, found.verdict))


MISMATCH = Sum(
    "mismatch", MATTER, "Mismatch", "A load on a tap that was meant for another.",
    (quantity("nominal_ohm", "Tap", "ohm", "8"), quantity("load_ohm", "Load on it", "ohm", "4"),
     quantity("primary_ohm", "Primary, with the right load", "ohm", "5k6")),
    _mismatch, "The load the anodes see is multiplied by load over tap.",
    (_IDEAL, Cited("M", "To 2 : 1 either way tolerable at moderate level: common practice, no source.")), LOAD_CAUTION)


def _flyback(given: Given) -> Answer:
    piv = given.number("diode_piv_v")
    found = flyback(supply_v=given.number("supply_v"), swing_v=given.maybe("swing_v"), diodes=given.whole("diodes"),
                    diode_piv_v=piv)
    kind: VerdictKind = "pass" if found.verdict == "good" else "doubt" if found.verdict == "thin" else "fail"
    return Answer(
        f"Each diode stands {tell(found.per_diode_v, 'V')} of its {tell(piv, 'V')}, {found.margin:.2g} times what is needed.",
        (Figure("reverse_v", "Across the string", found.reverse_v, "V"),
         Figure("per_diode_v", "Across each diode", found.per_diode_v, "V"),
         Figure("margin", "Margin", found.margin, "×"), Figure("margin_v", "To spare on each", found.margin_v, "V")),
        verdict=(kind, found.verdict), notes=(*(() if found.verdict == "good" else (ours(found.words),)), ours(found.on_failure)),
        pictures=(share("One diode's reverse voltage", value=found.per_diode_v, limit=piv, unit="V", named="rated"),))


FLYBACK = Sum(
    "flyback", MATTER, "Catch diodes", "The string from each anode to earth that catches a flyback.",
    (quantity("supply_v", "HT", "V", "450"),
     quantity("swing_v", "Anode's peak above it", "V", "", "Empty: as much as the HT, the most the other half can push it.",
              optional=True),
     count("diodes", "Diodes in the string", "3", 1, 12), quantity("diode_piv_v", "Reverse rating of one", "V", "1000")),
    _flyback,
    "HT plus swing, shared by the diodes; the string conducts only when its anode is driven below earth with the load lost.",
    (Cited("C", "Geometry of push-pull."),
     Cited("M", "A margin of 1.5, and that a catch diode fails as a short: common practice, no source.")),
    LOAD_CAUTION)

SUMS = (RATIO, POWER, DAMPING, MISMATCH, SPEAKERS, FLYBACK)
