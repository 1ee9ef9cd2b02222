"""Resistors: markings both ways, drift and derating."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.electrics import (
    ElectricsError,
    Marking,
    ResistorMarking,
    colour_code,
    colours,
    derated_watt,
    drift,
    nearest,
    power_rating_ok,
    resistor_marking,
    series,
    voltage_limit,
)

E24 = [1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5,
       8.2, 9.1]  # fmt: skip


@given(
    figures=st.integers(10, 99),
    power=st.integers(-2, 9),
    tolerance=st.sampled_from([0.0005, 0.001, 0.0025, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2]),
)
def test_four_bands_round_trip(figures: int, power: int, tolerance: float) -> None:
    ohm = float(f"{figures}e{power}")
    bands = colours(ohm, tolerance=tolerance)
    assert len(bands) == 4
    assert colour_code(bands) == ResistorMarking(ohm, tolerance, None)


@given(
    figures=st.integers(100, 999),
    power=st.integers(-2, 9),
    tempco=st.sampled_from([None, 250.0, 100.0, 50.0, 15.0, 25.0, 20.0, 10.0, 5.0, 1.0]),
)
def test_five_and_six_bands_round_trip(figures: int, power: int, tempco: float | None) -> None:
    ohm = float(f"{figures}e{power}")
    bands = colours(ohm, tolerance=0.01, bands=5 if tempco is None else 6, tempco_ppm=tempco)
    assert colour_code(bands) == ResistorMarking(ohm, 0.01, tempco)


def test_three_bands_mean_twenty_per_cent() -> None:
    assert colour_code(["brown", "black", "red"]) == ResistorMarking(1000.0, 0.20, None)
    assert colours(1000.0, tolerance=0.20, bands=3) == ("brown", "black", "red")
    assert colour_code("brown black red none") == ResistorMarking(1000.0, 0.20, None)


def test_names_in_either_spelling_and_case() -> None:
    assert colour_code(["Gray", "RED", " black ", "gold"]) == colour_code(["grey", "red", "black", "gold"])
    assert colour_code("purple, green, brown, silver").ohm == 750.0
    assert colour_code("yellow-violet-red-gold").ohm == 4700.0


def test_computed_values_carry_no_noise_into_the_bands() -> None:
    assert colours(0.1 * 47, tolerance=0.05) == ("yellow", "violet", "gold", "gold")


def test_small_values_take_a_leading_black() -> None:
    assert colours(0.05, tolerance=0.05) == ("black", "green", "silver", "gold")
    assert colour_code("black green silver gold").ohm == 0.05


def test_the_2016_edition_changes_grey_and_adds_colours() -> None:  # from memory
    assert colour_code("brown black red grey").tolerance == 0.0005
    assert colour_code("brown black red grey", edition=2016).tolerance == 0.0001
    assert colour_code("brown black pink orange", edition=2016) == ResistorMarking(0.01, 0.0005, None)
    assert colours(0.01, tolerance=0.0002, edition=2016) == ("brown", "black", "pink", "yellow")
    with pytest.raises(ElectricsError):
        colour_code("brown black pink gold")
    with pytest.raises(ElectricsError):
        colour_code("brown black red orange")


@pytest.mark.parametrize(
    "bands",
    [
        "", "brown", "brown black", "brown black black brown brown red red", "gold violet yellow", "mauve black red",
        "brown black none", "brown black red white", "brown black red black brown white", "red red black brown none",
        "brown gold red gold", [1, 2, 3], ["brown", "black", 2],
    ],
)  # fmt: skip
def test_colours_that_mean_nothing_in_their_place_are_refused(bands: list[str]) -> None:
    with pytest.raises(ElectricsError, match="bands is"):
        colour_code(bands)


def test_metal_first_says_it_is_read_from_the_wrong_end() -> None:
    with pytest.raises(ElectricsError, match="wrong end"):
        colour_code("gold red violet yellow")


@pytest.mark.parametrize(
    "arguments",
    [
        {"ohm": 4750.0, "tolerance": 0.05},
        {"ohm": 47550.0, "tolerance": 0.05, "bands": 5},
        {"ohm": 4700.0, "tolerance": 0.07},
        {"ohm": 4700.0, "tolerance": 0.05, "bands": 3},
        {"ohm": 4700.0, "tolerance": 0.2, "bands": 5},
        {"ohm": 4700.0, "tolerance": 0.01, "bands": 6},
        {"ohm": 4700.0, "tolerance": 0.01, "bands": 5, "tempco_ppm": 50},
        {"ohm": 4700.0, "tolerance": 0.01, "bands": 6, "tempco_ppm": 60},
        {"ohm": 4700.0, "tolerance": 0.05, "bands": 2},
        {"ohm": 4700.0, "tolerance": 0.05, "bands": 7},
        {"ohm": 4700.0, "tolerance": 0.05, "bands": 4.0},
        {"ohm": 4700.0, "tolerance": 0.05, "edition": 1999},
        {"ohm": 0.0, "tolerance": 0.05},
        {"ohm": -10.0, "tolerance": 0.05},
        {"ohm": 1e12, "tolerance": 0.05},
        {"ohm": 0.005, "tolerance": 0.05},
    ],
)
def test_what_the_code_cannot_say_is_refused_not_rounded(arguments: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        colours(**arguments)  # type: ignore[arg-type]


def test_an_unknown_edition_is_refused() -> None:
    with pytest.raises(ElectricsError, match="2005 or 2016"):
        colour_code("brown black red", edition=1952)


def test_a_marking_knows_its_limits() -> None:
    mark = colour_code("yellow violet red gold")
    assert (mark.low_ohm, mark.high_ohm) == pytest.approx((4465.0, 4935.0))
    assert isinstance(mark, Marking)
    assert resistor_marking("4K7").low_ohm == 4700.0


@pytest.mark.parametrize("text", ["", "R", "K", "4X7", "4K7Z", "00000", "1234567", "47", None, "-4K7"])
def test_letters_that_are_no_marking_are_refused(text: str) -> None:
    with pytest.raises(ElectricsError, match="text is"):
        resistor_marking(text)


@pytest.mark.parametrize(
    ("text", "ohm", "tolerance"),
    [("10KK", 10e3, 0.1), ("2K2M", 2200, 0.2), ("R47F", 0.47, 0.01), ("472J", 4700, 0.05), ("1k", 1000, None),
     ("0", 0, None), ("0000", 0, None), ("1003", 100e3, None)],
)  # fmt: skip
def test_letter_and_chip_codes(text: str, ohm: float, tolerance: float | None) -> None:
    assert resistor_marking(text) == ResistorMarking(ohm, tolerance)


@given(ohm=st.floats(1e-3, 1e9), name=st.sampled_from(["E3", "E6", "E12", "E24", "E48", "E96", "E192"]))
def test_nothing_in_the_series_is_nearer(ohm: float, name: str) -> None:
    chosen = nearest(ohm, series=name)
    power = math.floor(math.log10(ohm))
    everything = [figure * 10.0**p for figure in series(name) for p in (power - 1, power, power + 1)]
    assert abs(chosen - ohm) <= min(abs(value - ohm) for value in everything) * (1 + 1e-9) + 1e-12 * ohm


@given(figure=st.sampled_from(E24), power=st.integers(-3, 8))
def test_a_preferred_value_is_its_own_nearest(figure: float, power: int) -> None:
    ohm = float(f"{figure}e{power}")
    assert nearest(ohm) == ohm


@pytest.mark.parametrize(("ohm", "lower"), [(1050, 1000), (9.55, 9.1), (0.105, 0.1), (10.5, 10.0), (95.5e3, 91e3)])
def test_halfway_takes_the_lower_in_every_decade(ohm: float, lower: float) -> None:
    assert nearest(ohm) == lower


@pytest.mark.parametrize("ohm", [0.0, -1.0, math.nan, math.inf])
def test_no_preferred_value_of_nothing(ohm: float) -> None:
    with pytest.raises(ElectricsError, match="ohm is"):
        nearest(ohm)


@pytest.mark.parametrize("name", ["E5", "e24", "", "E"])
def test_unknown_series_are_refused(name: str) -> None:
    with pytest.raises(ElectricsError, match="name is"):
        series(name)
    with pytest.raises(ElectricsError, match="series is"):
        nearest(100.0, series=name)


def test_drift_is_signed() -> None:
    assert drift(100e3, 112e3) == pytest.approx(0.12)
    assert drift(100e3, 88e3) == pytest.approx(-0.12)
    assert drift(100.0, 0.0) == -1.0
    for bad in ((0.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, math.inf), (math.nan, 1.0)):
        with pytest.raises(ElectricsError):
            drift(*bad)


def test_power_counts_the_margin_and_the_heat() -> None:
    assert power_rating_ok(0.5, 1.0) is True  # exactly half
    assert power_rating_ok(0.5001, 1.0) is False
    assert power_rating_ok(1.0, 1.0, margin=1.0) is True
    assert power_rating_ok(0.25, 1.0, ambient_c=112.5) is True  # half way down the slope: 0.5 W
    assert power_rating_ok(0.2501, 1.0, ambient_c=112.5) is False
    assert power_rating_ok(0.5, 1.0, ambient_c=70.0) is True
    assert power_rating_ok(0.0, 1.0, ambient_c=155.0) is True
    assert power_rating_ok(0.0, 1.0, ambient_c=155.1) is False


def test_derating_is_flat_then_straight_then_nothing() -> None:
    assert derated_watt(2.0) == 2.0
    assert derated_watt(2.0, ambient_c=112.5) == pytest.approx(1.0)
    assert derated_watt(2.0, ambient_c=200.0) == 0.0


@pytest.mark.parametrize(
    "arguments",
    [{"margin": 0.9}, {"ambient_c": math.nan}, {"zero_at_c": 70.0}, {"derate_from_c": 160.0}, {"ambient_c": 400.0}],
)
def test_derating_out_of_range_is_refused(arguments: dict[str, float]) -> None:
    with pytest.raises(ElectricsError):
        power_rating_ok(0.1, 1.0, **arguments)
    with pytest.raises(ElectricsError):
        power_rating_ok(-0.1, 1.0)
    with pytest.raises(ElectricsError):
        power_rating_ok(0.1, 0.0)


@given(watt=st.floats(0, 10), hotter=st.floats(0, 100), ambient=st.floats(-40, 150))
def test_heat_never_makes_a_resistor_stronger(watt: float, hotter: float, ambient: float) -> None:
    if power_rating_ok(watt, 5.0, ambient_c=ambient + hotter):
        assert power_rating_ok(watt, 5.0, ambient_c=ambient)


@pytest.mark.parametrize(("ohm", "watt", "volts", "mark"), [
    (1e3, 0.5, 22.36, "C"), (100e3, 0.5, 223.6, "C"), (1e6, 0.5, 350.0, "M"), (1e6, 0.25, 250.0, "M"), (1e6, 0.125, 150.0, "M"),
    (10e6, 2.0, 500.0, "M"), (1e6, 0.6, 350.0, "M"), (1e6, 0.1, 150.0, "M"),
])
def test_a_large_value_meets_its_voltage_before_its_watts(ohm: float, watt: float, volts: float, mark: str) -> None:
    """Root of watts times ohms, or the body's limit (MIL-R-11, from memory: RC07 250 V, RC20 350 V, RC32 500 V)."""
    found = voltage_limit(ohm, watt)
    assert found == pytest.approx(volts, rel=1e-3) and found.status == mark


def test_the_limit_of_a_parts_own_sheet_comes_first() -> None:
    assert voltage_limit(1e6, 0.5, element_v=700.0) == 700.0 and voltage_limit(1e6, 0.5, element_v=700.0).status == "C"
    assert voltage_limit(1e6, 0.5, element_v=1e4) == pytest.approx(707.1, rel=1e-3)


@pytest.mark.parametrize("wrong", [(0.0, 0.5, None), (1e3, 0.0, None), (1e3, 0.5, 0.0), (-1.0, 0.5, None)])
def test_no_resistor_has_no_voltage_limit(wrong: tuple[float, float, float | None]) -> None:
    with pytest.raises(ElectricsError):
        voltage_limit(*wrong[:2], element_v=wrong[2])
