"""Leakage of electrolytics: JAN-C-62 (amradio mail archive 21215) and the modern CV rule (IEC 60384-4 form)."""

from __future__ import annotations

import pytest

from app.electrics import leakage_limit, vintage_leakage_limit


@pytest.mark.parametrize(
    ("microfarad", "volt", "milliamp", "status"),
    [
        (20, 450, 1.1, "seen source"),
        (20, 250, 0.7, "seen source"),
        (47, 450, 2.18, "computed"),
        (20, 100, 0.5, "computed"),
        (20, 350, 0.8, "computed"),
        (8, 251, 0.5, "computed"),
    ],
)
def test_vintage_acceptance(microfarad: float, volt: float, milliamp: float, status: str) -> None:
    assert vintage_leakage_limit(microfarad * 1e-6, volt) == pytest.approx(milliamp * 1e-3), status


@pytest.mark.parametrize(
    ("grade", "microamp", "status"),
    [("low", 211.5, "computed"), ("standard", 426.0, "from memory"), ("general", 634.5, "from memory")],
)
def test_modern_grades_of_47_microfarad_450_volt(grade: str, microamp: float, status: str) -> None:
    assert leakage_limit(47e-6, 450, grade=grade) == pytest.approx(microamp * 1e-6), status


def test_the_article_with_the_cv_rule() -> None:  # seen source: 47 µF 40 V, 18.8 µA
    assert leakage_limit(47e-6, 40) == pytest.approx(18.8e-6)


def test_the_floor_of_three_microamperes() -> None:  # computed
    assert leakage_limit(0.1e-6, 63) == pytest.approx(3e-6)


def test_a_vintage_part_may_leak_ten_times_as_much() -> None:  # computed from both rules
    assert vintage_leakage_limit(47e-6, 450) / leakage_limit(47e-6, 450) == pytest.approx(10.3, abs=0.05)
