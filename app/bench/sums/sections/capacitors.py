"""Sums of capacitors: marking, leakage, energy, ESR, reforming."""

from __future__ import annotations

from app.bench.sums.kinds import (
    Answer,
    Cited,
    Figure,
    Given,
    Sum,
    VerdictKind,
    choice,
    plain,
    quantity,
    tell,
    unless_nothing,
    words,
)
from app.bench.sums.pictures.scales import share
from app.electrics import (
    CapacitorMarking,
    ElectricsError,
    energy_hazard,
    esr,
    holding_volt,
    leakage_limit,
    marking,
    reform_leakage,
    reform_steps,
    stored_charge,
    tan_delta,
    vintage_leakage_limit,
)
from app.electrics.limits import limit

MATTER = "Capacitors"
_GRADES = (("low", "modern, low leakage: 0.01 CV or 3 µA"), ("standard", "modern, standard: 0.02 CV + 3 µA"),
           ("general", "modern, general: 0.03 CV"), ("vintage", "vintage: JAN-C-62"))
_SAME_HERTZ = 0.25  # 100 and 120 Hz are one frequency to a sheet: common practice, no source
_CHARGED = "A charged capacitor gives no sign. Discharge through a resistor, measure, leave the clip on, and measure again later."


def _marking(given: Given) -> Answer:
    found: CapacitorMarking = marking(given.word("text"))
    figures = [Figure("farad", "Capacitance", found.farad, "F")]
    within = ""
    if found.tolerance_low is not None and found.tolerance_high is not None:
        low, high = found.farad * (1 + found.tolerance_low), found.farad * (1 + found.tolerance_high)
        figures += [Figure("low", "At least", low, "F"), Figure("high", "At most", high, "F")]
        within = f", from {tell(low, 'F')} to {tell(high, 'F')}"
    if found.rated_v is not None:
        figures.append(Figure("rated_v", "Rated", found.rated_v, "V"))
    if found.other_farad is None:
        return Answer(f"It says {tell(found.farad, 'F')}{within}.", tuple(figures))
    figures.append(Figure("other_farad", "or else", found.other_farad, "F"))
    first, second = (("as plain figures", "if its point, .0, is not printed or worn off") if found.other_farad > 100 * found.farad
                     else ("by the code", "as plain figures, in old print"))
    return Answer(f"It says {tell(found.farad, 'F')} {first}, or {tell(found.other_farad, 'F')} {second}: measure it.",
                  tuple(figures), verdict=("doubt", "two readings"))


MARKING = Sum(
    "capacitor-marking", MATTER, "Marking", "What is printed on a capacitor.",
    (words("text", "As printed", "473K 630V", "473K, 4p7, .047, 0.1µF, 103M 1KV, 474J 630, 2A104J"),),
    _marking, "Two figures and a power of ten in pF, then the letter of the tolerance; p, n, µ and R stand where the point would. "
    "The voltage with a V, bare after a space, or as a figure and a letter before the rest: 2A is 100 V.",
    (Cited("S", "IEC 60062, the usual letters."), Cited("S", "EIA and JIS voltage codes, as public tables print them."),
     Cited("M", "The letters Q, S, T, Z, P and the powers 8 and 9.")),
    "Old print says mfd for µF and mmfd for pF, and some makers printed their own code: measure what matters.")


def _leakage(given: Given) -> Answer:
    farad, volt, grade, measured = given.number("farad"), given.number("rated_v"), given.word("grade"), given.maybe("measured_a")
    measured = None if measured is None else given.magnitude("measured_a")
    found = vintage_leakage_limit(farad, volt) if grade == "vintage" else leakage_limit(farad, volt, grade=grade)
    figures = [Figure("limit_a", "Limit", found, "A"), Figure("like_ohm", "The limit is like", volt / found, "ohm")]
    sentence = f"It may leak {tell(found, 'A')} at {tell(volt, 'V')}"
    if measured is None:
        return Answer(sentence + ".", tuple(figures))
    verdict = unless_nothing(measured, ("pass", "within") if measured <= found else ("fail", "outside"))
    figures.append(Figure("measured_a", "Measured", measured, "A"))
    return Answer(f"{sentence}; {tell(measured, 'A')} was measured.", tuple(figures), verdict=verdict,
                  pictures=(share("Leakage against its limit", value=measured, limit=found, unit="A", named="limit"),))


LEAKAGE = Sum(
    "capacitor-leakage", MATTER, "Leakage", "What an electrolytic may leak after some minutes at its rated voltage.",
    (quantity("farad", "Capacitance", "F", "47u"), quantity("rated_v", "Rated", "V", "450"),
     choice("grade", "Kind", _GRADES, "standard"),
     quantity("measured_a", "Measured", "A", "180u", "Leave empty for the limit alone.", optional=True)),
    _leakage,
    "Modern: a share of microfarads times the voltage, in µA. Vintage: milliamperes of K times microfarads plus 0.3, K by "
    "rated voltage.",
    (Cited("S", "0.01 CV rule as a general article has it; the clause is IEC 60384-4, the figure its detail specification's."),
     Cited("M", "The other two grades."), Cited("S", "JAN-C-62, quoted in a radio mail archive.")), _CHARGED)


def _energy(given: Given) -> Answer:
    farad, volt = given.number("farad"), given.number("volt")
    found = energy_hazard(farad, volt)
    reached = tuple(dict.fromkeys(f"Past a threshold: {one.name} ({one.kind})." for one in found.reached))
    return Answer(f"At {tell(volt, 'V')} it holds {tell(found.joule, 'J')}.",
                  (Figure("joule", "Energy", found.joule, "J"), Figure("coulomb", "Charge", stored_charge(farad, volt) * 1e3, "mC"),
                   Figure("one_joule_v", "Holds 1 J at", holding_volt(1.0, farad), "V"),
                   Figure("quarter_v", "Holds 0.25 J at", holding_volt(0.25, farad), "V")),
                  verdict=("fail", "hazardous") if found.hazardous else ("none", "below the thresholds, still no licence to touch"),
                  notes=reached, cautions=found.cautions[1:],
                  sources=tuple(Cited(one.status, f"{one.name}: {one.source}") for one in found.reached))


ENERGY = Sum(
    "stored-energy", MATTER, "Energy", "What waits in a charged capacitor.",
    (quantity("farad", "Capacitance", "F", "100u"), quantity("volt", "Charged to", "V", "450")),
    _energy, "Half of capacitance times voltage squared.", (Cited("C", "C V² / 2."),), _CHARGED)


def _esr(given: Given) -> Answer:
    farad, hertz, measured = given.number("farad"), given.number("hertz"), given.maybe("measured_ohm")
    measured = None if measured is None else given.magnitude("measured_ohm")
    found = esr(tan_delta=given.number("tan_delta"), farad=farad, hertz=hertz)
    figures = [Figure("esr_ohm", "ESR from the sheet", found, "ohm")]
    sentence = f"The sheet's loss makes {tell(found, 'ohm')} at {tell(hertz, 'Hz')}"
    if measured is None:
        return Answer(sentence + ".", tuple(figures))
    meter = given.maybe("meter_hertz")
    if meter is None:
        raise ElectricsError("meter_hertz", meter, "entered beside a reading: an ESR is judged at the frequency of its sheet alone")
    at_meter = tan_delta(esr_ohm=measured, farad=farad, hertz=meter)
    figures.append(Figure("tan_delta", f"Loss factor at {tell(meter, 'Hz')}", at_meter))
    if abs(meter / hertz - 1.0) > _SAME_HERTZ:
        return Answer(f"{sentence}; {tell(measured, 'ohm')} was measured at {tell(meter, 'Hz')}: no verdict, the sheet's figure "
                      f"holds at its own frequency.", tuple(figures),
                      notes=("ESR falls as the frequency rises. Compare with a new part of the same kind on the same meter, or "
                             "with the meter's frequency on the sheet.",))
    kind: VerdictKind = "pass" if measured <= found else "doubt" if measured <= 1.3 * found else "fail"
    word = {"pass": "as new", "doubt": "worn, within 1.3 times", "fail": "past 1.3 times"}[kind]
    return Answer(f"{sentence}; {tell(measured, 'ohm')} was measured.", tuple(figures),
                  verdict=unless_nothing(measured, (kind, word)),
                  pictures=(share("ESR against the sheet's", value=measured, limit=found, unit="ohm", named="from the sheet"),))


ESR = Sum(
    "esr", MATTER, "ESR", "From the loss factor of the sheet, and what was measured.",
    (quantity("farad", "Capacitance", "F", "47u"), plain("tan_delta", "Loss factor, tan δ", "0.15", ""),
     quantity("hertz", "The sheet's frequency", "Hz", "100"),
     quantity("measured_ohm", "Measured", "ohm", "4.2", optional=True, covers=("esr_ohm",)),
     quantity("meter_hertz", "The meter's frequency", "Hz", "100", "As its manual says: many measure at 100 kHz.", optional=True)),
    _esr, "Loss factor over 2π f C.",
    (Cited("C", "Definition of the loss factor."),
     Cited("S", "End of test at 1.3 times the limit: one maker's data sheet on IEC 60384-4.")),
    "An ESR meter reads at about 100 kHz, a sheet states loss at 100 Hz: compare like with like, on a discharged part.")


def _reform(given: Given) -> Answer:
    volt, farad = given.number("rated_v"), given.number("farad")
    steps = reform_steps(volt, limit_a=given.number("limit_a"), stored_months=given.number("stored_months"), farad=farad,
                         grade=given.word("grade"), can_w=given.number("can_w"))
    last, across = steps[-1], given.maybe("across_v")
    figures = [
        Figure("series_ohm", "Resistor", last.series_ohm, "ohm"),
        Figure("resistor_w", "It bears, part shorted", last.resistor_w, "W"),
        Figure("short_a", "Current, part shorted", last.short_a, "A"),
        Figure("can_w", "Most heat in the can", last.can_w, "W"),
        Figure("accept_a", "Accepted at the rated voltage", last.accept_a, "A"),
        Figure("accept_v", "Then across the resistor, at most", last.accept_v, "V"),
        *(Figure(f"step_{number}", f"Step {number}: {tell(step.volt, 'V')}",
                 f"{step.minutes:g} min, then {tell(step.accept_v, 'V')} or less across the resistor")
          for number, step in enumerate(steps, 1))]
    bars = [limit("heat in the can", last.can_w, given.number("can_w"), "W", source="as entered"),
            limit("current, part shorted", last.short_a, given.number("limit_a"), "A", source="as entered")]
    sentence = (f"Through {tell(last.series_ohm, 'ohm')}, in {len(steps)} steps, {sum(step.minutes for step in steps):.0f} minutes "
                f"at the least; accepted when it leaks {tell(last.accept_a, 'A')} or less at {tell(volt, 'V')}")
    verdict: tuple[VerdictKind, str] | None = None
    enough: tuple[VerdictKind, str] = ("doubt", "within, as a new part")
    if across is not None:
        leaks = reform_leakage(resistor_v=given.magnitude("across_v"), series_ohm=last.series_ohm)
        figures.append(Figure("leaks_a", "Leaks now", leaks, "A"))
        sentence += f"; now it leaks {tell(leaks, 'A')}"
        verdict = unless_nothing(across, enough if across <= last.accept_v else ("fail", "leaks too much"))
        bars.append(limit("leakage", leaks, last.accept_a, "A", source="that of a new part of its kind", unconfirmed=True))
    return Answer(sentence + ".", tuple(figures), verdict=verdict, limits=tuple(bars),
                  notes=("Next step when the voltage across the resistor has fallen that far; give the part up if that takes over "
                         "an hour.",))


REFORM = Sum(
    "reforming", MATTER, "Reforming", "Steps back up to the rated voltage for a part that has lain.",
    (quantity("farad", "Capacitance", "F", "47u", "As printed: the leakage that is accepted goes by it."),
     quantity("rated_v", "Rated", "V", "450"), choice("grade", "Kind", _GRADES, "vintage"),
     quantity("limit_a", "Current at the most", "A", "15m", assumed=True),
     quantity("can_w", "Heat in the can at the most", "W", "1", assumed=True),
     plain("stored_months", "Lain for", "24", "months"),
     quantity("across_v", "Across the resistor now", "V", "", "At the rated voltage, after the last step.", optional=True)),
    _reform,
    "The resistor holds a shorted part to the current, and a part at half the voltage, where it takes most, to the "
    "heat. A step is accepted at the part's leakage limit, and never with more than a tenth of the voltage across the resistor.",
    (Cited("S", "A reforming note: five minutes and one more per month stored, rejected over 10 % after an hour."),
     Cited("M", "The steps of 25, 50, 75 and 90 %, 15 mA and 1 W: common practice, no source."),
     Cited("S", "Leakage, vintage: JAN-C-62, quoted in a radio mail archive."), Cited("M", "Leakage, modern kinds.")),
    "Cover the part, stand clear, stay with it: a part that will not form heats until it bursts. " + _CHARGED)

SUMS = (MARKING, LEAKAGE, ENERGY, ESR, REFORM)
