"""What stands in the way of an erasure, in words that say what to do about it. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Standing:
    """What is open with a customer: repair numbers, sums unpaid or owed to them (in words), incidents, records of a disposal."""

    open_orders: tuple[int, ...] = ()
    unpaid: tuple[tuple[int, str], ...] = ()  # repair number, sum
    incidents: tuple[int, ...] = ()
    disposals: tuple[tuple[int, date, str], ...] = ()  # repair number, until when its record must be kept, the same in words
    erased: bool = False
    merged_into: str = ""  # whose other record this is
    held: tuple[tuple[int, str], ...] = ()  # repair number, sum that the shop owes them


def hindrances(standing: Standing, today: date, *, settled: bool) -> Iterator[str]:
    """Each in a sentence or two; nothing if the person can be erased. `settled`: the owner says how unpaid sums were settled."""
    if standing.erased:
        yield "This person is erased already."
    if standing.merged_into:
        yield f"This record was merged into that of {standing.merged_into}. Erase that one: it takes this one with it."
    for number in standing.open_orders:
        yield f"Repair {number} is open. Finish it and return the amp first."
    if not settled:
        for number, sum_ in standing.unpaid:
            yield f"{sum_} of repair {number} is unpaid. If it was settled since, enter below how and when."
    for number, sum_ in standing.held:
        yield f"{sum_} of repair {number} is owed to the customer. Record the refund first."
    for number in standing.incidents:
        yield f"Incident {number} is open. Record first that it was reported, or that no report is due."
    for number, until, words in standing.disposals:
        if until >= today:
            yield f"The record of what became of the amp of repair {number} must be kept with its names until {words}."
