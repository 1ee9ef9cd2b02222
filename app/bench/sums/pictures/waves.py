"""What happens in time: the reservoir's ripple, and a capacitor that empties."""

from __future__ import annotations

import math

from app.bench.sums.pictures.drawing import Frame, Item, Picture, Word
from app.electrics import SAFE_TOUCH_DC, SHOP_TOUCH_DC, Supply, show
from app.electrics.arrays import np


def ripple(supply: Supply) -> Picture | None:
    """Two mains cycles of the rectified winding and of the reservoir that it fills."""
    wave, source = supply.wave, supply.source
    if wave is None or source is None:
        return None
    volts = wave.state[:, 0]
    top = source.peak_v
    low = max(0.0, float(np.min(volts)) - max(0.35 * (top - float(np.min(volts))), 0.02 * top))
    length = 2.0 / source.mains_hz
    frame = Frame((0.0, length), (low, top + 0.06 * (top - low)), "s", "V", right=402.0)
    times = np.linspace(0.0, length, 361)
    periods = round(length / source.period_s)
    tiled_t = np.concatenate([wave.time_s + turn * source.period_s for turn in range(periods)])
    items: list[Item] = [*frame.axes(), *frame.curve(times.tolist(), source.emf(times).tolist(), "other")]
    items += frame.curve(tiled_t.tolist(), np.tile(volts, periods).tolist(), "main")
    at = frame.py(supply.mean_v)
    items += [frame.level(supply.mean_v, "mark"), Word(frame.right + 8, at - 4, "mean", "soft"),
              Word(frame.right + 8, at + 16, show(supply.mean_v, "V"), "mark")]
    alt = (f"Two mains cycles: the reservoir moves between {show(float(np.min(volts)), 'V')} and {show(float(np.max(volts)), 'V')} "
           f"about a mean of {show(supply.mean_v, 'V')}, filled by each crest of the winding, {show(top, 'V')} high.")
    return Picture("The reservoir, and the winding that fills it", alt, 284.0, tuple(items))


def emptying(*, from_v: float, to_v: float, ohm: float, farad: float) -> Picture:
    """The volts of a capacitor on its discharge resistor, with the touch limit."""
    tau = ohm * farad
    floor = min(to_v, float(SHOP_TOUCH_DC), from_v * 0.5)
    length = tau * math.log(from_v / floor) * 1.08
    frame = Frame((0.0, length), (0.0, from_v * 1.05), "s", "V")
    times = np.linspace(0.0, length, 121)
    volts = from_v * np.exp(-times / tau)
    items: list[Item] = [*frame.axes()]
    limit = float(SAFE_TOUCH_DC)
    told = ""
    if from_v > limit:
        after = tau * math.log(from_v / limit)
        items += [frame.level(limit, "limit"), frame.upright(after, "limit"),
                  Word(frame.right, frame.py(limit) - 8, f"{show(limit, 'V')} after {show(after, 's')}", "limit", "end")]
        told = f" It passes the touch limit of {show(limit, 'V')} after {show(after, 's')}."
    items += frame.curve(times.tolist(), volts.tolist(), "main")
    alt = (f"A falling curve from {show(from_v, 'V')}: after one time constant, {show(tau, 's')}, {show(from_v / math.e, 'V')} "
           f"are left.{told}")
    return Picture("How the voltage falls", alt, 284.0, tuple(items))
