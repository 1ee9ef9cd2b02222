"""Fuse ratings and how long a time-lag fuse lasts."""

from __future__ import annotations

import math
from fractions import Fraction

from app.electrics.errors import ElectricsError, one_of, positive, yes_or_no
from app.electrics.sourced import Sourced

# IEC 60127-1 follows the R10 series; 3.15 and 6.3 are its rounded members. From memory.
PREFERRED_A: tuple[float, ...] = (
    0.032, 0.04, 0.05, 0.063, 0.08, 0.1, 0.125, 0.16, 0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8,
    1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0,
)  # fmt: skip
# Multiple of the rating -> least and most seconds before it melts, 5 x 20 mm T, sheet 3 of IEC 60127-2; from
# memory.
TIME_LAG_GATES: tuple[tuple[float, float, float], ...] = (
    (1.5, 3600.0, math.inf),
    (2.1, 0.0, 120.0),
    (2.75, 0.6, 10.0),
    (4.0, 0.15, 3.0),
    (10.0, 0.02, 0.3),
)
ALLOWANCE = 1.25
# Ratings in the shops of North America (UL 248-14), from memory. Such a fuse is used to 75 % of its rating, an IEC one to all of
# it: the same number is not the same fuse.
PREFERRED_UL_A: tuple[float, ...] = (
    0.1, 0.125, 0.15, 0.2, 0.25, 0.3, 0.375, 0.5, 0.6, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0,
)  # fmt: skip
UL_SHARE = 0.75
REGIONS = ("IEC", "UL")


class FuseChoice(Sourced):
    """A fuse rating in amperes that carries its characteristic (T or F), its region and the running current behind it."""

    characteristic: str
    running_a: float
    region: str

    @property
    def rated_a(self) -> float:
        """The rating (A)."""
        return float(self)

    @property
    def marking(self) -> str:
        """As printed on the fuse: T630mA, F3.15A; in North America 1/2 A slow-blow, 1-1/4 A fast-acting."""
        if self.region == "UL":
            whole, part = divmod(Fraction(float(self)).limit_denominator(20), 1)
            said = "-".join(str(one) for one in (whole, part) if one)
            return f"{said} A {'slow-blow' if self.characteristic == 'T' else 'fast-acting'}"
        amount = f"{self * 1000:g}mA" if self < 1.0 else f"{float(self):g}A"
        return self.characteristic + amount


def preferred_fuse(*, va: float, mains_v: float, inrush: bool = True, region: str = "IEC") -> FuseChoice:
    """A mains fuse of a preferred rating for a transformer of `va` at `mains_v`, both above zero.

    region "IEC" (IEC 60127): the smallest rating of at least 1.25 times the running current va / mains_v; "UL" (UL 248-14, North
    America): that is used to no more than 75 % of its rating. Both common practice, no source. With inrush a time-lag one, else a
    quick one. The ratings of the two mean something else and are not swapped number for number. The rating on the amplifier's
    plate or schematic comes first; this is for checking one. Raises ElectricsError above 10 A, for values not above zero and for
    another region.
    """
    running = positive("va", va) / positive("mains_v", mains_v)
    american = one_of("region", region, REGIONS) == "UL"
    factor = 1.0 / UL_SHARE if american else ALLOWANCE
    slow = yes_or_no("inrush", inrush)
    for rating in PREFERRED_UL_A if american else PREFERRED_A:
        if rating >= running * factor * (1.0 - 1e-12):
            choice = FuseChoice(
                rating,
                unit="A",
                status="M",
                source="UL 248-14 ratings" if american else "IEC 60127-1 preferred ratings",
                note="common practice: running at no more than 75 %, next rating up" if american
                else "common practice: 1.25 x running current, next rating up",
            )
            choice.characteristic, choice.running_a, choice.region = ("T" if slow else "F"), running, region
            return choice
    raise ElectricsError("va", va, f"at most {10.0 / factor * mains_v:g} at {mains_v:g} V, for a 10 A fuse")


def melting_time(multiple: float) -> tuple[float, float]:
    """Least and most seconds a time-lag fuse (IEC 60127-2 sheet 3) bears `multiple` of its rating; from memory.

    multiple: one of the tested 1.5, 2.1, 2.75, 4 and 10; between them the standard says nothing
    (ElectricsError).
    """
    number = positive("multiple", multiple)
    for gate, least, most in TIME_LAG_GATES:
        if math.isclose(number, gate, rel_tol=1e-9):
            return least, most
    raise ElectricsError("multiple", multiple, "one of 1.5, 2.1, 2.75, 4, 10")
