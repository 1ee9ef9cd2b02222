"""Power supplies: rectifier and reservoir, the smoothing chain, and what the mains does to both."""

from app.electrics.supply.chain import LC, RC, Node, filter_chain, reservoir_under
from app.electrics.supply.cold_start import ColdStart, cold_start
from app.electrics.supply.limits import rectifier_limits
from app.electrics.supply.mains import HeaterVoltage, heater_voltage, mains_factor
from app.electrics.supply.reservoir import Supply, capacitor_input
from app.electrics.supply.samples import mean_volts

__all__ = [
    "LC",
    "RC",
    "ColdStart",
    "HeaterVoltage",
    "Node",
    "Supply",
    "capacitor_input",
    "cold_start",
    "filter_chain",
    "heater_voltage",
    "mains_factor",
    "mean_volts",
    "rectifier_limits",
    "reservoir_under",
]
