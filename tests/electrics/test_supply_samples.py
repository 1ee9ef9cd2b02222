"""Whole arrays of supplies at once, against the one-by-one solution."""

from typing import Any

import numpy as np
import pytest

from app.electrics import ElectricsError, capacitor_input, mean_volts

NEGATIVE = {"rectifier": "half_wave", "mains_hz": 50.0, "source_ohm": 470.0, "reservoir_farad": 50e-6}


@pytest.mark.parametrize(
    ("kind", "drop", "within"),
    [
        ("full_wave_ct", None, 2e-4),
        ("bridge", None, 2e-4),
        ("half_wave", None, 2e-4),
        ("full_wave_ct", "ideal", 2e-5),
        ("full_wave_ct", "GZ34", 1e-3),
        ("half_wave", "5Y3GT", 1e-3),
    ],
)
def test_each_sample_is_the_single_solution(kind: str, drop: str | None, within: float) -> None:
    rng = np.random.default_rng(7)
    volts, ohm = rng.uniform(200.0, 400.0, 24), rng.uniform(20.0, 300.0, 24)
    farad, load = rng.uniform(30e-6, 100e-6, 24), rng.uniform(3e3, 60e3, 24)
    means = mean_volts(
        secondary_vrms=volts,
        rectifier=kind,
        source_ohm=ohm,
        reservoir_farad=farad,
        mains_hz=60.0,
        load_ohm=load,
        drop=drop,
    )
    for n in range(24):
        one = capacitor_input(
            secondary_vrms=float(volts[n]),
            rectifier=kind,
            source_ohm=float(ohm[n]),
            reservoir_farad=float(farad[n]),
            mains_hz=60.0,
            load_ohm=float(load[n]),
            drop=drop,
        )
        assert means[n] == pytest.approx(one.mean_v, rel=within)


def test_constant_current_samples() -> None:
    currents = np.array([0.02, 0.05, 0.1])
    case: dict[str, Any] = {
        "secondary_vrms": 325.0,
        "rectifier": "full_wave_ct",
        "source_ohm": 100.0,
        "reservoir_farad": 47e-6,
        "mains_hz": 50.0,
    }
    means = mean_volts(**case, load_a=currents)
    singles = [capacitor_input(**case, load_a=float(amps)).mean_v for amps in currents]
    assert means == pytest.approx(singles, rel=2e-4)


def test_ten_thousand_samples_are_ten_thousand_supplies() -> None:
    taps = np.random.default_rng(1).normal(50.0, 2.0, 10_000)
    means = mean_volts(secondary_vrms=taps, load_ohm=42e3, **NEGATIVE)  # type: ignore[arg-type]
    assert means.shape == (10_000,)
    assert np.array_equal(np.argsort(means), np.argsort(taps))
    assert np.all(np.diff(means[np.argsort(taps)]) >= 0.0)


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"source_ohm": [470.0, 0.0]}, "source_ohm"),
        ({"reservoir_farad": [1e-6, np.nan]}, "reservoir_farad"),
        ({"secondary_vrms": -50.0}, "secondary_vrms"),
        ({"load_ohm": [1e3, -1.0]}, "load_ohm"),
        ({"load_a": [-0.1]}, "load_a"),
        ({"load_ohm": None}, "load_a"),
        ({"rectifier": "doubler"}, "rectifier"),
    ],
)
def test_refuses_by_name(changed: dict[str, Any], named: str) -> None:
    with pytest.raises(ElectricsError) as refused:
        mean_volts(**{"secondary_vrms": 50.0, "load_ohm": 42e3, **NEGATIVE, **changed})
    assert refused.value.argument == named


def test_a_current_no_sample_can_give_is_refused() -> None:
    with pytest.raises(ElectricsError, match="no steady state"):
        mean_volts(secondary_vrms=50.0, load_a=[0.001, 5.0], **NEGATIVE)  # type: ignore[arg-type]


def test_next_to_no_resistance_into_a_tiny_reservoir_still_settles() -> None:
    """Stiff: 0.6 us of charging time constant. Two separate solutions of the same circuit agree."""
    case: dict[str, Any] = {
        "secondary_vrms": 70.0,
        "rectifier": "full_wave_ct",
        "source_ohm": 0.49,
        "reservoir_farad": 1.25e-6,
        "mains_hz": 50.0,
        "load_ohm": 2700.0,
        "drop": "ideal",
    }
    assert float(mean_volts(**case)) == pytest.approx(capacitor_input(**case).mean_v, rel=5e-4)
