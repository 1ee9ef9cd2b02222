"""Small triodes: the figures of their sheets. Data only; one section of a twin triode each."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.electrics.valves.kinds import Heater, Point, Ratings, Source, TriodeModel, Valve

_BASE_SYMBOLS = Source("S", "KiCad valve symbol library")
_NOVAL_TWIN: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "anode_1": (6,), "grid_1": (7,), "cathode_1": (8,),
        "anode_2": (1,), "grid_2": (2,), "cathode_2": (3,),
        "heater": (4, 5), "heater_tap": (9,),
    }
)  # fmt: skip
_OCTAL_TWIN: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "grid_2": (1,), "anode_2": (2,), "cathode_2": (3,),
        "grid_1": (4,), "anode_1": (5,), "cathode_1": (6,),
        "heater": (7, 8),
    }
)  # fmt: skip
_ECC88_PINS: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "anode_2": (1,), "grid_2": (2,), "cathode_2": (3,), "heater": (4, 5),
        "anode_1": (6,), "grid_1": (7,), "cathode_1": (8,), "screen_between": (9,),
    }
)  # fmt: skip
NOVAL_HEATERS = (
    Heater(12.6, 0.15, "4 - 5", _BASE_SYMBOLS),
    Heater(6.3, 0.3, "4+5 - 9", _BASE_SYMBOLS),
)
_FIT = Source("C", "least-squares fit of Koren's form, with a contact potential, to this entry's points")
FIT_ONE = Source("C",
                  "least-squares fit to this entry's point, shape from a published refit of Koren's form")

_GENERAL_ELECTRIC = Source("M", "RCA and General Electric data sheets")
_ANGELFIRE = Source("S", "public worked examples of triode stages (mu and rp); anode current from memory")

PREAMP: tuple[Valve, ...] = (
    Valve(
        "12AX7",
        ("12AX7A", "12AX7WA", "ECC83", "ECC83S", "ECC803", "ECC803S", "7025", "CV4004", "B339"),
        "triode", "noval", NOVAL_HEATERS, _NOVAL_TWIN, _BASE_SYMBOLS,
        Ratings("not stated", 300.0, 1.0, Source("S", "Wikipedia, citing the Sylvania sheet"),
                seen=("anode_v", "anode_w")),
        (
            Point("characteristic", 250.0, 1.2e-3, Source("S", "Wikipedia, citing the Sylvania sheet"),
                  grid_v=-2.0,
                  mu=100.0, gm_s=1.6e-3, rp_ohm=62.5e3),
            Point("characteristic", 100.0, 0.5e-3, Source("M", "RCA data sheet"), grid_v=-1.0,
                  mu=100.0, gm_s=1.25e-3, rp_ohm=80e3),
        ),
        TriodeModel(mu=105.0, ex=1.446, kg1=1643.0, kp=672.7, kvb=304.3, vct=0.5776), _FIT, sections=2,
    ),
    Valve(
        "12AT7",
        ("12AT7A", "12AT7WA", "12AT7WC", "ECC81", "ECC801", "ECC801S", "6201", "CV4024", "CV455", "B309"),
        "triode", "noval", NOVAL_HEATERS, _NOVAL_TWIN, _BASE_SYMBOLS,
        Ratings("not stated", 300.0, 2.5, _GENERAL_ELECTRIC, seen=("anode_w",)),
        (
            Point("characteristic", 250.0, 10e-3, _ANGELFIRE, grid_v=-2.0, mu=60.0, gm_s=5.5e-3,
                  rp_ohm=10.9e3),
            Point("characteristic", 100.0, 3.7e-3, _GENERAL_ELECTRIC, grid_v=-1.0, cathode_ohm=270.0,
                  mu=60.0, gm_s=4.0e-3, rp_ohm=15e3),
        ),
        TriodeModel(mu=72.27, ex=1.314, kg1=566.6, kp=226.7, kvb=356.6, vct=0.5988), _FIT, sections=2,
    ),
    Valve(
        "12AU7",
        ("12AU7A", "12AU7WA", "ECC82", "ECC802", "ECC802S", "5814", "5814A", "6189", "CV4003", "CV491",
         "B329"),
        "triode", "noval", NOVAL_HEATERS, _NOVAL_TWIN, _BASE_SYMBOLS,
        Ratings("not stated", 300.0, 2.75, _GENERAL_ELECTRIC, seen=("anode_w",)),
        (
            Point("characteristic", 250.0, 10.5e-3, _ANGELFIRE, grid_v=-8.5, mu=17.0, gm_s=2.2e-3,
                  rp_ohm=7.7e3),
            Point("characteristic", 100.0, 11.8e-3, _GENERAL_ELECTRIC, grid_v=0.0,
                  mu=19.5, gm_s=3.1e-3, rp_ohm=6.25e3),
        ),
        TriodeModel(mu=21.89, ex=1.296, kg1=1234.0, kp=70.47, kvb=311.0), _FIT, sections=2,
    ),
    Valve(
        "12AY7", ("6072", "6072A"),
        "triode", "noval", NOVAL_HEATERS, _NOVAL_TWIN, _BASE_SYMBOLS,
        Ratings("not stated", 300.0, 1.5, _GENERAL_ELECTRIC),
        (
            Point("characteristic", 250.0, 3.0e-3,
                  Source("S", "public table of triode figures (mu, rp); anode current and gm from memory"),
                  grid_v=-4.0, mu=44.0, gm_s=1.75e-3, rp_ohm=25e3),
        ),
        TriodeModel(mu=44.01, ex=1.089, kg1=1237.0, kp=404.4, kvb=302.4, vct=0.03585), FIT_ONE, sections=2,
        remark="a public table prints 330 V and 1.65 W, the design-maximum figures; the lower pair is kept",
    ),
    Valve(
        "12BH7A", ("12BH7", "6913"),
        "triode", "noval",
        (Heater(12.6, 0.3, "4 - 5", _GENERAL_ELECTRIC), Heater(6.3, 0.6, "4+5 - 9", _GENERAL_ELECTRIC)), _NOVAL_TWIN,
        Source("M", "RCA data sheet: as the 12AU7"),
        Ratings("design-centre", 300.0, 3.5, _GENERAL_ELECTRIC, cathode_a=0.020),
        (
            Point("characteristic", 250.0, 11.5e-3, _GENERAL_ELECTRIC, grid_v=-10.5, mu=16.5, gm_s=3.1e-3, rp_ohm=5.3e3),
        ),
        TriodeModel(mu=19.02, ex=1.293, kg1=878.8, kp=93.79, kvb=299.3), FIT_ONE, sections=2,
        remark="its heater takes twice a 12AU7's current: look at the winding before it goes into such a socket",
    ),
    Valve(
        "5751", ("5751WA", "6681"),
        "triode", "noval",
        (Heater(12.6, 0.175, "4 - 5", _GENERAL_ELECTRIC), Heater(6.3, 0.35, "4+5 - 9", _GENERAL_ELECTRIC)), _NOVAL_TWIN,
        Source("M", "General Electric data sheet: as the 12AX7"),
        Ratings("absolute maximum", 330.0, 0.8, _GENERAL_ELECTRIC),
        (
            Point("characteristic", 250.0, 1.1e-3, _GENERAL_ELECTRIC, grid_v=-3.0, mu=70.0, gm_s=1.2e-3, rp_ohm=58e3),
            Point("characteristic", 100.0, 0.8e-3, _GENERAL_ELECTRIC, grid_v=-1.0, mu=70.0, gm_s=1.2e-3, rp_ohm=58e3),
        ),
        TriodeModel(mu=69.57, ex=1.366, kg1=2100.0, kp=449.9, kvb=304.8, vct=0.4303), _FIT, sections=2,
    ),
    Valve(
        "ECC88", ("6DJ8", "6922", "E88CC", "CV2492", "CV5231"),
        "triode", "noval", (Heater(6.3, 0.365, "4 - 5", Source("M", "Philips data handbook")),), _ECC88_PINS, _BASE_SYMBOLS,
        Ratings("design-centre", 130.0, 1.8, Source("M", "Philips data handbook"), cathode_a=0.025),
        (
            Point("characteristic", 90.0, 15e-3, Source("M", "Philips data handbook"), grid_v=-1.3,
                  mu=33.0, gm_s=12.5e-3, rp_ohm=2.64e3),
        ),
        TriodeModel(mu=32.62, ex=1.315, kg1=237.6, kp=322.2, kvb=304.0, vct=0.06904), FIT_ONE, sections=2,
        remark="6.3 V only, and no socket of the ECC83 family: pin 9 is the screen between the sections. An E88CC or 6922"
               " is rated higher (220 V, from memory); the limits here are the ECC88's",
    ),
    Valve(
        "6SN7GT", ("6SN7", "6SN7G", "6SN7WGT", "CV1988", "B65"),
        "triode", "octal", (Heater(6.3, 0.6, "7 - 8", Source("M", "RCA data sheet")),), _OCTAL_TWIN,
        Source("S", "Electro-Harmonix 6SN7 sheet"),
        Ratings("design-centre", 300.0, 3.5, Source("M", "RCA data sheet, 6SN7GT")),
        (
            Point("characteristic", 250.0, 9e-3, Source("S", "Wikipedia (Russian edition)"), grid_v=-8.0,
                  mu=20.0, gm_s=2.6e-3, rp_ohm=7.7e3),
            Point("characteristic", 90.0, 10e-3, Source("M", "RCA data sheet, 6SN7GT"), grid_v=0.0,
                  mu=20.0, gm_s=3.0e-3, rp_ohm=6.7e3),
        ),
        TriodeModel(mu=21.63, ex=1.294, kg1=1270.0, kp=132.9, kvb=314.7, vct=0.008569), _FIT, sections=2,
    ),
    Valve(
        "6SN7GTB", ("6SN7GTA",),
        "triode", "octal", (Heater(6.3, 0.6, "7 - 8", Source("M", "RCA data sheet")),), _OCTAL_TWIN,
        Source("S", "Electro-Harmonix 6SN7 sheet"),
        Ratings("design-maximum", 450.0, 5.0, Source("M", "General Electric data sheet, 6SN7GTB")),
        (
            Point("characteristic", 250.0, 9e-3, Source("S", "Wikipedia (Russian edition)"), grid_v=-8.0,
                  mu=20.0, gm_s=2.6e-3, rp_ohm=7.7e3),
        ),
        TriodeModel(mu=21.63, ex=1.294, kg1=1270.0, kp=132.9, kvb=314.7, vct=0.008569), _FIT, sections=2,
        remark="the later, hotter 6SN7; the plain 6SN7GT is rated 300 V and 3.5 W",
    ),
    Valve(
        "6SL7GT", ("6SL7", "6SL7G", "6SL7WGT", "CV1985"),
        "triode", "octal", (Heater(6.3, 0.3, "7 - 8", Source("M", "RCA data sheet")),), _OCTAL_TWIN,
        Source("M", "as the 6SN7; RCA data sheet"),
        Ratings("design-centre", 250.0, 1.0, Source("M", "RCA data sheet; later editions 300 V")),
        (
            Point("characteristic", 250.0, 2.3e-3, Source("M", "RCA data sheet"), grid_v=-2.0,
                  mu=70.0, gm_s=1.6e-3, rp_ohm=44e3),
        ),
        TriodeModel(mu=73.49, ex=1.274, kg1=1853.0, kp=1725.0, kvb=6.999, vct=0.4088), FIT_ONE, sections=2,
    ),
)  # fmt: skip
