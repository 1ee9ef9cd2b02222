"""A class AB push-pull output stage with fixed bias, driven until the grids just reach the cathode."""

from __future__ import annotations

from dataclasses import dataclass

from app.electrics.arrays import Array, ArrayLike, np
from app.electrics.errors import ElectricsError, positive, within
from app.electrics.extremes import finite_result
from app.electrics.valves import PentodeModel, Valve, ValveLike, as_valve
from app.electrics.valves.koren import pentode_anode, pentode_screen

_HALVINGS = 48
_FINE, _COARSE = 90, 24  # points of a quarter of the sine


@dataclass(frozen=True)
class PushPull:
    """Both valves at full drive, and each of them at rest: W, A, V; per valve unless said.

    mean_supply_a is the anode current of both from the supply, mean_screen_a the screen current of both.
    worst_dissipation_w is the hottest mean of one anode over all drives, rest included, share_of_max its share
    of the rating. class_a_power_w is the sine power at which the peak current reaches twice the idle current,
    Io² Raa/2, where a linear valve would cut off (from memory of the usual text). harmonic_share is the rms of
    all harmonics over the fundamental, drive_v the peak grid signal.
    """

    power_w: float
    peak_anode_a: float
    mean_supply_a: float
    anode_dissipation_w: float
    idle_anode_a: float
    idle_screen_a: float
    idle_dissipation_w: float
    worst_dissipation_w: float
    share_of_max: float
    mean_screen_a: float
    screen_dissipation_w: float
    least_anode_v: float
    load_per_side_ohm: float
    class_a_power_w: float
    harmonic_share: float
    efficiency: float
    drive_v: float
    words: str


@dataclass(frozen=True)
class CompositeLine:
    """The load line that one valve travels over a half cycle, point by point, for a drawing: V and A.

    Slope Raa/2 while both valves conduct, Raa/4 once the other has cut off.
    """

    grid_v: Array
    anode_v: Array
    anode_a: Array
    other_anode_a: Array


@finite_result
def push_pull(
    *, valve: ValveLike, supply_v: float, screen_v: float, bias_v: float, load_aa_ohm: float
) -> PushPull:
    """Power and currents of two valves in class AB1, driven by a sine whose peaks take each grid to 0 V.

    supply_v above 0 to 2000 V and screen_v above 0 to 1000 V, both to the cathode and taken as stiff; bias_v
    from -300 to below 0 V; load_aa_ohm (anode to anode, transformer ideal) above 0. An ideal transformer ties
    the anodes: Va1 = Vb - v, Va2 = Vb + v, v = (Ia1 - Ia2) Raa/4, which is one equation with one solution at
    each instant. Power is the mean of v (Ia1 - Ia2). Beyond class A the line of one valve has the slope Raa/4
    and, for a sine, P = Ipk (Vb - Vmin) / 2 (source: Radio Designer's Handbook, 4th ed., quoted in a public
    thread). A real amplifier gives less: its supply sags (`push_pull_fed`) and its transformer has resistance. ElectricsError
    outside the ranges or for a valve that is no pentode or beam tetrode.
    """
    entry = as_valve(valve)
    model = entry.pentode()
    vb, vs, vg, load = _checked(supply_v, screen_v, bias_v, load_aa_ohm)
    side = load / 4.0
    quarter = _quarter(_FINE)
    wave = vg * (1.0 - quarter), vg * (1.0 + quarter)
    swing, on, off = _solve(model, vb, vs, wave[0], wave[1], side)
    screens = pentode_screen(model, vb - swing, vs, wave[0]) + pentode_screen(model, vb + swing, vs, wave[1])
    peak_swing, peak, _ = _solve(model, vb, vs, np.zeros(1), np.full(1, 2.0 * vg), side)
    power, mean = float(np.mean(swing * swing)) / side, float(np.mean(on + off))
    idle = float(pentode_anode(model, vb, vs, vg))
    watt = (vb * mean - power) / 2.0
    worst = max(watt, idle * vb, _worst_dissipation(model, vb, vs, vg, side))
    screen_mean = float(np.mean(screens))
    return PushPull(
        power, float(peak[0]), mean, watt, idle, float(pentode_screen(model, vb, vs, vg)), idle * vb, worst,
        worst / entry.anode_limit_w(), screen_mean, screen_mean * vs / 2.0, vb - float(peak_swing[0]), side,
        min(power, idle * idle * load / 2.0), _harmonics(swing), power / (vb * mean + vs * screen_mean), -vg,
        _words(entry, worst, screen_mean * vs / 2.0, power),
    )  # fmt: skip


def composite_line(
    *, valve: ValveLike, supply_v: float, screen_v: float, bias_v: float, load_aa_ohm: float, points: int = 61
) -> CompositeLine:
    """The path of one valve from its grid at twice the bias, through rest, to its grid at 0 V, as arrays to
    draw.

    Ranges and errors as push_pull; points 3 to 1001.
    """
    model = as_valve(valve).pentode()
    vb, vs, vg, load = _checked(supply_v, screen_v, bias_v, load_aa_ohm)
    count = int(within("points", points, 3, 1001))
    drive = np.linspace(-1.0, 1.0, count)
    grid, other = vg * (1.0 - drive), vg * (1.0 + drive)
    swing, one, two = _solve(model, vb, vs, grid, other, load / 4.0)
    return CompositeLine(grid, vb - swing, one, two)


def driven_means(model: PentodeModel, vb: float, vs: float, vg: float, side: float) -> tuple[float, float]:
    """Mean anode and mean screen current of the pair at full drive (A), volts to the cathode, side Raa/4; no checks.

    At or above 0 V of bias there is nothing to drive: the pair then draws as at rest.
    """
    quarter = _quarter(_COARSE)
    bias = min(vg, 0.0)
    wave = bias * (1.0 - quarter), bias * (1.0 + quarter)
    swing, on, off = _solve(model, vb, vs, wave[0], wave[1], side)
    screens = pentode_screen(model, vb - swing, vs, wave[0]) + pentode_screen(model, vb + swing, vs, wave[1])
    return float(np.mean(on + off)), float(np.mean(screens))


def _quarter(points: int) -> Array:
    """A quarter of the sine, which says it all: the two halves of the stage mirror each other."""
    return np.asarray(np.sin((np.arange(points) + 0.5) / points * np.pi / 2.0))


def _checked(
    supply_v: float, screen_v: float, bias_v: float, load_aa_ohm: float
) -> tuple[float, float, float, float]:
    vb = within("supply_v", positive("supply_v", supply_v), 0.0, 2000.0)
    vs = within("screen_v", positive("screen_v", screen_v), 0.0, 1000.0)
    vg = within("bias_v", bias_v, -300.0, 0.0)
    if vg == 0.0:
        raise ElectricsError("bias_v", bias_v, "below zero: with no bias there is no room to drive the grids")
    return vb, vs, vg, positive("load_aa_ohm", load_aa_ohm)


def _solve(
    model: PentodeModel, vb: float, vs: float, grid: ArrayLike, other: ArrayLike, side: float
) -> tuple[Array, Array, Array]:
    """(swing, Ia1, Ia2): bisection of v = (Ia(Vb - v) - Ia(Vb + v)) * side, whose right side falls as v
    rises."""
    first, second = np.asarray(grid, dtype=np.float64), np.asarray(other, dtype=np.float64)
    low, high = np.full(first.shape, -vb), np.full(first.shape, vb)
    for _ in range(_HALVINGS):
        v = 0.5 * (low + high)
        net = pentode_anode(model, vb - v, vs, first) - pentode_anode(model, vb + v, vs, second)
        low, high = np.where(net * side > v, v, low), np.where(net * side > v, high, v)
    v = 0.5 * (low + high)
    return v, pentode_anode(model, vb - v, vs, first), pentode_anode(model, vb + v, vs, second)


def _worst_dissipation(model: PentodeModel, vb: float, vs: float, vg: float, side: float) -> float:
    """Hottest mean anode dissipation of one valve over drives from rest to full (W)."""
    drives = np.linspace(0.0, 1.0, 13)[:, None] * _quarter(_COARSE)[None, :]
    swing, one, two = _solve(model, vb, vs, vg * (1.0 - drives), vg * (1.0 + drives), side)
    watts = (vb * np.mean(one + two, axis=1) - np.mean(swing * swing, axis=1) / side) / 2.0
    return float(np.max(watts))


def _harmonics(quarter: Array) -> float:
    """All harmonics over the fundamental, from a quarter of a wave that is odd and mirrored about its
    crest."""
    fundamental = 2.0 * float(np.mean(quarter * _quarter(_FINE)))
    if fundamental <= 0.0:
        return 0.0
    rest = max(float(np.mean(quarter * quarter)) - fundamental**2 / 2.0, 0.0)
    return float(np.sqrt(rest / (fundamental**2 / 2.0)))


def _words(entry: Valve, worst: float, screen_w: float, power: float) -> str:
    limits, watt = entry.limits(), entry.anode_limit_w()
    said = f"{power:.0f} W at full drive" if power >= 1.0 else "next to no power"
    if worst > watt:
        said += f"; one anode reaches {worst:.1f} W, above its {watt:g} W ({limits.system})"
    if limits.screen_w is not None and screen_w > limits.screen_w:
        said += f"; a screen takes {screen_w:.1f} W on a steady tone, above its {limits.screen_w:g} W"
    return said + "."
