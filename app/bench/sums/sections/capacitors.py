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
    energy_hazard,
    esr,
    holding_volt,
    leakage_limit,
    marking,
    reform_steps,
    stored_charge,
    tan_delta,
    vintage_leakage_limit,
)

MATTER = "Capacitors"
_GRADES = (("low", "modern, low leakage: 0.01 CV or 3 µA"), ("standard", "modern, standard: 0.02 CV + 3 µA"),
           ("general", "modern, general: 0.03 CV"), ("vintage", "vintage: JAN-C-62"))
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
    return Answer(f"It says {tell(found.farad, 'F')}{within}.", tuple(figures))


MARKING = Sum(
    "capacitor-marking", MATTER, "Marking", "What is printed on a capacitor.",
    (words("text", "As printed", "473K 630V", "473K, 4p7, .047, 0.1µF, 473K 630V"),),
    _marking, "Two figures and a power of ten in pF, then the letter of the tolerance; p, n, µ and R stand where the point would.",
    (Cited("S", "IEC 60062, the usual letters."), Cited("M", "The letters Q, S, T, Z, P and the powers 8 and 9.")),
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
    "capacitor-leakage", MATTER, "Leakage", "What an electrolytic may leak after some minutes at its rated volts.",
    (quantity("farad", "Capacitance", "F", "47u"), quantity("rated_v", "Rated", "V", "450"),
     choice("grade", "Kind", _GRADES, "standard"),
     quantity("measured_a", "Measured", "A", "180u", "Leave empty for the limit alone.", optional=True)),
    _leakage,
    "Modern: a share of microfarads times volts, in µA. Vintage: milliamperes of K times microfarads plus 0.3, K by rated volts.",
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
    _energy, "Half of capacitance times volts squared.", (Cited("C", "C V² / 2."),), _CHARGED)


def _esr(given: Given) -> Answer:
    farad, hertz, measured = given.number("farad"), given.number("hertz"), given.maybe("measured_ohm")
    measured = None if measured is None else given.magnitude("measured_ohm")
    found = esr(tan_delta=given.number("tan_delta"), farad=farad, hertz=hertz)
    figures = [Figure("esr_ohm", "ESR from the sheet", found, "ohm")]
    sentence = f"The sheet's loss makes {tell(found, 'ohm')} at {tell(hertz, 'Hz')}"
    if measured is None:
        return Answer(sentence + ".", tuple(figures))
    figures.append(Figure("tan_delta", "Loss factor as measured", tan_delta(esr_ohm=measured, farad=farad, hertz=hertz)))
    kind: VerdictKind = "pass" if measured <= found else "doubt" if measured <= 1.3 * found else "fail"
    word = {"pass": "as new", "doubt": "worn, within 1.3 times", "fail": "past 1.3 times"}[kind]
    return Answer(f"{sentence}; {tell(measured, 'ohm')} was measured.", tuple(figures),
                  verdict=unless_nothing(measured, (kind, word)),
                  pictures=(share("ESR against the sheet's", value=measured, limit=found, unit="ohm", named="from the sheet"),))


ESR = Sum(
    "esr", MATTER, "ESR", "From the loss factor of the sheet, and what was measured.",
    (quantity("farad", "Capacitance", "F", "47u"), plain("tan_delta", "Loss factor, tan δ", "0.15", ""),
     quantity("hertz", "At", "Hz", "100"),
     quantity("measured_ohm", "Measured at that frequency", "ohm", "4.2", optional=True, covers=("esr_ohm",))),
    _esr, "Loss factor over 2π f C.",
    (Cited("C", "Definition of the loss factor."),
     Cited("S", "End of test at 1.3 times the limit: one maker's data sheet on IEC 60384-4.")),
    "An ESR meter reads at about 100 kHz, a sheet states loss at 100 Hz: compare like with like, on a discharged part.")


def _reform(given: Given) -> Answer:
    volt = given.number("rated_v")
    steps = reform_steps(volt, limit_a=given.number("limit_a"), stored_months=given.number("stored_months"))
    last = steps[-1]
    return Answer(
        f"Through {tell(last.series_ohm, 'ohm')}, in {len(steps)} steps, {sum(step.minutes for step in steps):.0f} minutes "
        f"at the least; at {tell(volt, 'V')} no more than {tell(last.accept_v, 'V')} may stand across the resistor.",
        (Figure("series_ohm", "Resistor", last.series_ohm, "ohm"),
         Figure("resistor_w", "It bears, part shorted", last.resistor_w, "W"),
         *(Figure(f"step_{number}", f"Step {number}: {tell(step.volt, 'V')}",
                  f"{step.minutes:g} min, then under {tell(step.accept_v, 'V')}") for number, step in enumerate(steps, 1))),
        notes=("Next step when the volts across the resistor have fallen that far; give the part up if that takes over an hour.",))


REFORM = Sum(
    "reforming", MATTER, "Reforming", "Steps back up to the rated volts for a part that has lain.",
    (quantity("rated_v", "Rated", "V", "450"), quantity("limit_a", "Current at the most", "A", "5m"),
     plain("stored_months", "Lain for", "24", "months")),
    _reform,
    "The resistor holds even a shorted part to that current; each step ends when a tenth of its volts is left across the resistor.",
    (Cited("S", "A reforming note: five minutes and one more per month stored, rejected over 10 % after an hour."),
     Cited("M", "The steps of 25, 50, 75 and 90 %: common practice, no source.")),
    "Cover the part, stand clear, stay with it. " + _CHARGED)

SUMS = (MARKING, LEAKAGE, ENERGY, ESR, REFORM)
