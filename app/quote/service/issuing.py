"""Issuing a revision: the lines as they stand are frozen with their sums."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from app.db import session
from app.errors import BadInput
from app.findings.queries import find_finding
from app.intake.queries import sheets as sheets_queries
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.orders.warranty import Pays, who_pays
from app.quote import queries
from app.quote.models import IssuedLine, Quote, QuoteLine
from app.quote.rules.lines import add_up, outlook
from app.quote.rules.words import OldParts, asked
from app.shop.models import Shop
from app.shop.queries import the_shop
from app.shop.tax_columns import taxes_of

COULD_CHANGE = ("More may show once the amp is under power. Nothing beyond the agreed sum is done or ordered before you are asked "
                "again.")
DECLINING = "What is declined stays as it is. Work for safety that is declined must be acknowledged in writing."


@dataclass(frozen=True)
class Terms:
    """What is said with a revision besides its lines. `maximum_minor` None: as computed from the range of the hours.

    `seen` are the ids of the lines that the person issuing it had before them, `after` the number of the revision before.
    """

    days_to_complete: int
    could_change: str
    old_parts: OldParts = OldParts.RETURNED
    maximum_minor: int | None = None
    assumptions: str = ""
    declining_means: str = DECLINING
    seen: frozenset[int] | None = None
    after: int | None = None


def issue(order: RepairOrder, terms: Terms, *, by: Actor, now: datetime) -> Quote:
    """The next revision. It replaces the one before, which stays as it was."""
    must_be_open(order)
    before, lines, declined = queries.current(order), queries.lines(order.id), queries.declined_line_ids(order)
    _check(terms, lines, before)
    quote = _quote(order, terms, lines, before, by=by, now=now)
    session().add(quote)
    session().flush()
    for position, line in enumerate(lines, start=1):
        session().add(_frozen(quote, line, position, declined=line.id in declined))
    session().flush()
    session().expire(quote, ["lines"])
    money = quote.currency
    record(Event.QUOTE_ISSUED, quote, by=by, now=now,
           before={"total": show(before.total_minor, money) if before else None},
           after={"revision": quote.number, "lines": len(lines), "total": show(quote.total_minor, money),
                  "at most": show(quote.maximum_minor, money), "valid until": str(quote.valid_until)})
    return quote


def _check(terms: Terms, lines: Sequence[QuoteLine], before: Quote | None) -> None:
    if not [line for line in lines if asked(line.group)]:
        raise BadInput("There is nothing to answer to yet: add a line first.")
    if terms.after is not None and terms.after != (before.number if before else 0):
        raise BadInput("Another revision was issued while this page was open. Look at that one first.")
    if terms.seen is not None and terms.seen != {line.id for line in lines}:
        raise BadInput("Items were changed while this page was open. Above is how they are now: read them, then issue.")
    if terms.days_to_complete < 0:
        raise BadInput("Enter the days it takes, 0 for the same day.", "days_to_complete")
    if not terms.could_change.strip():
        raise BadInput("Enter what could change the sum.", "could_change")


def _quote(order: RepairOrder, terms: Terms, lines: Sequence[QuoteLine], before: Quote | None, *, by: Actor,
           now: datetime) -> Quote:
    shop = the_shop()
    offered = sheets_queries.agreement(order.id) if who_pays(order) is Pays.CUSTOMER else None
    counted, tax = queries.counted(order, lines), shop.tax_rule
    sums = add_up((line.net_minor for line in counted), tax)
    seen = outlook([line.priced for line in counted], tax)
    maximum = seen.maximum_minor if terms.maximum_minor is None else terms.maximum_minor
    if maximum < sums.total_minor:
        raise BadInput(f"The most it may come to is less than the quote itself. Enter {show(sums.total_minor, shop.currency)} "
                       "or more.", "maximum_minor")
    return Quote(
        order_id=order.id, number=before.number + 1 if before else 1, replaces_id=before.id if before else None,
        issued_at=now, issued_by=by.name, valid_until=_valid_until(shop, now), currency=shop.currency,
        net_minor=sums.net_minor, tax_minor=sums.tax_minor, second_tax_minor=sums.second_minor, **taxes_of(shop),
        total_minor=sums.total_minor, maximum_minor=maximum, diagnosis_minor=offered.fee_minor if offered else 0,
        diagnosis_credited=offered.fee_credited if offered else False, hours_p50=seen.hours.p50, hours_p80=seen.hours.p80,
        hours_p90=seen.hours.p90, range_words=seen.words, days_to_complete=terms.days_to_complete,
        could_change=terms.could_change.strip(), assumptions=terms.assumptions.strip(), old_parts=terms.old_parts,
        decline_fee_minor=shop.decline_fee_minor, declining_means=terms.declining_means.strip())


def _valid_until(shop: Shop, now: datetime) -> date:
    return now.astimezone(shop.zone).date() + timedelta(days=shop.quote_valid_days)


def _frozen(quote: Quote, line: QuoteLine, position: int, *, declined: bool) -> IssuedLine:
    finding = find_finding(line.finding_id) if line.finding_id else None
    words = ""
    if finding is not None:
        place = f", {finding.place}" if finding.place else ""
        words = f"{finding.title}, {finding.area.value}{place}: {finding.observation}"
    return IssuedLine(
        quote_id=quote.id, line_id=line.id, line_root_id=line.line_root_id, position=position, group=line.group, what=line.what,
        finding_id=line.finding_id, finding_words=words, risk=queries.risk_letter(finding), hours_low=line.hours_low,
        hours_likely=line.hours_likely, hours_high=line.hours_high, rate_minor=line.rate_minor, rate_name=line.rate_name,
        labour_minor=line.labour_minor, parts=line.parts, parts_minor=line.parts_minor, condition=line.condition,
        kind=line.kind, consequence=line.consequence, warranty_days=line.warranty_days,
        declined_before=declined)
