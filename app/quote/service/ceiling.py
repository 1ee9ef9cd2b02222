"""A cost limit that is raised by itself: no item changes, the customer lets the same work cost more."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.errors import BadInput, RuleBroken
from app.journal.service import Actor
from app.kernel.money import show
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, CostAuthority, RepairOrder
from app.orders.service import must_be_open
from app.orders.warranty import Pays, who_pays
from app.quote import costs, queries
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Raised:
    """What somebody agreed to: the new limit for the whole order (tax included), what for, how, when, where reached, conditions.

    With the person who may approve cost and the one who writes it down these are the facts that a consent by word of mouth must
    show (after 16 CCR 2722, United States, California).
    """

    ceiling_minor: int
    what_for: str
    channel: Channel
    agreed_at: datetime
    reached_at: str = ""
    conditions: str = ""


def raise_ceiling(order: RepairOrder, agreed: Raised, *, by: Actor, now: datetime) -> CostAuthority:
    """Enter the higher limit in the order's ledger of authority; the one before stays readable."""
    must_be_open(order)
    stands = authority.ceiling(order.id)
    if stands is None:
        raise RuleBroken("Nobody has agreed to a sum yet. Record what is agreed at intake, or the answer to the quote.")
    if who_pays(order) is not Pays.CUSTOMER:
        raise BadInput(who_pays(order).why_nothing_is_charged, "ceiling_minor")
    if agreed.ceiling_minor <= stands:
        raise BadInput(f"{_sum(stands)} is agreed already. Enter the higher limit for the whole order.", "ceiling_minor")
    if agreed.ceiling_minor < (least := costs.committed(order)):
        raise BadInput(f"{_sum(least)} is committed already. Enter that or more.", "ceiling_minor")
    if agreed.channel is Channel.SIGNATURE:
        raise BadInput("A signature is given under the quote: record it with the answer there.", "channel")
    covers = AuthorityFor.VARIATION if queries.authorisation(order) is not None else AuthorityFor.DIAGNOSIS
    consent = Consent(covers, agreed.what_for, agreed.ceiling_minor, agreed.channel, agreed.agreed_at, agreed.reached_at,
                      agreed.conditions)
    return authority.grant(order, consent, by=by, now=now)


def _sum(minor: int) -> str:
    return show(minor, the_shop().currency)
