"""A whole amp's sheet: what every node should read, and what explains a wrong reading."""

from __future__ import annotations

from collections.abc import Iterator

from app.circuits.rules.blocks import BY_CAPACITOR, COMMON_CATHODE, FIXED, LONG_TAIL, Block, Given, Kind, Sheet
from app.commands.benchmarks.figure import Figure, compare

_STAGE: dict[str, float | str] = {"arrangement": COMMON_CATHODE, "valve": "12AX7", "coupling": BY_CAPACITOR,
                                  "coupling_farad": 22e-9, "grid_ohm": 1e6, "anode_ohm": 1e5, "cathode_ohm": 1500}
# Usual values of each kind of block, of no product (common practice, no source).
_WHOLE: tuple[tuple[Kind, str, dict[str, float | str]], ...] = (
    (Kind.MAINS, "mains", {"tap_v": 230, "hz": 50}),
    (Kind.WINDING, "HT winding", {"fed_by": "mains", "volt": 325, "ohm": 60}),
    (Kind.RECTIFIER, "rectifier", {"fed_by": "HT winding", "arrangement": "full wave, centre-tapped winding", "drop": "GZ34"}),
    (Kind.RESERVOIR, "HT1", {"fed_by": "rectifier", "farad": 47e-6}),
    (Kind.DROPPER, "HT2", {"fed_by": "HT1", "ohm": 470, "farad": 47e-6}),
    (Kind.DROPPER, "HT3", {"fed_by": "HT2", "ohm": 4700, "farad": 22e-6}),
    (Kind.DROPPER, "HT4", {"fed_by": "HT3", "ohm": 10e3, "farad": 22e-6}),
    (Kind.WINDING, "bias winding", {"fed_by": "mains", "volt": 50, "ohm": 30}),
    (Kind.BIAS, "bias", {"fed_by": "bias winding", "layout": "pot to chassis below the range resistor", "series_ohm": 470,
                         "farad": 50e-6, "range_ohm": 15e3, "pot_ohm": 50e3, "set_v": -40}),
    *((Kind.STAGE, name, {**_STAGE, "fed_by": "HT4"}) for name in ("V1a", "V1b", "V2a", "V2b")),
    (Kind.SPLITTER, "V3", {"fed_by": "HT3", "arrangement": LONG_TAIL, "valve": "12AX7", "signal_from": "V2b",
                           "coupling": BY_CAPACITOR, "coupling_farad": 22e-9, "grid_ohm": 1e6, "anode_ohm": 82e3,
                           "anode_2_ohm": 1e5, "cathode_ohm": 470, "tail_ohm": 10e3}),
    (Kind.OUTPUT, "V4 V5", {"fed_by": "HT1", "screens_from": "HT2", "valve": "6L6GC", "count": "2", "bias": FIXED,
                            "bias_from": "bias", "signal_from": "V3", "coupling_farad": 1e-7, "grid_ohm": 220e3, "screen_ohm": 470,
                            "cathode_ohm": 1, "winding_ohm": 52, "winding_2_ohm": 55}),
)


def whole_amp() -> Sheet:
    """A sheet of fifteen blocks: four stages, splitter, pair and both supplies."""
    return Sheet(tuple(Block(kind, name, tuple((field, Given(None, value) if isinstance(value, str) else Given(float(value)))
                                               for field, value in said.items())) for kind, name, said in _WHOLE), whole=True)


def figures() -> Iterator[Figure]:
    """The bands of every node, and the search for a fault by all of their readings; none remembered from the run before."""
    import numpy as np

    from app.circuits.rules.proposals import search
    from app.circuits.rules.work import work

    sheet, draws = whole_amp(), np.random.default_rng(2).random(100_000)
    nodes = work(sheet, 236.0).expected
    read = tuple((one.node.name, one.now.value * (0.6 if one.node.name == "V1a anode" else 1.0), abs(one.now.value) * 0.005)
                 for one in nodes)

    def plain() -> object:
        return np.sort(draws)

    yield compare(f"a whole amp: bands of {len(nodes)} nodes", lambda: work.__wrapped__(sheet, 236.0),
                  "numpy sorting 100000 numbers", plain)
    yield compare("the same: fault proposals", lambda: search.__wrapped__(sheet, 236.0, read), "numpy sorting 100000 numbers",
                  plain)
