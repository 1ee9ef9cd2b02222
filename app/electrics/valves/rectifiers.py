"""Valve rectifiers: limits and perveance. Data only.

Perveances marked S are S. Malcolm-Brown's fits as printed in a public Koren model library.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.electrics.valves.kinds import Heater, Rectifier, Source, Valve

_PLATES: Mapping[str, tuple[int, ...]] = MappingProxyType({"heater": (2, 8), "cathode": (8,),
                                                           "anode": (4, 6)})
_PINS = Source("S", "EML 5U4G sheet: filament 2 and 8, output taken at 8")
_FIT_LIBRARY = "perveance seen in a public Koren model library (fits by S. Malcolm-Brown); limits from memory"

_NOVAL_RECTIFIER: Mapping[str, tuple[int, ...]] = MappingProxyType({"anode": (1, 7), "cathode": (3,), "heater": (4, 5)})
_PHILIPS = Source("M", "Philips data handbook")
_RCA = Source("M", "RCA data sheet")
_MULLARD = Source("M", "Mullard data sheet")

RECTIFIERS: tuple[Valve, ...] = (
    Valve(
        "5AR4", ("GZ34", "GZ34S", "CV1377", "U77"),
        "rectifier", "octal", (Heater(5.0, 1.9, "2 - 8", Source("M", "Philips GZ34 sheet")),), _PLATES,
        Source("M", "Philips GZ34 sheet: cathode joined to the heater at 8"),
        rectifier=Rectifier(
            3.961806e-3, 1500.0, 0.250, 0.750, 17.0, 0.225, Source("S", _FIT_LIBRARY), 60e-6,
            ((300.0, 50.0), (350.0, 75.0), (400.0, 100.0), (450.0, 125.0), (500.0, 150.0), (550.0, 175.0)),
            ((450.0, 0.250), (500.0, 0.200), (550.0, 0.160)), seen=("first_capacitor_f",),
        ),
        remark="Philips limits (1500 V, 750 mA); General Electric prints 1700 V, 825 mA and, hot, 3.7 A for the 5AR4",
    ),
    Valve(
        "5U4GB", ("5U4", "5AS4", "5AS4A"),
        "rectifier", "octal", (Heater(5.0, 3.0, "2 - 8", Source("M", "RCA data sheet")),), _PLATES, _PINS,
        rectifier=Rectifier(
            0.783455e-3, 1550.0, 0.275, 1.0, 50.0, 0.275, Source("S", _FIT_LIBRARY), 40e-6,
            ((300.0, 21.0), (450.0, 67.0), (550.0, 97.0)), ((450.0, 0.275), (550.0, 0.162)), 4.6,
            seen=("peak_a",),
        ),
        remark="a valve marked 5U4G is the older, weaker type and has its own entry",
    ),
    Valve(
        "5U4G", ("5Z3", "U52"),
        "rectifier", "octal", (Heater(5.0, 3.0, "2 - 8", Source("M", "RCA data sheet")),), _PLATES, _PINS,
        rectifier=Rectifier(
            0.225 / 58.0**1.5, 1550.0, 0.225, 0.675, 58.0, 0.225,
            Source("C", "perveance from the drop of 58 V at 225 mA (seen, tubeofile 5Z3); rest from memory"),
            40e-6, ((450.0, 75.0),), seen=("first_capacitor_f", "supply_ohm"),
        ),
    ),
    Valve(
        "5Y3GT", ("5Y3", "5Y3G", "U50"),
        "rectifier", "octal", (Heater(5.0, 2.0, "2 - 8", Source("M", "RCA data sheet")),), _PLATES, _PINS,
        rectifier=Rectifier(
            0.352292e-3, 1400.0, 0.125, 0.440, 50.0, 0.125, Source("S", _FIT_LIBRARY), 20e-6, ((350.0, 50.0),),
            hot_switch_a=2.5, seen=("mean_a", "first_capacitor_f"),
        ),
        remark="older sheets allow 10 uF only at the first capacitor",
    ),
    Valve(
        "5V4GA", ("5V4", "5V4G", "GZ32"),
        "rectifier", "octal", (Heater(5.0, 2.0, "2 - 8", Source("M", "RCA data sheet")),), _PLATES,
        Source("M", "RCA data sheet: cathode joined to the heater at 8"),
        rectifier=Rectifier(
            1.397165e-3, 1400.0, 0.175, 0.525, 25.0, 0.175, Source("S", _FIT_LIBRARY), None, ((375.0, 100.0),)
        ),
        remark="a GZ32 is rated for more current (300 mA, from memory); the limits here are the 5V4's",
    ),
    Valve(
        "EZ81", ("6CA4", "U709", "CV5072"),
        "rectifier", "noval", (Heater(6.3, 1.0, "4 - 5", _PHILIPS),), _NOVAL_RECTIFIER, _PHILIPS,
        rectifier=Rectifier(
            2.0706e-3, 1300.0, 0.150, 0.450, 17.4, 0.150,
            Source("C", "perveance fitted to the sheet's own outputs (245, 293 and 347 V), which are from memory"), 50e-6,
            ((250.0, 150.0), (300.0, 200.0), (350.0, 230.0)), seen=("peak_a",),
        ),
        remark="peak current as seen quoted in a public thread; the other limits are from memory",
    ),
    Valve(
        "EZ80", ("6V4", "CV1535"),
        "rectifier", "noval", (Heater(6.3, 0.6, "4 - 5", _PHILIPS),), _NOVAL_RECTIFIER, _PHILIPS,
        rectifier=Rectifier(
            0.8274e-3, 1000.0, 0.090, 0.270, 22.8, 0.090,
            Source("C", "perveance fitted to the outputs of the electrically identical EZ40 (tubeofile, seen)"), 50e-6,
            ((250.0, 125.0), (275.0, 175.0), (300.0, 215.0), (350.0, 300.0)),
            seen=("mean_a", "first_capacitor_f", "supply_ohm"),
        ),
        remark="limits seen are those of the EZ40, called electrically identical; peak and reverse volts from memory",
    ),
    Valve(
        "6X4", ("EZ90", "U707", "CV493"),
        "rectifier", "miniature 7-pin", (Heater(6.3, 0.6, "3 - 4", _RCA),),
        MappingProxyType({"anode": (1, 6), "heater": (3, 4), "cathode": (7,)}), _RCA,
        rectifier=Rectifier(
            0.070 / 22.0**1.5, 1250.0, 0.070, 0.210, 22.0, 0.070, Source("M", "RCA data sheet; perveance from its drop"), None,
            ((325.0, 525.0),),
        ),
        remark="later sheets allow a peak of 245 mA; no limit of the first capacitor is known here",
    ),
    Valve(
        "GZ37", ("CV378", "53KU", "U54"),
        "rectifier", "octal", (Heater(5.0, 2.8, "2 - 8", _MULLARD),), MappingProxyType({}),
        Source("M", "pins not known here: see the sheet"),
        rectifier=Rectifier(None, None, 0.250, 0.750, None, None, _MULLARD),
        remark="two limits only: its drop and its reverse volts are not known here, so a supply with it cannot be solved."
               " A GZ34 has less drop: the HT rises where one replaces it",
    ),
)  # fmt: skip
