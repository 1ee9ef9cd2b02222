"""The letter to whoever has not come for the amp."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from app.documents.papers.shared import Goods, goods
from app.handover import queries as handover
from app.handover.rules import Recipient, Sent, Waiting, earliest
from app.kernel.facts import since
from app.orders.models import RepairOrder
from app.shop.queries import the_shop

VERSION = 2


@dataclass(frozen=True)
class Notice:
    """One notice with the rule under which it was sent. What the law wants said in it is said beside it, by the rule's set.

    `over` is the first day on which the notice period has passed; None while a further notice is due first.
    """

    number: int
    goods: Goods
    currency: str
    jurisdiction: str
    notice: int
    addressed_to: str
    address: str
    sent_on: date
    how: Sent
    proof: str
    due_minor: int
    due_for: str
    ready_since: date
    hours: str
    over: date | None
    rule: str
    rule_words: str
    rule_source: str
    rule_checked: date
    given_on: date = field(metadata=since(2))
    recipient: Recipient | None = field(metadata=since(2))
    rule_read: str = field(metadata=since(2))
    rule_address: str = field(metadata=since(2))
    unconfirmed: bool = field(metadata=since(2))  # nobody read the rule in the text that it comes from
    version: int = VERSION


def facts(order: RepairOrder, about: int = 0) -> Notice | None:
    """One notice of this order; None if there is no such notice."""
    found = handover.find_notice(about)
    if found is None or found.order_id != order.id:
        return None
    sent = [one.given for one in handover.standing_notices(order.id) if one.number <= found.number]
    # A letter names the day by its own date: that another person's notice is still to go is no matter of this one.
    over = earliest(sent, Waiting(found.wait_notices, found.wait_days)) if found.number >= found.wait_notices else None
    shop = the_shop()
    return Notice(
        number=order.number, goods=goods(order.amp), currency=shop.currency, jurisdiction=shop.jurisdiction,
        notice=found.number, addressed_to=found.addressed_to, address=found.address, sent_on=found.sent_on, how=found.how,
        proof=found.proof, due_minor=found.due_minor, due_for=found.due_for, ready_since=found.ready_since, hours=found.hours,
        over=over, rule=found.rule, rule_words=found.rule_words, rule_source=found.rule_source,
        rule_checked=found.rule_checked, given_on=found.given_on, recipient=found.recipient, rule_read=found.rule_read,
        rule_address=found.rule_address, unconfirmed=found.unconfirmed)
