"""EL34, EL84, 6550, KT88, 6973 and 7591: the figures of their sheets. Data only."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.electrics.valves.beams import FIT, OCTAL_OUTPUT
from app.electrics.valves.kinds import Heater, PentodeModel, Point, Ratings, Source, Valve

_EL34_PINS: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "suppressor": (1,), "heater": (2, 7), "anode": (3,), "screen": (4,), "grid": (5,), "cathode": (8,),
        "no_connection": (6,),
    }
)  # fmt: skip
EL84_PINS: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "grid": (2,), "cathode": (3,), "suppressor": (3,), "heater": (4, 5), "anode": (7,), "screen": (9,),
        "internal_connection": (1, 6, 8),
    }
)  # fmt: skip
_6973_PINS: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {"screen": (1, 8), "internal_connection": (2,), "grid": (3, 6), "heater": (4, 5), "cathode": (7,),
     "anode": (9,)}
)
_7591_PINS: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {"no_connection": (1,), "heater": (2, 7), "anode": (3,), "screen": (4, 8), "cathode": (5,), "grid": (6,)}
)

_PHILIPS = Source("M", "Philips data handbook")
_EH_EL34 = Source("S", "Electro-Harmonix EL34 sheet")
_WIKI_EL84 = Source("S", "Wikipedia (Russian edition)")
_EL84_SINGLE = Source("M", "Philips data handbook (gm, load and power seen)")
_EL84_17_W = Source("M", "Philips data handbook (300 V, 8 kohm and 17 W seen)")
_EL84_11_W = Source("M", "Philips data handbook (11 W seen)")
_TUNG_SOL = Source("M", "Tung-Sol data sheet")
_GE = Source("M", "General Electric data sheet")
_MO_VALVE = Source("M", "M-O Valve data sheet")
_RCA = Source("M", "RCA data sheet")
_UNSURE = Source("M", "data sheet, low confidence")

_MODEL_6550 = PentodeModel(13.0, 1.403, 670.1, 24.86, 15.28, slope=4.562e-4, ks=8527.0, screen_drive=0.9179,
                           screen_knee=1.0)
_POINTS_6550 = (
    Point("class A, single", 250.0, 140e-3, _TUNG_SOL, grid_v=-14.0, screen_v=250.0, screen_a=12e-3,
          load_ohm=1500.0, power_w=12.5, gm_s=11e-3, rp_ohm=12e3),
    Point("class AB1, pair", 400.0, 90e-3, _TUNG_SOL, grid_v=-23.0, screen_v=275.0, screen_a=4.5e-3,
          load_ohm=3500.0, power_w=55.0, driven_anode_a=135e-3, driven_screen_a=22e-3),
    Point("class A, single", 400.0, 87e-3, _TUNG_SOL, grid_v=-16.5, screen_v=225.0, screen_a=4e-3, load_ohm=3000.0,
          power_w=20.0, gm_s=9e-3, rp_ohm=27e3),
    Point("class AB1, pair", 450.0, 75e-3, Source("M", "General Electric data sheet, low confidence"), grid_v=-29.0,
          screen_v=310.0, load_ohm=3500.0, power_w=77.0, driven_anode_a=147.5e-3, driven_screen_a=19e-3),
    Point("class AB1, pair", 600.0, 57.5e-3, _TUNG_SOL, grid_v=-33.0, screen_v=300.0, load_ohm=5000.0, power_w=100.0,
          driven_anode_a=135e-3),
)  # fmt: skip

PENTODES: tuple[Valve, ...] = (
    Valve(
        "EL34", ("6CA7", "CV1741"),
        "pentode", "octal", (Heater(6.3, 1.5, "2 - 7", _EH_EL34),), _EL34_PINS,
        Source("S", "Electro-Harmonix EL34 sheet; KiCad valve symbol library"),
        Ratings("design-centre", 800.0, 25.0, _PHILIPS, 500.0, 8.0, 0.150,
                seen=("anode_w", "screen_w", "cathode_a")),
        (
            Point("characteristic", 250.0, 100e-3, _PHILIPS, grid_v=-12.2, screen_v=250.0, screen_a=15e-3,
                  gm_s=11e-3, rp_ohm=15e3),
            Point("maker's test, 80 to 120 mA, screen to 20 mA", 250.0, 100e-3, _EH_EL34, grid_v=-13.5,
                  screen_v=265.0),
            Point("class AB, pair, cathode bias; supply 375 V, screens by a common 470 ohm", 352.5, 75e-3,
                  _PHILIPS, grid_v=-22.5, screen_v=341.7, screen_a=11.5e-3, cathode_ohm=130.0,
                  load_ohm=3400.0, power_w=35.0, driven_anode_a=95e-3, driven_screen_a=22.5e-3),
            Point("class AB1, pair; screens by a common 1 kohm from 425 V", 425.0, 30e-3, _PHILIPS,
                  grid_v=-38.0, screen_v=416.2, screen_a=4.4e-3, load_ohm=3400.0, power_w=55.0,
                  driven_anode_a=120e-3, driven_screen_a=25e-3),
            Point("class B, pair", 775.0, 25e-3, Source("S", "diyaudio thread 220486, quoting the sheet"),
                  grid_v=-39.0, screen_v=400.0, screen_a=3e-3, load_ohm=11000.0, power_w=100.0,
                  driven_anode_a=91e-3, driven_screen_a=19e-3),
        ),
        PentodeModel(18.08, 1.25, 366.3, 50.96, 29.32, slope=6.972e-4, ks=63220.0,
                     screen_base=0.1229, screen_knee=0.3299), FIT,
        remark="in a socket wired for a 6L6 pins 1 and 8 need a link: the suppressor has its own pin here",
    ),
    Valve(
        "EL84", ("6BQ5", "N709", "CV2975"),
        "pentode", "noval", (Heater(6.3, 0.76, "4 - 5", _WIKI_EL84),), EL84_PINS,
        Source("S", "KiCad valve symbol library"),
        Ratings("design-centre", 300.0, 12.0, _WIKI_EL84, 300.0, 2.0, 0.065),
        (
            Point("class A, single", 250.0, 48e-3, _EL84_SINGLE, grid_v=-7.3, screen_v=250.0, screen_a=5.5e-3,
                  load_ohm=5200.0, power_w=5.7, gm_s=11.3e-3, rp_ohm=38e3),
            Point("class AB, pair, cathode bias; supply 300 V", 289.6, 36e-3, _EL84_17_W,
                  grid_v=-10.4, screen_v=289.6, screen_a=4e-3, cathode_ohm=130.0, load_ohm=8000.0, power_w=17.0,
                  driven_anode_a=46e-3, driven_screen_a=11e-3),
            Point("class AB, pair, cathode bias; supply 250 V", 241.0, 31e-3, _EL84_11_W,
                  grid_v=-8.97, screen_v=241.0, screen_a=3.5e-3, cathode_ohm=130.0, load_ohm=8000.0,
                  power_w=11.0, driven_anode_a=37.5e-3, driven_screen_a=7.5e-3),
        ),
        PentodeModel(29.71, 1.497, 521.0, 95.18, 11.19, slope=4.407e-4, ks=53110.0,
                     screen_base=0.09495, screen_knee=0.6087), FIT,
    ),
    Valve(
        "6550", (),
        "pentode", "octal", (Heater(6.3, 1.6, "2 - 7", _TUNG_SOL),), OCTAL_OUTPUT,
        Source("M", "Tung-Sol data sheet; as the 6L6"),
        Ratings("design-centre", 600.0, 35.0, _TUNG_SOL, 400.0, 6.0, 0.175), _POINTS_6550, _MODEL_6550, FIT,
    ),
    Valve(
        "6550A", (),
        "pentode", "octal", (Heater(6.3, 1.6, "2 - 7", _GE),), OCTAL_OUTPUT,
        Source("M", "General Electric data sheet; as the 6L6"),
        Ratings("design-maximum", 660.0, 42.0, _GE, 440.0, 6.0, 0.190), _POINTS_6550, _MODEL_6550, FIT,
        remark="the 6550 under the later rating system",
    ),
    Valve(
        "KT88", ("CV5220",),
        "pentode", "octal", (Heater(6.3, 1.6, "2 - 7", Source("S", "a maker's KT88 manual")),), OCTAL_OUTPUT,
        Source("M", "M-O Valve data sheet; as the 6L6"),
        Ratings("absolute maximum", 800.0, 42.0, _MO_VALVE, 600.0, 8.0, 0.230),
        (
            Point("characteristic", 250.0, 140e-3, _MO_VALVE, grid_v=-15.0, screen_v=250.0, screen_a=3e-3,
                  gm_s=11.5e-3, rp_ohm=12e3),
            Point("class AB1, pair; supply 560 V", 552.0, 60e-3, _MO_VALVE, grid_v=-34.0, screen_v=300.0, screen_a=1.7e-3,
                  load_ohm=4500.0, power_w=100.0, driven_anode_a=145e-3, driven_screen_a=15e-3),
        ),
        PentodeModel(10.54, 1.43, 893.8, 24.02, 13.64, slope=4.99e-4, screen_base=0.02072, screen_knee=0.1), FIT,
        remark="42 W is an absolute maximum; the design-centre figure of the same sheet is 35 W. At full drive its screen takes"
               " some three times what is calculated here",
    ),
    Valve(
        "6973", (),
        "pentode", "noval", (Heater(6.3, 0.45, "4 - 5", _RCA),), _6973_PINS, _UNSURE,
        Ratings("design-maximum", 440.0, 12.0, _RCA, 330.0, 2.0),
        (
            Point("class A, characteristic", 250.0, 46e-3, _RCA, grid_v=-15.0, screen_v=250.0,
                  screen_a=3.5e-3,
                  gm_s=4.8e-3, rp_ohm=73e3),
            Point("class AB1, pair", 350.0, 29e-3, _UNSURE, grid_v=-22.0, screen_v=280.0, screen_a=1.75e-3,
                  load_ohm=7500.0, power_w=20.0, driven_anode_a=53e-3, driven_screen_a=7e-3),
        ),
        PentodeModel(10.01, 1.289, 1436.0, 58.73, 11.73, slope=2.108e-4,
                     screen_base=0.02831, screen_drive=0.6031, screen_knee=0.7583), FIT,
    ),
    Valve(
        "7591", ("7591A",),
        "pentode", "octal", (Heater(6.3, 0.8, "2 - 7", _RCA),), _7591_PINS, _UNSURE,
        Ratings("design-maximum", 550.0, 19.0, _RCA, 440.0, 3.3),
        (
            Point("class A, characteristic", 300.0, 60e-3, _RCA, grid_v=-10.0, screen_v=300.0, screen_a=8e-3,
                  gm_s=10.2e-3, rp_ohm=29e3),
            Point("class AB1, pair", 450.0, 33e-3, _UNSURE, grid_v=-21.0, screen_v=400.0, screen_a=4.7e-3,
                  load_ohm=6600.0, power_w=45.0, driven_anode_a=72e-3),
        ),
        PentodeModel(20.35, 1.366, 716.3, 62.54, 14.8, slope=5.317e-4, screen_base=0.1281,
                     screen_knee=0.3), FIT,
        remark="wired unlike a 6L6: cathode on 5, grid on 6. Neither goes into the other's socket",
    ),
)  # fmt: skip
