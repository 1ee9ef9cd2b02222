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
RISES = 0.05  # a current that is still going up: common practice, no source
WATCH_MINUTES = 3
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
                       entry.ratings.system, (*_notes(entry, given), *notes))


def _one(entry: Valve, given: Round, one: One) -> ValveFound:
    idle = idle_point(valve=entry, anode_v=given.anode_v, cathode_a=one.cathode_a, screen_a=one.screen_a,
                      cathode_v=given.cathode_v, screen_v=given.screen_v)
    watt = idle.anode_dissipation_w
    high = watt * heat_factor(entry, HIGH_MAINS)
    limits = idle_limits(valve=entry, nominal_w=watt, mains_w=high, hottest_w=high, spread=0.0)
    limit = next(one for one in limits if one.decides)
    spread = _relative(given, one)
    unsure = None if spread is None else abs(limit.found) * spread
    verdict, why = _judge(limit.found, limit.allowed, unsure, idle)
    return ValveFound(one.mark, idle, limit.found, unsure, limit.allowed, verdict, why, _ends(entry, given, idle))


def _relative(given: Round, one: One) -> float | None:
    """The relative expanded uncertainty of a dissipation: of current and volts, as squares (JCGM 100, 5.1.6)."""
    if one.cathode_u is None or given.anode_u is None or one.cathode_a <= 0:
        return None
    screen = one.screen_u or 0.0
    anode_a = max(one.cathode_a - (one.screen_a or 0.0), 1e-9)
    current = math.hypot(one.cathode_u, screen) / anode_a
    return math.hypot(current, given.anode_u / max(given.anode_v - given.cathode_v, 1e-9))


def _judge(watt: float, limit_w: float, unsure: float | None, idle: Idle) -> tuple[Verdict, str]:
    """Go below 90 % of the limit, off above it, and between them the bias is made more negative and read again."""
    if idle.screen_share_of_max > 1.0:
        return Verdict.FAIL, f"the screen is at {idle.screen_share_of_max:.0%} of its limit. Switch off."
    if idle.share_of_max < CUT_OFF:
        return Verdict.FAIL, f"next to no current, {idle.share_of_max:.1%} of the limit: cut off, or no contact."
    over = judged(Inputs(watt, Relation.IS, None, limit_w, unsure)).verdict
    if over is Verdict.NOT_JUDGED:
        return over, "the instruments state no accuracy for it."
    share = watt / limit_w
    if over is Verdict.FAIL:
        return Verdict.FAIL, f"{share:.0%} of its limit. Switch off."
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
    if entry.limits().mark_of("anode_w") == "M":
        found.append(f"The {entry.anode_limit_w():g} W of a {entry.name} are from memory: compare its data sheet.")
    return tuple(found)


@dataclass(frozen=True)
class Drift:
    """What moved between two rounds, as a share of the first, the valve it is worst for, and the verdict."""

    mark: str
    share: float
    verdict: Verdict


def drift(first: Sequence[One], later: Sequence[One], most: float, *, upwards: bool = False) -> Drift:
    """The valve whose cathode current moved most, against `most` (a share); `upwards`: only a rise counts."""
    worst = Drift("", 0.0, Verdict.PASS)
    before = {one.mark: one for one in first}
    for one in later:
        was = before.get(one.mark)
        if was is None or was.cathode_a <= 0:
            continue
        share = (one.cathode_a - was.cathode_a) / was.cathode_a
        size = share if upwards else abs(share)
        known = one.cathode_u is not None and was.cathode_u is not None
        unsure = math.hypot(one.cathode_u or 0.0, was.cathode_u or 0.0) / was.cathode_a if known else None
        verdict = judged(Inputs(size, Relation.IS, None, most, unsure)).verdict
        if _RANK[verdict] > _RANK[worst.verdict] or (verdict is worst.verdict and size > worst.share):
            worst = Drift(one.mark, size, verdict)
    return worst


_RANK = {Verdict.PASS: 0, Verdict.NOT_JUDGED: 1, Verdict.UNDECIDED: 2, Verdict.FAIL: 3}
