"""Sums of the output stage: idle, bias by a cathode resistor, push-pull drive."""

from __future__ import annotations

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, choice, count, ours, quantity, tell
from app.bench.sums.other_valve import asked, limit_fields
from app.bench.sums.pictures.lines import push_pull_line
from app.bench.sums.pictures.scales import share
from app.bench.sums.sections.bias import OUTPUTS
from app.bench.sums.sections.idling import MAINS, SPREAD, SPREAD_CITED, SPREAD_READ, USUAL_CITED, remarks, verdict
from app.bench.sums.sections.stage import model_of
from app.electrics import (
    LOAD_CAUTION,
    MEASURE_CAUTION,
    FedPair,
    Idle,
    Valve,
    anode_current_by_resistance,
    cathode_bias_range,
    composite_line,
    emitting,
    heat_factor,
    idle_limits,
    idle_point,
    idle_target,
    push_pull_fed,
    usual_share,
)
from app.electrics.limits import Limit

MATTER = "Output stage"
_VALVE = choice("valve", "Valve", OUTPUTS, "6L6GC")
def limit_named(entry: Valve) -> str:
    """The limit as a picture names it: 'design-centre limit', 'limit typed here'."""
    system = entry.limits().system
    return "limit typed here" if system == "typed here" else f"{system} limit"


def knows_screen(entry: Valve, found: Idle) -> bool:
    """Whether the screen current was measured, or the sheet has one: without either none is shown or judged."""
    return found.screen_a > 0.0 or any(point.screen_a is not None for point in entry.points)


def _idle_answer(entry: Valve, found: Idle, limits: tuple[Limit, ...], sentence: str, *more: Figure) -> Answer:
    limit, screen_known = entry.anode_limit_w(), knows_screen(entry, found)
    unknown = () if screen_known else (f"No screen current of the {entry.name} is known here: all of the cathode's is taken as the "
                                       "anode's. Enter it where it was measured.",)
    return Answer(
        sentence,
        (Figure("anode_a", "Anode current", found.anode_a, "A"),
         Figure("screen_a", "Screen current", found.screen_a if screen_known else "not known here", "A"),
         Figure("anode_dissipation_w", "Anode dissipation", found.anode_dissipation_w, "W"),
         Figure("share_of_max", f"of its {limit:g} W", found.share_of_max, "%", 3),
         Figure("screen_dissipation_w", "Screen dissipation",
                found.screen_dissipation_w if screen_known else "not known here", "W"),
         Figure("screen_share_of_max", "of its limit",
                "no limit known here" if not entry.limits().screen_w else found.screen_share_of_max if screen_known
                else "not known here", "%", 3),
         Figure("mains_w", "Anode at the highest mains", limits[1].found, "W"),
         Figure("hottest_w", "Anode at worst", limits[2].found, "W"), *more),
        verdict=verdict(entry, limits), limits=limits, notes=(ours(found.words), *unknown, *remarks(entry)),
        pictures=(share("The anode's watts", value=found.anode_dissipation_w, limit=limit, unit="W",
                        named=limit_named(entry), target=float(usual_share(entry)) * limit),),
        sources=model_of(entry))


def _by_heat(given: Given, entry: Valve, watt: float, anode_v: float, screen_w: float | None = None) -> tuple[Limit, ...]:
    """The limits of an idle that was read: at the highest mains by the law of its heat in fixed bias, and with a stronger valve."""
    mains, spread = given.number("mains_tolerance"), given.number("spread")
    high = watt * heat_factor(entry, 1 + mains)
    return idle_limits(valve=entry, nominal_w=watt, mains_w=high, hottest_w=high * (1 + spread), anode_v=anode_v,
                       screen_w=None if screen_w is None else screen_w * (high / watt if watt > 0 else 1.0) * (1 + spread),
                       spread=spread, mains=mains)


def _idle(given: Given) -> Answer:
    entry, anode_v = asked(given, "pentode", curves=False), given.number("anode_v")
    cathode_v = given.maybe("cathode_v") or 0.0
    found = idle_point(valve=entry, anode_v=anode_v, cathode_a=given.number("cathode_a"), screen_a=given.maybe("screen_a"),
                       cathode_v=cathode_v)
    target = idle_target(valve=entry, anode_v=anode_v - cathode_v, share=float(usual_share(entry)))
    limits = _by_heat(given, entry, found.anode_dissipation_w, anode_v - cathode_v,
                      found.screen_dissipation_w if knows_screen(entry, found) else None)
    return _idle_answer(
        entry, found, limits,
        f"The {entry.name} idles at {tell(found.anode_dissipation_w, 'W')}, {tell(found.share_of_max, '%', 2)} of what its "
        f"sheet allows; "
        f"the usual idle would be {tell(target, 'A')} of anode current.",
        Figure("target_a", "Usual anode current", target, "A"))


IDLE = Sum(
    "idle", MATTER, "Idle", "What a reading of cathode current means for the anode.",
    (_VALVE, quantity("anode_v", "Anode to earth", "V", "450"),
     quantity("cathode_a", "Cathode current, one valve", "A", "40m", "40 mV across a 1 Ω resistor is 40 mA."),
     quantity("screen_a", "Screen current", "A", "", "Empty: the sheet's share at the nearest point.", optional=True,
              covers=("screen_share",)),
     quantity("cathode_v", "Cathode to earth", "V", "0", optional=True, assumed=True), MAINS, SPREAD_READ,
     *limit_fields("pentode", curves=False)),
    _idle,
    "Cathode current less screen current is anode current; times the voltage from anode to cathode, it is what the anode has to "
    "get rid of. In fixed bias the heat goes with the mains to the power of about 2.4, by the exponent of the valve's model.",
    (USUAL_CITED, SPREAD_CITED), MEASURE_CAUTION)


def _winding(given: Given) -> Answer:
    entry, anode_v = asked(given, "pentode", curves=False), given.magnitude("anode_v")
    found = anode_current_by_resistance(drop_v=given.number("drop_v"), winding_ohm=given.number("winding_ohm"))
    each = found / given.whole("valves")
    watt, limit = each * anode_v, entry.anode_limit_w()
    usual = float(usual_share(entry))
    limits = _by_heat(given, entry, watt, anode_v)
    return Answer(
        f"Each anode draws {tell(each, 'A')} and dissipates {tell(watt, 'W')}, {tell(watt / limit, '%', 2)} of the "
        f"{entry.name}'s {limit:g} W.",
        (Figure("anode_a", "Anode current, each", each, "A"), Figure("half_a", "Through that half", found, "A"),
         Figure("anode_dissipation_w", "Anode dissipation, each", watt, "W"),
         Figure("share_of_max", "of the limit", watt / limit, "%"),
         Figure("mains_w", "Anode at the highest mains", limits[1].found, "W"),
         Figure("hottest_w", "Anode at worst", limits[2].found, "W"),
         Figure("target_a", "Usual anode current", usual * limit / anode_v if anode_v > 0 else 0.0, "A")),
        verdict=verdict(entry, limits), limits=limits, notes=remarks(entry),
        pictures=(share("The anode's watts", value=watt, limit=limit, unit="W",
                        named=limit_named(entry), target=usual * limit),),
        sources=model_of(entry)[-1:])


WINDING = Sum(
    "idle-by-winding", MATTER, "Idle by the winding", "Anode current from the voltage across half the primary, no socket opened.",
    (_VALVE, quantity("drop_v", "Across half the primary", "V", "3.2"),
     quantity("winding_ohm", "That half, cold", "ohm", "80", "Measured with the amp off and discharged."),
     count("valves", "Valves on that half", "1", 1, 4), quantity("anode_v", "Anode to cathode", "V", "450"), MAINS,
     SPREAD_READ, *limit_fields("pentode", curves=False)),
    _winding,
    "Voltage over the winding's resistance; screen current does not pass there. Warm copper reads 0.4 % high for each kelvin.",
    (Cited("C", "Ohm's law."), USUAL_CITED, SPREAD_CITED), MEASURE_CAUTION)


def _cathode(given: Given) -> Answer:
    entry = asked(given, "pentode")
    mains, spread = given.number("mains_tolerance"), given.number("spread")
    over = cathode_bias_range(
        valve=entry, supply_v=given.number("supply_v"), screen_v=given.number("screen_v"), cathode_ohm=given.number("cathode_ohm"),
        valves=given.whole("valves"), winding_ohm=given.maybe("winding_ohm") or 0.0, spread=spread, mains=mains)
    found, hottest = over.nominal, over.hottest
    limits = idle_limits(
        valve=entry, nominal_w=found.anode_dissipation_w, mains_w=over.mains.anode_dissipation_w,
        hottest_w=hottest.anode_dissipation_w, anode_v=given.number("supply_v") - found.cathode_v,
        screen_w=hottest.screen_dissipation_w, cathode_a=hottest.cathode_a, spread=spread, mains=mains)
    watt = found.cathode_v**2 / given.number("cathode_ohm")
    return _idle_answer(
        entry, found, limits,
        f"The cathodes settle at {tell(found.cathode_v, 'V')}; each {entry.name} idles at {tell(found.anode_dissipation_w, 'W')}, "
        f"{tell(found.share_of_max, '%', 2)} of what its sheet allows.",
        Figure("cathode_v", "Across the resistor", found.cathode_v, "V"), Figure("resistor_w", "The resistor bears", watt, "W"))


CATHODE = Sum(
    "cathode-bias", MATTER, "Cathode bias", "Valves that share one cathode resistor.",
    (choice("valve", "Valve", OUTPUTS, "EL84"), quantity("supply_v", "HT at the anodes", "V", "310"),
     quantity("screen_v", "Screens", "V", "310"), quantity("cathode_ohm", "Cathode resistor", "ohm", "130"),
     count("valves", "Valves on it", "2", 1, 8), quantity("winding_ohm", "Half the primary", "ohm", "100", optional=True),
     MAINS, SPREAD, *limit_fields("pentode")),
    _cathode,
    "The one bias at which all the currents together make just that bias across the resistor.",
    (Cited("C", "Checked against ngspice."), USUAL_CITED, SPREAD_CITED), MEASURE_CAUTION)


def _pair(given: Given, entry: Valve, factor: float = 1.0) -> FedPair:
    """The pair with HT, screens and a fixed bias multiplied by what the mains is multiplied by."""
    fixed = given.word("biased") == "fixed"
    return push_pull_fed(
        valve=entry, supply_v=given.number("supply_v") * factor, screen_v=given.number("screen_v") * factor,
        load_aa_ohm=given.number("load_aa_ohm"), bias_v=given.number("bias_v") * factor if fixed else None,
        cathode_ohm=None if fixed else given.number("cathode_ohm"), screen_ohm=given.maybe("screen_ohm") or 0.0,
        supply_ohm=given.maybe("supply_ohm") or 0.0)


def _push_pull(given: Given) -> Answer:
    entry, mains, spread = asked(given, "pentode"), given.number("mains_tolerance"), given.number("spread")
    pair, high = _pair(given, entry), _pair(given, entry, 1 + mains)
    strong = _pair(given, emitting(entry, 1 + spread), 1 + mains)
    found = pair.full
    volts = {"supply_v": pair.anode_v, "screen_v": pair.screen_v, "bias_v": pair.bias_v}
    line = composite_line(valve=entry, supply_v=pair.anode_v, screen_v=pair.screen_v, bias_v=pair.bias_v,
                          load_aa_ohm=given.number("load_aa_ohm"))
    limits = idle_limits(
        valve=entry, nominal_w=pair.hottest_w, mains_w=max(pair.hottest_w, high.hottest_w),
        hottest_w=max(pair.hottest_w, high.hottest_w, strong.hottest_w), anode_v=given.number("supply_v") - pair.rest.cathode_v,
        screen_w=strong.full.screen_dissipation_w, spread=spread, mains=mains)
    return Answer(
        f"The pair gives {tell(found.power_w, 'W')} at full drive and draws {tell(found.mean_supply_a, 'A')} doing it; "
        f"each anode then reaches {tell(found.peak_anode_a, 'A')}.",
        (Figure("power_w", "Power at full drive", found.power_w, "W"),
         Figure("class_a_power_w", "of it in class A", found.class_a_power_w, "W"),
         Figure("peak_anode_a", "Peak, one anode", found.peak_anode_a, "A"),
         Figure("mean_supply_a", "From the HT, both", found.mean_supply_a, "A"),
         Figure("idle_anode_a", "At rest, one anode", pair.rest.anode_a, "A"),
         Figure("idle_dissipation_w", "Its heat at rest", pair.rest.anode_dissipation_w, "W"),
         Figure("worst_dissipation_w", "Hottest over all drives", pair.hottest_w, "W"),
         Figure("share_of_max", "of the limit", pair.hottest_w / entry.anode_limit_w(), "%"),
         Figure("screen_dissipation_w", "One screen, full drive", found.screen_dissipation_w, "W"),
         Figure("driven_anode_v", "Anode to cathode, full drive", pair.anode_v, "V"),
         Figure("driven_screen_v", "Screen to cathode, full drive", pair.screen_v, "V"),
         Figure("cathode_v", "Across the cathode resistor, full drive", pair.cathode_v, "V"),
         Figure("cathode_resistor_w", "Heat of the cathode resistor", pair.cathode_resistor_w, "W"),
         Figure("screen_resistor_w", "Heat of the screen resistor", pair.screen_resistor_w, "W"),
         Figure("drive_v", "Drive, peak, each grid", found.drive_v, "V")),
        verdict=verdict(entry, limits, resting=False), limits=limits,
        notes=(*((ours(found.words),) if ";" in found.words else ()), *remarks(entry)),
        pictures=(push_pull_line(entry, line, found, **volts),), sources=model_of(entry))


PUSH_PULL = Sum(
    "push-pull", MATTER, "Push-pull", "Power, currents and heat of a pair in class AB, with the feeds that it has.",
    (_VALVE, quantity("supply_v", "HT at the anodes, at rest", "V", "450"),
     quantity("screen_v", "HT of the screens, at rest", "V", "400", "Before their resistor."),
     choice("biased", "Bias", (("fixed", "fixed"), ("cathode", "cathode resistor")), "fixed", chips=True),
     quantity("bias_v", "Grids", "V", "-37", "Negative, as measured at the pin.", only=("biased", "fixed")),
     quantity("cathode_ohm", "Cathode resistor of both", "ohm", "130", "Bypassed.", only=("biased", "cathode")),
     quantity("screen_ohm", "Screen resistor of both", "ohm", "", "One for each screen: enter half of it.", optional=True),
     quantity("supply_ohm", "The HT's resistance", "ohm", "", "How far it falls for each ampere more.", optional=True),
     quantity("load_aa_ohm", "Load, anode to anode", "ohm", "5k6"), MAINS, SPREAD, *limit_fields("pentode")),
    _push_pull,
    "The transformer ties both anodes together, so at each instant of a sine there is one swing that both valves agree on; "
    "power is the mean of swing times current. The mean currents of the full drive set what the screen resistor, the cathode "
    "resistor and the HT's resistance take away. The transformer is taken as without loss: a real amp gives less.",
    (Cited("C", "Solved point by point over the sine; the slopes as the Radio Designer's Handbook has them."),
     Cited("M", "EL84 (17 and 11 W) and EL34 (35 and 55 W) come within 10 % of the power that Philips published; three of the "
                "four rows from memory."),
     USUAL_CITED, SPREAD_CITED), LOAD_CAUTION)

SUMS = (IDLE, WINDING, CATHODE, PUSH_PULL)
