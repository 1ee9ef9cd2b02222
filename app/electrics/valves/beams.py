"""The 6L6 family and 6V6: the figures of their sheets. Data only."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.electrics.valves.kinds import Heater, PentodeModel, Point, Ratings, Source, Valve

OCTAL_OUTPUT: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {"heater": (2, 7), "anode": (3,), "screen": (4,), "grid": (5,), "cathode": (8,), "no_connection": (1, 6)}
)
PINS_6L6 = Source("S", "Wikipedia, 6L6; Electro-Harmonix KT90 sheet")
FIT = Source(
    "C",
    "least-squares fit to the points of this entry, to further rows of the same sheet from memory"
    " and to the current that the power at full drive needs",
)

_RCA = Source("M", "RCA data sheet")
_GE = Source("M", "General Electric ET-T1515")
_EL34WORLD = Source("S", "el34world, quoting RCA")
_TUNG_SOL = Source("M", "Tung-Sol data sheet")
_WIKI_KT66 = Source("S", "Wikipedia, citing the Radiotron valve manual, 1962 (screen currents and slopes from memory)")
_TAD = Source("S", "public note quoting the TAD sheet (which gives 5 mA screen)")
_WIKI_GE = Source("S", "Wikipedia, citing General Electric 1973")
_WIKI_SINGLE = Source("S", "Wikipedia; screen current and load from memory of GE")
_GE_55_W = Source("M", "General Electric ET-T1515 (volts, load, power seen in Wikipedia, which prints 54 mA)")
_CLASS_A = Point(
    "class A, single", 250.0, 72e-3, Source("M", "General Electric and RCA data sheets"), grid_v=-14.0,
    screen_v=250.0, screen_a=5e-3, load_ohm=2500.0, power_w=6.5, gm_s=6.0e-3, rp_ohm=22.5e3,
)  # fmt: skip

_MODEL_6V6 = PentodeModel(11.64, 1.373, 2033.0, 33.24, 8.478, slope=4.414e-4,
                          screen_drive=1.613, screen_knee=0.6339)  # fmt: skip
_POINTS_6V6 = (
    Point("class A, single", 250.0, 45e-3, _TAD, grid_v=-12.5, screen_v=250.0,
          screen_a=4.5e-3, load_ohm=5000.0, power_w=4.5),
    Point("class AB1, pair", 250.0, 35e-3, _RCA, grid_v=-15.0, screen_v=250.0, screen_a=2.5e-3,
          load_ohm=10000.0, power_w=10.0, driven_anode_a=39.5e-3, driven_screen_a=6.5e-3),
    Point("class AB1, pair", 285.0, 35e-3, _RCA, grid_v=-19.0, screen_v=285.0, screen_a=2e-3, load_ohm=8000.0,
          power_w=14.0, driven_anode_a=46e-3, driven_screen_a=6.75e-3),
)  # fmt: skip
_PINS_6V6 = Source("S", "Electro-Harmonix 6V6 sheet")

BEAMS: tuple[Valve, ...] = (
    Valve(
        "6L6GC", ("6L6GCR", "6L6WGC"),
        "pentode", "octal", (Heater(6.3, 0.9, "2 - 7", _WIKI_GE),), OCTAL_OUTPUT, PINS_6L6,
        Ratings("design-maximum", 500.0, 30.0, _GE, 450.0, 5.0, seen=("anode_v", "anode_w")),
        (
            Point("class AB1, pair", 450.0, 58e-3, _GE_55_W,
                  grid_v=-37.0, screen_v=400.0, screen_a=2.8e-3, load_ohm=5600.0, power_w=55.0,
                  driven_anode_a=105e-3, driven_screen_a=11e-3),
            Point("class AB1, pair", 360.0, 44e-3, _GE, grid_v=-22.5, screen_v=270.0, screen_a=2.5e-3,
                  load_ohm=6600.0, power_w=26.5, driven_anode_a=66e-3, driven_screen_a=7.5e-3),
            Point("class A, single", 350.0, 54e-3, _WIKI_SINGLE, grid_v=-18.0,
                  screen_v=250.0, screen_a=2.5e-3, load_ohm=4200.0, power_w=10.8),
            _CLASS_A,
        ),
        PentodeModel(11.19, 1.293, 1019.0, 30.41, 16.08, slope=4.92e-4, screen_base=0.02743,
                     screen_knee=0.8333), FIT,
    ),
    Valve(
        "6L6", ("6L6G", "6L6GA", "6L6GB"),
        "pentode", "octal", (Heater(6.3, 0.9, "2 - 7", _RCA),), OCTAL_OUTPUT, PINS_6L6,
        Ratings("design-centre", 360.0, 19.0, _RCA, 270.0, 2.5, seen=("anode_w",)),
        (
            Point("class AB1, pair", 360.0, 44e-3, _EL34WORLD, grid_v=-22.5, screen_v=270.0, load_ohm=3800.0,
                  power_w=18.0, driven_anode_a=70e-3),
            Point("class AB1, pair, cathode bias", 360.0, 44e-3, _EL34WORLD, grid_v=-21.8, screen_v=270.0,
                  cathode_ohm=248.0, load_ohm=9000.0, power_w=24.5, driven_anode_a=50e-3),
            _CLASS_A,
        ),
        PentodeModel(9.618, 1.333, 1427.2, 36.73, 9.828, slope=5.619e-4,
                     screen_base=0.02865, screen_drive=0.168, screen_knee=1.0), FIT,
        remark="the original 19 W types; pin 1 is the shell of the metal one. The 6L6GC is rated 30 W",
    ),
    Valve(
        "5881", (),
        "pentode", "octal", (Heater(6.3, 0.9, "2 - 7", _TUNG_SOL),), OCTAL_OUTPUT, PINS_6L6,
        Ratings("design-centre", 400.0, 23.0, _TUNG_SOL, 400.0, 3.0),
        (
            Point("class A, single", 250.0, 75e-3, _TUNG_SOL, grid_v=-14.0, screen_v=250.0, screen_a=4.3e-3,
                  load_ohm=2500.0, power_w=6.7, gm_s=6.1e-3, rp_ohm=30e3),
        ),
        PentodeModel(9.211, 1.36, 1616.0, 37.25, 10.96, slope=3.489e-4, screen_base=0.0321,
                     screen_knee=0.9514), FIT,
    ),
    Valve(
        "KT66", ("CV1075",),
        "pentode", "octal", (Heater(6.3, 1.27, "2 - 7", _WIKI_KT66),), OCTAL_OUTPUT, _WIKI_KT66,
        Ratings("not stated", 500.0, 25.0, Source("M", "M-O Valve data sheet"), 500.0, 3.5, 0.200,
                seen=("anode_v", "anode_w")),
        (
            Point("class A, single", 250.0, 85e-3, _WIKI_KT66, grid_v=-15.0, screen_v=250.0, screen_a=6.3e-3,
                  gm_s=6.3e-3, rp_ohm=22.5e3),
            Point("class AB1, pair", 400.0, 57.5e-3, _WIKI_KT66, grid_v=-38.0, screen_v=400.0, screen_a=5e-3),
        ),
        PentodeModel(8.545, 1.242, 1077.0, 66.98, 14.05, slope=3.85e-4, screen_base=0.07173, screen_knee=0.3), FIT,
        remark="its heater takes 1.27 A where a 6L6GC takes 0.9 A: look at the winding before it goes into such a socket",
    ),
    Valve(
        "6V6GT", ("6V6", "6V6G", "CV511"),
        "pentode", "octal", (Heater(6.3, 0.45, "2 - 7", _RCA),), OCTAL_OUTPUT, _PINS_6V6,
        Ratings("design-centre", 315.0, 12.0, _RCA, 285.0, 2.0, seen=("anode_w",)),
        _POINTS_6V6, _MODEL_6V6, FIT,
    ),
    Valve(
        "6V6GTA", (),
        "pentode", "octal", (Heater(6.3, 0.45, "2 - 7", Source("M", "General Electric data sheet")),),
        OCTAL_OUTPUT, _PINS_6V6,
        Ratings("design-maximum", 350.0, 14.0, Source("M", "General Electric data sheet"), 315.0, 2.2,
                seen=("anode_w",)),
        _POINTS_6V6, _MODEL_6V6, FIT,
        remark="the same valve as the 6V6GT under the later rating system",
    ),
)  # fmt: skip
