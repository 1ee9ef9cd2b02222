"""A transformer winding, its rectifier and the reservoir capacitor with a load across it.

Sources:
[1] O. H. Schade, "Analysis of rectifier operation", Proc. IRE 31 (1943), the classic statement of the
    problem.
[2] Large-reservoir limit by charge balance: tan(phi) - phi = pi*Rs/(n*RL), Edc/Epeak = cos(phi), n = 2 for
    full wave and 1 for half wave.  Used only as the start of the solution, never as its answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from app.electrics.arrays import Array, np
from app.electrics.errors import ElectricsError, not_negative, one_of, positive, within
from app.electrics.extremes import finite_result
from app.electrics.supply.rectifiers import law
from app.electrics.supply.steady import Network, NeverSettles, NoSteadyState, Source, Wave, periodic
from app.electrics.valves import Valve

_EMPTY = 1e-12
RECTIFIERS = ("full_wave_ct", "bridge", "half_wave")


@dataclass(frozen=True)
class Load:
    """What hangs on the reservoir: a conductance (S) and a constant current (A) side by side."""

    siemens: float
    ampere: float

    def current(self, volt: float) -> float:
        """Current drawn at `volt`."""
        return self.siemens * volt + self.ampere


@dataclass(frozen=True)
class Supply:
    """A capacitor-input supply in its steady state.

    mean_v, ripple_vpp, ripple_hz: the reservoir's volts.  no_load_v: the volts it rises to with nothing drawn
    (the winding's peak), which every capacitor on it must stand.  peak_diode_a, rms_diode_a: one diode, or
    one valve plate.  diode_piv_v: reverse volts each rectifier must stand, at no load, the worst case.
    mean_load_a: what is drawn altogether.  winding_rms_a: rms current of one winding leg.  The last
    fields describe the circuit for `filter_chain` and the waveform for a drawing.
    """

    mean_v: float
    ripple_vpp: float
    ripple_hz: float
    no_load_v: float
    peak_diode_a: float
    rms_diode_a: float
    diode_piv_v: float
    mean_load_a: float = 0.0
    winding_rms_a: float = 0.0
    pulses_per_leg: int = field(default=1, repr=False)
    source: Source | None = field(default=None, compare=False, repr=False)
    reservoir_farad: float = field(default=0.0, repr=False)
    load: Load | None = field(default=None, repr=False)
    wave: Wave | None = field(default=None, compare=False, repr=False)

    @property
    def ripple_vrms(self) -> float:
        """What a true-rms meter shows of the ripple with the mean taken off."""
        return 0.0 if self.wave is None else self.wave.alternating(self.wave.state[:, 0])


def winding(*, secondary_vrms: float, rectifier: str, source_ohm: float, mains_hz: float, drop: str | Valve | None) -> Source:
    """Check the winding's arguments and describe it."""
    one_of("rectifier", rectifier, RECTIFIERS)
    return Source(
        peak_v=math.sqrt(2.0) * within("secondary_vrms", secondary_vrms, 1.0, 10_000.0),
        ohm=within("source_ohm", source_ohm, 0.01, 1e6),
        mains_hz=within("mains_hz", mains_hz, 10.0, 1000.0),
        pulses=1 if rectifier == "half_wave" else 2,
        law=law(drop, 2 if rectifier == "bridge" else 1),
    )


def _load(load_ohm: float | None, load_a: float | None) -> Load:
    """The load from its two arguments; both together are a resistance beside a constant current."""
    if load_ohm is None and load_a is None:
        raise ElectricsError("load_ohm", None, "given, or load_a given instead (load_a=0 for no load)")
    siemens = 0.0 if load_ohm is None else 1.0 / positive("load_ohm", load_ohm)
    if math.isinf(siemens):
        raise ElectricsError("load_ohm", load_ohm, "more: its conductance is beyond any number")
    return Load(siemens, 0.0 if load_a is None else not_negative("load_a", load_a))


def conduction_angles(ratio: Array) -> Array:
    """Half the conduction angle phi (rad) of [2]: tan(phi) - phi = `ratio`, above zero."""
    phi = np.minimum(np.cbrt(3.0 * ratio), np.arctan(ratio + np.pi / 2.0))
    for _ in range(8):
        tangent = np.tan(phi)
        phi = phi - (tangent - phi - ratio) / np.maximum(tangent * tangent, 1e-30)
        phi = np.clip(phi, 1e-9, np.pi / 2.0 - 1e-9)
    return phi


def _start(source: Source, load: Load) -> tuple[float, float]:
    """A reservoir voltage below the answer and the pulse's half width (s), from the large-reservoir limit."""
    volt = 0.8 * source.peak_v
    phi = 0.0
    for _ in range(3):
        ratio = math.pi * source.ohm * load.current(volt) / (volt * source.pulses)
        phi = float(conduction_angles(np.array(ratio))) if ratio > 0.0 else 0.0
        volt = source.peak_v * max(math.cos(phi), 0.05)
    knee = math.sqrt(source.law.width_v() / source.peak_v)
    phi = max(phi, 4.0 * knee, 2e-4)
    return volt * math.cos(phi), phi / (2.0 * math.pi * source.mains_hz)


def reservoir_network(reservoir_farad: float, load: Load) -> Network:
    """The reservoir alone with its load."""
    matrix = np.array([[-load.siemens / reservoir_farad]])
    return Network(matrix, np.array([-load.ampere / reservoir_farad]), reservoir_farad)


def too_much(source: Source, reservoir_farad: float, asked: tuple[str, float]) -> ElectricsError:
    """That the argument and value of `asked` load the winding more than it can bear."""
    name, value = asked
    return ElectricsError(
        name,
        value,
        f"{'more' if name == 'load_ohm' else 'less'}: this winding through {source.ohm:g} ohm into "
        f"{reservoir_farad:g} F cannot give it, the reservoir would run empty in every cycle",
    )


def never_settles(reservoir_farad: float) -> ElectricsError:
    """That a reservoir is so large for its load that a mains cycle does not change it by what a float can tell."""
    return ElectricsError("reservoir_farad", reservoir_farad, "smaller: with this load a mains cycle would not change it")


def solve_reservoir(source: Source, reservoir_farad: float, load: Load, asked: tuple[str, float]) -> Wave:
    """The reservoir's steady period; refuses a load that would empty it in every cycle, by the words of `asked`."""
    if load.siemens == 0.0 and load.ampere == 0.0 and source.law.width_v() == 0.0:
        times: Array = np.linspace(0.0, source.period_s, 101)
        return Wave(times, np.full((101, 1), source.peak_v), np.zeros(101))
    start_v, half_width_s = _start(source, load)
    net = reservoir_network(reservoir_farad, load)
    try:
        wave = periodic(source, net, start_v=start_v, half_width_s=half_width_s)
    except NeverSettles:
        raise never_settles(reservoir_farad) from None
    except NoSteadyState:
        raise too_much(source, reservoir_farad, asked) from None
    # Rounding decides on which side of nought an empty reservoir ends: what is left must be more than that.
    if float(np.min(wave.state[:, 0])) < _EMPTY * source.peak_v:
        raise too_much(source, reservoir_farad, asked)
    return wave


@finite_result
def capacitor_input(
    *,
    secondary_vrms: float,
    rectifier: str,
    source_ohm: float,
    reservoir_farad: float,
    mains_hz: float,
    load_ohm: float | None = None,
    load_a: float | None = None,
    drop: str | Valve | None = None,
) -> Supply:
    """Solve a capacitor-input supply for its periodic steady state [1].

    secondary_vrms: open-circuit volts rms, 1 to 10,000: per leg for "full_wave_ct", whole for "bridge" and
    "half_wave".  source_ohm: winding plus reflected primary plus any resistor in series, per leg, 0.01 ohm to
    1 Mohm.  reservoir_farad: 1 pF to 1000 F.  mains_hz: 10 to 1000.  load_ohm (above zero) or load_a (a constant
    current, zero for no load) is everything drawn from the reservoir, what goes on through a filter included;
    given both, they are side by side.  drop: None for silicon (two in series at each moment in a bridge), a
    valve rectifier's name, or "ideal".

    Raises ElectricsError for a bad argument, and where a load is more than the winding can give.
    Caution: the reservoir holds its charge after switch-off, and rises to no_load_v with the valves out.
    """
    source = winding(
        secondary_vrms=secondary_vrms,
        rectifier=rectifier,
        source_ohm=source_ohm,
        mains_hz=mains_hz,
        drop=drop,
    )
    farad = within("reservoir_farad", reservoir_farad, 1e-12, 1000.0)
    load = _load(load_ohm, load_a)
    asked = ("load_a", load.ampere) if load_a or load_ohm is None else ("load_ohm", float(load_ohm))
    wave = solve_reservoir(source, farad, load, asked)
    blank = Supply(
        mean_v=0.0,
        ripple_vpp=0.0,
        ripple_hz=mains_hz * source.pulses,
        no_load_v=source.peak_v,
        peak_diode_a=0.0,
        rms_diode_a=0.0,
        diode_piv_v=source.peak_v * (1.0 if rectifier == "bridge" else 2.0),
        pulses_per_leg=2 if rectifier == "bridge" else 1,
        source=source,
        reservoir_farad=farad,
        load=load,
    )
    return with_wave(blank, load, wave)


def with_wave(supply: Supply, load: Load, wave: Wave) -> Supply:
    """The supply with another load and the steady period that belongs to it."""
    volts = wave.state[:, 0]
    mean_v = wave.mean(volts)
    # Two diodes, or two pairs of them, take turns in a full-wave circuit: each carries every other pulse.
    pulses = 1.0 if supply.source is None else supply.source.pulses
    diode_rms = math.sqrt(wave.mean(wave.current_a**2) / pulses)
    return replace(
        supply,
        mean_v=mean_v,
        ripple_vpp=float(np.ptp(volts)),
        peak_diode_a=max(float(np.max(wave.current_a)), 0.0),
        rms_diode_a=diode_rms,
        mean_load_a=load.current(mean_v),
        winding_rms_a=diode_rms * math.sqrt(supply.pulses_per_leg),
        load=load,
        wave=wave,
    )
