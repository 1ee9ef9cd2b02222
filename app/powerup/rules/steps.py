"""The sixteen steps after a rebuild, in the order in which they are done, and what each may show. Pure.

The order, from no valves to output valves, is that of published practice; where a figure has no source it says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.measuring.rules import Quantity
from app.powerup.rules.items import PRACTICE, Amp, Band, Biased, Item, Make, ReadBy, Sort, for_each, look, read

HEATER_UNLOADED = 1.15  # a winding without its valves: common practice, no source
SMALL_VALVE = 0.20
HT_COLD_OHM = 50e3
HT_LEAST_OHM = 5e3  # 450 V across it would be 40 W: no bleeder is less. Common practice, no source
GRID_LEAK = (10e3, 1e6)
GRID_LEAST_OHM = 1e3  # the winding of an interstage transformer: common practice, no source
LEAST_POWER = 0.80
BIAS_AT_LEAST = -5.0
BESIDE = (("power-80", "80 Hz"), ("power-5k", "5 kHz"))  # the lowest notes and the highest overtones: common practice, no source


@dataclass(frozen=True)
class Step:
    """One step. `powered`: the amp is on for it; otherwise it is off, unplugged and shown discharged."""

    number: int
    key: str
    title: str
    what: str
    powered: bool
    items: Make
    caution: str = ""


def _visual(amp: Amp) -> list[Item]:
    return [look("count", "Everything that is due is back, and all counts match", "Open the balance if you are not sure.",
                 guards=True, area="wiring"),
            look("loose", "No solder, strand or tool inside", "Turn it over, look under the board, shake nothing.", guards=True,
                 area="wiring"),
            look("fuse", "The fuse fitted is the one on the plate", "Type, amperes, volts.", guards=True, area="mains")]


def _discharge(amp: Amp) -> list[Item]:
    return [Item("discharge", "Every supply capacitor is shown discharged", Sort.DISCHARGE, guards=True, area="HT supply")]


def _cold(amp: Amp) -> list[Item]:
    earth = [read("pe", "Protective earth, plug pin to chassis", Quantity.OHM,
                  Band(None, amp.earth[0], amp.earth[1]) if amp.earth else None, guards=True, fixed=amp.earth is not None,
                  tester=ReadBy.BOND, area="earth", asks="upper")] if amp.earthed else []
    return [
        *earth,
        read("ht", "HT to 0 V, once it has stopped rising", Quantity.OHM,
             Band(HT_COLD_OHM, None, f"no bleeder draws more than this leaves: {PRACTICE}"), guards=True, area="HT supply",
             hint="A bleeder or divider of less: enter what it comes to, and its source.", floor=HT_LEAST_OHM),
        *for_each(amp.marks, read("grid", "grid to 0 V", Quantity.OHM, Band(*GRID_LEAK, f"a grid leak in place: {PRACTICE}"),
                                  guards=True, area="bias", hint="An open grid lets the valve run away.", floor=GRID_LEAST_OHM,
                                  ceiling=GRID_LEAK[1])),
        read("plug", "Plug, L to N, switch on", Quantity.OHM, area="mains", hint="The primary’s winding."),
        read("anodes", "Anode to anode through the output transformer", Quantity.OHM),
        read("secondary", "Output transformer, secondary", Quantity.OHM),
    ]


def _insulation(amp: Amp) -> list[Item]:
    band = Band(amp.insulation[0], None, amp.insulation[1]) if amp.insulation else None
    return [read("insulation", "L and N together to protective earth" if amp.earthed else "L and N together to metal",
                 Quantity.OHM, band, guards=True, fixed=band is not None, tester=ReadBy.INSULATION, area="mains", asks="lower")]


def _bias(amp: Amp, where: str) -> list[Item]:
    """Bias at each grid contact: output valves go in only once it is proven there."""
    if amp.biased is not Biased.FIXED:
        return []
    band = Band(None, BIAS_AT_LEAST, f"negative at every grid contact: {PRACTICE}; enter the amp’s own band if it is known")
    return for_each(amp.marks, read("bias", f"bias at the grid contact, {where}", Quantity.VOLT_DC, band, guards=True,
                                    area="bias", ceiling=BIAS_AT_LEAST))


def _heaters(amp: Amp) -> Item:
    return read("heaters", "Heaters, no valves", Quantity.VOLT_AC,
                Band(None, amp.heater_v * HEATER_UNLOADED, f"{amp.heater_v:g} V and 15 % without load: {PRACTICE}"),
                area="HT supply")


def _ht_top(amp: Amp, key: str, title: str) -> Item:
    band = Band(None, amp.capacitor_v, "least working voltage in the list of capacitors") if amp.capacitor_v else None
    return read(key, title, Quantity.VOLT_DC, band, guards=True, area="HT supply", asks="upper", ceiling=amp.capacitor_v)


def _lamp(amp: Amp) -> list[Item]:
    return [look("out", "Every valve is out, and a lamp limiter is in the mains lead",
                 "A variable transformer alone does not limit current.", guards=True, first=True),
            look("dims", "The lamp goes dim within 5 s and stays dim", guards=True, area="HT supply"),
            look("smell", "No smell, smoke or hum", guards=True, area="HT supply"),
            read("mains", "Mains at the amp, behind the lamp", Quantity.VOLT_AC, area="mains"), _heaters(amp),
            *_bias(amp, "on the lamp"),
            *([_ht_top(amp, "ht", "HT at the reservoir, on the lamp")] if amp.silicon else [])]


def _full(amp: Amp) -> list[Item]:
    low, high = 0.9 * amp.mains_v, 1.1 * amp.mains_v
    return [look("out", "The output valves are out, the load is fitted", guards=True, first=True),
            read("mains", "Mains at the amp", Quantity.VOLT_AC, Band(low, high, "10 % either side of the shop’s mains voltage"),
                 area="mains"),
            _ht_top(amp, "ht", "HT at the reservoir, no output valves"), *_bias(amp, "full mains"),
            read("ripple", "Ripple at the reservoir", Quantity.VOLT_AC, area="HT supply"),
            read("current", "Mains current", Quantity.AMP_AC, Band(None, amp.most_a[0], amp.most_a[1]) if amp.most_a else None,
                 guards=True, area="mains", hint="At most the no-load current of the transformer and 30 %.", asks="upper",
                 ceiling=amp.most_a[0] if amp.most_a else None)]


def _small(amp: Amp) -> list[Item]:
    return for_each(amp.small, read("anode", "anode", Quantity.VOLT_DC, within=SMALL_VALVE, area="boards",
                                    hint="20 % either side of what is expected."))


def _output(amp: Amp) -> list[Item]:
    return [look("cold", "Bias at its most negative, load fitted, before the valves go in", guards=True, area="bias",
                 first=True),
            Item("bias", "Cathode current and dissipation of each output valve", Sort.BIAS, guards=True, area="bias"),
            look("glow", "No anode glows, no blue arc, no smell", guards=True)]


def _stability(amp: Amp) -> list[Item]:
    return [look("idle", "Scope on the load: no oscillation at any setting of the controls, no signal"),
            look("sine", "None with a sine either, up to clipping"), look("slow", "No motorboating")]


def _path(amp: Amp) -> list[Item]:
    return [look("inputs", "Each input and channel", area="jack sockets"), look("controls", "Each control", area="controls"),
            look("loop", "Effects loop, footswitch and jacks, or none fitted", area="jack sockets")]


def _power(amp: Amp) -> list[Item]:
    ohm = amp.load_ohm
    beside = [Item(key, f"Across the load at the onset of clipping, {hz}", Sort.POWER, Quantity.VOLT_AC,
                   "Into the load only, a few seconds at a time. What it should be depends on the output transformer, whose "
                   "inductance no sheet has: it is kept beside 1 kHz.", asks="lower", kept=True) for key, hz in BESIDE]
    return [read("load", "Load, measured", Quantity.OHM,
                 Band(0.9 * ohm, 1.1 * ohm, f"10 % either side of the rated load: {PRACTICE}") if ohm else None),
            Item("power", "Across the load at the onset of clipping, 1 kHz", Sort.POWER, Quantity.VOLT_AC,
                 "At least 80 % of the expected power; the load’s uncertainty is counted."),
            *beside,
            look("even", "Both halves clip alike, and the output transformer does not buzz")]


def _noise(amp: Amp) -> list[Item]:
    return [read("hum", "Hum at the load, inputs shorted, controls down", Quantity.VOLT_AC, hint="At most as found."),
            read("hum-up", "The same, controls up", Quantity.VOLT_AC, hint="At most as found."),
            read("ripple", "Ripple at the reservoir, idle", Quantity.VOLT_AC, area="HT supply")]


def _soak(amp: Amp) -> list[Item]:
    return [Item("soak", "Soak run with readings at 0, 15 and 60 minutes and at its end", Sort.BIAS, guards=True, area="bias"),
            Item("cold starts", "Cold starts", Sort.TRIALS)]


def _again(amp: Amp) -> list[Item]:
    return [Item("bias", "Bias after the soak run", Sort.BIAS, guards=True, area="bias"), *_power(amp)[:2], _noise(amp)[0]]


def _play(amp: Amp) -> list[Item]:
    return [Item("taps", "Taps on cabinet, valves and sockets", Sort.TRIALS),
            look("rattle", "Played in its own speaker: no rattle, no microphony", area="cabinet")]


def _test(amp: Amp) -> list[Item]:
    return [Item("test", "The safety test has passed and still stands", Sort.TEST, guards=True, area="mains")]


ONE_HAND = "Lethal voltages are open now. One hand, insulated clips, a second person within call."

STEPS: tuple[Step, ...] = (
    Step(0, "visual", "Visual inspection and count", "Nothing left over, nothing loose, the right fuse.", False, _visual),
    Step(1, "discharge", "Discharge proof", "Every supply capacitor below the shop’s limit.", False, _discharge),
    Step(2, "cold", "Cold resistance", "Unplugged: earth, HT, grids and windings.", False, _cold),
    Step(3, "insulation", "Insulation", "The plug is in the tester, never in the wall.", False, _insulation,
         "The tester puts its test voltage on the amp: nobody touches it. What conducts at 500 V is tested at 250 V."),
    Step(4, "lamp", "On the lamp, no valves", "Limited mains: a fault lights the lamp, not the amp.", True, _lamp, ONE_HAND),
    Step(5, "full", "Full mains, no output valves", "HT unloaded, ripple, mains current, bias at each grid contact.", True, _full,
         ONE_HAND),
    Step(6, "small", "Small valves", "Anodes against what is expected.", True, _small, ONE_HAND),
    Step(7, "output", "Output valves and bias", "Bias most negative first. Watch the current for three minutes.", True, _output,
         ONE_HAND + " A glowing anode: off at once."),
    Step(8, "stability", "Stability", "Scope on the load.", True, _stability, ONE_HAND),
    Step(9, "path", "Signal path", "Every input, control and jack.", True, _path, ONE_HAND),
    Step(10, "power", "Power into the measured load", "The onset of clipping at 1 kHz; 80 Hz and 5 kHz beside it.", True, _power,
         ONE_HAND),
    Step(11, "noise", "Hum and ripple", "Inputs shorted.", True, _noise, ONE_HAND),
    Step(12, "soak", "Soak", "Hours at work, measured again on the way.", True, _soak),
    Step(13, "again", "Bias, power and hum again", "As left, after the soak run.", True, _again, ONE_HAND),
    Step(14, "play", "Play and tap test", "In its own cabinet and speaker.", True, _play),
    Step(15, "test", "Safety test", "With the lead that goes home.", False, _test),
)
