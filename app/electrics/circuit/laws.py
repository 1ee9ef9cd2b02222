"""The curved parts of a circuit, many at a time: currents and their slopes at given volts, by hand-made derivatives.

Arrays have the samples first and the parts last.  Laws: the diode of `app.electrics.supply.rectifiers`, the valves of
`app.electrics.valves.koren`, all times their emission, and for a grid above 0 V

    Ig = GRID_PERVEANCE * Vgk ** 1.5

(0 at and below 0 V).  The 3/2-power law of a space-charge limited diode (any valve handbook); the perveances are from
memory: half a milliampere at +1 V for a small triode, one for an output valve; they decide how hard a grid that is
driven positive clamps, and nothing at rest.  GMIN lies across every curved path, as circuit simulators have it, so
that a path that is cut off still has a slope.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Generic, TypeVar

from numpy.typing import NDArray

from app.electrics.arrays import np
from app.electrics.supply.rectifiers import SILICON_IS, SILICON_N, SILICON_OHM, THERMAL_V
from app.electrics.valves.kinds import PentodeModel, TriodeModel

Array = NDArray[np.float64]
Model = TypeVar("Model", TriodeModel, PentodeModel)

GMIN = 1e-12
TRIODE_GRID = 0.5e-3
PENTODE_GRID = 1.0e-3
DIODE_SCALE = SILICON_N * THERMAL_V
DIODE_CRITICAL = DIODE_SCALE * float(np.log(DIODE_SCALE / (np.sqrt(2.0) * SILICON_IS)))


@dataclass(frozen=True)
class Row(Generic[Model]):
    """The parameters of many models as arrays by parameter, so that all of them are worked at once."""

    by_name: dict[str, Array]

    def __getitem__(self, name: str) -> Array:
        return self.by_name[name]


def row(models: Sequence[Model]) -> Row[Model]:
    """Models as one row of parameters."""
    names = [field.name for field in fields(models[0])] if models else []
    return Row({name: np.array([getattr(model, name) for model in models], dtype=np.float64) for name in names})


def diode(volts: Array, emission: Array) -> tuple[Array, Array]:
    """(current, slope) of diodes with their series resistance, gmin included."""
    from scipy.special import wrightomega  # here: a page that asks for no sum must not wait for scipy

    scale, ohm = DIODE_SCALE, SILICON_OHM
    omega = wrightomega((volts + SILICON_IS * ohm) / scale + np.log(SILICON_IS * ohm / scale))
    current = scale / ohm * omega - SILICON_IS
    return emission * current + GMIN * volts, emission * omega / (1.0 + omega) / ohm + GMIN


def grid(perveance: float, volts: Array) -> tuple[Array, Array]:
    """(current, slope) into grids."""
    above = np.maximum(volts, 0.0)
    root = np.sqrt(above)
    return perveance * above * root, 1.5 * perveance * root


def triode(models: Row[TriodeModel], anode_v: Array, grid_v: Array, emission: Array) -> tuple[Array, Array, Array]:
    """(anode current, slope by the grid, slope by the anode); `app.electrics.valves.koren.triode_point` for a row."""
    va = np.maximum(anode_v, 0.0)
    drive = grid_v + models["vct"]
    reach = np.sqrt(models["kvb"] + va * va)
    soft = np.logaddexp(0.0, models["kp"] * (1.0 / models["mu"] + drive / reach))
    on = -np.expm1(-soft)
    e1 = va / models["kp"] * soft
    steep = emission * 2.0 / models["kg1"] * e1 ** (models["ex"] - 1.0)
    by_anode = soft / models["kp"] - on * va * va * drive / reach**3
    gm = models["ex"] * steep * va * on / reach
    ga = np.where(anode_v > 0.0, models["ex"] * steep * np.maximum(by_anode, 0.0), 0.0)
    return steep * e1 + GMIN * anode_v, gm, ga + GMIN


@dataclass(frozen=True)
class PentodeFlow:
    """Anode and screen currents, each with its slopes by anode, screen and grid volts."""

    anode: Array
    anode_by: tuple[Array, Array, Array]
    screen: Array
    screen_by: tuple[Array, Array, Array]


def pentode(models: Row[PentodeModel], anode_v: Array, screen_v: Array, grid_v: Array, emission: Array) -> PentodeFlow:
    """Both currents of a row of pentodes; forms of `app.electrics.valves.koren`, differentiated.

    Written as W * above and W * (share * above + knee * (1 - above)): W is the plateau, a function of the drive
    E1 = Vs * D and of the anode's slope; above is 2/pi atan(Va/KVB).
    """
    va, vs = np.maximum(anode_v, 0.0), np.maximum(screen_v, 0.0)
    reach = np.sqrt(np.maximum(models["ks"] + vs * vs, 1e-12))
    soft = np.logaddexp(0.0, models["kp"] * (1.0 / models["mu"] + grid_v / reach))
    on = -np.expm1(-soft)
    d, d_grid = soft / models["kp"], on / reach
    d_screen = -on * grid_v * vs / reach**3
    e1, rise = vs * d, 1.0 + models["slope"] * va
    power = emission * np.pi / models["kg1"] * e1 ** (models["ex"] - 1.0)
    flat, by_e1 = power * e1 * rise, models["ex"] * power * rise
    flat_anode, flat_screen, flat_grid = power * e1 * models["slope"], by_e1 * (d + vs * d_screen), by_e1 * vs * d_grid
    above = 2.0 / np.pi * np.arctan(va / models["kvb"])
    above_anode = 2.0 / np.pi * models["kvb"] / (models["kvb"] ** 2 + va * va)
    base, drive, knee = models["screen_base"], models["screen_drive"], models["screen_knee"]
    ratio = (base + drive * d) * above + knee * (1.0 - above)
    ratio_anode = (base + drive * d - knee) * above_anode
    live_a, live_s = (anode_v > 0.0).astype(np.float64), (screen_v > 0.0).astype(np.float64)
    return PentodeFlow(
        anode=flat * above + GMIN * anode_v,
        anode_by=(
            live_a * (flat_anode * above + flat * above_anode) + GMIN, live_s * flat_screen * above, flat_grid * above
        ),
        screen=flat * ratio + GMIN * screen_v,
        screen_by=(
            live_a * (flat_anode * ratio + flat * ratio_anode),
            live_s * (flat_screen * ratio + flat * drive * d_screen * above) + GMIN,
            flat_grid * ratio + flat * drive * d_grid * above,
        ),
    )  # fmt: skip


def limited_diode(new: Array, old: Array) -> Array:
    """A step of diode volts held to what the curve's bend allows: the usual junction limiting of circuit simulators."""
    far = (new > DIODE_CRITICAL) & (np.abs(new - old) > 2.0 * DIODE_SCALE)
    reach = 1.0 + (new - old) / DIODE_SCALE
    along = np.where(reach > 0.0, old + DIODE_SCALE * np.log(np.maximum(reach, 1e-300)), DIODE_CRITICAL)
    start = DIODE_SCALE * np.log(np.maximum(new, DIODE_SCALE) / DIODE_SCALE)
    return np.where(far, np.where(old > 0.0, along, start), new)
