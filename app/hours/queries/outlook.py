"""The hours of an order against what was agreed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from app.estimating.at_completion import Completion
from app.estimating.still_to_come import Rest
from app.hours.models import HoursCall
from app.hours.queries.tasks import calls_of
from app.hours.queries.work import Piece, pieces, span_of
from app.hours.rules import outlook
from app.hours.rules.outlook import Agreed, Bar, Level, Limits
from app.hours.rules.timing import Span
from app.hours.rules.words import Called
from app.orders import authority
from app.orders.models import AuthorityFor, RepairOrder
from app.quote import costs, queries
from app.shop.queries import the_shop


@dataclass(frozen=True)
class OrderHours:
    """The pieces of work of an order that its bar counts, the bar, and that of diagnosis once the quote is answered."""

    pieces: tuple[Piece, ...]
    counted: tuple[Piece, ...]
    bar: Bar
    rests: tuple[Rest, ...]
    ends: Completion
    diagnosis: Bar | None
    answered: bool

    @property
    def spans(self) -> list[Span]:
        """Attended times that the bar counts."""
        return [span_of(entry) for piece in self.counted for entry in piece.entries]


def limits() -> Limits:
    """The shop's thresholds."""
    shop = the_shop()
    return Limits(shop.warn_at_percent, shop.hold_at_percent)


def order_hours(order: RepairOrder, now: datetime) -> OrderHours:
    """Before the quote is answered the hours of diagnosis and strip-down against their sum, then those of the repair."""
    every, answered = pieces(order), queries.authorisation(order) is not None
    first = [one for one in every if one.key.role.before_the_quote]
    counted = [one for one in every if not one.key.role.before_the_quote] if answered else every
    bar, rests, ends = outlook.bar([one.work(now) for one in counted], ceiling_hours(order), limits())
    beside = outlook.bar([one.work(now) for one in first], diagnosis_hours(order), limits())[0] if answered else None
    if beside is not None and not beside.spent:
        beside = None
    return OrderHours(tuple(every), tuple(counted), bar, tuple(rests), ends, beside, answered)


def ceiling_hours(order: RepairOrder) -> float | None:
    """What the sum in force buys in hours of work, beside its parts; None while nobody agreed to anything."""
    entry, shop = authority.governing(order.id), the_shop()
    if entry is None:
        return None
    answer = queries.authorisation(order)
    if answer is None:
        return outlook.hours_within(Agreed(entry.ceiling_minor, shop.tax_rate_bp, rate_minor=shop.hourly_rate_minor))
    quote = answer.quote
    return outlook.hours_within(Agreed(
        entry.ceiling_minor, quote.tax_rate_bp, 0 if quote.diagnosis_credited else quote.diagnosis_minor,
        costs.parts_beside_labour(order), rate_of(order)))


def rate_of(order: RepairOrder) -> int:
    """The agreed rate an hour: what the agreed labour comes to over its hours, else the shop's rate."""
    agreed = queries.agreed_lines(order)
    hours = sum(line.hours_likely for line in agreed)
    return round(sum(line.labour_minor for line in agreed) / hours) if hours else the_shop().hourly_rate_minor


def diagnosis_hours(order: RepairOrder) -> float | None:
    """What was agreed for diagnosis, in hours at the shop's rate."""
    entry, shop = authority.newest(order.id, AuthorityFor.DIAGNOSIS), the_shop()
    if entry is None:
        return None
    return outlook.hours_within(Agreed(entry.ceiling_minor, shop.tax_rate_bp, rate_minor=shop.hourly_rate_minor))


def call_needed(order: RepairOrder, hours: OrderHours) -> bool:
    """Whether the thresholds ask for a call that nobody has made since: about this sum, and this threshold or a higher one."""
    return hours.bar.level.asks and not settled(calls_of(order), hours.bar, authority.ceiling(order.id) or 0)


def settled(calls: Sequence[HoursCall], bar: Bar, ceiling_minor: int) -> bool:
    """Whether somebody was reached about this sum when the hours stood at this threshold or beyond."""
    shop = limits()
    least = {Level.WARN: shop.warn_percent, Level.HOLD: shop.hold_percent, Level.PASSED: 101}.get(bar.level, 0)
    return any(one.how is not Called.NOT_REACHED and one.ceiling_minor == ceiling_minor and one.percent >= least for one in calls)
