"""Power into a measured load, with the uncertainty of both readings. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from app.electrics.decision import product_uncertainty
from app.measuring.rules import Inputs, Judged, Relation, judged, say

AT_1K = "power"
LEAST_SHARE = 0.80  # of what is expected: common practice, no source


@dataclass(frozen=True)
class Power:
    """Watts, their expanded uncertainty (k = 2; None where an instrument states none), the least wanted, and the verdict."""

    watt: float
    unsure: float | None
    least_w: float | None
    judged: Judged

    @property
    def words(self) -> str:
        """'34.2 W ±1.1 W'."""
        band = f" ±{say(self.unsure, 'W', 2)}" if self.unsure is not None else ""
        return say(self.watt, "W", 3) + band


def beside_1k(here: Power, at_1k: Power | None) -> str:
    """Power at another frequency in words: what it is, and how it stands to 1 kHz. It says of neither that it is enough."""
    if at_1k is None:
        return f"{here.words}; 1 kHz is not measured"
    decibel = 10.0 * math.log10(here.watt / at_1k.watt)
    return f"{here.words}: {decibel:+.1f} dB against {at_1k.words} at 1 kHz".replace("-", "−")


def power(volt: float, volt_u: float | None, ohm: float, ohm_u: float | None, expected_w: float | None) -> Power:
    """P = V²/R and u(P)/P = √((2 u(V)/V)² + (u(R)/R)²) (JCGM 100, 5.1.6); at least 80 % of what is expected. volt, ohm above 0."""
    if volt <= 0 or ohm <= 0:
        raise ValueError("volts and ohms above zero")
    watt, unsure = volt * volt / ohm, None
    if volt_u is not None and ohm_u is not None:
        # The same volts twice are not independent: their relative uncertainty counts twofold, not by the root of two.
        _, unsure = product_uncertainty(((volt * volt, 2.0 * volt_u * volt), (1.0 / ohm, ohm_u / ohm / ohm)))
    least = None if expected_w is None else LEAST_SHARE * expected_w
    return Power(watt, unsure, least, judged(Inputs(watt, Relation.IS, least, None, unsure)))
