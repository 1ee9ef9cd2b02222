"""Valve types: what their sheets say, and the currents they pass.

Every figure carries its standing: seen in the source named, from memory of it, or computed. A limit from
memory is to be confirmed against the sheet before it decides anything about an amplifier. Heaters, anodes and
screens carry lethal volts.
"""

from app.electrics.valves.currents import ValveLike, as_valve, koren_pentode, koren_triode, pentode_currents, triode_current
from app.electrics.valves.kinds import Heater, PentodeModel, Point, Ratings, Rectifier, Source, TriodeModel, Valve
from app.electrics.valves.lookup import arc_risk_pins, valve, valve_names

__all__ = [
    "Heater",
    "PentodeModel",
    "Point",
    "Ratings",
    "Rectifier",
    "Source",
    "TriodeModel",
    "Valve",
    "ValveLike",
    "arc_risk_pins",
    "as_valve",
    "koren_pentode",
    "koren_triode",
    "pentode_currents",
    "triode_current",
    "valve",
    "valve_names",
]
