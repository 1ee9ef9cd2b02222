"""One amp's sheet in the demo: a single-ended amp that was never made, read before its strip-down, with one resistor far out.

The readings are what the sheet itself gives with that resistor at nearly three times its value, and a meter's small error.
"""

from __future__ import annotations

from app.circuits import queries
from app.circuits.rules.blocks import (
    BY_CAPACITOR,
    CATHODE,
    COMMON_CATHODE,
    PENTODE,
    Given,
    Kind,
)
from app.circuits.service import blocks, points, sheets
from app.circuits.spec import SheetFacts
from app.db import session
from app.measuring.rules import Phase
from app.measuring.service import readings
from app.orders.models import RepairOrder
from demo_data.bench import switch_off
from demo_data.counter import Stage
from demo_data.setting import Bench

MAINS_V = 234.0
BLOCKS: tuple[tuple[Kind, str, dict[str, float | str]], ...] = (
    (Kind.MAINS, "mains", {"tap_v": 230, "hz": 50, "primary_ohm": 14}),
    (Kind.WINDING, "HT winding", {"fed_by": "mains", "volt": 248, "ohm": 120}),
    (Kind.RECTIFIER, "diodes", {"fed_by": "HT winding", "arrangement": "full wave, centre-tapped winding", "drop": "silicon"}),
    (Kind.RESERVOIR, "HT1", {"fed_by": "diodes", "farad": 32e-6}),
    (Kind.DROPPER, "HT2", {"fed_by": "HT1", "ohm": 1000, "farad": 32e-6}),
    (Kind.DROPPER, "HT3", {"fed_by": "HT2", "ohm": 22e3, "farad": 16e-6}),
    (Kind.STAGE, "V1", {"fed_by": "HT3", "arrangement": PENTODE, "valve": "EF86", "coupling": BY_CAPACITOR, "grid_ohm": 1e6,
                        "anode_ohm": 220e3, "screen_ohm": 1e6, "screen_farad": 100e-9, "cathode_ohm": 2200,
                        "cathode_farad": 25e-6}),
    (Kind.STAGE, "V2a", {"fed_by": "HT3", "arrangement": COMMON_CATHODE, "valve": "12AX7", "signal_from": "V1",
                         "coupling": BY_CAPACITOR, "coupling_farad": 22e-9, "grid_ohm": 1e6, "anode_ohm": 100e3,
                         "cathode_ohm": 820, "cathode_farad": 25e-6}),
    (Kind.STAGE, "V2b", {"fed_by": "HT3", "arrangement": COMMON_CATHODE, "valve": "12AX7", "coupling": BY_CAPACITOR,
                         "grid_ohm": 1e6, "anode_ohm": 100e3, "shares_cathode": "V2a"}),
    (Kind.OUTPUT, "V3", {"fed_by": "HT1", "screens_from": "HT2", "valve": "6V6GT", "count": "1", "bias": CATHODE,
                         "signal_from": "V2b", "coupling_farad": 22e-9, "grid_ohm": 220e3, "screen_ohm": 470, "cathode_ohm": 470,
                         "cathode_farad": 25e-6, "winding_ohm": 220, "load_ohm": 5000, "speaker_ohm": 8}),
    (Kind.WINDING, "heater winding", {"fed_by": "mains", "volt": 6.6, "ohm": 0.2}),
    (Kind.HEATERS, "heaters", {"fed_by": "heater winding", "volt": 6.3, "reference": "two resistors"}),
)
# What the meter showed, volts: V2b's anode resistor has gone from 100k to some 270k.
SHOWN = (("HT1", "322.6"), ("HT2", "317.6"), ("HT3", "261.9"), ("V1 anode", "73.3"), ("V1 screen", "87.1"), ("V1 cathode", "2.24"),
         ("V2a anode", "160.9"), ("V2a cathode", "1.24"), ("V2b anode", "124.4"), ("V3 anode", "313.9"), ("V3 cathode", "19.52"),
         ("heaters AC", "6.40"))
PLACES = {("V1", "anode_ohm"): "R3", ("V1", "screen_ohm"): "R4", ("V1", "cathode_ohm"): "R5", ("V2a", "anode_ohm"): "R7",
          ("V2a", "cathode_ohm"): "R8", ("V2b", "anode_ohm"): "R9", ("V3", "cathode_ohm"): "R12"}


def read(order: RepairOrder, instruments: Bench, stage: Stage) -> None:
    """Enter the sheet, lay out its nodes, read them as found, and switch the amp off."""
    by = stage.crew.bench
    sheet = sheets.begin(order, by=by, now=stage.later(minutes=20))
    for kind, name, said in BLOCKS:
        given = {field: _given(name, field, value) for field, value in said.items()}
        blocks.add_block(sheet, order, kind, name, given, by=by, now=stage.later(minutes=2))
    sheets.change(sheet, order, SheetFacts(mains_v=MAINS_V, whole=True), by=by, now=stage.later(minutes=2))
    session().flush()
    points.lay_out(order, sheet, by=by, now=stage.later(minutes=1))
    session().flush()
    there = queries.points_by_node(order)
    for node, typed in SHOWN:
        taken = readings.Taken.at(there[node], typed, instruments.meter, Phase.AS_FOUND, "no signal, 8 Ω load", MAINS_V)
        readings.take(order, taken, by=by, now=stage.later(minutes=2))
    switch_off(order, stage)


def _given(block: str, field: str, value: float | str) -> Given:
    place = PLACES.get((block, field), "")
    return Given(None, value, place) if isinstance(value, str) else Given(float(value), reference=place)
