"""Small signals: the gain of a circuit by frequency, linearised where it stands at rest."""

from __future__ import annotations

from collections.abc import Sequence
from numbers import Real

from numpy.typing import NDArray

from app.electrics.arrays import np
from app.electrics.circuit.newton import flow, jacobian, settle
from app.electrics.circuit.parts import GROUND, Circuit, as_circuit
from app.electrics.circuit.system import System, build
from app.electrics.errors import ElectricsError, several, within

Gain = NDArray[np.complex128]
_MOST_HZ = 1e12
_BLOCK = 512


def response(circuit: Circuit, *, source: str, output: str, hz: float | Sequence[float]) -> Gain:
    """Complex gain from a source to the volts of a node, one for each frequency (Hz, 0 to 1e12).

    source: the name of a part of kind volts (the gain is V/V) or amps (V/A, out of its first node and into its
    second); every other source stands still.  output: a node.  hz: frequencies, or one of them for one gain.
    The operating point is `solve`'s; valves and diodes are their slopes there, so large signals are not in it.  A
    valve has no capacitances of its own here: where the Miller effect counts, put capacitors on its electrodes.
    Within 0.1 % of ngspice's small-signal analysis for the same laws.
    Raises ElectricsError as `solve`, and for a source, an output or a frequency that is none.
    """
    one = isinstance(hz, Real)
    asked = (hz,) if one else several("hz", hz, "frequencies")
    hertz = np.array([within("hz", value, 0.0, _MOST_HZ) for value in asked], dtype=np.float64)
    system = build(as_circuit(circuit))
    drive = _drive(system, circuit, source)
    if not isinstance(output, str) or output not in (GROUND, *system.nodes):
        raise ElectricsError("output", output, "a node of this circuit")
    x = settle(system, system.nominal)
    ports = x @ system.ports.T
    matrix, _right = system.linear(system.nominal)
    with np.errstate(all="ignore"):
        at_rest = jacobian(system, matrix, flow(system, ports, system.nominal).slopes)[0]
    gain = np.zeros(len(hertz), dtype=np.complex128)
    if output != GROUND:
        row = system.nodes.index(output)
        for start in range(0, len(hertz), _BLOCK):
            part = slice(start, start + _BLOCK)
            gain[part] = _solved(_reactive(system, at_rest, 2.0 * np.pi * hertz[part]), drive)[:, row]
    return gain[0] if one else gain


def _drive(system: System, circuit: Circuit, source: str) -> Gain:
    """The right side of one unit of the source, all others at nought."""
    if not isinstance(source, str):
        raise ElectricsError("source", source, "the name of a source of this circuit")
    if source in system.volts:
        return np.asarray(system.volts_pattern[system.volts.index(source)], dtype=np.complex128)
    if any(part.name == source and part.kind == "amps" for part in circuit.parts):
        return np.asarray(system.amps_pattern[system.amps.index(source)], dtype=np.complex128)
    raise ElectricsError("source", source, "the name of a source of this circuit")


def _reactive(system: System, at_rest: NDArray[np.float64], omega: NDArray[np.float64]) -> Gain:
    """The matrix at every angular frequency: capacitors and chokes added to what holds at rest."""
    matrix: Gain = np.repeat(at_rest[None].astype(np.complex128), len(omega), axis=0)
    row = {node: number for number, node in enumerate(system.nodes)}
    branch = {name: len(system.nodes) + number for number, name in enumerate(system.branches)}
    for part in system.parts:
        if part.kind == "capacitor":
            added = 1j * omega * part.value
        elif part.kind == "inductor" and part.second:
            # What its wire passes at rest stands in the matrix already: here is the rest.
            added = 1.0 / (part.second + 1j * omega * part.value) - 1.0 / part.second
        elif part.kind == "inductor":
            matrix[:, branch[part.name], branch[part.name]] -= 1j * omega * part.value
            continue
        else:
            continue
        ends = [(row[node], sign) for node, sign in zip(part.nodes, (1.0, -1.0), strict=True) if node != GROUND]
        for one, sign in ends:
            for other, against in ends:
                matrix[:, one, other] += sign * against * added
    return matrix


def _solved(matrix: Gain, drive: Gain) -> Gain:
    try:
        return np.asarray(np.linalg.solve(matrix, np.repeat(drive[None, :, None], len(matrix), axis=0))[:, :, 0])
    except np.linalg.LinAlgError:
        raise ElectricsError("hz", "a frequency of resonance without loss", "one at which the circuit has a finite gain") from None
