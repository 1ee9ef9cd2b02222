"""What is printed on a capacitor: capacitance, tolerance, volts."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from app.electrics.errors import ElectricsError, positive
from app.electrics.notation import parse

# Fractions (low, high); IEC 60062, letters Q S T Z P from memory.
_TOLERANCE: dict[str, tuple[float, float]] = {
    "B": (-0.001, 0.001), "C": (-0.0025, 0.0025), "D": (-0.005, 0.005), "F": (-0.01, 0.01),
    "G": (-0.02, 0.02), "H": (-0.03, 0.03), "J": (-0.05, 0.05),
    "K": (-0.10, 0.10), "M": (-0.20, 0.20), "N": (-0.30, 0.30),
    "Q": (-0.10, 0.30), "T": (-0.10, 0.50), "S": (-0.20, 0.50), "Z": (-0.20, 0.80), "P": (0.0, 1.0),
}  # fmt: skip
# Below 10 pF these letters are picofarads, not per cent (IEC 60062, from memory).
_TOLERANCE_PF: dict[str, float] = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0}
_LETTERS = "BCDFGHJKMNQTSZP"
_VOLTS = re.compile(r"\s*(?<![0-9.])([0-9]+(?:\.[0-9]+)?)\s*(K?)V(?:DC)?$", re.IGNORECASE)
# Volts without a V: only after a space, and only behind what is a whole marking without them.
_BARE_VOLTS = re.compile(r"(.*[A-Za-z]|[0-9]{3})\s+([0-9]{2,5})")
# EIA and JIS rated volts: a power of ten and a letter, before the code or on its own. Seen in public tables (1H 50 V, 2A 100 V,
# 2E 250 V, 2G 400 V, 2J 630 V, 3A 1000 V and more); the letters B, C, F, K from the same preferred numbers, from memory.
_VOLT_LETTERS = {"A": 1.0, "B": 1.25, "C": 1.6, "D": 2.0, "E": 2.5, "F": 3.15, "G": 4.0, "H": 5.0, "J": 6.3, "K": 8.0,
                 "T": 1.5, "V": 3.5, "W": 4.5}
_VOLT_CODE = re.compile(rf"([0-3])([{''.join(_VOLT_LETTERS)}])", re.IGNORECASE)
_CODED_VOLTS = re.compile(rf"({_VOLT_CODE.pattern})\s*([0-9]{{3}}\s*[BCDFGHJKMQTSZ]?|[0-9]*[RpnuµU][0-9]*[{_LETTERS}]?)",
                          re.IGNORECASE)
# 220p and 220n are values, 22 pF with an odd tolerance only on paper; so P and N do not follow a bare code.
_CODE = re.compile(r"([0-9]{2})([0-9])\s*([BCDFGHJKMQTSZ]?)", re.IGNORECASE)
_POINTED = re.compile(rf"([0-9]*)([RrpnNuUmµ]|P(?=[0-9]))([0-9]*)\s*([{_LETTERS}{_LETTERS.lower()}]?)")
_WITH_UNIT = re.compile(rf"(.*[0-9]\s*[pPnNuUmµ]?[fF])\s*([{_LETTERS}]?)")
_PLAIN = re.compile(r"([0-9]*\.?[0-9]+)\s*([BCDFGHJKMQTSZ]?)", re.IGNORECASE)
_POINT_POWER = {"R": -12, "r": -12, "P": -12, "p": -12, "n": -9, "N": -9, "u": -6, "U": -6, "µ": -6, "m": -3}


@dataclass(frozen=True)
class Marking:
    """What a capacitor's marking says: farads, tolerance as a fraction (the wider side), volts where printed.

    other_farad: what the same figures may also mean, where they have a second reading.
    """

    farad: float
    tolerance: float | None
    tolerance_low: float | None = None
    tolerance_high: float | None = None
    rated_v: float | None = None
    other_farad: float | None = None


def marking(text: str) -> Marking:
    """Read a capacitor's marking: 473K, 104, 4p7, 2n2J, R47, .047, 0.1µF, 473K 630V, 103M 1KV, 474J 630, 2A104J.

    Three figures are two and a power of ten in pF (IEC 60062; last figure 8 is x 0.01 and 9 x 0.1, from
    memory), so 220 is 22 pF. R is the decimal point in pF, p n µ m the point in their own unit. A plain
    figure below one is in µF, whole numbers of one, two, four or more figures in pF (common practice, no
    source). Two readings: a code never begins with 0, so 047 is 47 pF, or .047 µF with its point gone; one
    that ends with 0 may be plain pF in old print (220: 22 or 220 pF). Volts: with V or kV, bare after a
    space, or as the code of `voltage_code` before the rest. Raises ElectricsError where the text cannot be
    read, has no single meaning, such as a bare 4.7, or names two different voltages.
    """
    if not isinstance(text, str) or not text.strip():
        raise ElectricsError("text", text, "a marking such as 473K, 4p7 or .047")
    mark, rated_v = _volts_apart(text, text.strip().replace("\u03bc", "µ"))
    farad, letter = _farad_and_letter(text, mark)
    if not 0.0 < farad < math.inf:
        raise ElectricsError("text", text, "a marking of more than zero farads")
    low, high = _tolerance_of(letter, farad)
    widest = None if low is None or high is None else max(-low, high)
    return Marking(farad, widest, low, high, rated_v, _other_reading(mark))


def voltage_code(text: str) -> float:
    """Rated volts of an EIA or JIS code: 2A is 100 V, 1H 50 V, 2J 630 V (a power of ten, then a letter for the figures).

    Source: public tables of these codes (seen). ElectricsError for anything else.
    """
    found = _VOLT_CODE.fullmatch(text.strip()) if isinstance(text, str) else None
    if found is None:
        raise ElectricsError("text", text, "a voltage code such as 1H, 2A or 2J")
    return float(f"{_VOLT_LETTERS[found.group(2).upper()]}e{found.group(1)}")


def _volts_apart(text: str, mark: str) -> tuple[str, float | None]:
    """The marking without its volts, and the volts where it has them."""
    rest, printed = mark, None
    volts, bare = _VOLTS.search(mark), _BARE_VOLTS.fullmatch(mark)
    if volts and volts.start() > 0:
        rest, printed = mark[: volts.start()], positive("text", float(volts.group(1)) * (1e3 if volts.group(2) else 1.0))
    elif bare:
        rest, printed = bare.group(1), positive("text", float(bare.group(2)))
    coded = _CODED_VOLTS.fullmatch(rest.strip())
    if coded is None:
        return rest, printed
    by_code = voltage_code(coded.group(1))
    if printed not in (None, by_code):
        raise ElectricsError("text", text, f"a marking of one voltage: its code {coded.group(1)} says {by_code:g} V")
    return coded.group(4), by_code


def _other_reading(mark: str) -> float | None:
    """The second meaning of three bare figures, in farads; None where they have one."""
    found = _CODE.fullmatch(mark)
    if found is None or mark.startswith("00"):
        return None
    figures, power, _letter = found.groups()
    if figures.startswith("0"):
        return float(f"0.{figures}{power}e-6")
    return float(f"{figures}0e-12") if power == "0" else None


def _farad_and_letter(text: str, mark: str) -> tuple[float, str]:
    coded = _CODE.fullmatch(mark)
    if coded:
        figures, power, letter = coded.groups()
        if figures.startswith("0"):
            return float(f"{figures}{power}e-12"), letter.upper()
        return float(f"{figures}e{-12 + {'8': -2, '9': -1}.get(power, int(power))}"), letter.upper()
    united = _WITH_UNIT.fullmatch(mark)
    pointed = _POINTED.fullmatch(mark)
    if united and not (pointed and pointed.group(3)):
        return parse(united.group(1), unit="F"), united.group(2)
    if pointed and (pointed.group(1) or pointed.group(3)) and (pointed.group(2) != "m" or pointed.group(3)):
        whole, point, fraction, letter = pointed.groups()
        return float(f"{whole or 0}.{fraction or 0}e{_POINT_POWER[point]}"), letter.upper()
    plain = _PLAIN.fullmatch(mark)
    if plain is None:
        return parse(mark, unit="F"), ""
    figures, letter = plain.groups()
    if "." in figures and float(figures) >= 1.0:
        raise ElectricsError("text", text, "marked with its unit: pF and µF are both possible")
    return float(f"{figures}e{-6 if '.' in figures else -12}"), letter.upper()


def _tolerance_of(letter: str, farad: float) -> tuple[float | None, float | None]:
    if not letter:
        return None, None
    if farad < 9.9999e-12 and letter in _TOLERANCE_PF:
        share = _TOLERANCE_PF[letter] * 1e-12 / farad
        return -share, share
    return _TOLERANCE[letter]
