"""The sums of the bench: pure functions in SI units, results as frozen dataclasses, no clock and no files."""

from importlib import import_module
from typing import TYPE_CHECKING

from app.electrics.bias import (
    MEASURE_CAUTION,
    Idle,
    anode_current_by_resistance,
    cathode_bias,
    idle_grid,
    idle_point,
    idle_target,
    sheet_screen_share,
)
from app.electrics.bias_network import (
    BiasRange,
    bias_network,
    bias_volts,
)
from app.electrics.capacitor_marking import Marking as CapacitorMarking
from app.electrics.capacitor_marking import marking, voltage_code
from app.electrics.capacitors import Discharge as CapacitorDischarge
from app.electrics.capacitors import (
    discharge,
    discharge_time,
    esr,
    holding_volt,
    leakage_limit,
    stored_charge,
    stored_energy,
    tan_delta,
    vintage_leakage_limit,
)
from app.electrics.class_ab import (
    CompositeLine,
    PushPull,
    composite_line,
    push_pull,
)
from app.electrics.class_ab_feeds import FedPair, push_pull_fed
from app.electrics.decision import (
    Band,
    Judgement,
    PartsBand,
    expected_band,
    judge,
    meter_uncertainty,
    one_sided_guard,
    product_uncertainty,
)
from app.electrics.discharge_chain import ChainDischarge, chain_left, discharge_chain
from app.electrics.earthing import (
    BOND_PROFILES,
    BondProfile,
    awg_mm2,
    awg_ohm,
    bond_drop,
    bond_limit,
    bond_profile,
    conductor_ohm,
    profile_id,
    temperature_factor,
)
from app.electrics.errors import ElectricsError
from app.electrics.fuses import (
    PREFERRED_A,
    PREFERRED_UL_A,
    FuseChoice,
    melting_time,
    preferred_fuse,
)
from app.electrics.hazards import (
    CURRENT_THRESHOLDS,
    DISCHARGE_CAUTIONS,
    ENERGY_THRESHOLDS,
    ES1_CHARGE,
    SAFE_TOUCH_DC,
    SHOP_TOUCH_DC,
    EnergyHazard,
    current_hazard,
    energy_hazard,
)
from app.electrics.idle_range import (
    MAINS_SPREAD,
    VALVE_SPREAD,
    IdleRange,
    cathode_bias_range,
    fixed_bias_range,
    heat_factor,
    idle_limits,
    usual_share,
)
from app.electrics.leakage import (
    board_leakage,
    loaded_reading,
    loading_error,
    meter_input_ohm,
    unloaded,
)
from app.electrics.limits import Limit
from app.electrics.loads import (
    CouplingLeak,
    HeaterLoad,
    SpeakerLoad,
    TransformerLoad,
    coupling_leak,
    grid_leak_limit,
    heater_load,
    speaker_load,
    transformer_load,
)
from app.electrics.notation import (
    NotationError,
    parse,
    show,
)
from app.electrics.output import (
    LOAD_CAUTION,
    Flyback,
    HeaterBalance,
    Mismatch,
    damping_factor,
    flyback,
    heater_balance,
    mismatch,
    output_ohm,
    output_power,
    reflected_load,
    turns_ratio,
)
from app.electrics.reforming import ReformStep, reform_leakage, reform_steps
from app.electrics.regimes import (
    REGIME_LIMITS,
    RegimeLimit,
    earth_leakage_limit,
    equivalent_ohm,
    insulation_limit,
    touch_current_limit,
)
from app.electrics.resistors import Marking as ResistorMarking
from app.electrics.resistors import (
    colour_code,
    colours,
    derated_watt,
    drift,
    nearest,
    power_rating_ok,
    resistor_marking,
    series,
    voltage_limit,
)
from app.electrics.sourced import Sourced
from app.electrics.spread import Spread, simulate
from app.electrics.stage import (
    Stage,
    StageSamples,
    stage_gain,
    triode_stage,
    triode_stage_samples,
)
from app.electrics.supply import (
    LC,
    RC,
    ColdStart,
    HeaterVoltage,
    Node,
    Supply,
    capacitor_input,
    cold_start,
    filter_chain,
    heater_voltage,
    mains_factor,
    mean_volts,
    rectifier_limits,
    reservoir_under,
)
from app.electrics.valves import (
    PentodeModel,
    TriodeModel,
    Valve,
    arc_risk_pins,
    koren_pentode,
    koren_triode,
    pentode_currents,
    triode_current,
    valve,
    valve_names,
)
from app.electrics.valves.fit import FitError, emitting, fit_error
from app.electrics.wear import worn

if TYPE_CHECKING:
    from app.electrics.circuit.expected import expected
    from app.electrics.circuit.faults import Fault
    from app.electrics.circuit.pairs import PairProposal, propose_pairs
    from app.electrics.circuit.parts import Circuit
    from app.electrics.circuit.point import Point, solve
    from app.electrics.circuit.propose import Proposal, propose
    from app.electrics.circuit.response import response

# Whole circuits come when they are asked for: no page needs them to start.
_LATE = {
    "Circuit": "parts",
    "Fault": "faults",
    "PairProposal": "pairs",
    "Point": "point",
    "Proposal": "propose",
    "expected": "expected",
    "propose": "propose",
    "propose_pairs": "pairs",
    "response": "response",
    "solve": "point",
}


def __getattr__(name: str) -> object:
    """A name of the circuits, from its module."""
    if name not in _LATE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"app.electrics.circuit.{_LATE[name]}"), name)


# Either kind of discharge, of one capacitor or of a chain; isinstance works on it, and on the markings below.
Discharge = CapacitorDischarge | ChainDischarge
# Either kind of marking.
Marking = ResistorMarking | CapacitorMarking

__all__ = [
    "BOND_PROFILES", "Band", "BiasRange", "BondProfile", "CURRENT_THRESHOLDS", "CapacitorDischarge", "CapacitorMarking",
    "ChainDischarge", "Circuit", "ColdStart", "CompositeLine", "CouplingLeak", "DISCHARGE_CAUTIONS", "Discharge",
    "ENERGY_THRESHOLDS", "ES1_CHARGE", "ElectricsError", "EnergyHazard", "Fault", "FedPair", "FitError", "Flyback", "FuseChoice",
    "HeaterBalance", "HeaterLoad", "HeaterVoltage", "Idle", "IdleRange", "Judgement", "LC", "LOAD_CAUTION", "Limit",
    "MAINS_SPREAD", "MEASURE_CAUTION", "Marking", "Mismatch", "Node", "NotationError", "PREFERRED_A", "PREFERRED_UL_A",
    "PairProposal", "PartsBand", "PentodeModel", "Point", "Proposal", "PushPull", "RC", "REGIME_LIMITS", "ReformStep",
    "RegimeLimit", "ResistorMarking", "SAFE_TOUCH_DC", "SHOP_TOUCH_DC", "Sourced", "SpeakerLoad", "Spread", "Stage",
    "StageSamples", "Supply", "TransformerLoad", "TriodeModel", "VALVE_SPREAD", "Valve", "anode_current_by_resistance",
    "arc_risk_pins", "awg_mm2", "awg_ohm", "bias_network", "bias_volts", "board_leakage", "bond_drop", "bond_limit",
    "bond_profile", "capacitor_input", "cathode_bias", "cathode_bias_range", "chain_left", "cold_start", "colour_code", "colours",
    "composite_line", "conductor_ohm", "coupling_leak", "current_hazard", "damping_factor", "derated_watt", "discharge",
    "discharge_chain", "discharge_time", "drift", "earth_leakage_limit", "emitting", "energy_hazard", "equivalent_ohm", "esr",
    "expected", "expected_band", "filter_chain", "fit_error", "fixed_bias_range", "flyback", "grid_leak_limit", "heat_factor",
    "heater_balance", "heater_load", "heater_voltage", "holding_volt", "idle_grid", "idle_limits", "idle_point", "idle_target",
    "insulation_limit", "judge", "koren_pentode", "koren_triode", "leakage_limit", "loaded_reading", "loading_error",
    "mains_factor", "marking", "mean_volts", "melting_time", "meter_input_ohm", "meter_uncertainty", "mismatch", "nearest",
    "one_sided_guard", "output_ohm", "output_power", "parse", "pentode_currents", "power_rating_ok", "preferred_fuse",
    "product_uncertainty", "profile_id", "propose", "propose_pairs", "push_pull", "push_pull_fed", "rectifier_limits",
    "reflected_load", "reform_leakage", "reform_steps", "reservoir_under", "resistor_marking", "response", "series",
    "sheet_screen_share", "show", "simulate", "solve", "speaker_load", "stage_gain", "stored_charge", "stored_energy", "tan_delta",
    "temperature_factor", "touch_current_limit", "transformer_load", "triode_current", "triode_stage", "triode_stage_samples",
    "turns_ratio", "unloaded", "usual_share", "valve", "valve_names", "vintage_leakage_limit", "voltage_code", "voltage_limit",
    "worn",
]  # fmt: skip
