"""The table of faults (tests/FAULTS.md) has each of the forty once, with its test or its reason."""

from __future__ import annotations

from tests.tables import ROOT, holds, rows

TABLE = ROOT / "tests" / "FAULTS.md"


def test_every_fault_is_there_with_its_test_or_its_reason() -> None:
    found = rows(TABLE, r"F\d\d")
    assert [row[0] for row in found] == [f"F{number:02}" for number in range(1, 41)]
    for number, _, standing, why in found:
        holds(TABLE, number, standing, why)
