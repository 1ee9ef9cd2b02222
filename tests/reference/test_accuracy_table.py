"""The accuracy of start-up (3 %) and of a chain's discharge (1 %) as one table; `pytest -s` prints it.

Source: Debian's ngspice, run on every case of test_ngspice_cold_start.py and test_ngspice_discharge_chain.py.
"""

from __future__ import annotations

from app.electrics import cold_start, discharge_chain
from tests.reference import ngspice
from tests.reference.tally import within
from tests.reference.test_ngspice_cold_start import CASES, netlist
from tests.reference.test_ngspice_discharge_chain import CHAINS, wanted

START_UP, CHAIN = 0.03, 0.01


def start_up_errors() -> dict[str, dict[str, float]]:
    """By case: the largest relative error of highest and settled volts, and that of the inrush."""
    table = {}
    for name, case in CASES.items():
        found = cold_start(
            secondary_vrms=case.vrms, rectifier=case.kind, source_ohm=case.ohm, reservoir_farad=case.farad, mains_hz=case.hertz,
            stages=case.stages, load_ohm=case.load_ohm, drop=case.drop)
        want = ngspice.measure(netlist(case))
        table[name] = {
            "highest": max(abs(volt / want[f"h{n}"] - 1) for n, volt in enumerate(found.highest_v)),
            "settled": max(abs(volt / want[f"s{n}"] - 1) for n, volt in enumerate(found.settled_v)),
            "inrush": abs(found.inrush_peak_a / want["inrush"] - 1)}
    return table


def chain_errors() -> dict[str, dict[str, float]]:
    """By case: the largest relative error of the times and of the volts left."""
    table = {}
    for name, (farads, between, start, limit, stick, at) in CHAINS.items():
        found = discharge_chain(farads=farads, between_ohm=between, from_v=start, to_v=limit, stick_ohm=stick, at=at)
        want = wanted(name, 1.05 * found.all_seconds)
        nodes = range(len(farads))
        table[name] = {
            "times": max(abs(found.node_seconds[n] / want[f"t{n}"] - 1) for n in nodes),
            "volts": max(abs(found.node_v[n] / want[f"v{n}"] - 1) for n in nodes if n != at)}
    return table


def printed(title: str, table: dict[str, dict[str, float]]) -> None:
    columns = list(next(iter(table.values())))
    print(f"\n{title:32}" + "".join(f"{column:>10}" for column in columns))
    for name, row in table.items():
        print(f"{name:32}" + "".join(f"{row[column]:>9.3%} " for column in columns))


def test_start_up_is_within_three_percent() -> None:
    table = start_up_errors()
    printed("start-up against ngspice", table)
    assert len(table) >= 12 and all(within(error, START_UP) for row in table.values() for error in row.values())


def test_a_chains_discharge_is_within_one_percent() -> None:
    table = chain_errors()
    printed("discharge of a chain", table)
    assert len(table) >= 5 and all(within(error, CHAIN) for row in table.values() for error in row.values())
