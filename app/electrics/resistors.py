"""Resistors: preferred values, colour code, markings, drift and power derating."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from app.electrics.errors import ElectricsError, finite, not_negative, one_of, positive, several, whole, within
from app.electrics.extremes import finite_result
from app.electrics.sourced import Sourced

# Rated watts and the most volts that a carbon part of that size bears: MIL-R-11, from memory.
_BODY_VOLTS = ((0.125, 150.0), (0.25, 250.0), (0.5, 350.0), (1.0, 500.0))
SERIES = ("E3", "E6", "E12", "E24", "E48", "E96", "E192")
EDITIONS = (2005, 2016)
_DIGITS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
_SAME_COLOUR = {"gray": "grey", "purple": "violet"}
_TOLERANCE_2005: dict[str, float] = {
    "brown": 0.01, "red": 0.02, "green": 0.005, "blue": 0.0025, "violet": 0.001, "grey": 0.0005,
    "gold": 0.05, "silver": 0.10, "none": 0.20,
}  # fmt: skip
# From memory: the 2016 edition moves grey and adds orange and yellow.
_TOLERANCE_2016 = _TOLERANCE_2005 | {"orange": 0.0005, "yellow": 0.0002, "grey": 0.0001}
_TEMPCO: dict[str, float] = {
    "black": 250.0, "brown": 100.0, "red": 50.0, "orange": 15.0, "yellow": 25.0,
    "green": 20.0, "blue": 10.0, "violet": 5.0, "grey": 1.0,
}  # fmt: skip
_MULTIPLIER: dict[str, int] = {name: power for power, name in enumerate(_DIGITS)} | {"gold": -1, "silver": -2}
_LETTER_TOLERANCE: dict[str, float] = {
    "B": 0.001, "C": 0.0025, "D": 0.005, "F": 0.01, "G": 0.02, "J": 0.05, "K": 0.10, "M": 0.20,
}  # fmt: skip
_LETTER_CODE = re.compile(r"([0-9]*)([RKM])([0-9]*)([BCDFGJKM]?)")
_DIGIT_CODE = re.compile(r"([0-9]{2,3})([0-9])([BCDFGJKM]?)")


@dataclass(frozen=True)
class Marking:
    """What a resistor's bands or letters say: ohms, tolerance as a fraction, ppm/K where marked."""

    ohm: float
    tolerance: float | None
    tempco_ppm: float | None = None

    @property
    def low_ohm(self) -> float:
        """Least ohms within the tolerance (the nominal value where none is marked)."""
        return self.ohm * (1.0 - (self.tolerance or 0.0))

    @property
    def high_ohm(self) -> float:
        """Most ohms within the tolerance (the nominal value where none is marked)."""
        return self.ohm * (1.0 + (self.tolerance or 0.0))


def series(name: str) -> tuple[float, ...]:
    """One decade of a preferred-value series as IEC 60063 prints it: E24 is 1.0, 1.1 ... 9.1.

    name: E3, E6, E12, E24, E48, E96 or E192; another name raises ElectricsError. The table rules: up to E24
    (and once in E192) it differs from the rounded powers of ten.
    """
    import eseries

    key = eseries.ESeries[one_of("name", name, SERIES)]
    whole = eseries.series(key)
    return tuple(float(Decimal(int(number)) / int(whole[0])) for number in whole)


@finite_result
def nearest(ohm: float, *, series: str = "E24") -> float:
    """The preferred value (IEC 60063) nearest by plain difference to `ohm`, above zero, any unit.

    Exactly halfway the lower one is taken. Raises ElectricsError for an unknown series, zero, negative, NaN.
    """
    wanted = Decimal(repr(positive("ohm", ohm)))
    decade = wanted.adjusted()
    values = _decade(one_of("series", series, SERIES))
    candidates = [value.scaleb(decade) for value in values] + [values[0].scaleb(decade + 1)]
    return float(min(candidates, key=lambda value: (abs(value - wanted), value)))


@functools.cache
def _decade(name: str) -> tuple[Decimal, ...]:
    return tuple(Decimal(repr(figure)) for figure in series(name))


def colour_code(bands: Iterable[str], *, edition: int = 2005) -> Marking:
    """Read 3 to 6 colour bands by IEC 60062, first significant figure first.

    3 bands: two figures, multiplier, tolerance 20 %; 4: with tolerance ("none" is 20 %); 5: three figures,
    multiplier, tolerance; 6: with temperature coefficient in ppm/K. Names in any case, gray and grey, purple
    and violet; one text with spaces or commas does as well. edition is 2005 or, from memory, 2016, which
    reads grey as 0.01 % (2005: 0.05 %), adds orange and yellow tolerance and pink as x 0.001.
    Raises ElectricsError for another number of bands or a colour that has no meaning in its place.
    """
    _edition(edition)
    names = _band_names(bands)
    if not 3 <= len(names) <= 6:
        raise ElectricsError("bands", bands, "3 to 6 colours")
    count = 2 if len(names) <= 4 else 3
    multipliers = _MULTIPLIER | ({"pink": -3} if edition == 2016 else {})
    tolerances = _tolerances(edition)
    figures = "".join(str(_DIGITS.index(_allowed(names[i], _DIGITS, "a figure"))) for i in range(count))
    power = multipliers[_allowed(names[count], tuple(multipliers), "the multiplier")]
    tolerance = 0.20
    if len(names) > 3:
        # Only where a fourth band is missing does "none" have a meaning.
        fitting = [name for name in tolerances if name != "none" or len(names) == 4]
        tolerance = tolerances[_allowed(names[count + 1], tuple(fitting), "the tolerance")]
    tempco = (
        _TEMPCO[_allowed(names[5], tuple(_TEMPCO), "the temperature coefficient")]
        if len(names) == 6
        else None
    )
    return Marking(float(f"{figures}e{power}"), tolerance, tempco)


def _edition(edition: int) -> None:
    if not isinstance(edition, int) or edition not in EDITIONS:
        raise ElectricsError("edition", edition, "2005 or 2016")


def _tolerances(edition: int) -> dict[str, float]:
    return _TOLERANCE_2005 if edition == 2005 else _TOLERANCE_2016


def _band_names(bands: Iterable[str]) -> tuple[str, ...]:
    parts = re.split(r"[\s,;/-]+", bands.strip()) if isinstance(bands, str) else several("bands", bands, "3 to 6 colours")
    if not all(isinstance(part, str) for part in parts):
        raise ElectricsError("bands", bands, "colour names")
    names = (part.strip().lower() for part in parts)
    return tuple(_SAME_COLOUR.get(name, name) for name in names)


def _allowed(name: str, names: tuple[str, ...], place: str) -> str:
    if name not in names:
        hint = (
            "; gold or silver first means the part is read from the wrong end" if place == "a figure" else ""
        )
        raise ElectricsError("bands", name, f"for {place} one of {', '.join(names)}{hint}")
    return name


def colours(
    ohm: float, *, tolerance: float, bands: int = 4, tempco_ppm: float | None = None, edition: int = 2005
) -> tuple[str, ...]:
    """The colour bands of a resistor, the inverse of colour_code.

    ohm above zero and exactly expressible in two figures (3 or 4 bands) or three (5 or 6); tolerance a
    fraction that has a colour, 0.2 for 3 bands ("none" as a fourth); tempco_ppm for 6 bands only.
    Raises ElectricsError for what the code cannot say; nothing is rounded to fit.
    """
    _edition(edition)
    whole("bands", bands, 3, 6)
    named = [*_figure_bands(positive("ohm", ohm), 2 if bands <= 4 else 3, edition)]
    wanted = positive("tolerance", tolerance)
    if bands == 3:
        if wanted != 0.20:
            raise ElectricsError("tolerance", tolerance, "0.2 where three bands leave the tolerance unmarked")
    else:
        known = {value: name for name, value in _tolerances(edition).items() if name != "none" or bands == 4}
        named.append(_by_value("tolerance", wanted, known))
    if (tempco_ppm is not None) != (bands == 6):
        raise ElectricsError("tempco_ppm", tempco_ppm, "given for six bands and only for six")
    if tempco_ppm is not None:
        by_ppm = {value: name for name, value in _TEMPCO.items()}
        named.append(_by_value("tempco_ppm", finite("tempco_ppm", tempco_ppm), by_ppm))
    return tuple(named)


def _by_value(argument: str, value: float, names: dict[float, str]) -> str:
    for known, name in names.items():
        if abs(known - value) <= 1e-6 * known:
            return name
    raise ElectricsError(argument, value, "one of " + ", ".join(f"{known:g}" for known in sorted(names)))


def _figure_bands(ohm: float, count: int, edition: int) -> tuple[str, ...]:
    # Ten figures absorb the noise of a computed value such as 0.1 * 47; the code itself carries two or three.
    exact = Decimal(f"{ohm:.9e}").normalize()
    lowest = -3 if edition == 2016 else -2
    power = max(exact.adjusted() - count + 1, lowest)
    figures = exact.scaleb(-power)
    multipliers = {value: name for name, value in _MULTIPLIER.items()} | (
        {-3: "pink"} if lowest == -3 else {}
    )
    if figures != figures.to_integral_value() or power not in multipliers:
        raise ElectricsError(
            "ohm", ohm, f"a value of {count} figures from {10.0**lowest:g} to {10.0**count:g}e9"
        )
    return (*(_DIGITS[int(figure)] for figure in f"{int(figures):0{count}d}"), multipliers[power])


def resistor_marking(text: str) -> Marking:
    """Read printed letters or figures: 4K7, R22, 51R, 1M0, 4K7J (IEC 60062) and chip codes 472, 4702, 100.

    A last letter B C D F G J K M is the tolerance. 0, 00, 000 and 0000 mark a link of zero ohms.
    Raises ElectricsError for anything else.
    """
    mark = text.strip().upper() if isinstance(text, str) else ""
    if mark and set(mark) == {"0"} and len(mark) <= 4:
        return Marking(0.0, None)
    coded = _DIGIT_CODE.fullmatch(mark)
    if coded:
        figures, power, letter = coded.groups()
        return Marking(float(f"{figures}e{power}"), _LETTER_TOLERANCE.get(letter))
    lettered = _LETTER_CODE.fullmatch(mark)
    if lettered is None or not (lettered.group(1) or lettered.group(3)):
        raise ElectricsError("text", text, "a marking such as 4K7, R22, 4K7J, 472 or 4702")
    whole, point, fraction, letter = lettered.groups()
    power_of = {"R": 0, "K": 3, "M": 6}[point]
    return Marking(float(f"{whole or 0}.{fraction or 0}e{power_of}"), _LETTER_TOLERANCE.get(letter))


@finite_result
def drift(nominal: float, measured: float) -> float:
    """How far a part has moved: (measured - nominal) / nominal, a signed fraction (0.12 is 12 % high).

    nominal above zero, measured zero or more, same unit; else ElectricsError.
    """
    base = positive("nominal", nominal)
    return (not_negative("measured", measured) - base) / base


@finite_result
def derated_watt(
    rated_watt: float, *, ambient_c: float = 25, derate_from_c: float = 70, zero_at_c: float = 155
) -> float:
    """Watts a resistor may dissipate at an ambient temperature: full to derate_from_c, straight to none at zero_at_c.

    The straight line is the derating curve of IEC 60115-1 style data sheets (from memory); temperatures in
    °C, -65 to 350. Raises ElectricsError where zero_at_c is not above derate_from_c.
    """
    rated = positive("rated_watt", rated_watt)
    ambient = within("ambient_c", ambient_c, -65.0, 350.0)
    full = within("derate_from_c", derate_from_c, -65.0, 350.0)
    none = within("zero_at_c", zero_at_c, -65.0, 350.0)
    if none <= full:
        raise ElectricsError("zero_at_c", zero_at_c, f"above derate_from_c, {full:g}")
    return rated * min(1.0, max(0.0, (none - ambient) / (none - full)))


def voltage_limit(ohm: float, rated_watt: float, *, element_v: float | None = None) -> Sourced:
    """The most volts (V, direct or peak) across a resistor: the less of sqrt(P R) and the limiting voltage of its body.

    ohm and rated_watt above zero. element_v: the limit that its data sheet names; left out, that of carbon parts of its size by
    MIL-R-11, from memory (1/8 W 150 V, 1/4 W 250 V, 1/2 W 350 V, 1 W and more 500 V). The two limits are those of IEC 60115-1
    (rated and limiting element voltage, from memory). Status C where the watts decide or the limit was named, M where it is from
    memory. ElectricsError otherwise.
    """
    rated = positive("rated_watt", rated_watt)
    by_watt = math.sqrt(rated * positive("ohm", ohm))
    body = _body_volts(rated) if element_v is None else positive("element_v", element_v)
    if by_watt <= body:
        return Sourced(by_watt, unit="V", status="C", source="square root of rated watts times resistance")
    if element_v is not None:
        return Sourced(body, unit="V", status="C", source="as entered from its data sheet")
    return Sourced(body, unit="V", status="M", source="usual for a part of this size, MIL-R-11")


def _body_volts(rated: float) -> float:
    return next((volt for watt, volt in reversed(_BODY_VOLTS) if rated >= watt * (1 - 1e-9)), _BODY_VOLTS[0][1])


def power_rating_ok(
    watt: float,
    rated_watt: float,
    *,
    ambient_c: float = 25,
    derate_from_c: float = 70,
    zero_at_c: float = 155,
    margin: float = 2.0,
) -> bool:
    """Whether `watt` times the margin fits the derated rating; exactly fitting is ok.

    watt zero or more, margin 1 or more (2 is common practice, no source). Above zero_at_c nothing is ok.
    Raises ElectricsError for values outside these ranges.
    """
    load = not_negative("watt", watt)
    if finite("margin", margin) < 1.0:
        raise ElectricsError("margin", margin, "1 or more")
    allowed = derated_watt(rated_watt, ambient_c=ambient_c, derate_from_c=derate_from_c, zero_at_c=zero_at_c)
    return ambient_c <= zero_at_c and load * margin <= allowed
