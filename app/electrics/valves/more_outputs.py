"""Further output valves met in shops: the figures of their sheets. Data only.

Where no operating point of a sheet is sure, there is no model: limits are all that is known here. Where a sheet prints the
characteristics of another type, that type's model is taken and its source says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from app.electrics.valves.beams import BEAMS, FIT, OCTAL_OUTPUT
from app.electrics.valves.kinds import Heater, PentodeModel, Point, Ratings, Source, Valve
from app.electrics.valves.pentodes import EL84_PINS, PENTODES

_RCA = Source("M", "RCA data sheet")
_PHILIPS = Source("M", "Philips data handbook")
_MO_VALVE = Source("M", "M-O Valve data sheet")
_TUBEOFILE = Source("S", "tubeofile, quoting the Tung-Sol sheet")
_NOT_KNOWN = Source("M", "pins not known here: see the sheet")
_OKTODA = Source("S", "public page (Oktoda, Polish), Mullard's announcement of March 1962; screen watts, currents from memory")


def _pins(**uses: tuple[int, ...]) -> Mapping[str, tuple[int, ...]]:
    return MappingProxyType(uses)


_6AQ5_PINS = _pins(grid=(1, 7), cathode=(2,), suppressor=(2,), heater=(3, 4), anode=(5,), screen=(6,))
_7027_PINS = _pins(screen=(1, 4), heater=(2, 7), anode=(3,), grid=(5, 6), cathode=(8,))
_6F6_PINS = _pins(envelope=(1,), heater=(2, 7), anode=(3,), screen=(4,), grid=(5,), cathode=(8,))
_ECL82_PINS = _pins(triode_grid=(1,), cathode=(2,), suppressor=(2,), grid=(3,), heater=(4, 5), anode=(6,), screen=(7,),
                    triode_cathode=(8,), triode_anode=(9,))
_ECL86_PINS = _pins(triode_grid=(1,), triode_cathode=(2,), screen=(3,), heater=(4, 5), anode=(6,), cathode=(7,), suppressor=(7,),
                    grid=(8,), triode_anode=(9,))
_FIVE = _pins(heater=(2, 7), anode=(3,), screen=(4,), grid=(5,), cathode=(8,))
_807_PINS = _pins(heater=(1, 5), screen=(2,), grid=(3,), cathode=(4,))
_BY = {entry.name: entry for entry in (*BEAMS, *PENTODES)}


def _as(name: str) -> Source:
    return Source("C", f"the model of the {name}, whose characteristics the sheet prints, from memory")


MORE_OUTPUTS: tuple[Valve, ...] = (
    Valve(
        "7189", (), "pentode", "noval", (Heater(6.3, 0.76, "4 - 5", _PHILIPS),), EL84_PINS,
        Source("M", "Philips data handbook: as the EL84"), Ratings("design-centre", 400.0, 12.0, _PHILIPS, 300.0, 2.0, 0.065),
        (_BY["EL84"].points[0],), _BY["EL84"].model, _as("EL84"),
        remark="an EL84 for more anode volts. An EL84 is no replacement for it: its anode is rated 300 V",
    ),
    Valve(
        "7189A", (), "pentode", "noval", (Heater(6.3, 0.76, "4 - 5", _PHILIPS),), MappingProxyType({}), _NOT_KNOWN,
        Ratings("design-maximum", 440.0, 13.2, Source("M", "10 % above the 7189's, as Tube CAD Journal of December 2000 has it")),
        (_BY["EL84"].points[0],), _BY["EL84"].model, _as("EL84"),
        remark="the 7189 under the later rating system, with connections of its own: look at the socket before one is swapped",
    ),
    Valve(
        "7027A", (), "pentode", "octal", (Heater(6.3, 0.9, "2 - 7", _RCA),), _7027_PINS, _RCA,
        Ratings("design-maximum", 600.0, 35.0, _RCA, 500.0, 5.0),
        (Point("class A, single", 250.0, 72e-3, _RCA, grid_v=-14.0, screen_v=250.0, screen_a=5e-3, load_ohm=2500.0, power_w=6.5),),
        _BY["6L6GC"].model, _as("6L6GC"),
        remark="the plain 7027 is rated lower. Pins 1 and 6 are in use inside: a socket wired for a 6L6 may have a part on them",
    ),
    Valve(
        "6AQ5", ("EL90", "N727", "CV1862"), "pentode", "miniature 7-pin", (Heater(6.3, 0.45, "3 - 4", _RCA),), _6AQ5_PINS, _RCA,
        Ratings("design-centre", 250.0, 12.0, _RCA, 250.0, 2.0),
        (Point("class A, single", 250.0, 45e-3, _RCA, grid_v=-12.5, screen_v=250.0, screen_a=4.5e-3, load_ohm=5000.0, power_w=4.5,
               gm_s=4.1e-3, rp_ohm=52e3),
         Point("class A, single", 180.0, 29e-3, _RCA, grid_v=-8.5, screen_v=180.0, screen_a=3e-3, load_ohm=5500.0, power_w=2.0)),
        _BY["6V6GT"].model, _as("6V6GT"),
        remark="a small 6V6, rated for fewer volts: 250 V where a 6V6GT has 315 V",
    ),
    Valve(
        "KT77", ("CV8203",), "pentode", "octal", (Heater(6.3, 1.4, "2 - 7", _MO_VALVE),),
        _FIVE,
        Source("M", "M-O Valve data sheet; pin 1 not known here"),
        Ratings("not stated", 800.0, 25.0, _MO_VALVE, 600.0), remark="limits only: no point of its sheet is sure here",
    ),
    Valve(
        "KT90", (), "pentode", "octal", (Heater(6.3, 1.6, "2 - 7", Source("M", "makers' sheets")),), OCTAL_OUTPUT,
        Source("S", "Electro-Harmonix KT90 sheet"),
        Ratings("not stated", 750.0, 50.0, Source("M", "makers' sheets"), 650.0, 8.0, 0.230),
        remark="limits only; made by several houses, whose sheets differ",
    ),
    Valve(
        "KT120", (), "pentode", "octal",
        (Heater(6.3, 1.95, "2 - 7", Source("M", "Tung-Sol data sheet: 1.7 to 1.95 A, the upper figure kept")),),
        OCTAL_OUTPUT, Source("M", "Tung-Sol data sheet; as the KT88"),
        Ratings("not stated", 850.0, 60.0, Source("M", "Tung-Sol data sheet"), 650.0, 8.0, 0.250, seen=("anode_w",)),
        remark="limits only; its heater takes up to 1.95 A where a KT88 takes 1.6 A: look at the winding",
    ),
    Valve(
        "KT150", (), "pentode", "octal",
        (Heater(6.3, 2.0, "2 - 7", Source("S", "tubeofile: 1.75 to 2.0 A, the upper figure kept")),),
        _pins(envelope=(1,), heater=(2, 7), anode=(3,), screen=(4,), grid=(5,), cathode=(8,)),
        Source("M", "as the KT88; pin 1 the shell and pin 8 the cathode seen in tubeofile"),
        Ratings("not stated", 850.0, 70.0, _TUBEOFILE, 650.0, None, 0.275,
                seen=("anode_v", "anode_w", "screen_v", "cathode_a")),
        remark="limits only, of the pentode: as a triode or ultralinear 650 V, 600 V and 250 mA. Grid leak at most 51 kohm with"
               " fixed bias. Its heater takes up to 2 A: look at the winding",
    ),
    Valve(
        "7868", (), "pentode", "novar", (Heater(6.3, 0.8, "4 - 5", _RCA),), MappingProxyType({}), _NOT_KNOWN,
        Ratings("design-maximum", 550.0, 19.0, _RCA, 440.0, 3.3), (_BY["7591"].points[0],), _BY["7591"].model, _as("7591"),
        remark="a 7591 on a novar base: neither goes into the other's socket",
    ),
    Valve(
        "6F6", ("6F6G", "6F6GT", "KT63"), "pentode", "octal", (Heater(6.3, 0.7, "2 - 7", _RCA),), _6F6_PINS, _RCA,
        Ratings("design-centre", 375.0, 11.0, _RCA, 285.0, 3.75),
        (Point("class A, single", 250.0, 34e-3, _RCA, grid_v=-16.5, screen_v=250.0, screen_a=6.5e-3, load_ohm=7000.0, power_w=3.2,
               gm_s=2.5e-3, rp_ohm=80e3),
         Point("class A, single", 285.0, 38e-3, _RCA, grid_v=-20.0, screen_v=285.0, screen_a=7e-3, load_ohm=7000.0, power_w=4.8,
               gm_s=2.55e-3, rp_ohm=78e3)),
        PentodeModel(8.277, 1.247, 2693.0, 33.92, 14.46, slope=2.461e-4, screen_base=0.1664, screen_drive=0.03743,
                     screen_knee=0.5285),
        FIT, remark="pin 1 is the shell of the metal one",
    ),
    Valve(
        "6K6", ("6K6G", "6K6GT"), "pentode", "octal", (Heater(6.3, 0.4, "2 - 7", _RCA),), _FIVE, _RCA,
        Ratings("design-centre", 315.0, 8.5, _RCA, 285.0, 2.8),
        (Point("class A, single", 100.0, 9e-3, _RCA, grid_v=-7.0, screen_v=100.0, screen_a=1.6e-3, gm_s=1.5e-3, rp_ohm=104e3),
         Point("class A, single", 250.0, 32e-3, _RCA, grid_v=-18.0, screen_v=250.0, screen_a=5.5e-3, load_ohm=7600.0, power_w=3.4,
               gm_s=2.3e-3, rp_ohm=90e3),
         Point("class A, single", 315.0, 25.5e-3, _RCA, grid_v=-21.0, screen_v=250.0, screen_a=4e-3, load_ohm=9000.0, power_w=4.5,
               gm_s=2.1e-3, rp_ohm=110e3)),
        PentodeModel(7.761, 1.31, 3682.0, 31.45, 13.43, slope=2.624e-4, ks=0.1146, screen_base=0.129, screen_drive=0.4121,
                     screen_knee=0.3), FIT,
    ),
    Valve(
        "ECL82", ("6BM8", "ECL82 pentode", "6BM8 pentode"), "pentode", "noval", (Heater(6.3, 0.78, "4 - 5", _PHILIPS),),
        _ECL82_PINS, _PHILIPS, Ratings("design-centre", 300.0, 7.0, _PHILIPS, 300.0, 1.8, 0.050),
        (Point("characteristic", 170.0, 41e-3, _PHILIPS, grid_v=-11.5, screen_v=170.0, screen_a=8e-3, gm_s=7.5e-3, rp_ohm=16e3),
         Point("characteristic", 200.0, 35e-3, _PHILIPS, grid_v=-16.0, screen_v=200.0, screen_a=7e-3, gm_s=6.4e-3, rp_ohm=20e3)),
        PentodeModel(10.01, 1.272, 878.0, 52.52, 13.54, slope=1.363e-3, screen_base=0.183, screen_knee=0.3), FIT,
        remark="the pentode of the pair; its triode has an entry of its own",
    ),
    Valve(
        "ECL86", ("6GW8", "ECL86 pentode", "6GW8 pentode"), "pentode", "noval", (Heater(6.3, 0.66, "4 - 5", _OKTODA),), _ECL86_PINS,
        _PHILIPS, Ratings("design-centre", 300.0, 9.0, _OKTODA, 300.0, 1.5, 0.055, seen=("anode_v", "anode_w", "screen_v")),
        (Point("class A, single", 250.0, 36e-3, Source("M", "Philips data handbook (current, slope seen in the announcement)"),
               grid_v=-7.0, screen_v=250.0, screen_a=6e-3, load_ohm=7000.0, power_w=4.0, gm_s=10e-3, rp_ohm=48e3),),
        PentodeModel(23.64, 1.276, 523.0, 120.8, 18.5, slope=4.105e-4, screen_base=0.142, screen_knee=0.5), FIT,
        remark="the pentode of the pair; its triode has an entry of its own. Another public page prints 7 W: the figure of a"
               " sheet at hand comes first",
    ),
    Valve(
        "EL509", ("6KG6",), "pentode", "magnoval", (Heater(6.3, 2.0, "4 - 5", _PHILIPS),), MappingProxyType({}), _NOT_KNOWN,
        Ratings("design-centre", 700.0, 30.0, _PHILIPS, None, 7.0, 0.500),
        remark="limits only, of the television valve with a top cap. What is sold today as EL509 on an octal base is another valve:"
               " each maker has its own sheet",
    ),
    Valve(
        "807", ("CV124", "VT100"), "pentode", "small 5-pin", (Heater(6.3, 0.9, "1 - 5", _RCA),), _807_PINS, _RCA,
        Ratings("absolute maximum", 600.0, 25.0, Source("M", "RCA data sheet, continuous service"), 300.0, 3.5),
        remark="limits only. The anode is the cap on top: it stands bare under the full HT. Transmitter sheets print more for"
               " intermittent service; that is not kept here",
    ),
)  # fmt: skip
