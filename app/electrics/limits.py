"""One rating beside what was computed for it, and how near the two are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from app.electrics.errors import finite, positive

Verdict = Literal["within", "near", "above"]
NEAR = 0.9
_ROUNDING = 1e-12


@dataclass(frozen=True)
class Limit:
    """A rating and the value held against it, both in `unit`.

    verdict: "within", "near" (beyond 90 % of what is allowed) or "above" (beyond what is allowed; the limit
    itself is allowed). at_least: the rating is a least value, and "above" means that the value is too small.
    source: where the rating comes from; unconfirmed: from memory, so that "within" must not stand alone. note: what
    else a person has to know about this one. decides: this is the rating of its group that is nearest to its limit,
    or furthest past it.
    """

    name: str
    found: float
    allowed: float
    unit: str
    verdict: Verdict
    source: str
    note: str = ""
    at_least: bool = False
    decides: bool = False
    unconfirmed: bool = False

    @property
    def share(self) -> float:
        """The value as a share of what is allowed; for a least value the other way round. Above 1: beyond it."""
        return self.allowed / self.found if self.at_least else self.found / self.allowed


def limit(
    name: str,
    found: float,
    allowed: float,
    unit: str,
    *,
    source: str,
    note: str = "",
    at_least: bool = False,
    unconfirmed: bool = False,
) -> Limit:
    """Hold `found` against `allowed` (above zero; found too where it has to be a least value)."""
    value = positive(name, found) if at_least else finite(name, found)
    rating = positive(name, allowed)
    share = rating / value if at_least else value / rating
    verdict: Verdict = "above" if share > 1.0 + _ROUNDING else "near" if share > NEAR + _ROUNDING else "within"
    return Limit(name, value, rating, unit, verdict, source, note, at_least, unconfirmed=unconfirmed)
