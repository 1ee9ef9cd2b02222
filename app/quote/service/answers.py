"""The customer's answer: who agreed to which lines, how, when, up to what sum."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.db import session
from app.errors import BadInput
from app.findings.queries import find_finding
from app.findings.rules.life import Status
from app.findings.service import outcome as outcome_service
from app.intake.rules import is_signature
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.local_forms import counted
from app.kernel.money import show
from app.kernel.names import why_not_typed
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, RepairOrder
from app.orders.service import must_be_open
from app.quote import queries
from app.quote.models import Authorisation, Decision, IssuedLine, Quote
from app.quote.rules.lines import add_up
from app.quote.rules.words import asked
from app.shop.queries import day, the_shop

A_MINUTE = timedelta(minutes=1)  # moments are typed to the minute


@dataclass(frozen=True)
class Answer:
    """Agreed or declined by id of the issued line, the ceiling for the whole order (tax included), and how it was said.

    With `agreed_at`, the person who may approve cost, `reached_at`, the one who writes it down, `conditions`, the lines and
    the sum, these are the facts that a consent by word of mouth must show (after 16 CCR 2722, United States, California).
    """

    decisions: Mapping[int, bool]
    ceiling_minor: int
    channel: Channel
    agreed_at: datetime
    reached_at: str = ""
    conditions: str = ""
    signature: str = ""
    on_paper: bool = False
    typed: str = ""  # their name as they typed it themselves


def authorise(order: RepairOrder, quote: Quote, answer: Answer, *, by: Actor, now: datetime) -> Authorisation:
    """Keep the answer to the newest revision, and enter its ceiling in the order's ledger of authority."""
    must_be_open(order)
    lines = _answered(order, quote, answer)
    _check_moment(quote, answer)
    typed = _signed(order, answer)
    agreed = [line for line in lines if answer.decisions[line.id]]
    _check_ceiling(quote, agreed, answer)
    before = queries.authorisation(order)
    entry = authority.grant(order, _consent(quote, agreed, lines, answer, again=before is not None), by=by, now=now)
    sums = add_up((line.net_minor for line in agreed), quote.tax_rule)
    signed = answer.channel is Channel.SIGNATURE
    authorisation = Authorisation(
        order_id=order.id, quote_id=quote.id, authority_id=entry.id, by_name=entry.agreed_by, channel=answer.channel,
        reached_at=entry.reached_at, agreed_at=answer.agreed_at, taken_by=by.name, conditions=answer.conditions.strip(),
        signature=answer.signature if signed and not answer.on_paper and not typed else "",
        on_paper=signed and answer.on_paper, typed=typed,
        net_minor=sums.net_minor, tax_minor=sums.tax_minor, total_minor=sums.total_minor,
        added_minor=sums.total_minor - (before.total_minor if before else 0), recorded_at=now)
    authorisation.decisions = [Decision(issued_line_id=line.id, agreed=answer.decisions[line.id]) for line in lines]
    session().add(authorisation)
    record(Event.QUOTE_AUTHORISED, authorisation, by=by, now=now,
           before={"total agreed": show(before.total_minor, quote.currency) if before else None},
           after={"revision": quote.number, "total agreed": show(authorisation.total_minor, quote.currency),
                  "agreed": [line.what for line in agreed], "by": authorisation.by_name,
                  "conditions": authorisation.conditions or None})
    for line in lines:
        if line not in agreed:
            record(Event.LINE_DECLINED, line, by=by, now=now, order_id=order.id,
                   after={"declined": line.what, "price": show(line.net_minor, quote.currency)})
    _reopen_what_is_wanted_after_all(quote, agreed, by=by, now=now)
    return authorisation


def _answered(order: RepairOrder, quote: Quote, answer: Answer) -> list[IssuedLine]:
    newest = queries.current(order)
    if newest is None or newest.id != quote.id:
        raise BadInput("A newer revision was issued. Read that one out, and record the answer to it.")
    if queries.out_of_date(order):
        raise BadInput(f"Items were changed after revision {quote.number}. Issue the next revision first.")
    lines = [line for line in quote.lines if asked(line.group)]
    for line in lines:
        if line.id not in answer.decisions:
            raise BadInput(f"Enter whether this is agreed or declined: {line.what}.", f"line_{line.id}")
    return lines


def _signed(order: RepairOrder, answer: Answer) -> bool:
    """Whether their name was typed in place of a signature; refused where neither is there, on the screen or on paper."""
    if answer.channel is not Channel.SIGNATURE or answer.on_paper or is_signature(answer.signature):
        return False
    if not answer.typed:
        raise BadInput("Have them sign on the screen, type their name, or sign on paper and say so below.", "signature")
    if why := why_not_typed(answer.typed, order.authority.name):
        raise BadInput(why, "typed")
    return True


def _check_moment(quote: Quote, answer: Answer) -> None:
    zone = the_shop().zone
    if answer.agreed_at + A_MINUTE < quote.issued_at:
        raise BadInput(f"Revision {quote.number} was issued later than that. Enter when they agreed to it.", "agreed_at")
    if answer.agreed_at.astimezone(zone).date() > quote.valid_until:
        raise BadInput(f"Revision {quote.number} was valid until {day(quote.valid_until)}. Issue it again.", "agreed_on")


def _check_ceiling(quote: Quote, agreed: list[IssuedLine], answer: Answer) -> None:
    comes_to = queries.agreed_sum(quote, agreed)
    if answer.ceiling_minor < comes_to:
        raise BadInput(f"What is agreed comes to {show(comes_to, quote.currency)} in all. Enter that or more, "
                       "or have them decline a line.", "ceiling_minor")


def _consent(quote: Quote, agreed: list[IssuedLine], lines: list[IssuedLine], answer: Answer, *, again: bool) -> Consent:
    return Consent(AuthorityFor.VARIATION if again else AuthorityFor.QUOTE,
                   f"quote, revision {quote.number}: {len(agreed)} of {counted(len(lines), 'line')}",
                   answer.ceiling_minor, answer.channel, answer.agreed_at, answer.reached_at, answer.conditions)


def _reopen_what_is_wanted_after_all(quote: Quote, agreed: list[IssuedLine], *, by: Actor, now: datetime) -> None:
    """A finding that was declined before and is agreed to now is open again."""
    for finding_id in dict.fromkeys(line.finding_id for line in agreed if line.finding_id):
        finding = find_finding(finding_id)
        if finding is not None and finding.status is Status.DECLINED:
            outcome_service.reopen(finding, reason=f"Agreed to after all, with revision {quote.number} of the quote.", by=by,
                                   now=now)
