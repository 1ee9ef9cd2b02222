"""A class AB pair as it is fed in an amplifier: a resistor before the screens, one under the cathodes, a supply that sags."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from app.electrics.bias import Idle, idle_of
from app.electrics.class_ab import PushPull, driven_means, push_pull
from app.electrics.errors import ElectricsError, not_negative, positive, within
from app.electrics.extremes import finite_result
from app.electrics.valves import ValveLike, as_valve
from app.electrics.valves.koren import pentode_anode, pentode_screen

_TURNS = 400
_NEAR_A = 1e-7


@dataclass(frozen=True)
class FedPair:
    """A pair at rest and at full drive, with what its feeds come to.

    full: the pair at full drive, at the volts it then has. rest: one valve at rest. anode_v, screen_v, bias_v: to the cathode, at
    full drive, bias_v negative. cathode_v: across the cathode resistor at full drive, 0 without one. screen_resistor_w and
    cathode_resistor_w: the heat of each at full drive. hottest_w: the hottest mean of one anode over all drives, rest included.
    """

    full: PushPull
    rest: Idle
    anode_v: float
    screen_v: float
    bias_v: float
    cathode_v: float
    screen_resistor_w: float
    cathode_resistor_w: float
    hottest_w: float


@dataclass(frozen=True)
class _Feeds:
    """What the pair is fed through: volts to earth at rest, ohms common to both valves."""

    supply_v: float
    screen_v: float
    bias_v: float
    cathode_ohm: float
    screen_ohm: float
    supply_ohm: float

    def volts(self, anodes: float, screens: float, rest_a: float) -> tuple[float, float, float]:
        """(anode, screen, grid) to the cathode when the pair draws so much; rest_a: what it draws from the HT at rest."""
        cathode = self.cathode_ohm * (anodes + screens)
        sag = self.supply_ohm * (anodes + screens - rest_a)
        return (self.supply_v - sag - cathode, self.screen_v - sag - self.screen_ohm * screens - cathode, self.bias_v - cathode)


@finite_result
def push_pull_fed(
    *, valve: ValveLike, supply_v: float, screen_v: float, load_aa_ohm: float, bias_v: float | None = None,
    cathode_ohm: float | None = None, screen_ohm: float = 0.0, supply_ohm: float = 0.0,
) -> FedPair:
    """Two valves in class AB1 as `push_pull`, with the volts that their own currents leave them at rest and at full drive.

    supply_v above 0 to 2000 V and screen_v above 0 to 1000 V, to earth and at rest, the screens' before their resistor. Either
    bias_v (fixed, -300 to below 0 V) or cathode_ohm (above 0, shared by both and bypassed). screen_ohm: common to both screens;
    supply_ohm: how much the HT, and the screens' with it, falls for each ampere drawn beyond the rest; both 0 or more. The means
    of a full sine set the volts, as bypassed resistors and reservoirs do. ElectricsError outside the ranges and where the feeds
    leave no volts. Method: `push_pull`, repeated until the volts stay. Against published power: tests/reference.
    """
    entry = as_valve(valve)
    feeds = _feeds(supply_v, screen_v, bias_v, cathode_ohm, screen_ohm, supply_ohm)
    model, side = entry.pentode(), positive("load_aa_ohm", load_aa_ohm) / 4.0

    def at_rest(va: float, vs: float, vg: float) -> tuple[float, float]:
        return 2.0 * float(pentode_anode(model, va, vs, vg)), 2.0 * float(pentode_screen(model, va, vs, vg))

    def driven(va: float, vs: float, vg: float) -> tuple[float, float]:
        return driven_means(model, va, vs, vg, side)

    rest, (rest_anodes, rest_screens) = _settle(replace(feeds, supply_ohm=0.0), at_rest, 0.0)
    rest_a = rest_anodes + rest_screens
    (va, vs, vg), (anodes, screens) = _settle(feeds, driven, rest_a)
    full = push_pull(valve=entry, supply_v=va, screen_v=vs, bias_v=vg, load_aa_ohm=load_aa_ohm)
    idle = idle_of(entry, rest[0], rest[1], rest_anodes / 2.0, rest_screens / 2.0, feeds.cathode_ohm * rest_a)
    cathode_v = feeds.cathode_ohm * (anodes + screens)
    return FedPair(full, idle, va, vs, vg, cathode_v, feeds.screen_ohm * screens**2, cathode_v * (anodes + screens),
                   max(full.worst_dissipation_w, idle.anode_dissipation_w))


def _feeds(
    supply_v: float, screen_v: float, bias_v: float | None, cathode_ohm: float | None, screen_ohm: float, supply_ohm: float
) -> _Feeds:
    vb = within("supply_v", positive("supply_v", supply_v), 0.0, 2000.0)
    vs = within("screen_v", positive("screen_v", screen_v), 0.0, 1000.0)
    ohm, sag = not_negative("screen_ohm", screen_ohm), not_negative("supply_ohm", supply_ohm)
    if (bias_v is None) == (cathode_ohm is None):
        raise ElectricsError("bias_v", bias_v, "given, or cathode_ohm instead: one of the two makes the bias")
    if bias_v is None:
        return _Feeds(vb, vs, 0.0, positive("cathode_ohm", cathode_ohm or 0.0), ohm, sag)
    vg = within("bias_v", bias_v, -300.0, 0.0)
    if vg == 0.0:
        raise ElectricsError("bias_v", bias_v, "below zero: with no bias there is no room to drive the grids")
    return _Feeds(vb, vs, vg, 0.0, ohm, sag)


def _settle(
    feeds: _Feeds, draw: Callable[[float, float, float], tuple[float, float]], rest_a: float
) -> tuple[tuple[float, float, float], tuple[float, float]]:
    """The volts at which the pair draws just what leaves it those volts, and the two mean currents there.

    Each turn goes a part of the way to what the last currents leave, and a smaller part wherever the way turned round.
    """
    anodes, screens, step, before = 0.0, 0.0, 0.5, 0.0
    for _ in range(_TURNS):
        volts = feeds.volts(anodes, screens, rest_a)
        drawn = (0.0, 0.0) if min(volts[:2]) <= 0.0 else draw(*volts)
        miss = drawn[0] + drawn[1] - anodes - screens
        if abs(miss) + abs(drawn[1] - screens) < _NEAR_A:
            break
        if miss * before < 0.0:
            step = max(0.7 * step, 0.02)
        before = miss
        anodes, screens = anodes + step * (drawn[0] - anodes), screens + step * (drawn[1] - screens)
    else:
        raise ElectricsError("screen_ohm", feeds.screen_ohm, "less, or the cathode or HT resistance: no steady drive was found")
    if min(volts[:2]) <= 0.0:
        raise ElectricsError("supply_v", feeds.supply_v, "higher: its feeds leave no volts")
    return volts, drawn
