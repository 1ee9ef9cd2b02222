"""Nobody comes for it: letters with dates, and what a person then decides. The program disposes of nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app.db import session
from app.errors import BadInput, GateClosed
from app.handover import queries
from app.handover.gate import notices_to_wait_for
from app.handover.models import CollectionNotice, Disposal
from app.handover.notices import Rule, Rules
from app.handover.rules import Fate, Recipient, Sent
from app.handover.service.writing import keep
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import authority
from app.orders import service as orders
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.shop.queries import day, the_shop


@dataclass(frozen=True)
class Letter:
    """One notice: to whom and where, on which day and how, what is due for what, since when the amp has stood ready.

    `given_on`: the day on which it counts as given, None for the day it was sent; time runs from it. `worth_minor`: what a thing
    of the same age and state costs, by what `worth_from` says. `unreachable`: nobody answers, so that it is waited longer.
    """

    addressed_to: str
    address: str
    sent_on: date
    how: Sent
    ready_since: date
    hours: str
    due_minor: int = 0
    due_for: str = ""
    proof: str = ""
    given_on: date | None = None
    recipient: Recipient | None = None
    worth_minor: int | None = None
    worth_from: str = ""
    unreachable: bool = False


def send_notice(order: RepairOrder, letter: Letter, rules: Rules, rule: Rule, *, today: date, by: Actor,
                now: datetime) -> CollectionNotice:
    """Write down a notice that went out, with the rule it was sent under."""
    orders.must_be_open(order)
    for field, value, words in (("addressed_to", letter.addressed_to, "Enter to whom it went."),
                                ("address", letter.address, "Enter the address or number it went to."),
                                ("hours", letter.hours, "Enter where and when the amp can be collected.")):
        if not value.strip():
            raise BadInput(words, field)
    if letter.sent_on > today:
        raise BadInput("That day has not come yet. Enter the day it was sent.", "sent_on")
    ready = queries.ready_on(order)
    if ready is None:
        raise GateClosed("There is nothing to collect yet.", tuple(notices_to_wait_for(order, today)))
    if letter.ready_since < ready:
        raise BadInput(f"The amp can be collected since {day(ready)}, not before: enter a day from then on.", "ready_since")
    if letter.ready_since > letter.sent_on:
        raise BadInput("The amp must have stood ready before the notice was sent.", "ready_since")
    if letter.due_minor and not letter.due_for.strip():
        raise BadInput("Enter what the sum is for, line by line.", "due_for")
    if letter.due_minor < 0:
        raise BadInput("Enter what is due, 0 for nothing.", "due_minor")
    _given_and_worth(letter)
    if rules.no_lien_above_estimate and letter.due_minor > (authority.ceiling(order.id) or 0):
        raise BadInput("That is more than was agreed. Here there is no lien at all where the charges exceed the estimate or its "
                       "documented revision: enter what was agreed.", "due_minor")
    if letter.how in (Sent.RECORDED, Sent.EMAIL, Sent.HAND) and not letter.proof.strip():
        raise BadInput("Enter the proof of sending: the number, the message, who took it.", "proof")
    if rule.in_writing and letter.how is Sent.PHONE:
        raise BadInput("The rule asks for notice in writing, and a call is none. Choose how it was sent.", "how")
    number = len(queries.notices(order.id)) + 1
    notice = CollectionNotice(
        order_id=order.id, number=number, addressed_to=letter.addressed_to.strip(), address=letter.address.strip(),
        sent_on=letter.sent_on, how=letter.how, proof=letter.proof.strip(), due_minor=letter.due_minor,
        due_for=letter.due_for.strip(), ready_since=letter.ready_since, hours=letter.hours.strip(), rule=rules.title,
        rule_words=rule.words, rule_source=rule.source, rule_checked=rules.checked, rule_read=rule.read, rule_address=rule.address,
        given_on=letter.given_on or letter.sent_on, recipient=letter.recipient, worth_minor=letter.worth_minor,
        worth_from=letter.worth_from.strip(), wait_notices=rule.notices, wait_days=_days(rule, letter),
        wait_to=",".join(_recipients(order, rule)), fates=";".join(one.value for one in rule.fates), keep_months=rule.keep_months,
        at=now, by_name=by.name)
    session().add(notice)
    record(Event.NOTICE_SENT, notice, by=by, now=now,
           after={"notice": number, "to": f"{notice.addressed_to}, {notice.address}", "sent on": day(notice.sent_on),
                  "given on": day(notice.given_on), "worth by": notice.worth_from or None,
                  "how": notice.how.value, "proof": notice.proof or None, "under": notice.rule})
    return notice


def _given_and_worth(letter: Letter) -> None:
    if letter.given_on is not None and letter.given_on < letter.sent_on:
        raise BadInput("It cannot have been given before it was sent.", "given_on")
    if letter.worth_minor is not None and letter.worth_minor < 0:
        raise BadInput("Enter what it is worth, 0 or more.", "worth_minor")
    if letter.worth_minor is not None and not letter.worth_from.strip():
        raise BadInput("Enter how that price was found: what like things cost, where and when.", "worth_from")


def _days(rule: Rule, letter: Letter) -> int:
    """How long it is waited: longer where nobody answers, if the rule says so."""
    return rule.unreachable_days if letter.unreachable and rule.unreachable_days is not None else rule.days


def _recipients(order: RepairOrder, rule: Rule) -> list[str]:
    """Who must get a notice under this rule; somebody who is both gets one."""
    same = order.depositor_id == order.owner_id
    return [one.value for one in rule.to if not (same and one is Recipient.OWNER and Recipient.DEPOSITOR in rule.to)]


def strike_notice(notice: CollectionNotice, reason: str, *, by: Actor, now: datetime) -> None:
    """A notice that was written down wrongly, or came back: it stays readable and does not count."""
    orders.must_be_open_still(notice.order_id)
    if not reason.strip():
        raise BadInput("Enter why this notice does not count.", "reason")
    if notice.struck_at is not None:
        raise BadInput("This notice was struck before.")
    notice.struck_at, notice.struck_reason = now, reason.strip()
    record(Event.NOTICE_STRUCK, notice, by=by, now=now, before={"counts": True}, after={"counts": False}, reason=reason.strip())


def dispose(order: RepairOrder, fate: Fate, account: str, law_checked: str, *, kept_until: date, by: Actor,
            now: datetime) -> Disposal:
    """Write down what a person decided, with valuation and money, and against what the shop checked its law.

    That it was sold, given away or recycled is refused before every notice that the rule asks for is sent and its time is over.
    """
    orders.must_be_open(order)
    missing = notices_to_wait_for(order, now.astimezone(the_shop().zone).date()) if fate.is_final else ()
    if missing:
        raise GateClosed(f"“{fate.value.capitalize()}” is not recorded yet.", tuple(missing))
    if not account.strip():
        raise BadInput("Enter what became of it: to whom, how it was valued, the price, what was kept and paid to whom.", "account")
    sent = queries.standing_notices(order.id)
    if sent and fate not in sent[-1].allowed:
        allowed = ", ".join(one.value for one in sent[-1].allowed)
        raise BadInput(f"{sent[-1].rule_words} Under it the amp may be: {allowed}.", "fate")
    if not law_checked.strip():
        raise BadInput("Enter who checked the law, against what, and when.", "law_checked")
    return keep(Disposal, order, {"fate": fate, "account": account.strip(), "law_checked": law_checked.strip(),
                                  "kept_until": kept_until}, Event.UNCOLLECTED_DECIDED, by=by, now=now,
                said={"uncollected": fate.value, "account": account.strip(), "law checked": law_checked.strip(),
                      "record kept until": day(kept_until)})


def end_uncollected(order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """The order ends as uncollected, past the gate of this end."""
    found = queries.disposal(order.id)
    orders.end(order, End.UNCOLLECTED, by=by, now=now, reason=found.fate.value if found else "")
