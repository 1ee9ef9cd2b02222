"""Income by month and kind. Pure; sums in smallest coins, tax included."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

CREDITED = "credit notes"


@dataclass(frozen=True)
class Booked:
    """One bill or credit note: its day, its kind, what it comes to and what of it is tax; a credit note below 0."""

    on: date
    kind: str
    minor: int
    tax_minor: int


@dataclass(frozen=True)
class Paid:
    """One movement of money: its day and the sum; a refund below 0."""

    on: date
    minor: int


@dataclass(frozen=True)
class IncomeRow:
    """A month: what each kind comes to, in the order of the kinds, all of it, what of it is tax, and what was received."""

    month: date | None  # None: of all months
    kinds: tuple[int, ...]
    billed: int
    tax: int
    received: int


def by_month(kinds: Sequence[str], months: Sequence[date], booked: Iterable[Booked], paid: Iterable[Paid]) -> list[IncomeRow]:
    """A row for each month, those without income too, and one of all. Nothing may be of another month or kind."""
    places = {kind: place for place, kind in enumerate(kinds)}
    sums: dict[date, list[int]] = {month: [0] * len(kinds) for month in months}
    taxes: dict[date, int] = defaultdict(int)
    received: dict[date, int] = defaultdict(int)
    for one in booked:
        sums[one.on.replace(day=1)][places[one.kind]] += one.minor
        taxes[one.on.replace(day=1)] += one.tax_minor
    for entry in paid:
        received[entry.on.replace(day=1)] += entry.minor
    rows = [IncomeRow(month, tuple(sums[month]), sum(sums[month]), taxes[month], received[month]) for month in months]
    every = IncomeRow(None, tuple(sum(row.kinds[place] for row in rows) for place in range(len(kinds))),
                      sum(row.billed for row in rows), sum(row.tax for row in rows), sum(row.received for row in rows))
    return [*rows, every]
