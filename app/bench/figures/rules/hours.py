"""Hours quoted against hours spent, by kind of work. Pure."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Done:
    """One finished piece of work: its kind, its three quoted hours (None: it was not quoted) and what it took."""

    kind: str
    low: float | None
    likely: float | None
    high: float | None
    took: float


@dataclass(frozen=True)
class HoursRow:
    """A kind: pieces with a quote, hours quoted and spent on them, how many ended within their range, hours spent on the rest."""

    kind: str
    quoted_n: int
    quoted: float
    spent: float
    inside: int
    other_n: int
    other: float

    @property
    def ratio(self) -> float | None:
        """Spent over quoted."""
        return self.spent / self.quoted if self.quoted else None


def by_kind(done: Iterable[Done]) -> list[HoursRow]:
    """Each kind, the most hours first."""
    kinds: dict[str, list[Done]] = defaultdict(list)
    for one in done:
        kinds[one.kind].append(one)
    rows = [_row(kind, pieces) for kind, pieces in kinds.items()]
    return sorted(rows, key=lambda row: (-(row.spent + row.other), row.kind.casefold()))


def total(rows: list[HoursRow]) -> HoursRow:
    """What they come to."""
    return HoursRow("All", sum(row.quoted_n for row in rows), math.fsum(row.quoted for row in rows),
                    math.fsum(row.spent for row in rows), sum(row.inside for row in rows), sum(row.other_n for row in rows),
                    math.fsum(row.other for row in rows))


def _row(kind: str, pieces: list[Done]) -> HoursRow:
    quoted = [one for one in pieces if one.likely is not None]
    other = [one for one in pieces if one.likely is None]
    return HoursRow(kind, len(quoted), math.fsum(one.likely or 0.0 for one in quoted), math.fsum(one.took for one in quoted),
                    sum((one.low or 0.0) <= one.took <= (one.high or 0.0) for one in quoted), len(other),
                    math.fsum(one.took for one in other))
