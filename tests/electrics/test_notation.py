"""Bench notation: every form the contract lists, what is refused and where, and the round trip."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import ElectricsError, NotationError, parse, show

UNITS = ["", "ohm", "V", "A", "F", "H", "W", "VA", "s", "Hz", "J", "°C"]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4k7", 4700.0), ("4K7", 4700.0), ("4.7k", 4700.0), ("4.7 kΩ", 4700.0), ("4700", 4700.0),
        ("4.7 k\u2126", 4700.0), ("R22", 0.22), ("0R22", 0.22), ("R47", 0.47), ("470R", 470.0), ("0R", 0.0),
        ("4R7 Ω", 4.7), ("1M5", 1.5e6), ("1M", 1e6), ("1m", 1e-3), ("2.2 Meg", 2.2e6), ("1 megohm", 1e6),
        ("22n", 22e-9), ("22 nF", 22e-9), ("0.022u", 22e-9), (".022\u00b5F", 22e-9), (".022\u03bcF", 22e-9),
        ("500p", 500e-12), ("n47", 0.47e-9), ("4p7", 4.7e-12), ("p68", 0.68e-12), ("22 n F", 22e-9),
        ("20 mfd", 20e-6), (".05 MFD", 0.05e-6), ("20 mfd.", 20e-6), ("250mmfd", 250e-12), ("250 MMF", 250e-12),
        ("100 uuf", 100e-12), ("10 mF", 10e-3), ("-52V", -52.0), ("\u221252 V", -52.0), ("+250V", 250.0),
        ("60mA", 0.06), ("60 ma", 0.06), ("6V3", 6.3), ("1H5", 1.5), ("10 H", 10.0), ("50Hz", 50.0),
        ("5VA", 5.0), ("4,7k", 4700.0), ("0,022u", 22e-9), ("0,100", 0.1), ("1234,5", 1234.5), (",5", 0.5),
        ("12,34", 12.34), ("1e-6 F", 1e-6), ("2E3", 2000.0), ("  33k  ", 33e3), ("33\u00a0k", 33e3), ("5.", 5.0),
        ("4.7k ohms", 4700.0), ("47 kohm", 47e3), ("3 kV", 3000.0), ("22U", 22e-6), ("1G", 1e9), ("5T", 5e12),
    ],
)  # fmt: skip
def test_reads_what_benches_and_schematics_print(text: str, value: float) -> None:
    assert parse(text) == value


@pytest.mark.parametrize(
    ("text", "unit", "place"),
    [
        ("4k7k", None, 3), ("4k7", "F", 1), ("1M", "F", 1), ("5 V A", None, 4), ("5V A", "V", 3), ("4k7V", "ohm", 3),
        ("22nF", "ohm", 3), ("R22", "V", 0), ("470R", "V", 3), ("4.7k5", None, 3), ("4..7", None, 2), ("", None, 0),
        ("   ", None, 0), ("k", None, 0), ("abc", None, 0), ("-", "V", 1), ("1,000", None, 1), ("47,000 ohm", None, 2),
        ("1,000.5", None, 1), ("5 kk", None, 3), ("1e3k", None, 3), ("20 MF", None, 3), ("20 mf", "F", 3),
        ("5 V 3", None, 4), ("4k7 5", None, 4), ("2k2 kohm", None, 4), ("V5", "V", 0), ("5 x", None, 2),
        ("6V3 A", None, 4), ("6V3 V", None, 4), ("6V3", "A", 1), ("60MA", "A", 2), ("1ks", None, 1), ("5#", None, 1),
        ("1x5", None, 1), ("5 k V A", None, 6), ("1e999", None, 0), ("1e-999", None, 0), ("4k7 V A", None, 6),
        ("5 furlong", None, 2), ("5kfurlong", None, 2), ("3 m°C", "°C", 2), ("22n", "ohm", 2), ("5pΩ", None, 1),
    ],
)  # fmt: skip
def test_refuses_and_points_at_the_place(text: str, unit: str | None, place: int) -> None:
    with pytest.raises(NotationError) as refusal:
        parse(text, unit=unit)
    assert refusal.value.place == place
    assert refusal.value.text == text
    assert f"“{text}” cannot be read" in str(refusal.value)
    assert f"{text[:place]}▸{text[place:]}" in str(refusal.value)
    assert refusal.value.argument == "text"


def test_zero_written_with_zeros_is_not_too_small() -> None:
    assert parse("0.000e-999") == 0.0


@pytest.mark.parametrize("unit", ["F", "farad", "Farads", "f"])
def test_the_wanted_unit_may_be_named_or_abbreviated(unit: str) -> None:
    assert parse("22n", unit=unit) == 22e-9


def test_an_empty_unit_wants_none() -> None:
    assert parse("4k7", unit="") == 4700.0


@pytest.mark.parametrize("unit", ["furlong", "kohm", 5])
def test_an_unknown_unit_is_refused(unit: str) -> None:
    with pytest.raises(ElectricsError, match="unit is"):
        parse("1", unit=unit)
    with pytest.raises(ElectricsError, match="unit is"):
        show(1.0, unit)


@pytest.mark.parametrize("text", [None, 4700, b"4k7"])
def test_only_text_is_read(text: object) -> None:
    with pytest.raises(ElectricsError, match="text is"):
        parse(text)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (4700, "ohm", "4.7 kΩ"), (4700, "", "4.7k"), (2.2e-8, "F", "22 nF"), (2.2e-8, "", "22n"), (0.3, "Ω", "0.3 Ω"),
        (0.0585, "ohm", "58.5 mΩ"), (-52, "V", "-52 V"), (999.96, "V", "1 kV"), (0, "V", "0 V"), (-0.0, "", "0"),
        (1e-3, "F", "1000 µF"), (0.06, "A", "60 mA"), (25, "°C", "25 °C"), (1e9, "A", "1e9 A"), (1e-30, "F", "1e-30 F"),
        (123456, "V", "123 kV"), (5e-16, "F", "5e-16 F"), (5e-15, "F", "0.005 pF"), (100, "W", "100 W"),
        (1.005, "V", "1 V"), (1e6, "ohm", "1 MΩ"), (0.999, "A", "999 mA"), (1, "A", "1 A"), (2e6, "A", "2000 kA"),
        (9.9e5, "A", "990 kA"), (0.1, "F", "100000 µF"),
    ],
)  # fmt: skip
def test_shows_as_people_write(value: float, unit: str, shown: str) -> None:
    assert show(value, unit) == shown


def test_digits_are_significant_figures() -> None:
    assert show(1234.5678, "V", digits=6) == "1.23457 kV"
    assert show(1234.5678, "V", digits=1) == "1 kV"
    assert show(0.1 + 0.2, "V", digits=15) == "300 mV"


@pytest.mark.parametrize("digits", [0, 16, 2.0, True])
def test_digits_out_of_range_are_refused(digits: int) -> None:
    with pytest.raises(ElectricsError, match="digits is"):
        show(1.0, digits=digits)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_not_shown(value: float) -> None:
    with pytest.raises(ElectricsError, match="value is"):
        show(value, "V")


@given(
    value=st.floats(-1e15, 1e15).filter(lambda x: x == 0 or abs(x) > 1e-18),
    unit=st.sampled_from(UNITS),
    digits=st.integers(1, 15),
)
def test_what_is_shown_reads_back_to_the_digits_shown(value: float, unit: str, digits: int) -> None:
    back = parse(show(value, unit, digits=digits), unit=unit)
    assert back == float(f"{value:.{digits - 1}e}")


@given(whole=st.integers(0, 999), fraction=st.integers(0, 99), letter=st.sampled_from("RkKMnpuµ"))
def test_the_letter_stands_for_the_point(whole: int, fraction: int, letter: str) -> None:
    suffix = "" if letter == "R" else letter
    assert parse(f"{whole}{letter}{fraction:02d}") == parse(f"{whole}.{fraction:02d}{suffix}")


@given(st.text(max_size=12))
def test_any_text_is_a_finite_value_or_a_refusal_with_its_place(text: str) -> None:
    try:
        value = parse(text)
    except NotationError as refusal:
        assert 0 <= refusal.place <= len(text)
    else:
        assert math.isfinite(value)
