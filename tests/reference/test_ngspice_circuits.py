"""Whole circuits at rest against ngspice (Debian), which solves the same laws written out as its own expressions.

200 nets of resistors, sources and diodes and 60 with valves, all drawn at random from a seed; the largest error of each
kind is printed (run with -s) and held below a tenth of a per cent of the volts, or a hundred-thousandth of the largest
volts of the net where a node lies near nought.
"""

from __future__ import annotations

import random

import pytest

from app.electrics import solve
from app.electrics.circuit.parts import Circuit
from tests.reference import nets, ngspice
from tests.reference.tally import within

WHOLE = 20  # nets in one run of ngspice
OPTIONS = ".options reltol=1e-6 vntol=1e-9 abstol=1e-14 gmin=1e-12 itl1=1000"


def ask(circuits: list[Circuit]) -> dict[str, float]:
    """The volts of every node of every circuit, as "c3n1" for node 3.n1 of the list."""
    lines, asked = ["* circuits", nets.DIODE], []
    for number, made in enumerate(circuits):
        prefix = f"c{number}x"
        lines += nets.netlist(nets.prefixed(made, prefix))
        nodes = dict.fromkeys(node for part in made.parts for node in part.nodes if node != "0")
        asked += [f"let y{prefix}{node}=v({prefix}{node})\nprint y{prefix}{node}" for node in nodes]
    return ngspice.measure("\n".join([*lines, OPTIONS, ".control", "op", *asked, ".endc", ".end", ""]))


def worst(circuits: list[Circuit]) -> tuple[float, str]:
    """The largest error as a share of what is allowed, and where."""
    want = ask(circuits)
    found = (0.0, "")
    for number, made in enumerate(circuits):
        volts = solve(made).volt
        whole = max(abs(volt) for volt in volts.values())
        for node, volt in volts.items():
            if node != "0":
                true = want[f"yc{number}x{node}".lower()]
                error = abs(volt - true) / max(abs(true), 0.01 * whole, 1e-6)
                found = max(found, (error, f"net {number}, node {node}: {volt:.6g} V, ngspice {true:.6g} V"))
    return found


@pytest.mark.parametrize("batch", range(10))
def test_nets_of_resistors_sources_and_diodes(batch: int) -> None:
    error, where = worst([nets.network(random.Random(1000 + batch * WHOLE + n)) for n in range(WHOLE)])
    print(f"\nresistors, sources, diodes {batch}: largest error {error:.2e} ({where})")
    assert within(error, 1e-3), where


@pytest.mark.parametrize("name", nets.VALVE_NETS)
def test_nets_with_valves(name: str) -> None:
    error, where = worst([nets.VALVE_NETS[name](random.Random(2000 + n)) for n in range(6)])
    print(f"\n{name}: largest error {error:.2e} ({where})")
    assert within(error, 1e-3), where
