"""The quote as it was issued, with the answer to it where there is one."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from app.documents.papers.shared import FINDING_PIN, Goods, Picture, goods, picture
from app.kernel.facts import since
from app.kernel.taxes import Tax, TaxRule, one_tax
from app.orders.models import Channel, RepairOrder
from app.photos import pins
from app.quote import queries as quotes
from app.quote.models import Authorisation, DeclinedWork, IssuedLine, Quote
from app.quote.rules.costs import in_all
from app.quote.rules.lines import say_range
from app.quote.rules.words import HowAcknowledged, LineGroup, OldParts, PartCondition, WorkKind, asked

VERSION = 2  # 2: what was declined before; a second tax, and how prices hold tax


@dataclass(frozen=True)
class Line:
    """One line of the revision: hours, sums before tax in minor units, and the answer to it (None: not asked, no answer)."""

    group: LineGroup
    what: str
    finding: str
    risk: str  # its letter
    hours: tuple[float, float, float]  # low, likely, high
    labour_minor: int
    parts: str
    parts_minor: int
    condition: PartCondition | None
    kind: WorkKind
    consequence: str
    warranty_days: int
    agreed: bool | None
    picture: Picture | None
    declined_before: bool = field(default=False, metadata=since(2))  # named on this revision, not in its sums

    @property
    def in_doubt(self) -> bool:
        return self.hours[2] > self.hours[0]

    @property
    def counted(self) -> bool:
        """Whether it is in the sums."""
        return asked(self.group) and not self.declined_before


@dataclass(frozen=True)
class Answer:
    """What the customer said to this revision; sums in minor units, tax included."""

    by_name: str
    channel: Channel
    reached_at: str
    agreed_at: datetime
    taken_by: str
    net_minor: int
    tax_minor: int
    total_minor: int
    added_minor: int
    conditions: str


@dataclass(frozen=True)
class Declined:
    """A declined line of safety, acknowledged in writing."""

    what: str
    hazard: str
    advice: str
    made_safe: str
    name: str
    how: HowAcknowledged
    witness: str
    at: datetime


@dataclass(frozen=True)
class Estimate:
    """One revision of the quote; sums in minor units of `currency`."""

    number: int
    goods: Goods
    approver: str
    revision: int
    replaces: int | None
    issued_at: datetime
    valid_until: date
    currency: str
    lines: tuple[Line, ...]
    net_minor: int
    tax_name: str
    tax_rate_bp: int
    tax_minor: int
    total_minor: int
    maximum_minor: int
    diagnosis_minor: int
    diagnosis_credited: bool
    hours_expected: tuple[float, float, float]  # within which half, 80 % and 90 % lie by the lines' own ranges
    days_to_complete: int
    could_change: str
    assumptions: str
    old_parts: OldParts
    decline_fee_minor: int
    declining_means: str
    answer: Answer | None
    acknowledged: tuple[Declined, ...]
    second_tax_minor: int = field(default=0, metadata=since(2))
    tax_rule: TaxRule | None = field(default=None, metadata=since(2))  # None: one tax on top of the prices
    version: int = VERSION

    @property
    def labour_minor(self) -> int:
        return sum(line.labour_minor for line in self.lines if line.counted)

    @property
    def parts_minor(self) -> int:
        return sum(line.parts_minor for line in self.lines if line.counted)

    @property
    def taxes(self) -> list[tuple[Tax, int]]:
        """Each tax with its sum."""
        taxes = (self.tax_rule or one_tax(self.tax_name, self.tax_rate_bp)).taxes
        return list(zip(taxes, (self.tax_minor - self.second_tax_minor, self.second_tax_minor), strict=False))

    @property
    def how_rounded(self) -> str:
        return (self.tax_rule or one_tax(self.tax_name, self.tax_rate_bp)).how_rounded

    @property
    def in_all_minor(self) -> int:
        return in_all(self.total_minor, self.diagnosis_minor, credited=self.diagnosis_credited)

    @property
    def diagnosis_added_minor(self) -> int:
        """What the diagnosis adds to the total of the items."""
        return self.in_all_minor - self.total_minor

    @property
    def range_words(self) -> str:
        return say_range(*self.hours_expected)

    @property
    def groups(self) -> list[tuple[LineGroup, list[Line]]]:
        """The lines by group, empty groups left out."""
        found = [(group, [line for line in self.lines if line.group is group]) for group in LineGroup]
        return [(group, lines) for group, lines in found if lines]


def facts(order: RepairOrder, _about: int = 0) -> Estimate | None:
    """The newest revision; None before one is issued."""
    quote = quotes.current(order)
    if quote is None:
        return None
    answer = quotes.authorisation(order)
    if answer is not None and answer.quote_id != quote.id:
        answer = None
    here = {line.id for line in quote.lines}
    return Estimate(
        number=order.number, goods=goods(order.amp), approver=order.authority.name, revision=quote.number,
        replaces=quote.replaces.number if quote.replaces else None, issued_at=quote.issued_at, valid_until=quote.valid_until,
        currency=quote.currency, lines=_lines(order, quote, answer), net_minor=quote.net_minor, tax_name=quote.tax_name,
        tax_rate_bp=quote.tax_rate_bp, tax_minor=quote.tax_minor, total_minor=quote.total_minor,
        maximum_minor=quote.maximum_minor, diagnosis_minor=quote.diagnosis_minor,
        diagnosis_credited=quote.diagnosis_credited, hours_expected=(quote.hours_p50, quote.hours_p80, quote.hours_p90),
        days_to_complete=quote.days_to_complete, could_change=quote.could_change, assumptions=quote.assumptions,
        old_parts=quote.old_parts, decline_fee_minor=quote.decline_fee_minor, declining_means=quote.declining_means,
        answer=_answer(answer) if answer else None,
        acknowledged=tuple(_declined(one) for one in quotes.acknowledgements(order.id) if one.issued_line_id in here),
        second_tax_minor=quote.second_tax_minor, tax_rule=quote.tax_rule)


def _lines(order: RepairOrder, quote: Quote, answer: Authorisation | None) -> tuple[Line, ...]:
    photos = pins.photos_by_record(order.id, FINDING_PIN)
    told = {decision.line.id: decision.agreed for decision in answer.decisions} if answer else {}
    return tuple(_line(one, told.get(one.id), picture(photos[one.finding_id][0])
                       if one.finding_id is not None and photos.get(one.finding_id) else None) for one in quote.lines)


def _line(line: IssuedLine, agreed: bool | None, shown: Picture | None) -> Line:
    return Line(line.group, line.what, line.finding_words, line.risk, (line.hours_low, line.hours_likely, line.hours_high),
                line.labour_minor, line.parts, line.parts_minor, line.condition, line.kind, line.consequence,
                line.warranty_days, agreed, shown, line.declined_before)


def _answer(one: Authorisation) -> Answer:
    return Answer(one.by_name, one.channel, one.reached_at, one.agreed_at, one.taken_by, one.net_minor, one.tax_minor,
                  one.total_minor, one.added_minor, one.conditions)


def _declined(one: DeclinedWork) -> Declined:
    return Declined(one.line.what, one.hazard, one.advice, one.made_safe, one.signer_name, one.how, one.witness, one.at)
