"""How exact the sums are, as one table, from the comparisons that the tests make.

python -m tests.reference.accuracy: runs the test files of each family and prints the table of tests/ACCURACY.md; some minutes.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import pytest

from tests.reference.tally import ABSOLUTE, Tally, kept

REFERENCE = "tests/reference/"
HEAD = "| Sums | Against | Comparisons | Largest error, of what is allowed there | Nearest to its limit |"


@dataclass(frozen=True)
class Family:
    """Sums of one kind, what they are held against, and the test files that do it."""

    sums: str
    against: str
    files: tuple[str, ...]


FAMILIES = (
    Family("Circuits at rest", "ngspice 39, 272 random nets", ("test_ngspice_circuits.py",)),
    Family("Small-signal responses", "ngspice, 40 filters, tone networks and coupled stages", ("test_ngspice_responses.py",)),
    Family("Whole sheets, volts and ripple", "ngspice in the time domain, three amplifiers", ("test_ngspice_sheets.py",)),
    Family("Capacitor-input supplies", "ngspice", ("test_ngspice_supplies.py",)),
    Family("Capacitor-input supplies", "Schade’s problem solved independently; a maker’s table from memory",
           ("test_handbook_supply_table.py",)),
    Family("Smoothing chains", "ngspice", ("test_ngspice_filter_chain.py",)),
    Family("Switch-on with cold valves, chains discharged", "ngspice, transients",
           ("test_ngspice_cold_start.py", "test_ngspice_discharge_chain.py", "test_accuracy_table.py")),
    Family("Discharge of one capacitor", "ngspice", ("test_ngspice_discharge.py",)),
    Family("Bias networks", "ngspice", ("test_ngspice_bias.py",)),
    Family("Stages, cathode bias, push-pull", "ngspice", ("test_ngspice_stages.py",)),
    Family("Valve laws", "an independent solver and ngspice, with the same published parameters", ("test_koren_reference.py",)),
    Family("Valves against their sheets", "published points, seen and from memory", ("test_published_valve_points.py",)),
    Family("Worked figures", "handbooks and valve sheets", ("test_valve_handbook.py",)),
    Family("Recordings", "closed forms and scipy.signal, synthetic signals", ("../electrics/test_sound.py",)),
    Family("Conductors and wire", "IEC 60228, ASTM B258", ("test_iec_60228.py",)),
    Family("Leakage of electrolytics", "JAN-C-62, the form of IEC 60384-4", ("test_jan_c_62.py",)),
    Family("Stored energy and hazards", "a national laboratory’s page; NFPA 70E from memory", ("test_hazard_energy.py",)),
    Family("Meters and loading", "JCGM 100 and its worked slides", ("test_dmm_accuracy.py",)),
    Family("Decision rules", "ILAC-G8, JCGM 106, scipy.stats", ("test_ilac_g8_jcgm_106.py",)),
    Family("Hours estimated", "scipy.stats", ("test_three_point.py", "test_log_normal.py", "test_wilson.py")),
)


class _Keeps:
    """The part of a test run that takes down each comparison."""

    def __init__(self, into: Tally) -> None:
        self.into = into

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self) -> object:
        with kept(self.into):
            return (yield)


def tallied(family: Family) -> Tally | None:
    """The comparisons of a family; None where a test of it fails."""
    found = Tally()
    files = [REFERENCE + name for name in family.files]
    code = pytest.main(["-q", "--no-header", "-p", "no:cacheprovider", *files], plugins=[_Keeps(found)])
    return found if code == 0 else None


def said(found: Tally) -> str:
    """The largest errors with what was allowed there."""
    return "; ".join(f"{error:.2g} of {allowed:.2g} {unit}" if unit else f"{100 * error:.2g} % of {100 * allowed:.2g} %"
                     for unit, (error, allowed) in sorted(found.largest.items()) if unit != ABSOLUTE) or "in units only"


def row(family: Family, found: Tally) -> str:
    """A row of the table."""
    return f"| {family.sums} | {family.against} | {found.count:,} | {said(found)} | {found.share:.0%} |"


def main() -> int:
    """Run every family and print the table."""
    rows, failed = [], 0
    for family in FAMILIES:
        found = tallied(family)
        failed += found is None
        rows.append(row(family, found) if found else f"| {family.sums} | {family.against} | a test fails | | |")
    print("\n".join(["", HEAD, "|---|---|---|---|---|", *rows]))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
