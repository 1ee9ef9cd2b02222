"""The table of accuracy: it takes down what the tests compare, and its file has a row for every family."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.reference.accuracy import FAMILIES, HEAD, REFERENCE, row
from tests.reference.tally import ABSOLUTE, Tally, kept, within

ROOT = Path(__file__).resolve().parents[2]


def test_every_comparison_of_a_test_is_taken_down_with_what_it_allows() -> None:
    with kept(Tally()) as found:
        assert pytest.approx(100.0, rel=0.02) == 101.0
        assert {"a": pytest.approx(2.0, rel=0.1)} == {"a": 2.0}
        assert pytest.approx(5.0, abs=0.5) == 5.1
        assert pytest.approx(1e-9, rel=0.01, abs=1e-3) == 5e-4, "the room is volts here, and no share of next to nothing"
        assert within(0.05, 0.1, "dB")
    assert found.count == 5 and found.share == pytest.approx(0.5)
    assert found.largest[""] == (pytest.approx(0.01), pytest.approx(0.02))
    assert found.largest["dB"] == (0.05, 0.1) and found.largest[ABSOLUTE][0] == pytest.approx(0.1)


def test_what_does_not_hold_is_not_taken_down_and_nothing_is_once_it_ended() -> None:
    with kept(Tally()) as found:
        assert pytest.approx(100.0, rel=0.02) != 110.0
        assert not within(0.2, 0.1)
    assert within(0.1, 0.2) and pytest.approx(1.0) == 1.0
    assert found.count == 0 and found.largest == {}


def test_the_file_has_a_row_for_every_family_and_every_comparison_with_ngspice_is_in_one() -> None:
    lines = (ROOT / "tests/ACCURACY.md").read_text(encoding="utf-8").splitlines()
    rows = [line for line in lines if line.startswith("| ") and line != HEAD]
    assert HEAD in lines
    assert [line.split(" | ")[:2] for line in rows] == [row(one, Tally()).split(" | ")[:2] for one in FAMILIES]
    assert not [line for line in rows if "a test fails" in line]
    named = {(ROOT / REFERENCE / name).resolve() for one in FAMILIES for name in one.files}
    assert all(path.is_file() for path in named)
    assert set((ROOT / REFERENCE).glob("test_ngspice_*.py")) <= named
