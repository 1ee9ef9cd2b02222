"""The words of a valve's data sheet as frozen values: ratings, heater, pins by function, points, model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from typing import Literal

from app.electrics.errors import ElectricsError
from app.electrics.sourced import Status

Kind = Literal["triode", "pentode", "rectifier"]
System = Literal["design-centre", "design-maximum", "absolute maximum", "not stated", "typed here"]
Base = Literal["octal", "noval", "miniature 7-pin", "novar", "magnoval", "small 5-pin"]


@dataclass(frozen=True)
class Source:
    """Where a figure comes from. mark: S seen in it, M from memory of it, C computed, T typed here from it."""

    mark: Status
    text: str


@dataclass(frozen=True)
class Heater:
    """One way to connect the heater: volts, amperes and the pins it is fed at (joined pins as "4+5")."""

    volt: float
    ampere: float
    pins: str
    source: Source


@dataclass(frozen=True)
class Ratings:
    """Limits of one valve (of one section of a twin triode), SI units; None where the sheet names none.

    system matters: a design-maximum figure lies about 10 % above the design-centre one for the same valve, so
    limits of different systems are not to be compared bare. seen names the fields marked S; the others carry
    M.
    """

    system: System
    anode_v: float | None
    anode_w: float | None
    source: Source
    screen_v: float | None = None
    screen_w: float | None = None
    cathode_a: float | None = None
    seen: tuple[str, ...] = ()

    def mark_of(self, name: str) -> Status:
        """The mark of one rating: S when it was seen in the source, else the mark of the row."""
        return "S" if name in self.seen else self.source.mark


@dataclass(frozen=True)
class Rectifier:
    """A rectifier's own limits and its 3/2-power law, I = perveance * V ** 1.5 for each plate (A, V).

    None where no figure is known here: without a perveance a supply with this valve cannot be solved.
    """

    perveance: float | None
    piv_v: float | None
    mean_a: float
    peak_a: float
    drop_v: float | None
    drop_at_a: float | None
    source: Source
    first_capacitor_f: float | None = None
    supply_ohm: tuple[tuple[float, float], ...] = ()  # (V rms per anode, least ohm per anode)
    supply_a: tuple[tuple[float, float], ...] = ()  # (V rms per anode, most mean A); mean_a where it names none
    hot_switch_a: float | None = None  # peak per plate when a hot valve charges an empty reservoir
    seen: tuple[str, ...] = ()  # the limits marked S; the others carry M, whatever the mark of the perveance
    typed: bool = False  # by a person, for a valve that is not in the table: every limit carries the mark of the source

    def mark_of(self, name: str) -> Status:
        """The mark of one limit: S when it was seen in a source, else M."""
        if self.typed:
            return self.source.mark
        return "S" if name in self.seen else "M"


@dataclass(frozen=True)
class Point:
    """A typical operating point as published, per valve, volts to the cathode.

    Where the sheet gives a supply and a cathode resistor, the volts across the resistor are taken off.
    driven_* are the means of one valve at full signal; load_ohm is anode to anode and power_w the pair's for
    a pair.
    """

    use: str
    anode_v: float
    anode_a: float
    source: Source
    _: KW_ONLY
    grid_v: float
    screen_v: float | None = None
    screen_a: float | None = None
    cathode_ohm: float | None = None
    load_ohm: float | None = None
    power_w: float | None = None
    driven_anode_a: float | None = None
    driven_screen_a: float | None = None
    mu: float | None = None
    gm_s: float | None = None
    rp_ohm: float | None = None


@dataclass(frozen=True)
class TriodeModel:
    """Koren's triode with a contact potential vct in series with the grid; see koren.triode_anode."""

    mu: float
    ex: float
    kg1: float
    kp: float
    kvb: float
    vct: float = 0.0


@dataclass(frozen=True)
class PentodeModel:
    """Koren's pentode with a plateau slope and a softened screen term; see koren.pentode_anode.

    slope = ks = 0 is the plain form. The screen terms are the sheet's ratio, not Koren's; see
    koren.pentode_screen.
    """

    mu: float
    ex: float
    kg1: float
    kp: float
    kvb: float
    slope: float = 0.0
    ks: float = 0.0
    screen_base: float = 0.0
    screen_drive: float = 0.0
    screen_knee: float = 0.0


_CURVES = "a valve whose curves are known here: of this one only the limits are"


@dataclass(frozen=True)
class Valve:
    """One valve type. sections: 2 for a twin triode (figures are for one). pins: function to base pins, empty where
    they are not known here.

    model is None where no point of the sheet is sure enough to fit one: then the limits are all there is. small: a
    pentode for small signals, which is no output valve.
    """

    name: str
    also: tuple[str, ...]
    kind: Kind
    base: Base
    heaters: tuple[Heater, ...]
    pins: Mapping[str, tuple[int, ...]] = field(hash=False)
    pin_source: Source
    ratings: Ratings | None = None
    points: tuple[Point, ...] = ()
    model: TriodeModel | PentodeModel | None = None
    model_source: Source | None = None
    rectifier: Rectifier | None = None
    sections: int = 1
    remark: str = ""
    small: bool = False

    def triode(self) -> TriodeModel:
        """The triode model; ElectricsError when this is another kind of valve, or one with limits only."""
        if not isinstance(self.model, TriodeModel):
            raise ElectricsError("valve", self.name, _CURVES if self.kind == "triode" else "a triode")
        return self.model

    def pentode(self) -> PentodeModel:
        """The model of a pentode or beam tetrode; ElectricsError when this is another kind of valve, or has limits only."""
        if not isinstance(self.model, PentodeModel):
            raise ElectricsError("valve", self.name, _CURVES if self.kind == "pentode" else "an output pentode or beam tetrode")
        return self.model

    def limits(self) -> Ratings:
        """The ratings; ElectricsError for a rectifier, whose limits are in rectifier."""
        if self.ratings is None:
            raise ElectricsError("valve", self.name, "an amplifying valve")
        return self.ratings

    def anode_limit_w(self) -> float:
        """Maximum anode dissipation in watts, of one section; ElectricsError when the sheet names none."""
        watt = self.limits().anode_w
        if watt is None:
            raise ElectricsError("valve", self.name, "a valve with a rated anode dissipation")
        return watt
