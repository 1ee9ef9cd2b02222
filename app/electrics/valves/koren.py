"""Valve currents as formulas: plain floats or numpy arrays in, numpy out; no checks, no limits.

Form: N. Koren, "Improved vacuum tube models for SPICE simulations" (1996), whose library computes Ia =
(PWR(E1, EX) + PWRS(E1, EX)) / KG1, that is 2 * E1 ** EX / KG1 for E1 > 0. Leaving the 2 out halves the
current at fixed volts and hides in a self-biased stage.
"""

from __future__ import annotations

from app.electrics.arrays import Array, ArrayLike, np
from app.electrics.valves.kinds import PentodeModel, TriodeModel


def _softplus(x: Array) -> Array:
    """ln(1 + exp(x)) without overflow."""
    return np.asarray(np.logaddexp(0.0, x), dtype=np.float64)


def _volts(value: ArrayLike) -> Array:
    return np.asarray(value, dtype=np.float64)


def triode_anode(model: TriodeModel, anode_v: ArrayLike, grid_v: ArrayLike) -> Array:
    """Anode current (A), volts to the cathode; 0 at and below 0 V on the anode.

    E1 = Va/KP * ln(1 + exp(KP * (1/MU + (Vg + VCT) / sqrt(KVB + Va²)))), Ia = 2 * E1**EX / KG1.
    """
    va = np.maximum(_volts(anode_v), 0.0)
    reach = np.sqrt(model.kvb + va * va)
    inner = model.kp * (1.0 / model.mu + (_volts(grid_v) + model.vct) / reach)
    e1 = va / model.kp * _softplus(inner)
    return np.asarray(2.0 * e1**model.ex / model.kg1, dtype=np.float64)


def triode_point(
    model: TriodeModel, anode_v: ArrayLike, grid_v: ArrayLike
) -> tuple[Array, Array, Array]:
    """(Ia, gm, ga): triode_anode and its slopes by grid and by anode volts (A/V), differentiated by hand.

    rp = 1/ga and mu = gm/ga; both slopes are 0 in deep cut-off, so the caller divides, if at all.
    """
    va = np.maximum(_volts(anode_v), 0.0)
    drive = _volts(grid_v) + model.vct
    reach = np.sqrt(model.kvb + va * va)
    soft = _softplus(model.kp * (1.0 / model.mu + drive / reach))
    on = -np.expm1(-soft)  # the slope of softplus
    e1 = va / model.kp * soft
    steep = 2.0 / model.kg1 * e1 ** (model.ex - 1.0)
    by_anode = soft / model.kp - on * va * va * drive / reach**3
    gm, ga = model.ex * steep * va * on / reach, model.ex * steep * np.maximum(by_anode, 0.0)
    return steep * e1, gm, ga


def _pentode_drive(model: PentodeModel, screen_v: Array, grid_v: Array) -> Array:
    """E1 / Vg2: 1/KP * ln(1 + exp(KP * (1/MU + Vg1 / sqrt(KS + Vg2²))))."""
    reach = np.sqrt(np.maximum(model.ks + screen_v * screen_v, 1e-12))
    return _softplus(model.kp * (1.0 / model.mu + grid_v / reach)) / model.kp


def _plateau(model: PentodeModel, anode_v: Array, screen_v: Array, grid_v: Array) -> Array:
    """What the anode would take if its volts were far above the knee (A)."""
    e1 = screen_v * _pentode_drive(model, screen_v, grid_v)
    return np.asarray(np.pi * e1**model.ex / model.kg1 * (1.0 + model.slope * anode_v), dtype=np.float64)


def _above_knee(model: PentodeModel, anode_v: Array) -> Array:
    """The share of the plateau that the anode takes at its volts: 2/pi * atan(Va/KVB), from 0 to 1."""
    return np.asarray(2.0 / np.pi * np.arctan(anode_v / model.kvb), dtype=np.float64)


def pentode_anode(model: PentodeModel, anode_v: ArrayLike, screen_v: ArrayLike, grid_v: ArrayLike) -> Array:
    """Anode current (A), volts to the cathode; 0 with no anode or screen volts.

    Ia = 2 * E1**EX / KG1 * atan(Va/KVB) * (1 + slope * Va), E1 = Vg2 * _pentode_drive. slope and ks are our
    additions: the first gives the sheet's anode resistance on the plateau, the second (as KVB does in the
    triode) lets mu change with screen volts. Both are 0 in the plain form.
    """
    va, vs, vg = np.maximum(_volts(anode_v), 0.0), np.maximum(_volts(screen_v), 0.0), _volts(grid_v)
    return _plateau(model, va, vs, vg) * _above_knee(model, va)


def pentode_screen(model: PentodeModel, anode_v: ArrayLike, screen_v: ArrayLike, grid_v: ArrayLike) -> Array:
    """Screen current (A) by the sheet's ratio to the anode current, not by Koren's screen term.

    Ig2 = (base + drive * E1/Vg2) * Ia + knee * (plateau - Ia): a share of the anode current that grows as the
    grid opens (sheets show the ratio rising with drive), and a part of what the anode lets go below its knee.
    base, drive and knee are fitted to the screen currents the sheets print at idle and at full drive.
    """
    va, vs, vg = np.maximum(_volts(anode_v), 0.0), np.maximum(_volts(screen_v), 0.0), _volts(grid_v)
    whole = _plateau(model, va, vs, vg)
    share = model.screen_base + model.screen_drive * _pentode_drive(model, vs, vg)
    above = _above_knee(model, va)
    return np.asarray(whole * (share * above + model.screen_knee * (1.0 - above)), dtype=np.float64)
