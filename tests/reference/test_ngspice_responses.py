"""Filter and tone networks and coupled stages against ngspice's small-signal analysis: the complex gain, 40 networks.

The largest error of each kind is printed (run with -s) and held below a tenth of a per cent.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest

from app.electrics import response
from app.electrics.circuit.parts import Circuit
from tests.reference import nets, ngspice
from tests.reference.tally import within

HERTZ = (12.5, 100.0, 440.0, 2.5e3, 19e3)
OPTIONS = ".options reltol=1e-7 vntol=1e-10 abstol=1e-15 gmin=1e-12"


def ask(circuits: list[Circuit]) -> dict[str, float]:
    lines, asked = ["* small signals", nets.DIODE], []
    for number, made in enumerate(circuits):
        lines += nets.netlist(nets.prefixed(made, f"c{number}x"), driven=f"c{number}xIN")
    for at, hertz in enumerate(HERTZ):
        asked.append(f"ac lin 1 {hertz!r} {hertz!r}")
        for number in range(len(circuits)):
            name, mark = f"v(c{number}xo)", f"{number}f{at}"
            asked += [f"let r{mark}=real({name})", f"let i{mark}=imag({name})", f"print r{mark} i{mark}"]
    return ngspice.measure("\n".join([*lines, OPTIONS, ".control", *asked, ".endc", ".end", ""]))


KINDS: list[tuple[str, Callable[[random.Random], Circuit], int]] = [
    ("filters", nets.ladder, 16), ("tone networks", nets.tone, 12), ("coupled stages", nets.coupled, 12)
]  # fmt: skip


@pytest.mark.parametrize(("name", "family", "count"), KINDS)
def test_gain_is_that_of_ngspice(name: str, family: Callable[[random.Random], Circuit], count: int) -> None:
    circuits = [family(random.Random(3000 + n)) for n in range(count)]
    want = ask(circuits)
    worst = 0.0
    for number, made in enumerate(circuits):
        found = response(made, source="IN", output="o", hz=HERTZ)
        true = np.array([complex(want[f"r{number}f{at}"], want[f"i{number}f{at}"]) for at in range(len(HERTZ))])
        worst = max(worst, float(np.max(np.abs(found - true) / np.maximum(np.abs(true), 1e-9))))
    print(f"\n{name}: largest error {worst:.2e} of the gain")
    assert within(worst, 1e-3)
