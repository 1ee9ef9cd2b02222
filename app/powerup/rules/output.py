"""The output valves at rest and at full drive: what was read, what it comes to, and what it should be. Pure.

Amperes, volts, watts. A dissipation is held against the valve's own limit by the rating system that the limit belongs to.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.electrics import ElectricsError
from app.electrics.bias import Idle, idle_grid, idle_point, idle_target
from app.electrics.class_ab import push_pull
from app.electrics.idle_range import heat_factor, idle_limits, usual_share
from app.electrics.valves import Valve, as_valve, pentode_currents
from app.electrics.valves.fit import emitting
from app.measuring.rules import Inputs, Relation, Verdict, judged, say

WHILE_SETTING = 0.90
IMBALANCE = 0.15
CUT_OFF = 0.02
HIGH_MAINS = 1.10
SCREEN_ESTIMATE = 0.5  # how far a screen current that was not read may be from its sheet's share: common practice, no source
PRACTICE = "90 % while setting, 15 % between valves: common practice, no source"


@dataclass(frozen=True)
class One:
    """One valve as read: cathode and screen current and their expanded uncertainties (k = 2); screen None where it was not read."""

    mark: str
    cathode_a: float
    cathode_u: float | None
    screen_a: float | None = None
    screen_u: float | None = None


@dataclass(frozen=True)
class Round:
    """What was read of all of them at one time. Volts to 0 V; `ends` is the grid at the cold and at the hot end of the pot."""

    valve: str
    ones: tuple[One, ...]
    anode_v: float
    anode_u: float | None
    screen_v: float | None = None
    cathode_v: float = 0.0
    grid_v: float | None = None
    ends: tuple[float | None, float | None] = (None, None)
    load_aa_ohm: float | None = None
    cathode_u: float = 0.0


@dataclass(frozen=True)
class End:
    """Where one end of the pot would put one valve."""

    name: str
    grid_v: float
    anode_a: float
    share: float


@dataclass(frozen=True)
class ValveFound:
    """One valve: its idle, the watts that its limit's rating system counts, their uncertainty, and the verdict."""

    mark: str
    idle: Idle
    counted_w: float
    counted_u: float | None
    limit_w: float
    verdict: Verdict
    why: str
    ends: tuple[End, ...] = ()

    @property
    def share(self) -> float:
        return self.counted_w / self.limit_w


@dataclass(frozen=True)
class Target:
    """What these valves should idle at, and what the pair then does into its load; the last four None where no load is known."""

    share: float
    anode_a: float
    grid_v: float | None
    power_w: float | None = None
    class_a_w: float | None = None
    screen_share: float | None = None
    worst_share: float | None = None

    @property
    def class_words(self) -> str:
        """'class AB: class A up to 4 W of 43 W'; empty without a load."""
        if self.power_w is None or self.class_a_w is None:
            return ""
        if self.class_a_w >= self.power_w:
            return f"class A up to clipping at {say(self.power_w, 'W', 2)}"
        return f"class AB: class A up to {say(self.class_a_w, 'W', 2)} of {say(self.power_w, 'W', 2)} at clipping"


@dataclass(frozen=True)
class OutputFound:
    """Every valve, how far they are apart, and the target; `verdict` is the worst of them, `why` says what speaks first."""

    valves: tuple[ValveFound, ...]
    imbalance: float
    imbalance_verdict: Verdict
    target: Target | None
    verdict: Verdict
    why: str
    system: str
    notes: tuple[str, ...]
    from_memory: bool = False

    def said(self, verdict: Verdict, *, apart: bool = False) -> tuple[str, str]:
        """Sign and word of a verdict by the valve's limits, while nothing is recorded; limits from memory are never green.

        `apart`: the verdict is on how far the valves are apart, which no data sheet limits.
        """
        if verdict is Verdict.PASS:
            return ("doubt", "within, limits from memory") if self.from_memory and not apart else ("pass", "within")
        return verdict.sign, "abort" if verdict is Verdict.FAIL else verdict.word


def limits_from_memory(valve: str) -> tuple[str, ...]:
    """Which of the limits that decide were not compared with the valve's sheet, in words; ElectricsError for no valve."""
    entry = as_valve(valve)
    limits = entry.limits()
    return tuple(f"The {watt:g} W of a {entry.name}’s {of} are from memory: compare its data sheet."
                 for name, of, watt in (("anode_w", "anode", entry.anode_limit_w()), ("screen_w", "screen", limits.screen_w))
                 if watt is not None and limits.mark_of(name) == "M")


def assess(given: Round, *, aim: bool = True) -> OutputFound:
    """All of it; without `aim` no target, which takes longest.

    ElectricsError names what cannot be: a valve without limits, a cathode above its anode, a screen current above the cathode's.
    """
    entry = as_valve(given.valve)
    if entry.ratings is None or entry.ratings.anode_w is None:
        raise ElectricsError("valve", given.valve, "an output valve whose greatest dissipation is known here")
    valves = tuple(_one(entry, given, one) for one in given.ones)
    apart, apart_verdict = _imbalance(given.ones)
    whys = [(one.verdict, f"{one.mark}: {one.why}") for one in valves if one.verdict is not Verdict.PASS]
    if apart_verdict is not Verdict.PASS:
        whys.append((apart_verdict, f"The valves differ by {apart:.0%} of their mean; {IMBALANCE:.0%} is the most."))
    worst = next((verdict for verdict in (Verdict.FAIL, Verdict.UNDECIDED, Verdict.NOT_JUDGED)
                  if verdict in {each for each, _ in whys}), Verdict.PASS)
    target, notes = _target(entry, given) if aim else (None, ())
    return OutputFound(valves, apart, apart_verdict, target, worst, next((why for each, why in whys if each is worst), ""),
                       entry.ratings.system, (*_notes(entry, given), *notes), bool(limits_from_memory(given.valve)))


def _one(entry: Valve, given: Round, one: One) -> ValveFound:
    idle = idle_point(valve=entry, anode_v=given.anode_v, cathode_a=one.cathode_a, screen_a=one.screen_a,
                      cathode_v=given.cathode_v, screen_v=given.screen_v)
    watt = idle.anode_dissipation_w
    high = watt * heat_factor(entry, HIGH_MAINS)
    limits = idle_limits(valve=entry, nominal_w=watt, mains_w=high, hottest_w=high, spread=0.0)
    limit = next(one for one in limits if one.decides)
    spread = _relative(given, one, idle)
    unsure = None if spread is None else abs(limit.found) * spread
    verdict, why = _judge(limit.found, limit.allowed, unsure, idle, _screen(entry, given, one, idle))
    return ValveFound(one.mark, idle, limit.found, unsure, limit.allowed, verdict, why, _ends(entry, given, idle))


def _screen_u(one: One, idle: Idle) -> float | None:
    """The expanded uncertainty of the screen current, ampere; of one that was not read, that of the estimate."""
    return SCREEN_ESTIMATE * idle.screen_a if one.screen_a is None else one.screen_u


def _relative(given: Round, one: One, idle: Idle) -> float | None:
    """The relative expanded uncertainty of a dissipation: of currents and volts, as squares (JCGM 100, 5.1.6)."""
    screen_u = _screen_u(one, idle)
    if one.cathode_u is None or given.anode_u is None or one.cathode_a <= 0 or screen_u is None:
        return None
    current = math.hypot(one.cathode_u, screen_u) / max(idle.anode_a, 1e-9)
    return math.hypot(current, math.hypot(given.anode_u, given.cathode_u) / max(given.anode_v - given.cathode_v, 1e-9))


def _screen(entry: Valve, given: Round, one: One, idle: Idle) -> Verdict:
    """The screen's heat against its limit, guarded; PASS where its sheet names none, which a note says."""
    limit_w, screen_u = entry.limits().screen_w, _screen_u(one, idle)
    if not limit_w:
        return Verdict.PASS
    if screen_u is None or given.anode_u is None:
        return Verdict.NOT_JUDGED
    # The screens are read with the meter of the anodes, at about their volts: its share of uncertainty is taken as the same.
    share = math.hypot(screen_u / max(idle.screen_a, 1e-9), given.anode_u / max(given.anode_v, 1e-9))
    watt = idle.screen_dissipation_w
    return judged(Inputs(watt, Relation.IS, None, limit_w, watt * share)).verdict


def _judge(watt: float, limit_w: float, unsure: float | None, idle: Idle, screen: Verdict) -> tuple[Verdict, str]:
    """Go below 90 % of the limit, off above it, and between them the bias is made more negative and read again."""
    if idle.screen_share_of_max > 1.0:
        return Verdict.FAIL, f"the screen is at {idle.screen_share_of_max:.0%} of its limit. Switch off."
    if idle.share_of_max < CUT_OFF:
        return Verdict.FAIL, f"next to no current, {idle.share_of_max:.1%} of the limit: cut off, or no contact."
    over = judged(Inputs(watt, Relation.IS, None, limit_w, unsure)).verdict
    if Verdict.NOT_JUDGED in (over, screen):
        return Verdict.NOT_JUDGED, "the instruments state no accuracy for it."
    share = watt / limit_w
    if over is Verdict.FAIL:
        return Verdict.FAIL, f"{share:.0%} of its limit. Switch off."
    if screen is not Verdict.PASS:
        return Verdict.UNDECIDED, f"the screen is at {idle.screen_share_of_max:.0%} of its limit, too near it. Read its current."
    setting = judged(Inputs(watt, Relation.IS, None, WHILE_SETTING * limit_w, unsure)).verdict
    if over is Verdict.PASS and setting is Verdict.PASS:
        return Verdict.PASS, ""
    return Verdict.UNDECIDED, f"{share:.0%} of its limit, too near it. Set the bias more negative and read again."


def _imbalance(ones: Sequence[One]) -> tuple[float, Verdict]:
    """(greatest less least) over the mean of the cathode currents, and whether it is within 15 %."""
    if len(ones) < 2:
        return 0.0, Verdict.PASS
    currents = [one.cathode_a for one in ones]
    mean = sum(currents) / len(currents)
    if mean <= 0:
        return 0.0, Verdict.FAIL
    ends = (min(ones, key=lambda one: one.cathode_a), max(ones, key=lambda one: one.cathode_a))
    apart = (ends[1].cathode_a - ends[0].cathode_a) / mean
    unsure = None if any(one.cathode_u is None for one in ends) else math.hypot(*(one.cathode_u or 0.0 for one in ends)) / mean
    return apart, judged(Inputs(apart, Relation.IS, None, IMBALANCE, unsure)).verdict


def _ends(entry: Valve, given: Round, idle: Idle) -> tuple[End, ...]:
    """Both ends of the pot for this very valve: its strength is what was read over what its sheet's valve would draw."""
    screen_v = given.screen_v if given.screen_v is not None else given.anode_v
    if given.grid_v is None or entry.model is None or idle.anode_a <= 0:
        return ()
    across, screen = given.anode_v - given.cathode_v, screen_v - given.cathode_v
    sheet = pentode_currents(entry, anode_v=across, screen_v=screen, grid_v=given.grid_v - given.cathode_v)[0]
    if sheet <= 0 or not 0.01 <= idle.anode_a / sheet <= 100.0:
        return ()
    strong = emitting(entry, idle.anode_a / sheet)
    found = []
    for name, grid in zip(("cold end", "hot end"), given.ends, strict=True):
        if grid is not None:
            anode = pentode_currents(strong, anode_v=across, screen_v=screen, grid_v=grid - given.cathode_v)[0]
            found.append(End(name, grid, anode, anode * across / entry.anode_limit_w()))
    return tuple(found)


def _target(entry: Valve, given: Round) -> tuple[Target | None, tuple[str, ...]]:
    across = given.anode_v - given.cathode_v
    screen = (given.screen_v if given.screen_v is not None else given.anode_v) - given.cathode_v
    share = float(usual_share(entry))
    anode_a = idle_target(valve=entry, anode_v=across, share=share)
    if entry.model is None:
        return Target(share, anode_a, None), ("Of this valve no curves are known here: no grid volts, class or power.",)
    grid = idle_grid(valve=entry, anode_v=across, screen_v=screen, share=share)
    if grid is None or grid >= 0 or not given.load_aa_ohm or len(given.ones) % 2:
        return Target(share, anode_a, grid), ()
    load = given.load_aa_ohm * len(given.ones) / 2
    try:
        pair = push_pull(valve=entry, supply_v=across, screen_v=screen, bias_v=grid, load_aa_ohm=load)
    except ElectricsError as wrong:
        return Target(share, anode_a, grid), (f"Class and power cannot be calculated: {wrong}.",)
    pairs, screen_w = len(given.ones) // 2, entry.limits().screen_w
    return Target(share, anode_a, grid, pair.power_w * pairs, pair.class_a_power_w * pairs,
                  pair.screen_dissipation_w / screen_w if screen_w else None, pair.share_of_max), (
        "Power and class at a stiff supply and an ideal transformer: a real amp gives less.",)


def _notes(entry: Valve, given: Round) -> tuple[str, ...]:
    found = []
    if any(one.screen_a is None for one in given.ones):
        found.append("Screen current not read: the share of its sheet at the nearest point is taken off.")
    if given.screen_v is None:
        found.append("Screen voltage not read: taken as the anode’s, the least favourable case.")
    if entry.limits().screen_w is None:
        found.append("Of its screen no limit is known here: only the anode is judged.")
    if entry.limits().system != "design-centre":
        found.append("Counted at 10 % more mains, with HT, screens and bias all taken to rise with it"
                     + ("; a cathode resistor takes a part of that back, so it will be cooler than counted." if given.cathode_v > 0
                        else ". A bias that does not follow the mains makes it hotter than counted."))
    return (*found, *limits_from_memory(given.valve))
