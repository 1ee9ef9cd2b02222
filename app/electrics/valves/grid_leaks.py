"""The most resistance that a sheet allows from an output valve's grid to its bias or to earth. Data only.

More of it lets the grid's own small current lift the bias, and the valve runs away. With fixed bias less is allowed than
with a cathode resistor, which answers the rise.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from app.electrics.valves.kinds import Source


@dataclass(frozen=True)
class GridLeaks:
    """Most ohms with fixed bias and with a cathode resistor."""

    fixed_ohm: float
    self_ohm: float
    source: Source


_RCA = Source("M", "RCA data sheet")
_PHILIPS = Source("M", "Philips data handbook")
_TUNG_SOL = Source("M", "Tung-Sol data sheet")
_TENTH = GridLeaks(0.1e6, 0.5e6, _RCA)

GRID_LEAKS: Mapping[str, GridLeaks] = MappingProxyType({
    "EL34": GridLeaks(0.5e6, 0.7e6, Source("S", "Electro-Harmonix EL34 sheet")),
    "KT150": GridLeaks(51e3, 240e3, Source("S", "tubeofile, quoting the Tung-Sol sheet")),
    "EL84": GridLeaks(0.3e6, 1e6, _PHILIPS), "7189": GridLeaks(0.3e6, 1e6, _PHILIPS),
    "6550": GridLeaks(50e3, 250e3, _TUNG_SOL), "6550A": GridLeaks(50e3, 250e3, _TUNG_SOL),
    "5881": GridLeaks(0.1e6, 0.5e6, _TUNG_SOL),
    "7591": GridLeaks(0.3e6, 1e6, _RCA), "7868": GridLeaks(0.3e6, 1e6, _RCA),
    "6L6GC": _TENTH, "6L6": _TENTH, "6V6GT": _TENTH, "6V6GTA": _TENTH, "7027A": _TENTH, "6AQ5": _TENTH, "6F6": _TENTH,
    "6K6": _TENTH,
})  # fmt: skip
