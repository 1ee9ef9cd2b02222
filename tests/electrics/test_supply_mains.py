"""Mains on the wrong tap, and what the heaters make of it."""

import math

import pytest

from app.electrics import ElectricsError, heater_voltage, mains_factor


def test_240_v_on_a_220_v_tap() -> None:
    """Computed: factor 1.0909, a 6.3 V heater at 6.87 V."""
    assert mains_factor(measured_v=240.0, tap_v=220.0) == pytest.approx(1.0909, abs=5e-5)
    heater = heater_voltage(nominal_v=6.3, measured_mains_v=240.0, tap_v=220.0)
    assert heater.heater_v == pytest.approx(6.87, abs=0.005)
    assert heater.departure == pytest.approx(0.0909, abs=5e-5)
    assert (heater.verdict, heater.band) == ("pass", "tolerable")
    assert "6.87 V" in heater.words
    assert "+9.1%" in heater.words


def test_240_v_on_a_230_v_tap() -> None:
    assert mains_factor(measured_v=240.0, tap_v=230.0) == pytest.approx(1.0435, abs=5e-5)
    assert heater_voltage(nominal_v=6.3, measured_mains_v=240.0, tap_v=230.0).band == "full_life"


@pytest.mark.parametrize(
    ("mains_v", "verdict", "band"),
    [
        (100.0, "pass", "full_life"),
        (105.0, "pass", "full_life"),
        (95.0, "pass", "full_life"),
        (105.1, "pass", "tolerable"),
        (94.9, "pass", "tolerable"),
        (110.0, "pass", "tolerable"),
        (90.0, "pass", "tolerable"),
        (110.1, "fail", "too_high"),
        (89.9, "fail", "too_low"),
    ],
)
def test_bands_with_inclusive_limits(mains_v: float, verdict: str, band: str) -> None:
    """10 %: Tube CAD Journal, October 2000, quoting a handbook; 5 %: a 5U4G maker's sheet."""
    heater = heater_voltage(nominal_v=6.3, measured_mains_v=mains_v, tap_v=100.0)
    assert (heater.verdict, heater.band) == (verdict, band)
    assert heater.words.startswith(f"{heater.heater_v:.2f} V")


def test_words_name_the_side() -> None:
    assert "low" in heater_voltage(nominal_v=5.0, measured_mains_v=200.0, tap_v=240.0).words
    assert "high" in heater_voltage(nominal_v=5.0, measured_mains_v=240.0, tap_v=200.0).words


@pytest.mark.parametrize(
    ("nominal", "mains", "tap", "named"),
    [
        (0.0, 230.0, 230.0, "nominal_v"),
        (6.3, math.nan, 230.0, "measured_mains_v"),
        (6.3, 230.0, 0.0, "tap_v"),
        (6.3, -230.0, 230.0, "measured_mains_v"),
    ],
)
def test_refuses_by_name(nominal: float, mains: float, tap: float, named: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        heater_voltage(nominal_v=nominal, measured_mains_v=mains, tap_v=tap)
    assert refused.value.argument == named
