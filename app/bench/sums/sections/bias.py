"""The negative bias supply and what its pot can do to the output valves."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from app.bench.sums.kinds import Answer, Cited, Figure, Given, Sum, VerdictKind, choice, percent, quantity, tell
from app.bench.sums.other_valve import asked, limit_fields, offered
from app.bench.sums.pictures.drawing import Picture
from app.bench.sums.pictures.scales import Flag, bias_scale, spread
from app.bench.sums.sections.idling import MAINS, SPREAD, SPREAD_CITED, USUAL_CITED, remarks
from app.bench.sums.sections.stage import DRAWS, model_of
from app.electrics import (
    BiasRange,
    IdleRange,
    Valve,
    bias_network,
    bias_volts,
    fixed_bias_range,
    idle_grid,
    idle_limits,
    simulate,
    usual_share,
)
from app.electrics.limits import Limit

MATTER = "Bias"
OUTPUTS = offered("pentode")
_LAYOUTS = (("divider", "pot on top, divider"), ("pot_to_ground", "pot at the earth end"))
_FILM = 0.01


def _bias(given: Given) -> Answer:
    layout, tolerance, ranging = given.word("layout"), given.number("tolerance"), given.number("range_tolerance")
    parts = {name: given.number(name) for name in ("tap_vrms", "series_ohm", "reservoir_farad", "range_ohm", "pot_ohm", "load_ohm")}
    parts["mains_hz"] = float(given.word("mains_hz"))
    floor = given.maybe("floor_ohm") or 0.0

    def solved(range_tolerance: float, mains: float) -> BiasRange:
        return bias_network(**parts, layout=layout, tolerance=tolerance, range_tolerance=range_tolerance,
                            mains_tolerance=mains, floor_ohm=floor)

    found, film = (solved(one, given.number("mains_tolerance")) for one in (ranging, _FILM))
    entry, anode_v, screen_v = asked(given, "pentode", curves=False), given.number("anode_v"), given.number("screen_v")
    flags, hot, usual, cold = [], None, None, None
    limits: tuple[Limit, ...] = ()
    if entry.model is not None:
        hot = idle_grid(valve=entry, anode_v=anode_v, screen_v=screen_v, share=1.0)
        usual = idle_grid(valve=entry, anode_v=anode_v, screen_v=screen_v, share=float(usual_share(entry)))
        cold, at_usual = _idles(given, solved(ranging, 0.0), entry, usual)
        limits = _limits(given, entry, cold, at_usual)
    if hot is not None:
        flags.append(Flag(hot, f"{entry.name} at its limit", "fail"))
    if usual is not None:
        flags.append(Flag(usual, "usual idle", "other"))
    pictures: list[Picture] = [bias_scale(found, flags)]
    if tolerance > 0.0 or ranging > 0.0:
        wander = dict.fromkeys(("series_ohm", "pot_ohm", "load_ohm"), tolerance) | {"range_ohm": ranging}
        drawn = simulate(bias_volts, nominal={**parts, "layout": layout, "floor_ohm": floor}, tolerances=wander,
                         samples=DRAWS)["value"]
        pictures.append(spread("Half travel, parts drawn at random", drawn, "V", "the grids"))
    return Answer(
        f"The pot sets {tell(found.hottest_v, 'V')} to {tell(found.coldest_v, 'V')}; over tolerance its hot end can be "
        f"{tell(found.hottest_worst_v, 'V')}, and a lifted wiper leaves {tell(found.wiper_open_v, 'V')}.",
        (*_figures(found, film, hot, usual), *_cold(cold)),
        verdict=_verdict(found, hot, limits, usual, entry), notes=(*_notes(found, film, ranging, hot, entry), *remarks(entry)),
        limits=limits, pictures=tuple(pictures), sources=model_of(entry))


def _cold(cold: IdleRange | None) -> tuple[Figure, ...]:
    """The anode at the pot's cold end, where the valve's curves are known."""
    if cold is None:
        return ()
    return (Figure("cold_worst_w", "Anode, pot at its cold end, at worst", cold.hottest.anode_dissipation_w, "W"),)


def _idles(given: Given, parts_worst: BiasRange, entry: Valve, usual: float | None) -> tuple[IdleRange, IdleRange | None]:
    """The valve at the pot's cold end with the parts at their worst, and set to the usual idle; mains on bias and HT alike."""
    ranged = partial(fixed_bias_range, valve=entry, anode_v=given.number("anode_v"), screen_v=given.number("screen_v"),
                     spread=given.number("spread"), mains=given.number("mains_tolerance"))
    cold = ranged(grid_v=max(parts_worst.coldest_least_v, -300.0))
    return cold, None if usual is None else ranged(grid_v=usual)


def _limits(given: Given, entry: Valve, cold: IdleRange, usual: IdleRange | None) -> tuple[Limit, ...]:
    spread, mains = given.number("spread"), given.number("mains_tolerance")
    worst = idle_limits(
        valve=entry, nominal_w=cold.nominal.anode_dissipation_w, mains_w=cold.mains.anode_dissipation_w,
        hottest_w=cold.hottest.anode_dissipation_w, anode_v=given.number("anode_v"), spread=spread, mains=mains)
    told = [replace(worst[2], name="coldest setting, at worst", decides=False), worst[3]]
    if usual is not None:
        at = idle_limits(valve=entry, nominal_w=usual.nominal.anode_dissipation_w, mains_w=usual.mains.anode_dissipation_w,
                         hottest_w=usual.mains.anode_dissipation_w, spread=0.0, mains=mains)
        told.append(replace(at[1], name="set to the usual idle, then the highest mains", decides=False))
    return tuple(told)


def _figures(found: BiasRange, film: BiasRange, hot: float | None, usual: float | None) -> tuple[Figure, ...]:
    figures = [
        Figure("hottest_v", "Hot end", found.hottest_v, "V"), Figure("coldest_v", "Cold end", found.coldest_v, "V"),
        Figure("hottest_worst_v", "Hot end at worst", found.hottest_worst_v, "V"),
        Figure("coldest_worst_v", "Cold end at worst", found.coldest_worst_v, "V"),
        Figure("wiper_open_v", "Wiper lifted", found.wiper_open_v, "V"), Figure("mid_v", "Half travel", found.mid_v, "V"),
        Figure("range_moves_v", "Range part moves it by", abs(found.mid_range_high_v - found.mid_range_low_v), "V"),
        Figure("film_moves_v", "Metal film, 1 %, by", abs(film.mid_range_high_v - film.mid_range_low_v), "V"),
        Figure("reservoir_v", "Most on the reservoir", found.reservoir_v, "V")]
    if usual is not None:
        figures.append(Figure("usual_v", "Usual idle at", usual, "V"))
    if hot is not None:
        figures.append(Figure("limit_v", "Anode limit at", hot, "V"))
    return tuple(figures)


def _verdict(found: BiasRange, hot: float | None, limits: tuple[Limit, ...], usual: float | None,
             entry: Valve) -> tuple[VerdictKind, str]:
    if found.lifted_wiper_hotter:
        return "fail", "a lifted wiper runs hot"
    if any(one.verdict == "above" for one in limits):
        return "fail", "cannot be set cold enough" if limits[0].verdict == "above" else "beyond a limit"
    if usual is not None and found.hottest_v < usual:
        return "doubt", "does not reach the usual idle"
    if hot is not None and found.hottest_worst_v > hot:
        return "doubt", "can be set too hot"
    if any(one.verdict == "near" for one in limits):
        return "doubt", "near a limit"
    if entry.model is None:
        return "doubt", "fails cold, too hot not judged"
    return ("doubt", "fails cold, limits from memory") if any(one.unconfirmed for one in limits) else ("pass", "fails cold")


def _notes(found: BiasRange, film: BiasRange, ranging: float, hot: float | None, entry: Valve) -> tuple[str, ...]:
    moves, less = (abs(one.mid_range_high_v - one.mid_range_low_v) for one in (found, film))
    notes = []
    if entry.model is None:
        notes.append(f"No curves of the {entry.name} are known here, so the grid volts of its limit are not shown: set it by its "
                     f"current.")
    if ranging > _FILM:
        notes.append(f"A range resistor {tell(ranging, '%')} out either way moves a set bias by {tell(moves, 'V')}, metal film "
                     f"of 1 % by "
                     f"{tell(less, 'V')}: that is why a drifting carbon part does not belong there (common practice, no source).")
    if found.lifted_wiper_hotter:
        notes.append("With this layout a worn pot that lets go takes the bias away. A resistor from the wiper to the supply end "
                     "holds it (common practice, no source).")
    if hot is not None and found.hottest_v > hot:
        notes.append(f"Turned to its hot end the pot takes the {entry.name} past its limit: set it to the cold end before the "
                     f"valves go in.")
    return tuple(notes)


BIAS = Sum(
    "bias", MATTER, "Bias network", "Where the pot can put the grids, at worst too, and what a lifted wiper does.",
    (choice("layout", "Layout", _LAYOUTS, "divider"), quantity("tap_vrms", "Bias tap", "V", "50", "Rms, off load."),
     quantity("series_ohm", "Resistor to the rectifier", "ohm", "470", "Winding and charging resistor together."),
     quantity("reservoir_farad", "Bias reservoir", "F", "50u"), quantity("range_ohm", "Range resistor", "ohm", "27k"),
     quantity("pot_ohm", "Pot", "ohm", "25k"), quantity("load_ohm", "Grid leaks, in parallel", "ohm", "110k"),
     quantity("floor_ohm", "Resistor under the pot", "ohm", "", "Only with the pot at the earth end.", optional=True),
     percent("tolerance", "Parts' tolerance", "5"), percent("range_tolerance", "Range resistor's tolerance", "10"),
     MAINS, SPREAD,
     choice("mains_hz", "Mains frequency", (("50", "50 Hz"), ("60", "60 Hz")), "50", chips=True),
     choice("valve", "Output valve", OUTPUTS, "6L6GC"), quantity("anode_v", "Its anode", "V", "450"),
     quantity("screen_v", "Its screen", "V", "400"), *limit_fields("pentode")),
    _bias,
    "The half-wave supply is solved into the network as it hangs on it, at both ends of the pot and with the wiper off the track, "
    "and again for every corner of the tolerances. The limit is the grid voltage at which the valve's model reaches the sheet's "
    "anode watts. The coldest setting is tried with the strongest valve at both ends of the mains, which moves bias and HT "
    "together.",
    (Cited("C", "Checked against ngspice: reservoir and junction within 0.3 %."),
     USUAL_CITED, SPREAD_CITED,
     Cited("C", "Spread: a seeded draw of each part, even over its tolerance.")),
    "A bias supply is proven at every grid pin before an output valve is fitted. Start at the cold end, with the current metered.")

SUMS = (BIAS,)
