"""Heaters, the earth bond, leaking boards, loaded meters, fuses and discharging."""

from __future__ import annotations

from app.bench.sums.kinds import (
    Answer,
    Cited,
    Figure,
    Given,
    Sum,
    VerdictKind,
    choice,
    ours,
    percent,
    plain,
    quantity,
    tell,
    unless_nothing,
)
from app.bench.sums.pictures.scales import Flag, limits
from app.bench.sums.pictures.waves import emptying
from app.electrics import (
    BOND_PROFILES,
    DISCHARGE_CAUTIONS,
    SAFE_TOUCH_DC,
    ElectricsError,
    board_leakage,
    bond_limit,
    bond_profile,
    discharge,
    discharge_time,
    energy_hazard,
    heater_balance,
    judge,
    loaded_reading,
    loading_error,
    melting_time,
    preferred_fuse,
    unloaded,
)

MATTER = "Heaters, earth and leakage"
_LETHAL = ("Mains off and unplugged, reservoirs discharged and measured before a hand goes in. "
           "Local rules and licensed practice come first.")
_SECTIONS = tuple((size, f"{size} mm²") for size in ("0.5", "0.75", "1.0", "1.5", "2.5", "4.0"))


def _balance(given: Given) -> Answer:
    found = heater_balance(heater_v=given.number("heater_v"), ohm_each=given.number("ohm_each"))
    return Answer(
        f"The pair takes {tell(found.current_a, 'A')} and dissipates {tell(found.power_each_w, 'W')} in each resistor.",
        (Figure("current_a", "Through the pair", found.current_a, "A"), Figure("power_each_w", "In each", found.power_each_w, "W"),
         Figure("short_w", "In one, a leg shorted to earth", 4 * found.power_each_w, "W")),
        notes=(ours(found.words),))


BALANCE = Sum(
    "heater-balance", MATTER, "Heater balance", "The pair of resistors that makes an artificial centre tap.",
    (quantity("heater_v", "Heater winding", "V", "6.3"), quantity("ohm_each", "Each resistor", "ohm", "100")),
    _balance, "Half the winding's voltage is across each; voltage squared over resistance is its heat.",
    (Cited("C", "Ohm's law."), Cited("M", "100 Ω each at 6.3 V as the usual pair: common practice, no source.")),
    "Not on a winding that has a centre tap of its own. " + _LETHAL)


def _bond(given: Given) -> Answer:
    profile, metre, mm2 = given.word("profile"), given.number("lead_metre"), float(given.word("mm2"))
    limit, measured = bond_limit(profile=profile, lead_metre=metre, mm2=mm2), given.magnitude("measured_ohm")
    found = judge(measured, upper=float(limit), uncertainty=measured * given.number("meter"))
    kind: VerdictKind = {"pass": "pass", "fail": "fail"}.get(found.verdict, "doubt")  # type: ignore[assignment]
    word = {"pass": "within", "fail": "outside"}.get(found.verdict, "too near to say")
    kind, word = unless_nothing(measured, (kind, word))
    if limit.unconfirmed and kind == "pass":
        kind, word = "doubt", "within, limit unconfirmed"
    regime = bond_profile(profile)
    if regime.replaced and kind == "pass":
        kind, word = "doubt", "within, edition replaced"
    flags, others = [], []
    for one in BOND_PROFILES:
        try:
            most = bond_limit(profile=one.id, lead_metre=metre, mm2=mm2)
        except ElectricsError:
            others.append(Figure(one.id, one.regime, "not for this section"))
            continue
        doubt = " (limit from memory)" if most.unconfirmed else " (edition replaced)" if one.replaced else ""
        side = "within" if measured <= most else "outside"
        others.append(Figure(one.id, one.regime, f"{tell(float(most), 'ohm')}, {side}{doubt}"))
        flags.append(Flag(float(most), one.regime, "limit"))
    return Answer(
        f"{regime.regime} allows {tell(float(limit), 'ohm')} for this lead; {tell(measured, 'ohm')} was measured.",
        (Figure("limit_ohm", "Limit", float(limit), "ohm"), Figure("measured_ohm", "Measured", measured, "ohm"),
         Figure("margin_ohm", "To spare", found.margin, "ohm"), *others),
        verdict=(kind, word), notes=(f"Test current: {regime.test_current}. {limit.note}".strip(),
                                      *((f"This edition was replaced: {regime.replaced}.",) if regime.replaced else ())),
        pictures=(limits("Limits of the regimes", measured, flags, "ohm"),), sources=(Cited(limit.status, limit.source),))


BOND = Sum(
    "earth-bond", MATTER, "Earth bond", "What the bond may measure with this lead, and what other regimes would say.",
    (choice("profile", "Regime", tuple((profile.id, f"{profile.regime}, {profile.edition}") for profile in BOND_PROFILES), "iet"),
     quantity("measured_ohm", "Measured, plug to chassis", "ohm", "0.14", covers=("value",)),
     plain("lead_metre", "Lead", "3", "m"), choice("mm2", "Earth conductor", _SECTIONS, "1.0"),
     percent("meter", "Meter's uncertainty", "5", "Expanded, k = 2.")),
    _bond,
    "Each regime's own rule for lead length and section; the reading is judged with the meter's uncertainty taken off the limit.",
    (Cited("S", "IEC 60228 conductor resistances, three public tables agree."),
     Cited("S", "ILAC-G8:09/2019: acceptance limit less the expanded uncertainty.")),
    "The regimes disagree by design: local rules and a licensed person decide which one holds. A limit from memory is confirmed "
    "with its edition before it passes an amp. A sum here is no safety test.")


def _board(given: Given) -> Answer:
    source, leak = given.number("source_v"), given.maybe("leak_ohm")
    found = board_leakage(source_v=source, meter_v=given.number("meter_v"), meter_ohm=given.number("meter_ohm"))
    figures = [Figure("board_ohm", "Board, source to eyelet", found, "ohm")]
    lifted = ""
    if leak is not None:
        grid_v = loaded_reading(true_v=source, source_ohm=found, meter_ohm=leak)
        figures.append(Figure("grid_v", "It would lift that grid by", grid_v, "V"))
        lifted = f" On a grid with {tell(leak, 'ohm')} to earth that lifts the bias by {tell(grid_v, 'V')}."
    return Answer(f"The board passes like {tell(found, 'ohm')} between source and eyelet.{lifted}", tuple(figures))


BOARD = Sum(
    "board-leakage", MATTER, "Board leakage", "From the voltage a meter reads on a bare eyelet.",
    (quantity("source_v", "Voltage that leaks in", "V", "420"), quantity("meter_v", "Read on the bare eyelet", "V", "12"),
     quantity("meter_ohm", "Meter's input", "ohm", "10M", assumed=True),
     quantity("leak_ohm", "Grid leak at that point", "ohm", "1M", optional=True)),
    _board, "Board and meter divide the source: meter's ohms times (source over reading less one).",
    (Cited("C", "Voltage divider."),),
    "The eyelet is bare and the source is the HT: clip on with the amp off and discharged, read with hands away.")


def _loading(given: Given) -> Answer:
    volt, source, meter = given.number("volt"), given.number("source_ohm"), given.number("meter_ohm")
    share = loading_error(source_ohm=source, meter_ohm=meter)
    if given.word("way") == "true":
        other = unloaded(volt, source_ohm=source, meter_ohm=meter)
        sentence = "Before the meter came on there were {}; it takes {:.3g} % away."
    else:
        other = loaded_reading(true_v=volt, source_ohm=source, meter_ohm=meter)
        sentence = "The meter will read {}, {:.3g} % low."
    return Answer(sentence.format(tell(other, "V", 4), share * 100),
                  (Figure("volt", "Without the meter" if given.word("way") == "true" else "The meter reads", other, "V", 5),
                   Figure("share", "Taken away", share, "%")))


LOADING = Sum(
    "meter-loading", MATTER, "Meter loading", "What the meter's own resistance does to a reading, both ways.",
    (choice("way", "Known is", (("true", "what the meter reads"), ("read", "the true voltage")), "true", chips=True),
     quantity("volt", "Voltage", "V", "136.4", covers=("reading_v", "true_v")),
     quantity("source_ohm", "Resistance at that point", "ohm", "1M"),
     quantity("meter_ohm", "Meter's input", "ohm", "10M", assumed=True)),
    _loading, "Source and meter divide: the true voltage is the reading times (1 + source over meter).",
    (Cited("S", "A maker's data-acquisition guide and a bench meter's manual, the same form."),),
    "Probe with one hand, the other in a pocket; on alternating ranges many meters have 1 MΩ only.")


def _fuse(given: Given) -> Answer:
    quick, american = given.word("inrush") == "no", given.word("region") == "UL"
    found = preferred_fuse(va=given.number("va"), mains_v=given.number("mains_v"), inrush=not quick, region=given.word("region"))
    figures = [Figure("rated_a", "Rating", found.rated_a, "A"), Figure("running_a", "Running current", found.running_a, "A"),
               Figure("share", "Running over rating", found.running_a / found.rated_a, "%")]
    if not quick and not american:
        for times in (2.1, 2.75, 4.0, 10.0):
            least, most = melting_time(times)
            melts = f"{tell(least, 's')} to {tell(most, 's')}" if least else f"within {tell(most, 's')}"
            figures.append(Figure(f"melts_{times:g}", f"At {times:g} × ({tell(times * found.rated_a, 'A')})", melts))
    return Answer(f"Look for {found.marking}: the amp runs at {tell(found.running_a, 'A')}.", tuple(figures),
                  sources=(Cited(found.status, f"{found.source}; {found.note}."),))


FUSE = Sum(
    "fuse", MATTER, "Mains fuse", "For checking what is in the holder; the rating plate and the schematic come first.",
    (quantity("va", "Draws at full power", "VA", "150"), quantity("mains_v", "Mains voltage", "V", "230", assumed=True),
     choice("region", "Ratings", (("IEC", "IEC 60127"), ("UL", "UL 248-14, North America")), "IEC", chips=True),
     choice("inrush", "Transformer behind it", (("yes", "yes, time-lag"), ("no", "no, quick")), "yes", chips=True)),
    _fuse, "IEC: 1.25 times the running current, and up to the next preferred rating. North America: the next rating of which the "
    "running current is no more than 75 %.",
    (Cited("M", "Melting times: IEC 60127-2, standard sheet 3, time-lag 5 × 20 mm; of other fuses none are given here."),),
    "Pull the plug before the holder is opened. Never a larger one to make it hold. US and IEC ratings mean different things and "
    "are not swapped number for number.")


def _discharge(given: Given) -> Answer:
    parts = {name: given.number(name) for name in ("from_v", "ohm", "farad")}
    found, to_v = discharge(**parts), given.number("to_v")
    seconds = discharge_time(**parts, to_v=to_v)
    hazard = energy_hazard(parts["farad"], parts["from_v"])
    figures = [Figure("seconds", f"Down to {tell(to_v, 'V')}", seconds, "s"), Figure("tau_s", "Time constant", found.tau_s, "s"),
               Figure("start_a", "Current at the start", found.start_a, "A"),
               Figure("start_w", "Watts at the start", found.start_w, "W"),
               Figure("joule", "Energy", found.joule, "J")]
    if parts["from_v"] > SAFE_TOUCH_DC:
        figures.insert(1, Figure("touch_s", f"Down to {tell(float(SAFE_TOUCH_DC), 'V')}",
                                 discharge_time(**parts, to_v=float(SAFE_TOUCH_DC)), "s"))
    reached = tuple(f"Past a threshold: {one.name} ({one.kind})." for one in hazard.reached)
    return Answer(f"From {tell(parts['from_v'], 'V')} to {tell(to_v, 'V')} it takes {tell(seconds, 's')}; the resistor starts at "
                  f"{tell(found.start_w, 'W')} and takes up {tell(found.joule, 'J')}.", tuple(figures),
                  notes=tuple(dict.fromkeys(reached)), pictures=(emptying(**parts, to_v=to_v),), cautions=DISCHARGE_CAUTIONS[1:],
                  sources=tuple(Cited(one.status, one.source) for one in hazard.reached[:1]))


DISCHARGE = Sum(
    "discharge", MATTER, "Discharge", "How long a stick or a bleeder takes, and what its resistor bears.",
    (quantity("from_v", "Charged to", "V", "450"), quantity("to_v", "Down to", "V", "10", assumed=True),
     quantity("ohm", "Through", "ohm", "10k"), quantity("farad", "Capacitors together", "F", "100u")),
    _discharge, "Resistance times capacitance times the logarithm of the voltages' ratio.",
    (Cited("C", "R C ln(V from / V to)."), Cited("M", "60 V as the touch limit: ES1 of IEC 62368-1; many shops go below 10 V.")),
    DISCHARGE_CAUTIONS[0])

SUMS = (BALANCE, BOND, BOARD, LOADING, FUSE, DISCHARGE)
