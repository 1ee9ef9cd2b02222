"""Marking codes, IEC 60062: EN 60062:2005 table (public scan), instrumentationtools.com, gqrp.com (capacitors)."""

from __future__ import annotations

import pytest

from app.electrics import CapacitorMarking, ResistorMarking, colour_code, colours, marking, parse, resistor_marking

# Bands, ohms, tolerance, ppm/K, status of the row.
BANDS = [
    ("yellow violet red gold", 4700.0, 0.05, None, "seen source"),
    ("yellow violet orange silver", 47e3, 0.10, None, "seen source"),
    ("orange white brown silver", 390.0, 0.10, None, "seen source"),
    ("brown black orange gold", 10e3, 0.05, None, "seen source"),
    ("brown black green gold", 1e6, 0.05, None, "computed"),
    ("red violet gold gold", 2.7, 0.05, None, "computed"),
    ("brown black black brown brown", 1000.0, 0.01, None, "computed"),
    ("yellow violet black red brown", 47e3, 0.01, None, "computed"),
    ("orange orange black brown brown red", 3300.0, 0.01, 50.0, "computed"),
]


@pytest.mark.parametrize(("bands", "ohm", "tolerance", "ppm", "status"), BANDS)
def test_bands_both_ways(bands: str, ohm: float, tolerance: float, ppm: float | None, status: str) -> None:
    names = tuple(bands.split())
    assert colour_code(names) == ResistorMarking(ohm, tolerance, ppm), status
    assert colours(ohm, tolerance=tolerance, bands=len(names), tempco_ppm=ppm) == names, status


@pytest.mark.parametrize(
    ("bands", "low", "high"),
    [("yellow violet red gold", 4465.0, 4935.0), ("orange white brown silver", 351.0, 429.0)],
)
def test_limits_of_the_tolerance(bands: str, low: float, high: float) -> None:  # seen source
    mark = colour_code(bands)
    assert (mark.low_ohm, mark.high_ohm) == pytest.approx((low, high))


def test_orange_is_not_the_slip_one_page_prints() -> None:  # seen: it says 4700 before correcting itself
    assert colour_code("yellow violet orange").ohm == 47e3


@pytest.mark.parametrize(
    ("digit", "colour"),
    list(enumerate(["black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white"])),
)
def test_figures_and_multipliers(digit: int, colour: str) -> None:  # seen source
    assert colour_code(["brown", colour, "black"]).ohm == 10 + digit
    assert colour_code(["brown", "black", colour]).ohm == pytest.approx(10.0 ** (digit + 1))


def test_gold_and_silver_multiply_downwards() -> None:  # seen source
    assert colour_code("brown black gold").ohm == 1.0
    assert colour_code("brown black silver").ohm == 0.1


@pytest.mark.parametrize(
    ("colour", "tolerance"),
    [("brown", 0.01), ("red", 0.02), ("green", 0.005), ("blue", 0.0025), ("violet", 0.001), ("grey", 0.0005),
     ("gold", 0.05), ("silver", 0.10), ("none", 0.20)],
)  # fmt: skip
def test_tolerances_of_the_2005_edition(colour: str, tolerance: float) -> None:  # seen source; none from memory
    assert colour_code(["brown", "black", "red", colour]).tolerance == tolerance


@pytest.mark.parametrize(
    ("colour", "ppm"),
    [("black", 250), ("brown", 100), ("red", 50), ("orange", 15), ("yellow", 25), ("green", 20), ("blue", 10),
     ("violet", 5), ("grey", 1)],
)  # fmt: skip
def test_temperature_coefficients(colour: str, ppm: float) -> None:  # seen source
    assert colour_code(["brown", "black", "black", "brown", "brown", colour]).tempco_ppm == ppm


@pytest.mark.parametrize(
    ("text", "ohm"),
    [("4K7", 4700.0), ("4R7", 4.7), ("R22", 0.22), ("2K2", 2200.0), ("1M0", 1e6), ("51R", 51.0)],
)
def test_letter_code(text: str, ohm: float) -> None:  # seen source; R22 computed
    assert parse(text, unit="ohm") == ohm
    assert resistor_marking(text).ohm == ohm


@pytest.mark.parametrize(("text", "ohm"), [("472", 4700.0), ("4702", 47e3), ("100", 10.0)])
def test_chip_codes(text: str, ohm: float) -> None:  # computed
    assert resistor_marking(text).ohm == ohm


@pytest.mark.parametrize(
    ("text", "farad", "tolerance"),
    [
        ("101", 100e-12, None), ("102", 1e-9, None), ("103", 10e-9, None), ("104", 100e-9, None),  # seen source
        ("473K", 47e-9, 0.10),  # computed
        ("474J", 470e-9, 0.05), ("104K", 100e-9, 0.10),  # seen source
        ("220", 22e-12, None), ("221", 220e-12, None),  # seen source: the trap
    ],
)  # fmt: skip
def test_capacitor_codes(text: str, farad: float, tolerance: float | None) -> None:
    mark = marking(text)
    assert isinstance(mark, CapacitorMarking)
    assert (mark.farad, mark.tolerance) == (farad, tolerance)


# Tolerance letters of IEC 60062 above 10 pF, in per cent: low side, high side. B to N as seen; Q T S Z P from memory.
CAPACITOR_LETTERS = {"B": (0.1, 0.1), "C": (0.25, 0.25), "D": (0.5, 0.5), "F": (1, 1), "G": (2, 2), "H": (3, 3), "J": (5, 5),
                     "K": (10, 10), "M": (20, 20), "Q": (10, 30), "T": (10, 50), "S": (20, 50), "Z": (20, 80)}


@pytest.mark.parametrize("letter", CAPACITOR_LETTERS)
def test_capacitor_tolerance_letters(letter: str) -> None:
    found, (low, high) = marking(f"103{letter}"), CAPACITOR_LETTERS[letter]
    assert (found.tolerance_low, found.tolerance_high) == pytest.approx((-low / 100, high / 100))
