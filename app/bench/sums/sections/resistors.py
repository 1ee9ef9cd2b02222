"""Sums of resistors: bands, drift, power, preferred values."""

from __future__ import annotations

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, VerdictKind, choice, percent, plain, quantity, tell
from app.bench.sums.pictures.bands import PAINT, resistor
from app.bench.sums.pictures.lines import derating
from app.bench.sums.pictures.scales import share
from app.electrics import ElectricsError, colour_code, colours, derated_watt, drift, nearest, power_rating_ok, voltage_limit
from app.electrics.limits import limit

MATTER = "Resistors"
_ALL = tuple((name, name) for name in PAINT)
_FIGURES = _ALL[:10]
_PLACES = {"a figure": "a colour with a figure", "the multiplier": "a colour with a multiplier",
           "the tolerance": "a colour that means a tolerance",
           "the temperature coefficient": "a colour that means a temperature coefficient"}


def _bands(given: Given) -> Answer:
    many = int(given.word("many"))
    bands = [given.word(f"band_{number}") for number in range(1, many + 1)]
    try:
        found = colour_code(bands)
    except ElectricsError as wrong:
        place = next((place for place in _PLACES if f"for {place}" in wrong.allowed), "a figure")
        at = {"a figure": 3, "the multiplier": 3 if many < 5 else 4, "the tolerance": 4 if many == 4 else 5}.get(place, 6)
        listed = wrong.allowed.partition("one of ")[2]
        raise ElectricsError(f"band_{at}", wrong.value, f"{_PLACES[place]}: {listed}") from wrong
    tolerance = found.tolerance or 0.0
    figures = [Figure("ohm", "Nominal", found.ohm, "ohm", 4), Figure("tolerance", "Tolerance", tolerance, "%"),
               Figure("low_ohm", "At least", found.low_ohm, "ohm", 4), Figure("high_ohm", "At most", found.high_ohm, "ohm", 4)]
    if found.tempco_ppm is not None:
        figures.append(Figure("tempco_ppm", "Temperature coefficient", found.tempco_ppm, "ppm/K"))
    value = f"{tell(found.ohm, 'ohm')} ± {tell(tolerance, '%')}"
    return Answer(f"The bands say {value}: from {tell(found.low_ohm, 'ohm', 4)} to {tell(found.high_ohm, 'ohm', 4)}.",
                  tuple(figures),
                  pictures=(resistor(bands, value),))


BANDS = Sum(
    "colour-bands", MATTER, "Colour bands", "Tap the bands as they lie, the one nearest an end first.",
    (choice("many", "Bands", tuple((str(n), str(n)) for n in (3, 4, 5, 6)), "4", chips=True),
     choice("band_1", "First", _FIGURES, "yellow", chips=True), choice("band_2", "Second", _FIGURES, "violet", chips=True),
     choice("band_3", "Third", _ALL, "red", chips=True), choice("band_4", "Fourth", _ALL, "gold", chips=True),
     choice("band_5", "Fifth", _ALL, "brown", chips=True), choice("band_6", "Sixth", _ALL, "red", chips=True)),
    _bands, "Two figures (three with five or six bands), the power of ten, the tolerance, and with six the drift per kelvin.",
    (Cited("S", "IEC 60062, the 2005 edition's table."),),
    "Old paint darkens: red, orange and brown are taken for one another. Measure before trusting it.")


def _drift(given: Given) -> Answer:
    nominal, measured, tolerance = given.number("nominal"), given.number("measured"), given.number("tolerance")
    found = drift(nominal, measured)
    kind: VerdictKind = "pass" if abs(found) <= tolerance * (1 + 1e-9) else "fail"
    way = "high" if found > 0 else "low" if found < 0 else "off"
    return Answer(f"It reads {tell(abs(found), '%')} {way}, {'within' if kind == 'pass' else 'outside'} its ± "
                  f"{tell(tolerance, '%')}.",
                  (Figure("drift", "Drift", found, "%"), Figure("low", "Should read at least", nominal * (1 - tolerance), "ohm", 4),
                   Figure("high", "Should read at most", nominal * (1 + tolerance), "ohm", 4)),
                  verdict=(kind, "within" if kind == "pass" else "drifted"),
                  pictures=(share("Away from nominal", value=abs(found) * nominal, limit=tolerance * nominal, unit="ohm",
                                  named="tolerance"),) if tolerance > 0 else ())


DRIFT = Sum(
    "drift", MATTER, "Drift", "What a part marked so reads now.",
    (quantity("nominal", "Marked", "ohm", "22k"), quantity("measured", "Reads", "ohm", "27k6"),
     percent("tolerance", "Its tolerance", "10")),
    _drift, "Reading less mark, over mark.", (Cited("C", "Definition."),),
    "Lift one end, or know what lies across it. Amp off, discharged and measured before an ohmmeter goes on.")


def _power(given: Given) -> Answer:
    ohm, volt, rated = given.number("ohm"), given.number("volt"), given.number("rated_watt")
    if ohm <= 0:
        raise ElectricsError("ohm", ohm, "above zero")
    watt = volt * volt / ohm
    heat = {"ambient_c": given.number("ambient_c"), "derate_from_c": given.number("derate_from_c"),
            "zero_at_c": given.number("zero_at_c")}
    allowed, margin = derated_watt(rated, **heat), given.number("margin")
    fits = power_rating_ok(watt, rated, **heat, margin=margin)
    kind: VerdictKind = "pass" if fits else "doubt" if watt <= allowed else "fail"
    word = {"pass": "fits", "doubt": "fits without the margin", "fail": "too small"}[kind]
    most = voltage_limit(ohm, rated, element_v=given.maybe("element_v"))
    bars = [limit("heat", watt, allowed, "W", source="its rated watts, less what the air takes")] if allowed > 0 else []
    bars.append(limit("voltage", abs(volt), float(most), "V", source=f"{most.source}{', from memory' if most.unconfirmed else ''}",
                      unconfirmed=most.unconfirmed))
    if bars[-1].verdict == "above":
        kind, word = "fail", "too small" if kind == "fail" else "above its voltage limit"
    elif kind == "pass" and most.unconfirmed:
        kind, word = "doubt", "fits, voltage limit from memory"
    return Answer(f"It dissipates {tell(watt, 'W')} and may bear {tell(allowed, 'W')} there, and at most {tell(float(most), 'V')}: "
                  f"{word}.",
                  (Figure("watt", "Dissipates", watt, "W"), Figure("allowed_w", "May bear there", allowed, "W"),
                   Figure("wanted_w", "Wanted with the margin", watt * margin, "W"), Figure("ampere", "Current", volt / ohm, "A"),
                   Figure("most_v", "Voltage limit", float(most), "V")),
                  verdict=(kind, word), limits=tuple(bars),
                  pictures=(derating(watt=watt, rated=rated, allowed=allowed, ambient_c=heat["ambient_c"],
                                     from_c=heat["derate_from_c"],
                                     zero_c=heat["zero_at_c"]),))


POWER = Sum(
    "resistor-power", MATTER, "Power", "Whether a resistor bears its heat where it sits.",
    (quantity("volt", "Across it", "V", "45"), quantity("ohm", "Resistance", "ohm", "4k7"),
     quantity("rated_watt", "Rated", "W", "1"),
     plain("ambient_c", "Air round it", "60", "°C"), plain("margin", "Margin", "2", "×", assumed=True),
     quantity("element_v", "Voltage limit on its sheet", "V", "", "Empty: usual for its watts. Of several in series, of one.",
              optional=True),
     plain("derate_from_c", "Full rating to", "70", "°C", assumed=True),
     plain("zero_at_c", "Nothing at", "155", "°C", assumed=True)),
    _power, "Voltage squared over resistance, times the margin, against the rating on its straight fall with temperature. The "
    "voltage limit is the root of rated watts times resistance, or that of the body where it is less: a large value meets it "
    "before its watts.",
    (Cited("M", "Voltage limits: IEC 60115-1 for the rule; carbon parts by MIL-R-11, 250 V for 1/4 W, 350 V for 1/2 W, 500 V from "
                "1 W."),
     Cited("M", "The straight line of IEC 60115-1 style data sheets."), Cited("M", "A margin of two: common practice, no source.")),
    "Inside a chassis the air is hotter than the room, and a hot resistor scorches its board: stand it off. Measure with hands "
    "away.")


def _preferred(given: Given) -> Answer:
    ohm = given.number("ohm")
    found = {name: nearest(ohm, series=name) for name in ("E6", "E12", "E24", "E48", "E96", "E192")}
    best = found["E24"]
    bands = colours(best, tolerance=0.05)
    return Answer(f"The nearest in E24 is {tell(best, 'ohm', 4)}, {tell(abs(best / ohm - 1), '%', 2)} away: {', '.join(bands)}.",
                  tuple(Figure(name, name, f"{tell(value, 'ohm', 4)}, {(value / ohm - 1) * 100:+.1f} %") for name,
                        value in found.items()),
                  pictures=(resistor(bands, f"{tell(best, 'ohm')} ± 5 %"),))


PREFERRED = Sum(
    "preferred-value", MATTER, "Preferred value", "The nearest that can be bought.", (quantity("ohm", "Wanted", "ohm", "1234"),),
    _preferred, "The nearest by plain difference in each series; halfway, the lower.",
    (Cited("S", "IEC 60063, its printed table where that differs from the rounded powers."),),
    "The nearest value is not the right part yet: rated voltage, watts and kind count as much.")

SUMS = (BANDS, DRIFT, POWER, PREFERRED)
