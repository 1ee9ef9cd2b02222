"""A chain of supply capacitors under a discharge stick, against ngspice run here: every time and every volt within 1 %.

Source: Debian's ngspice, transient from charged capacitors.
"""

from __future__ import annotations

import pytest

from app.electrics import discharge_chain
from tests.reference import ngspice

CHAINS = {
    # capacitors, what lies between, start, limit, stick, node of the stick
    "four_nodes": ((47e-6, 47e-6, 22e-6, 22e-6), (1e3, 22e3, 47e3), 450.0, 10.0, 10e3, 0),
    "four_nodes_from_the_far_end": ((47e-6, 47e-6, 22e-6, 22e-6), (1e3, 22e3, 47e3), 450.0, 10.0, 10e3, 3),
    "choke_and_droppers": ((100e-6, 100e-6, 32e-6, 16e-6, 16e-6), (105.0, 4.7e3, 10e3, 100e3), 510.0, 50.0, 2.2e3, 0),
    "stick_in_the_middle": ((16e-6, 220e-6, 8e-6), (56e3, 220e3), 380.0, 60.0, 15e3, 1),
    "short_stick": ((220e-6, 47e-6), (470.0,), 450.0, 10.0, 10.0, 0),
}


def wanted(name: str, end: float) -> dict[str, float]:
    """What ngspice measures of a chain, run to `end` seconds."""
    farads, between, start, limit, stick, at = CHAINS[name]
    nodes = range(len(farads))
    lines = ["* chain"]
    lines += [f"c{n} n{n} 0 {farad!r} ic={start!r}" for n, farad in enumerate(farads)]
    lines += [f"r{n} n{n} n{n + 1} {ohm!r}" for n, ohm in enumerate(between)]
    lines += [f"rs n{at} 0 {stick!r}", ".options reltol=1e-6", f".tran {end / 8000!r} {end!r} 0 {end / 8000!r} uic"]
    asked = [f"meas tran t{n} when v(n{n})={limit!r}" for n in nodes]
    asked += [f"meas tran v{n} find v(n{n}) when v(n{at})={limit!r}" for n in nodes if n != at]
    return ngspice.measure("\n".join([*lines, ".control", "run", *asked, ".endc", ".end", ""]))


@pytest.mark.parametrize("name", CHAINS)
def test_chain_agrees_with_ngspice(name: str) -> None:
    farads, between, start, limit, stick, at = CHAINS[name]
    found = discharge_chain(farads=farads, between_ohm=between, from_v=start, to_v=limit, stick_ohm=stick, at=at)
    nodes = range(len(farads))
    want = wanted(name, 1.05 * found.all_seconds)
    assert found.seconds == pytest.approx(want[f"t{at}"], rel=0.01)
    for n in nodes:
        assert found.node_seconds[n] == pytest.approx(want[f"t{n}"], rel=0.01)
        if n != at:
            assert found.node_v[n] == pytest.approx(want[f"v{n}"], rel=0.01)
