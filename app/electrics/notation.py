"""Bench notation: reads values the way schematics, parts and people write them, and writes them back."""

from __future__ import annotations

import math
import re
from typing import NoReturn

from app.electrics.errors import ElectricsError, finite, whole
from app.electrics.units import PREFIXES, SHOWN, Unit, unit_named

_LOOKALIKES = str.maketrans(
    {
        "\u2126": "\u03a9",  # ohm sign -> Greek omega
        "\u03bc": "\u00b5",  # Greek mu -> micro sign
        "\u2212": "-",
        "\u2010": "-",
        "\u2011": "-",
        "\u2013": "-",
        "\u00a0": " ",
        "\u2009": " ",
        "\u202f": " ",
        "\t": " ",
    }
)
_SIGN = re.compile(r" *([+-]?) *")
_NUMBER = re.compile(r"([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)([eE][+-]?[0-9]+)?")
_INFIX = re.compile(r"([A-Za-z\u03a9\u00b5])([0-9]+)")
_WORD = re.compile(r"[A-Za-z\u03a9\u00b5\u00b0]+")
_GROUPED = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
# As old schematics print them; a millionth of a millionth is doubled, never "pico".
_OLD_PRINT = {
    "mfd": -6, "ufd": -6, "\u00b5fd": -6,
    "mmfd": -12, "mmf": -12, "uufd": -12, "uuf": -12, "\u00b5\u00b5fd": -12, "\u00b5\u00b5f": -12,
}  # fmt: skip
_OHM_WORDS = {"meg": 6, "megs": 6, "megohm": 6, "megohms": 6, "kilohm": 3, "kilohms": 3}


class NotationError(ElectricsError):
    """A text that cannot be read; carries the text and the place (0-based index) where reading stopped."""

    def __init__(self, text: str, place: int, reason: str) -> None:
        self.text = text
        self.place = place
        self.reason = reason
        marked = f"{text[:place]}▸{text[place:]}"
        allowed = f"a value such as 4k7, 22 nF or -52 V; {reason} at character {place + 1} ({marked})"
        super().__init__("text", text, allowed)
        self.args = (f"“{text}” cannot be read: {reason} at ▸ in “{marked}”. Enter a value such as 4k7, 22 nF or -52 V.",)


class _Reader:
    """One reading of one text; keeps the place so that an error can point at it."""

    def __init__(self, text: str, wanted: Unit | None) -> None:
        self.original = text
        self.text = text.translate(_LOOKALIKES).rstrip()
        self.wanted = wanted

    def fail(self, place: int, reason: str) -> NoReturn:
        raise NotationError(self.original, min(place, len(self.original)), reason)

    def read(self) -> float:
        sign_match = _SIGN.match(self.text)
        sign, at = (sign_match.group(1), sign_match.end()) if sign_match else ("", 0)
        if at >= len(self.text):
            self.fail(at, "there is no number")
        number = _NUMBER.match(self.text, at)
        if number is None:
            return self._leading_letter(sign, at)
        infix = _INFIX.match(self.text, number.end())
        if infix is not None:
            return self._infix(sign, number.group(0), infix)
        return self._suffixed(sign, number)

    def _leading_letter(self, sign: str, at: int) -> float:
        infix = _INFIX.match(self.text, at)
        if infix is None:
            self.fail(at, "a number was expected")
        if infix.group(1) not in PREFIXES and infix.group(1) not in "Rr":
            self.fail(at, f"{infix.group(1)!r} cannot stand for the decimal point before a number")
        return self._infix(sign, "0", infix)

    def _infix(self, sign: str, whole: str, infix: re.Match[str]) -> float:
        """4k7, R22, 6V3: the letter stands where the decimal point would."""
        letter, fraction = infix.groups()
        place = infix.start()
        if not whole.isdigit():
            self.fail(place, "a decimal mark and a letter both claim to be the decimal point")
        exponent, unit = self._letter(letter, place)
        unit_place = place
        word = self._words(infix.end())
        if word:
            (name, at), *rest = word
            if rest:
                self.fail(rest[0][1], "two units")
            after = unit_named(name)
            if after is None:
                self.fail(at, f"{name!r} after a value that already has its multiplier or unit")
            if unit is not None and not (unit is after and letter in "Rr"):
                self.fail(at, "two units")
            unit, unit_place = after, at
        self._check(exponent, unit, place, unit_place)
        return self._value(f"{sign}{whole}.{fraction}", exponent)

    def _letter(self, letter: str, place: int) -> tuple[int, Unit | None]:
        if letter in "Rr":
            return 0, unit_named("ohm")
        if letter in PREFIXES:
            return PREFIXES[letter], None
        unit = unit_named(letter)
        if unit is None:
            self.fail(place, f"{letter!r} is neither a multiplier nor a unit")
        return 0, unit

    def _suffixed(self, sign: str, number: re.Match[str]) -> float:
        mantissa, power = number.group(1), number.group(2) or ""
        if _GROUPED.fullmatch(mantissa):
            self.fail(number.start() + mantissa.index(","), "a comma that may mean thousands or a decimal")
        exponent, unit, place, unit_place = self._suffix(number.end())
        if power and exponent:
            self.fail(place, "a power of ten and a multiplier together")
        self._check(exponent, unit, place, unit_place)
        return self._value(sign + mantissa.replace(",", "."), exponent + int(power[1:] or 0))

    def _words(self, at: int) -> list[tuple[str, int]]:
        found: list[tuple[str, int]] = []
        while at < len(self.text):
            if self.text[at] == " ":
                at += 1
                continue
            word = _WORD.match(self.text, at)
            if word is None:
                self.fail(at, f"{self.text[at]!r} does not belong here")
            found.append((word.group(0), at))
            at = word.end()
            if self.text[at:] == ".":  # "20 mfd." as printed
                break
        return found

    def _suffix(self, at: int) -> tuple[int, Unit | None, int, int]:
        words = self._words(at)
        if not words:
            return 0, None, at, at
        (word, place), *rest = words
        if not rest:
            return self._word(word, place)
        second, second_place = rest[0]
        unit = unit_named(second)
        exponent = PREFIXES.get(word, _OHM_WORDS.get(word.casefold()))
        if exponent is None or unit is None or len(rest) > 1:
            self.fail(rest[-1][1] if exponent is not None and unit is not None else second_place, "two units")
        return exponent, unit, place, second_place

    def _word(self, word: str, place: int) -> tuple[int, Unit | None, int, int]:
        """Multiplier and unit of a suffix written in one piece: k, kΩ, mfd, V, mA."""
        folded = word.casefold()
        if folded in _OLD_PRINT:
            return _OLD_PRINT[folded], unit_named("F"), place, place
        if folded == "mf" and word != "mF":
            self.fail(place, f"{word!r} has meant µF and mF; write µF, mfd or mF")
        if folded in _OHM_WORDS:
            unit = None if folded.startswith("meg") and "ohm" not in folded else unit_named("ohm")
            return _OHM_WORDS[folded], unit, place, place
        unit = unit_named(word)
        if unit is not None:
            return 0, unit, place, place
        if len(word) == 1 and word in PREFIXES:
            return PREFIXES[word], None, place, place
        unit = unit_named(word[1:])
        if word[0] in PREFIXES and unit is not None:
            return PREFIXES[word[0]], unit, place, place + 1
        if word[0] in PREFIXES:
            self.fail(place + 1, f"{word[1:]!r} is not a unit read here")
        return self.fail(place, f"{word!r} is neither a multiplier nor a unit read here")

    def _check(self, exponent: int, unit: Unit | None, place: int, unit_place: int) -> None:
        if unit is not None and self.wanted is not None and unit is not self.wanted:
            self.fail(unit_place, f"the unit is {unit.symbol} where {self.wanted.symbol} is wanted")
        unit = unit or self.wanted
        if unit is not None and exponent and exponent not in unit.read:
            self.fail(place, f"this multiplier is not used with {unit.symbol}")

    def _value(self, mantissa: str, exponent: int) -> float:
        value = float(f"{mantissa}e{exponent}")
        if not math.isfinite(value):
            self.fail(0, "the value is too large")
        if value == 0.0 and re.search("[1-9]", mantissa):
            self.fail(0, "the value is too small")
        return value


def parse(text: str, *, unit: str | None = None) -> float:
    """Read a value in bench notation; SI value (ohm, V, A, F, H, W, VA, s, Hz, J, °C).

    Reads 4k7, 4K7, 4.7 kΩ, 4700, R22, 0R22, 470R, 1M5, 6V3, 22n, .022µF, 500p, 20 mfd, 250 mmfd, -52V, 60mA,
    1e-6 F. m is milli and M mega; other letters are read in either case where that is unambiguous. A comma is
    the decimal mark unless it may as well group thousands (1,000). `unit` names the unit wanted: a bare
    number or multiplier takes it, another unit is refused, and so is a multiplier nobody uses with it (4k7 of
    farads was printed for 4700 pF). The letter code is that of IEC 60062; mfd and mmfd are µF and pF.

    Raises NotationError (an ElectricsError) that shows the text and the place; ElectricsError for an unknown
    unit.
    """
    if not isinstance(text, str):
        raise ElectricsError("text", text, "a text such as 4k7")
    return _Reader(text, _known(unit)).read()


def show(value: float, unit: str = "", *, digits: int = 3) -> str:
    """Write an SI value with an engineering multiplier: show(4700, "ohm") is "4.7 kΩ".

    Without a unit the multiplier follows the number ("4.7k"). digits, 1 to 15, is the number of significant
    figures; trailing zeros after the decimal point are dropped. Farads are shown in pF, nF, µF and F, never
    mF, which old print uses for microfarad. parse(show(x, u), unit=u) gives x to the digits shown.
    Raises ElectricsError for a value that is not finite, an unknown unit or digits out of range.
    """
    number = finite("value", value)
    whole("digits", digits, 1, 15)
    known = _known(unit)
    symbol = f" {known.symbol}" if known else ""
    if number == 0.0:
        return "0" + symbol
    sign = "-" if number < 0 else ""
    mantissa, power = f"{abs(number):.{digits - 1}e}".split("e")
    figures, exponent = mantissa.replace(".", ""), int(power)
    base = _shown_exponent(exponent, known)
    if base is None:
        return f"{sign}{_placed(figures, 0)}e{exponent}{symbol}"
    prefix = SHOWN[base]
    tail = f" {prefix}{known.symbol}" if known else prefix
    return f"{sign}{_placed(figures, exponent - base)}{tail}"


def _known(unit: str | None) -> Unit | None:
    if unit is None or (isinstance(unit, str) and not unit):
        return None
    found = unit_named(unit.translate(_LOOKALIKES).strip()) if isinstance(unit, str) else None
    if found is None:
        raise ElectricsError("unit", unit, "one of ohm, V, A, F, H, W, VA, s, Hz, J, °C")
    return found


def _shown_exponent(exponent: int, unit: Unit | None) -> int | None:
    """Power of ten of the multiplier to show; None where only an exponent form stays readable."""
    choices = unit.shown if unit else tuple(SHOWN)
    if unit is not None and unit.symbol == "Ω" and exponent == -1:
        return 0  # limits and small resistors are written 0.3 Ω, not 300 mΩ
    fitting = [choice for choice in choices if choice <= exponent]
    base = max(fitting) if fitting else min(choices)
    return base if -3 <= exponent - base <= 5 else None


def _placed(figures: str, shift: int) -> str:
    """Digits with the decimal point `shift` places after the first one, trailing zeros dropped."""
    if shift < 0:
        figures, shift = "0" * -shift + figures, 0
    figures = figures.ljust(shift + 1, "0")
    whole, fraction = figures[: shift + 1], figures[shift + 1 :].rstrip("0")
    return f"{whole}.{fraction}" if fraction else whole
