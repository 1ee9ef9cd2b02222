"""Sheets of invented amps, as values and as a shop enters them. Call the second kind inside `with transaction():`.

The values are those of no product: usual ones of each kind of stage (common practice, no source).
"""

from __future__ import annotations

from app.circuits import queries
from app.circuits.models import AmpSheet
from app.circuits.rules.blocks import (
    BY_CAPACITOR,
    CATHODE,
    CATHODYNE,
    COMMON_CATHODE,
    DIRECTLY,
    FIELDS,
    FIXED,
    FOLLOWER,
    LONG_TAIL,
    PENTODE,
    Block,
    Given,
    Kind,
    Sheet,
)
from app.circuits.service import blocks, sheets
from app.circuits.spec import SheetFacts
from app.orders.models import RepairOrder
from tests.factories import NOW
from tests.people import BY

Value = float | int | str | Given
PUSH_PULL: tuple[tuple[Kind, str, dict[str, Value]], ...] = (
    (Kind.MAINS, "mains", {"tap_v": 240, "hz": 50, "primary_ohm": 4.2}),
    (Kind.WINDING, "HT winding", {"fed_by": "mains", "volt": 325, "ohm": 42}),
    (Kind.RECTIFIER, "rectifier", {"fed_by": "HT winding", "arrangement": "full wave, centre-tapped winding", "drop": "GZ34"}),
    (Kind.RESERVOIR, "HT1", {"fed_by": "rectifier", "farad": 47e-6}),
    (Kind.CHOKE, "HT2", {"fed_by": "HT1", "henry": 4, "ohm": 90, "farad": 22e-6}),
    (Kind.DROPPER, "HT3", {"fed_by": "HT2", "ohm": 4700, "farad": 22e-6}),
    (Kind.DROPPER, "HT4", {"fed_by": "HT3", "ohm": 10e3, "farad": 22e-6}),
    (Kind.WINDING, "bias winding", {"fed_by": "mains", "volt": 50, "ohm": 30}),
    (Kind.BIAS, "bias", {"fed_by": "bias winding", "layout": "pot to chassis below the range resistor", "series_ohm": 470,
                         "farad": 50e-6, "range_ohm": 15e3, "pot_ohm": 50e3, "set_v": -38}),
    (Kind.STAGE, "V1a", {"fed_by": "HT4", "arrangement": COMMON_CATHODE, "valve": "12AX7", "coupling": BY_CAPACITOR,
                         "grid_ohm": 1e6,
                         "anode_ohm": Given(100e3, reference="R6"), "cathode_ohm": 1500, "cathode_farad": 25e-6}),
    (Kind.STAGE, "V1b", {"fed_by": "HT4", "arrangement": COMMON_CATHODE, "valve": "12AX7", "signal_from": "V1a",
                         "coupling": BY_CAPACITOR, "coupling_farad": 22e-9, "grid_ohm": 1e6, "anode_ohm": 100e3,
                         "cathode_ohm": 820}),
    (Kind.STAGE, "V2a", {"fed_by": "HT4", "arrangement": FOLLOWER, "valve": "12AX7", "signal_from": "V1b", "coupling": DIRECTLY,
                         "cathode_ohm": 100e3}),
    (Kind.SPLITTER, "V3", {"fed_by": "HT3", "arrangement": LONG_TAIL, "valve": "12AX7", "signal_from": "V2a",
                           "coupling": BY_CAPACITOR, "coupling_farad": 22e-9, "grid_ohm": 1e6, "anode_ohm": 82e3,
                           "anode_2_ohm": 100e3, "cathode_ohm": 470, "tail_ohm": 10e3}),
    (Kind.OUTPUT, "V4 V5", {"fed_by": "HT1", "screens_from": "HT2", "valve": "6L6GC", "count": "2", "bias": FIXED,
                            "bias_from": "bias",
                            "signal_from": "V3", "coupling_farad": 100e-9, "grid_ohm": 220e3, "screen_ohm": 470, "cathode_ohm": 1,
                            "winding_ohm": 52, "winding_2_ohm": 55, "load_ohm": 5600, "speaker_ohm": 8}),
    (Kind.FEEDBACK, "feedback", {"fed_by": "V4 V5", "into": "V3", "ohm": 47e3, "shunt_ohm": 4700}),
    (Kind.WINDING, "heater winding", {"fed_by": "mains", "volt": 6.6, "ohm": 0.1}),
    (Kind.HEATERS, "heaters", {"fed_by": "heater winding", "volt": 6.3, "reference": "two resistors"}),
)
CATHODE_BIASED: tuple[tuple[Kind, str, dict[str, Value]], ...] = (
    (Kind.MAINS, "mains", {"tap_v": 230, "hz": 50}),
    (Kind.WINDING, "HT winding", {"fed_by": "mains", "volt": 250, "ohm": 60}),
    (Kind.RECTIFIER, "diodes", {"fed_by": "HT winding", "arrangement": "bridge", "drop": "silicon", "limit_ohm": 47}),
    (Kind.RESERVOIR, "HT1", {"fed_by": "diodes", "farad": 100e-6}),
    (Kind.DROPPER, "HT2", {"fed_by": "HT1", "ohm": 1000, "farad": 47e-6}),
    (Kind.DROPPER, "HT3", {"fed_by": "HT2", "ohm": 22e3, "farad": 22e-6}),
    (Kind.STAGE, "V1a", {"fed_by": "HT3", "arrangement": COMMON_CATHODE, "valve": "12AX7", "coupling": BY_CAPACITOR,
                         "grid_ohm": 1e6,
                         "anode_ohm": 220e3, "cathode_ohm": 2200, "cathode_farad": 22e-6}),
    (Kind.SPLITTER, "V1b", {"fed_by": "HT3", "arrangement": CATHODYNE, "valve": "12AX7", "signal_from": "V1a", "coupling": DIRECTLY,
                            "anode_ohm": 56e3, "cathode_ohm": 1500, "tail_ohm": 56e3}),
    (Kind.OUTPUT, "V2 V3", {"fed_by": "HT1", "screens_from": "HT2", "valve": "EL84", "count": "2", "bias": CATHODE,
                            "signal_from": "V1b", "coupling_farad": 100e-9, "grid_ohm": 470e3, "screen_ohm": 100,
                            "cathode_ohm": 150, "cathode_farad": 100e-6, "winding_ohm": 120, "winding_2_ohm": 130}),
    (Kind.WINDING, "heater winding", {"fed_by": "mains", "volt": 6.6, "ohm": 0.15}),
    (Kind.HEATERS, "heaters", {"fed_by": "heater winding", "volt": 6.3, "reference": "elevated", "raised_by": "HT2",
                               "upper_ohm": 220e3, "lower_ohm": 33e3}),
)
# Two channels: a pentode before the first, a triode each on one cathode resistor; the second drives a single output valve.
PENTODE_INPUT: tuple[tuple[Kind, str, dict[str, Value]], ...] = (
    (Kind.MAINS, "mains", {"tap_v": 230, "hz": 50}),
    (Kind.WINDING, "HT winding", {"fed_by": "mains", "volt": 260, "ohm": 90}),
    (Kind.RECTIFIER, "diodes", {"fed_by": "HT winding", "arrangement": "bridge", "drop": "silicon", "limit_ohm": 100}),
    (Kind.RESERVOIR, "HT1", {"fed_by": "diodes", "farad": 47e-6}),
    (Kind.DROPPER, "HT2", {"fed_by": "HT1", "ohm": 2200, "farad": 47e-6}),
    (Kind.DROPPER, "HT3", {"fed_by": "HT2", "ohm": 10e3, "farad": 22e-6}),
    (Kind.DROPPER, "HT4", {"fed_by": "HT3", "ohm": 22e3, "farad": 22e-6}),
    (Kind.STAGE, "V1", {"fed_by": "HT4", "arrangement": PENTODE, "valve": "EF86", "coupling": BY_CAPACITOR, "grid_ohm": 1e6,
                        "anode_ohm": Given(220e3, reference="R3"), "screen_ohm": Given(1e6, reference="R4"),
                        "screen_farad": 100e-9, "cathode_ohm": 2200, "cathode_farad": 47e-6}),
    (Kind.STAGE, "V2a", {"fed_by": "HT3", "arrangement": COMMON_CATHODE, "valve": "12AX7", "signal_from": "V1",
                         "coupling": BY_CAPACITOR, "coupling_farad": 22e-9, "grid_ohm": 470e3, "anode_ohm": 100e3,
                         "cathode_ohm": 820, "cathode_farad": 100e-6}),
    (Kind.STAGE, "V2b", {"fed_by": "HT3", "arrangement": COMMON_CATHODE, "valve": "12AX7", "coupling": BY_CAPACITOR,
                         "grid_ohm": 1e6, "anode_ohm": 100e3, "shares_cathode": "V2a"}),
    (Kind.OUTPUT, "V3", {"fed_by": "HT1", "screens_from": "HT2", "valve": "EL84", "count": "1", "bias": CATHODE,
                         "signal_from": "V2b", "coupling_farad": 22e-9, "grid_ohm": 470e3, "screen_ohm": 470,
                         "cathode_ohm": 220, "cathode_farad": 100e-6, "winding_ohm": 250, "load_ohm": 5000, "speaker_ohm": 8}),
    (Kind.WINDING, "heater winding", {"fed_by": "mains", "volt": 6.6, "ohm": 0.15}),
    (Kind.HEATERS, "heaters", {"fed_by": "heater winding", "volt": 6.3, "reference": "humdinger"}),
)


def called_otherwise(rows: tuple[tuple[Kind, str, dict[str, Value]], ...], old: str,
                     new: str) -> tuple[tuple[Kind, str, dict[str, Value]], ...]:
    """The same blocks with one of them, and what is wired to it, under another name."""
    return tuple((kind, new if name == old else name, {field: new if value == old else value for field, value in said.items()})
                 for kind, name, said in rows)


def given(value: Value) -> Given:
    """A value as it is entered."""
    if isinstance(value, Given):
        return value
    return Given(None, value) if isinstance(value, str) else Given(float(value))


def sheet(rows: tuple[tuple[Kind, str, dict[str, Value]], ...] = PUSH_PULL, *, whole: bool = True) -> Sheet:
    """The sheet as a frozen value."""
    return Sheet(tuple(Block(kind, name, tuple((field.name,
                                                given(said[field.name])) for field in FIELDS[kind] if field.name in said))
                       for kind, name, said in rows), whole)


def changed(here: Sheet, block: str, field: str, value: Value) -> Sheet:
    """The same sheet with one value otherwise."""
    found = here.block(block)
    assert found is not None and not found.of(field).empty
    return Sheet(tuple(one.with_given(field, given(value)) if one.name == block else one for one in here.blocks),
                 here.whole)


def without(here: Sheet, block: str, field: str = "") -> Sheet:
    """The same sheet without a block, or without one of its values."""
    return Sheet(tuple(one if one.name != block else Block(one.kind, one.name,
                                                           tuple(pair for pair in one.given if pair[0] != field))
                       for one in here.blocks if one.name != block or field), here.whole)


def entered(order: RepairOrder, rows: tuple[tuple[Kind, str, dict[str, Value]], ...] = PUSH_PULL, *, mains_v: float | None = 246.0,
            whole: bool = True) -> AmpSheet:
    """The sheet of an order, entered block by block."""
    made = queries.of_order(order) or sheets.begin(order, by=BY, now=NOW)
    for kind, name, said in rows:
        blocks.add_block(made, order, kind, name, {field: given(value) for field, value in said.items()}, by=BY, now=NOW)
    sheets.change(made, order, SheetFacts(mains_v=mains_v, whole=whole), by=BY, now=NOW)
    return made
