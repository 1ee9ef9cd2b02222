"""How far a valve's model is from the points that its sheet publishes, and a valve stronger or weaker than that sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace

from app.electrics.errors import ElectricsError, within
from app.electrics.valves.currents import ValveLike, as_valve
from app.electrics.valves.kinds import Point, TriodeModel, Valve
from app.electrics.valves.koren import pentode_anode, triode_anode


@dataclass(frozen=True)
class FitError:
    """Anode current of a model against the published points of its entry, as fractions: worst magnitude, rms, how many."""

    worst: float
    rms: float
    points: int


def fit_error(valve: ValveLike) -> FitError:
    """The miss of a valve's model at its own published points; ElectricsError for a valve without a model or points."""
    entry = as_valve(valve)
    misses = [_model_current(entry, point) / point.anode_a - 1.0 for point in entry.points]
    if not misses:
        raise ElectricsError("valve", entry.name, "a valve with published points")
    return FitError(max(map(abs, misses)), (sum(miss * miss for miss in misses) / len(misses)) ** 0.5, len(misses))


def _model_current(entry: Valve, point: Point) -> float:
    if isinstance(entry.model, TriodeModel):
        return float(triode_anode(entry.model, point.anode_v, point.grid_v))
    if point.screen_v is None:
        raise ElectricsError("valve", entry.name, "a valve whose points name their screen volts")
    return float(pentode_anode(entry.pentode(), point.anode_v, point.screen_v, point.grid_v))


def emitting(valve: ValveLike, factor: float) -> Valve:
    """The valve with all its currents multiplied by `factor` (0.01 to 100): 1.3 is 30 % stronger than the sheet's.

    Ratings and points stay the sheet's. ElectricsError for a valve without a model.
    """
    entry = as_valve(valve)
    if entry.model is None:
        raise ElectricsError("valve", entry.name, "an amplifying valve")
    return replace(entry, model=replace(entry.model, kg1=entry.model.kg1 / within("factor", factor, 0.01, 100.0)))
