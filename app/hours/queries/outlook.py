"""The hours of an order against what was agreed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

import sqlalchemy as sa

from app import clock
from app.db import session
from app.estimating.at_completion import Completion
from app.estimating.still_to_come import Rest
from app.hours.models import HoursCall, OrderOutlook
from app.hours.queries.tasks import calls_of
from app.hours.queries.work import Piece, pieces, span_of
from app.hours.rules import outlook, timing
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
    if not order.is_open:
        bar, beside = bar.ended, beside.ended if beside is not None else None
    return OrderHours(tuple(every), tuple(counted), bar, tuple(rests), ends, beside, answered)


def ceiling_hours(order: RepairOrder) -> float | None:
    """What the sum in force buys in hours of work, beside its parts; None while nobody agreed to anything."""
    entry, shop = authority.governing(order.id), the_shop()
    if entry is None:
        return None
    answer = queries.authorisation(order)
    if answer is None:
        return outlook.hours_within(Agreed(entry.ceiling_minor, shop.tax_rule.on_top_bp, rate_minor=shop.hourly_rate_minor))
    quote = answer.quote
    return outlook.hours_within(Agreed(
        entry.ceiling_minor, quote.tax_rule.on_top_bp, 0 if quote.diagnosis_credited else quote.diagnosis_minor,
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
    return outlook.hours_within(Agreed(entry.ceiling_minor, shop.tax_rule.on_top_bp, rate_minor=shop.hourly_rate_minor))


def worked(order: RepairOrder) -> Bar | None:
    """Hours that have ended on what was agreed, against the agreed sum, as a paper tells them: nothing that is only expected."""
    answered = queries.authorisation(order) is not None
    counted = [one for one in pieces(order) if not (answered and one.key.role.before_the_quote)]
    ended = [span_of(entry) for one in counted for entry in one.entries if entry.stopped_at is not None]
    if not ended:
        return None
    gone, holds = round(timing.spent(ended, ended[0].start), 4), ceiling_hours(order)
    return Bar(gone, None, gone, gone, None if holds is None else round(holds, 4), outlook.level(gone, holds, limits(), left=False))


def call_needed(order: RepairOrder, hours: OrderHours) -> bool:
    """Whether the thresholds ask for a call that nobody has made since: about this sum, and this threshold or a higher one."""
    return hours.bar.level.asks and not settled(calls_of(order), hours.bar, authority.ceiling(order.id) or 0)


def settled(calls: Sequence[HoursCall], bar: Bar, ceiling_minor: int) -> bool:
    """Whether somebody was reached about this sum when the hours stood at this threshold or beyond."""
    shop = limits()
    least = {Level.WARN: shop.warn_percent, Level.HOLD: shop.hold_percent, Level.PASSED: 101}.get(bar.level, 0)
    return any(one.how is not Called.NOT_REACHED and one.ceiling_minor == ceiling_minor and one.percent >= least for one in calls)


@dataclass(frozen=True)
class Row:
    """What is kept of an order's hours: the bar as it stands now, and the days on which it is likely to be finished."""

    bar: Bar
    finish_p50: date | None
    finish_p80: date | None
    late_share: float | None
    waits_without_day: str
    simulated_at: datetime | None

    @property
    def late_percent(self) -> int | None:
        """How likely the promised day is passed; None where none was promised or no day can be told."""
        return None if self.late_share is None else round(self.late_share * 100)

    @property
    def late_words(self) -> str:
        """The same in words: some hundred simulated queues cannot say "never", nor "always"."""
        if self.late_percent is None:
            return ""
        return {0: "under 1 %", 100: "over 99 %"}.get(self.late_percent, f"{self.late_percent} %")


def row_of(order_id: int) -> Row | None:
    """The row of one order."""
    found = session().execute(sa.select(OrderOutlook.__table__).where(OrderOutlook.order_id == order_id)).mappings().first()
    return as_row(found, clock.now()) if found is not None else None


def as_row(kept: Mapping[Any, Any], now: datetime, prefix: str = "") -> Row:
    """A stored row, brought to this moment: timers have run on since."""
    def of(name: str) -> Any:
        return kept[prefix + name]

    since = [datetime.fromisoformat(one) for one in of("running_since")]
    gone = of("spent_hours") + timing.spent([Span(one) for one in since], now)
    ran_on = gone - of("spent_hours") - timing.spent([Span(one, max(of("as_of"), one)) for one in since], now)
    to_come = max(of("to_come_hours") - max(ran_on, 0.0), 0.0)
    p80 = max(of("p80_hours"), gone)
    how = outlook.level(gone, of("ceiling_hours"), limits(), left=of("to_come_hours") > 0 or bool(since), p80=p80)
    bar = Bar(gone, to_come, max(of("p50_hours"), gone), p80, of("ceiling_hours"), how)
    return Row(bar, of("finish_p50"), of("finish_p80"), of("late_share"), of("waits_without_day"), of("simulated_at"))
