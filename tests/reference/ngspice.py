"""Run Debian's ngspice on small netlists: an outside solver for the circuits the sums claim to solve.

A netlist's measurements are kept in a folder of the system's temporary directory under the netlist's hash,
so a second run of the same case costs nothing.  Where ngspice is missing a test fails; it does not skip.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pytest

# The constants widely shipped for the type 1N4007 in circuit simulators.
SILICON = ".model si D(IS=14.11n N=1.984 RS=33.89m BV=3000 IBV=10u CJO=25.89p VJ=.3245 M=.44 TT=5.7u)"
_CACHE = Path(tempfile.gettempdir()) / "tagstrip-ngspice"
_MEASURED = re.compile(r"^(\w+)\s+=\s+([-+0-9.eE]+)", re.MULTILINE)


def measure(netlist: str) -> dict[str, float]:
    """Run a netlist in batch mode and return its measurements by name (lower case)."""
    program = shutil.which("ngspice")
    if program is None:
        pytest.fail("ngspice is not installed: install Debian's package ngspice to run the reference checks")
    kept = _CACHE / (hashlib.sha256(netlist.encode()).hexdigest() + ".json")
    if kept.exists():
        return {name: float(value) for name, value in json.loads(kept.read_text()).items()}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.cir"
        path.write_text(netlist)
        done = subprocess.run([program, "-b", str(path)], capture_output=True, text=True, timeout=90, check=False)
    found = {name.lower(): float(value) for name, value in _MEASURED.findall(done.stdout)}
    if not found or "failed" in done.stdout + done.stderr:
        pytest.fail(f"ngspice gave no measurement:\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
    _CACHE.mkdir(parents=True, exist_ok=True)
    fresh = kept.with_suffix(".part")
    fresh.write_text(json.dumps(found))
    fresh.replace(kept)
    return found


def rectifier(
    *, kind: str, vrms: float, ohm: float, hertz: float, perveance: float | None = None, out: str = "r"
) -> list[str]:
    """Source, winding resistance and rectifiers up to node `out`; valve plates when a perveance is given.

    `vsense` carries the current into `out`; i(vd1) is the current of one diode.
    """

    def path(name: str, a: str, b: str) -> list[str]:
        if perveance is None:
            return [f"vd{name} {a} x{name} 0", f"d{name} x{name} {b} si"]
        law = f"b{name} x{name} {b} i = {perveance!r}*pow(max(v(x{name},{b}),0),1.5)"
        return [f"vd{name} {a} x{name} 0", law, f"rx{name} x{name} {b} 1e11"]

    peak = vrms * 2**0.5
    lines = [SILICON, f"vsense k {out} 0"]
    if kind == "bridge":
        lines += [f"va p q sin(0 {peak!r} {hertz!r})", f"ra p a {ohm!r}"]
        return lines + path("1", "a", "k") + path("2", "q", "k") + path("3", "0", "a") + path("4", "0", "q")
    lines += [f"va p 0 sin(0 {peak!r} {hertz!r})", f"ra p a {ohm!r}", *path("1", "a", "k")]
    if kind == "full_wave_ct":
        lines += [f"vb q 0 sin(0 {-peak!r} {hertz!r})", f"rb q b {ohm!r}", *path("2", "b", "k")]
    return lines


def transient(
    lines: Sequence[str],
    *,
    hertz: float,
    settle_s: float,
    cycles: int,
    step_s: float,
    measures: Sequence[str],
) -> str:
    """A netlist that runs from its initial conditions and measures over the last whole `cycles`.

    `measures` are such as "vm avg v(r)"; the same over the cycles before, with _was added to the name, shows
    whether the circuit has settled.
    """
    window = cycles / hertz
    end = round(settle_s * hertz) / hertz + 2 * window
    span, before = f"from={end - window!r} to={end!r}", f"from={end - 2 * window!r} to={end - window!r}"
    asked = [f"meas tran {m} {span}" for m in measures]
    for m in measures:
        name, rest = m.split(" ", 1)
        asked.append(f"meas tran {name}_was {rest} {before}")
    run = f".tran {step_s!r} {end!r} {end - 2 * window!r} {step_s!r} uic"
    head = ["* case", *lines, ".options method=trap reltol=1e-5", run]
    return "\n".join([*head, ".control", "run", *asked, ".endc", ".end", ""])
