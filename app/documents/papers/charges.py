"""What was done for what sum, and how long it is warranted: figures that add up from the lines to what is still open."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from app.handover import queries as handover
from app.kernel.facts import since
from app.kernel.taxes import TaxRule, one_tax
from app.money.rules import Method
from app.orders import authority
from app.orders.models import Channel, RepairOrder
from app.quote import costs
from app.quote import queries as quotes
from app.quote.models import Authorisation, IssuedLine
from app.quote.rules.costs import in_all
from app.quote.rules.lines import add_up
from app.quote.rules.words import PartCondition, WorkKind
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Work:
    """One agreed line, before tax in minor units. `warranty`: its first and last day; None before the amp is out, or without."""

    what: str
    kind: WorkKind
    consequence: str
    warranty_days: int
    warranty: tuple[date, date] | None
    own_parts: bool
    labour_minor: int
    parts_minor: int


@dataclass(frozen=True)
class Consent:
    """One consent by word of mouth: who, when, by which channel, the number called, who took it, on what condition.

    `labour_minor` and `parts_minor`: what it added, before tax; `added_minor` with it; `total_minor` agreed in all from then on.
    """

    by_name: str
    channel: Channel
    reached_at: str
    at: datetime
    taken_by: str
    conditions: str
    labour_minor: int
    parts_minor: int
    added_minor: int
    total_minor: int


@dataclass(frozen=True)
class Agreed:
    """The answer to the quote under which the work was done. Sums in minor units; `total_minor` has the tax in it."""

    by_name: str
    channel: Channel
    at: datetime
    net_minor: int
    tax_minor: int
    total_minor: int
    tax_name: str
    tax_rate_bp: int
    diagnosis_minor: int
    diagnosis_credited: bool
    oral: tuple[Consent, ...] = field(metadata=since(2))
    second_tax_minor: int = field(default=0, metadata=since(4))
    tax_rule: TaxRule | None = field(default=None, metadata=since(4))  # None: one tax on top of the prices

    @property
    def rule(self) -> TaxRule:
        return self.tax_rule or one_tax(self.tax_name, self.tax_rate_bp)

    @property
    def taxes(self) -> list[tuple[str, int]]:
        """Each tax in words, with its sum."""
        sums = (self.tax_minor - self.second_tax_minor, self.second_tax_minor)
        return [(tax.words, minor) for tax, minor in zip(self.rule.taxes, sums, strict=False)]

    @property
    def in_all_minor(self) -> int:
        return in_all(self.total_minor, self.diagnosis_minor, credited=self.diagnosis_credited)

    @property
    def diagnosis_added_minor(self) -> int:
        """What the diagnosis adds to the total of the work."""
        return self.in_all_minor - self.total_minor


@dataclass(frozen=True)
class Settled:
    """What is due and what was paid; minor units, tax included."""

    due_minor: int
    paid_minor: int
    method: Method
    on_account: str
    at: datetime

    @property
    def open_minor(self) -> int:
        return self.due_minor - self.paid_minor


@dataclass(frozen=True)
class Bill:
    """Work, what was agreed, what is due. `committed_minor` counts while nothing is settled."""

    currency: str
    work: tuple[Work, ...]
    agreed: Agreed | None
    ceiling_minor: int | None
    committed_minor: int | None
    settled: Settled | None

    @property
    def labour_minor(self) -> int:
        return sum(line.labour_minor for line in self.work)

    @property
    def parts_minor(self) -> int:
        return sum(line.parts_minor for line in self.work)

    @property
    def beyond_minor(self) -> int:
        """What is due beyond what was agreed to in all; below 0 where it is less."""
        if self.settled is None or self.agreed is None:
            return 0
        return self.settled.due_minor - self.agreed.in_all_minor


def bill(order: RepairOrder, out_on: date | None) -> Bill:
    """The bill as things stand; `out_on` is the day on which the amp is given back, from which warranty counts."""
    answer, settled = quotes.authorisation(order), handover.settlement(order.id)
    return Bill(
        currency=answer.quote.currency if answer else the_shop().currency,
        work=tuple(_work(line, out_on) for line in quotes.agreed_lines(order)), agreed=_agreed(answer, order) if answer else None,
        ceiling_minor=authority.ceiling(order.id), committed_minor=None if settled else costs.committed(order),
        settled=Settled(settled.due_minor, settled.paid_minor, settled.method, settled.on_account, settled.at)
        if settled else None)


def warranty(days: int, out_on: date | None) -> tuple[date, date] | None:
    """First and last day: the day of return is not counted. (Common practice, no source.)"""
    return (out_on, out_on + timedelta(days=days)) if days and out_on is not None else None


def _work(line: IssuedLine, out_on: date | None) -> Work:
    return Work(line.what, line.kind, line.consequence, line.warranty_days, warranty(line.warranty_days, out_on),
                line.condition is PartCondition.CUSTOMERS, line.labour_minor, line.parts_minor)


def _agreed(answer: Authorisation, order: RepairOrder) -> Agreed:
    quote = answer.quote
    return Agreed(answer.by_name, answer.channel, answer.agreed_at, answer.net_minor, answer.tax_minor, answer.total_minor,
                  quote.tax_name, quote.tax_rate_bp, quote.diagnosis_minor, quote.diagnosis_credited, _oral(order),
                  add_up((line.net_minor for line in quotes.agreed_lines(order)), quote.tax_rule).second_minor, quote.tax_rule)


def _oral(order: RepairOrder) -> tuple[Consent, ...]:
    """Every answer to a revision that was given by word of mouth, oldest first."""
    found, labour, parts = [], 0, 0
    for one in sorted(quotes.authorisations(order.id), key=lambda one: one.id):
        agreed = [decision.line for decision in one.decisions if decision.agreed]
        work, things = sum(line.labour_minor for line in agreed), sum(line.parts_minor for line in agreed)
        if one.channel in (Channel.PHONE, Channel.IN_PERSON):
            found.append(Consent(one.by_name, one.channel, one.reached_at, one.agreed_at, one.taken_by, one.conditions,
                                 work - labour, things - parts, one.added_minor, one.total_minor))
        labour, parts = work, things
    return tuple(found)
