"""Further small triodes and small-signal pentodes met in shops. Data only; one section of a twin triode each.

Of the pentodes the EF86 and the 6SJ7 have curves, the others limits only. A
triode-pentode has two entries: the pentode under the type's name, the triode as "ECL82 triode".
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.electrics.valves.kinds import Heater, PentodeModel, Point, Ratings, Source, TriodeModel, Valve
from app.electrics.valves.preamp import FIT_ONE, NOVAL_HEATERS, PREAMP

_RCA = Source("M", "RCA data sheet")
_GE = Source("M", "General Electric data sheet")
_PHILIPS = Source("M", "Philips data handbook")
_WIKI_EF86 = Source("S", "Wikipedia, EF86 (screen watts and anode volts from memory)")
_WIKI_EF86_POINT = Source("S", "Wikipedia, EF86 (characteristics at 250 V)")
_FIT_PENTODE = Source("C", "least-squares fit to this entry's points, their slopes, and further figures of the sheet from memory")
_OKTODA = Source("S", "public page (Oktoda, Polish)")
_NOT_KNOWN = Source("M", "pins not known here: see the sheet")


def _pins(**uses: tuple[int, ...]) -> Mapping[str, tuple[int, ...]]:
    return MappingProxyType(uses)


_ECF80_PINS = _pins(triode_anode=(1,), grid=(2,), screen=(3,), heater=(4, 5), anode=(6,), cathode=(7,), suppressor=(7,),
                    triode_cathode=(8,), triode_grid=(9,))
_ECF80_TRIODE = _pins(anode=(1,), heater=(4, 5), cathode=(8,), grid=(9,))
_ECF80_HEATER = (Heater(6.3, 0.43, "4 - 5", _PHILIPS),)
_6U8_HEATER = (Heater(6.3, 0.45, "4 - 5", _RCA),)
_BY = {entry.name: entry for entry in PREAMP}
_HALF = "the halves differ: 12DW7 here is the half like a 12AX7, 12DW7 low-mu the one like a 12AU7. For the pins see the sheet"

MORE_SMALL: tuple[Valve, ...] = (
    Valve(
        "6EU7", (), "triode", "noval", (Heater(6.3, 0.3, "1 - 2", _GE),), MappingProxyType({}), _NOT_KNOWN,
        Ratings("design-maximum", 330.0, 1.2, _GE), _BY["12AX7"].points, _BY["12AX7"].model,
        Source("C", "the model of the 12AX7, whose characteristics the sheet prints, from memory"), sections=2,
        remark="a 12AX7 with other connections, heater at 6.3 V only: neither goes into the other's socket",
    ),
    Valve(
        "12DW7", ("7247", "ECC832"), "triode", "noval", NOVAL_HEATERS, MappingProxyType({}), _NOT_KNOWN,
        Ratings("not stated", 300.0, 1.0, Source("M", "as the 12AX7, RCA data sheet")), _BY["12AX7"].points, _BY["12AX7"].model,
        Source("C", "the model of the 12AX7, whose characteristics the sheet prints for this half, from memory"), remark=_HALF,
    ),
    Valve(
        "12DW7 low-mu", ("7247 low-mu", "ECC832 low-mu"), "triode", "noval", NOVAL_HEATERS, MappingProxyType({}), _NOT_KNOWN,
        Ratings("not stated", 300.0, 2.75, Source("M", "as the 12AU7, RCA data sheet")), _BY["12AU7"].points, _BY["12AU7"].model,
        Source("C", "the model of the 12AU7, whose characteristics the sheet prints for this half, from memory"), remark=_HALF,
    ),
    Valve(
        "6SC7", ("6SC7GT",), "triode", "octal", (Heater(6.3, 0.3, "7 - 8", _RCA),),
        _pins(anode_2=(2,), grid_2=(3,), grid_1=(4,), anode_1=(5,), cathode=(6,), heater=(7, 8)), _RCA,
        Ratings("design-centre", 250.0, None, _RCA),
        (Point("characteristic", 250.0, 2e-3, _RCA, grid_v=-2.0, mu=70.0, gm_s=1.325e-3, rp_ohm=53e3),),
        TriodeModel(mu=72.14, ex=1.276, kg1=2212.0, kp=487.0, kvb=300.1, vct=0.3801), FIT_ONE, sections=2,
        remark="both halves share one cathode; no limit of the anode's watts is known here",
    ),
    Valve(
        "ECL82 triode", ("6BM8 triode",), "triode", "noval", (Heater(6.3, 0.78, "4 - 5", _PHILIPS),),
        _pins(grid=(1,), heater=(4, 5), cathode=(8,), anode=(9,)), _PHILIPS,
        Ratings("design-centre", 300.0, 1.0, _PHILIPS, cathode_a=0.015),
        (Point("characteristic", 100.0, 3.5e-3, _PHILIPS, grid_v=0.0, mu=70.0, gm_s=2.5e-3, rp_ohm=28e3),),
        TriodeModel(mu=71.37, ex=1.3, kg1=1219.0, kp=400.1, kvb=299.1, vct=0.3953), FIT_ONE,
        remark="the triode beside the pentode of the same bulb",
    ),
    Valve(
        "ECL86 triode", ("6GW8 triode",), "triode", "noval", (Heater(6.3, 0.66, "4 - 5", _OKTODA),),
        _pins(grid=(1,), cathode=(2,), heater=(4, 5), anode=(9,)), _PHILIPS,
        Ratings("design-centre", 300.0, 0.5, _OKTODA, cathode_a=0.004, seen=("anode_v", "anode_w", "cathode_a")),
        (Point("characteristic", 250.0, 1.2e-3, _PHILIPS, grid_v=-1.9, mu=100.0, gm_s=1.6e-3, rp_ohm=62e3),),
        TriodeModel(mu=103.5, ex=1.423, kg1=1637.0, kp=654.9, kvb=282.8, vct=0.4401), FIT_ONE,
        remark="the triode beside the pentode of the same bulb",
    ),
    Valve(
        "ECF80 triode", ("6BL8 triode",), "triode", "noval", _ECF80_HEATER, _ECF80_TRIODE, _PHILIPS,
        Ratings("design-centre", 250.0, 1.5, _PHILIPS, cathode_a=0.014),
        (Point("characteristic", 100.0, 14e-3, _PHILIPS, grid_v=-2.0, mu=20.0, gm_s=5e-3, rp_ohm=4e3),),
        TriodeModel(mu=20.15, ex=1.229, kg1=616.1, kp=101.1, kvb=310.1, vct=0.258), FIT_ONE,
        remark="the triode beside the pentode of the same bulb",
    ),
    Valve(
        "6U8 triode", ("ECF82 triode",), "triode", "noval", _6U8_HEATER, _ECF80_TRIODE, _RCA,
        Ratings("design-centre", 300.0, 2.7, _RCA),
        (Point("characteristic, 56 ohm in the cathode", 150.0, 18e-3, _RCA, grid_v=-1.008, cathode_ohm=56.0, mu=40.0, gm_s=8.5e-3,
               rp_ohm=5e3),),
        TriodeModel(mu=43.28, ex=1.304, kg1=408.6, kp=252.5, kvb=298.2, vct=0.2464), FIT_ONE,
        remark="the triode beside the pentode of the same bulb",
    ),
    Valve(
        "EF86", ("6267", "Z729", "CV2901", "EF806S"), "pentode", "noval", (Heater(6.3, 0.2, "4 - 5", _WIKI_EF86),),
        _pins(screen=(1,), shield=(2, 7), cathode=(3,), heater=(4, 5), anode=(6,), suppressor=(8,), grid=(9,)), _PHILIPS,
        Ratings("design-centre", 300.0, 1.0, _PHILIPS, 200.0, 0.2, 0.006, seen=("anode_w", "screen_v", "cathode_a")),
        (Point("characteristic", 250.0, 3e-3, _WIKI_EF86_POINT, grid_v=-2.2, screen_v=140.0, screen_a=0.6e-3, gm_s=2.2e-3),),
        PentodeModel(44.02, 1.35, 1713.0, 197.9, 3.671, slope=9.5e-5, ks=8000.0, screen_base=0.2, screen_knee=0.05), _FIT_PENTODE,
        small=True, remark="the Philips table of resistance-coupled stages, from memory, is met within 12 % of the cathode current",
    ),
    Valve(
        "6SJ7", ("6SJ7GT", "6SJ7Y"), "pentode", "octal", (Heater(6.3, 0.3, "2 - 7", _RCA),),
        _pins(envelope=(1,), heater=(2, 7), suppressor=(3,), grid=(4,), cathode=(5,), screen=(6,), anode=(8,)), _RCA,
        Ratings("design-centre", 300.0, 2.5, _RCA, 125.0),
        (
            Point("characteristic", 250.0, 3e-3, _RCA, grid_v=-3.0, screen_v=100.0, screen_a=0.8e-3, gm_s=1.65e-3),
            Point("characteristic", 100.0, 2.9e-3, _RCA, grid_v=-3.0, screen_v=100.0, screen_a=0.9e-3, gm_s=1.575e-3,
                  rp_ohm=700e3),
        ),
        PentodeModel(19.71, 1.6, 4263.0, 69.75, 6.397, slope=1.806e-4, screen_base=0.2573, screen_knee=1.0), _FIT_PENTODE,
        small=True,
    ),
    Valve(
        "EF80", ("6BX6", "Z719"), "pentode", "noval", (Heater(6.3, 0.3, "4 - 5", _PHILIPS),),
        _pins(cathode=(1, 3), grid=(2,), heater=(4, 5), shield=(6,), anode=(7,), screen=(8,), suppressor=(9,)), _PHILIPS,
        Ratings("design-centre", 300.0, 2.5, _PHILIPS, 300.0, 0.7, 0.015), small=True, remark="limits only",
    ),
    Valve(
        "ECF80", ("6BL8", "ECF80 pentode"), "pentode", "noval", _ECF80_HEATER, _ECF80_PINS, _PHILIPS,
        Ratings("design-centre", 250.0, 1.7, _PHILIPS, 175.0, None, 0.014), small=True,
        remark="limits only, of the pentode; the triode has an entry of its own. A 6U8 is the ECF82, not this type",
    ),
    Valve(
        "6U8", ("ECF82", "6U8 pentode"), "pentode", "noval", _6U8_HEATER, _ECF80_PINS, _RCA,
        Ratings("design-centre", 300.0, 2.8, _RCA, None, 0.5), small=True,
        remark="limits only, of the pentode; the triode has an entry of its own. It is the ECF82: an ECF80 is a 6BL8, a like type",
    ),
)  # fmt: skip
