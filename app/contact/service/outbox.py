"""The outbox. A message is written once; each try is claimed, begun and ended in transactions of their own, so that a kill at any
moment loses none, and sends one twice only where the server's answer was lost, which is said.
"""

from __future__ import annotations

import secrets
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from app.contact import queries
from app.contact.compose import Letter, Paper, composed
from app.contact.facts import KNOWN
from app.contact.models import ContactEntry, MailMessage, MailPaper, MailRecipient, MailServer
from app.contact.rules import CLAIM, LONGEST_SUBJECT, PLACE, How, MailState, address_trouble, megabytes, next_try
from app.contact.service.log import must_be_named
from app.contact.smtp import End, Envelope, Outcome
from app.db import session
from app.documents.models import IssuedDocument
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import PROGRAM, Actor, record
from app.orders.models import RepairOrder
from app.photos.store import the_store
from app.records.models import Customer

LOST = "The server’s answer was lost: the message may have arrived. It is sent again under the same Message-ID."


@dataclass(frozen=True)
class Draft:
    """A message as it was written: to whom, what, and which issued papers go along."""

    to: tuple[str, ...]
    subject: str
    body: str
    papers: tuple[IssuedDocument, ...] = ()


def queue(customer: Customer, order: RepairOrder | None, draft: Draft, *, by: Actor, now: datetime) -> MailMessage:
    """Put a message into the outbox. Nothing is sent yet. BadInput for what no server would take, a message too large among it."""
    server = queries.server()
    if customer.erased_at is not None:
        raise RuleBroken("This customer was erased: no message goes to them.")
    must_be_named(customer, order)
    _check(order, draft)
    message_id = f"{secrets.token_hex(16)}@{_domain(server)}"
    made = MailMessage(customer=customer, order_id=order.id if order else None, message_id=message_id,
                       subject=draft.subject.strip(), body=draft.body.strip(), size=1, queued_at=now, queued_by=by.name)
    made.papers = [MailPaper(document=one, file_name=_file_name(one, order)) for one in draft.papers]
    made.recipients = [MailRecipient(reached_at=address, since=now, next_at=now) for address in draft.to]
    made.size = max(len(_bytes(made, one, server)) for one in made.recipients)
    if server is not None and made.size > server.most:
        raise BadInput(f"The message has {megabytes(made.size)} with its papers; at most {megabytes(server.most)} can be sent. "
                       "Leave a paper out.", "papers")
    session().add(made)
    record(Event.MESSAGE_QUEUED, made, by=by, now=now, after={
        "to": ", ".join(draft.to), "subject": made.subject, "text": made.body, "size": made.size,
        "papers": ", ".join(one.file_name for one in made.papers) or None})
    return made


def _check(order: RepairOrder | None, draft: Draft) -> None:
    if not draft.to:
        raise BadInput("Enter the address it goes to.", "to")
    for address in draft.to:
        if trouble := address_trouble(address):
            raise BadInput(trouble, "to")
    if len(set(draft.to)) < len(draft.to):
        raise BadInput("One address stands there twice.", "to")
    for field, text, what in (("subject", draft.subject, "a subject"), ("body", draft.body, "the text")):
        if not text.strip():
            raise BadInput(f"Enter {what}.", field)
        if left := [name for name in PLACE.findall(text) if name in KNOWN]:
            raise BadInput(f"Replace {{{left[0]}}}: {KNOWN[left[0]]} is not known here.", field)
    if len(draft.subject) > LONGEST_SUBJECT:
        raise BadInput(f"Enter a subject of at most {LONGEST_SUBJECT} characters.", "subject")
    if any(order is None or one.order_id != order.id for one in draft.papers):
        raise BadInput("Choose papers of this repair only.", "papers")


def claim(recipient_id: int, now: datetime) -> Envelope | None:
    """Take a message on for one try; None if it is not to be tried now. Counts a try before whose answer was lost."""
    found, server = queries.find_recipient(recipient_id), queries.server()
    if found is None or server is None or found.state.ended or found.next_at is None or found.next_at > now:
        return None
    if found.state is MailState.HANDING_OVER:
        _count_lost(found, "Tagstrip ended while the message was being handed over.", now)
    if found.message.customer.erased_at is not None:
        _end(found, MailState.WITHDRAWN, "The customer was erased.", Event.MESSAGE_WITHDRAWN, PROGRAM, now)
        return None
    try:
        data = _bytes(found.message, found, server)
    except (OSError, BadInput) as wrong:
        _end(found, MailState.REFUSED, f"The message cannot be put together: {wrong}", Event.MESSAGE_REFUSED, PROGRAM, now)
        return None
    found.state, found.tries, found.next_at = MailState.CONNECTING, found.tries + 1, now + CLAIM
    return Envelope(found.id, server.sender_address, found.reached_at, data)


def begin(recipient_id: int, now: datetime) -> None:
    """Its text is about to go out: from here on a missing answer may hide a delivery. RuleBroken if nobody claims it."""
    found = queries.find_recipient(recipient_id)
    if found is None or found.state is not MailState.CONNECTING:
        raise RuleBroken("This message is not being sent by this try any more.")
    found.state, found.next_at = MailState.HANDING_OVER, now + CLAIM


def settle(recipient_id: int, outcome: Outcome, now: datetime) -> None:
    """How the try ended. A message that its server accepted stands in the contact log."""
    found = queries.find_recipient(recipient_id)
    if found is None or found.state not in (MailState.CONNECTING, MailState.HANDING_OVER):
        return  # somebody withdrew it meanwhile, or a later try has it
    if outcome.end is End.ACCEPTED:
        _accepted(found, outcome.words, now)
    elif outcome.end is End.NEVER:
        _end(found, MailState.REFUSED, outcome.words, Event.MESSAGE_REFUSED, PROGRAM, now)
    else:
        if outcome.end is End.LOST:
            _count_lost(found, outcome.words, now)
        _later(found, f"{outcome.words}{f' {LOST}' if outcome.end is End.LOST else ''}", now)


def _accepted(found: MailRecipient, words: str, now: datetime) -> None:
    message = found.message
    _end(found, MailState.ACCEPTED, words, Event.MESSAGE_ACCEPTED, PROGRAM, now)
    papers = "".join(f"\n{one.file_name}" for one in message.papers)
    entry = ContactEntry(customer_id=message.customer_id, order_id=message.order_id, how=How.EMAIL, reached_at=found.reached_at,
                         said=f"{message.subject}{papers}", at=now, by_name=message.queued_by)
    session().add(entry)
    record(Event.CONTACT_RECORDED, entry, by=PROGRAM, now=now, after={"What happened": entry.how.value, "message": message.id})


def _later(found: MailRecipient, words: str, now: datetime) -> None:
    again = next_try(found.tries, found.since, now)
    if again is None:
        _end(found, MailState.REFUSED, f"Given up after {found.tries} tries. Last: {words}", Event.MESSAGE_REFUSED, PROGRAM, now)
        return
    found.state, found.next_at, found.answer, found.answered_at = MailState.WAITING, again, words, now
    record(Event.MESSAGE_DEFERRED, found, by=PROGRAM, now=now, order_id=found.message.order_id,
           after={"try": found.tries, "next": again.isoformat(), "the server said": words})


def _count_lost(found: MailRecipient, words: str, now: datetime) -> None:
    found.answers_lost += 1
    found.answer, found.answered_at = f"{words} {LOST}", now
    record(Event.MESSAGE_ANSWER_LOST, found, by=PROGRAM, now=now, order_id=found.message.order_id,
           after={"try": found.tries, "why": words, "answers lost": found.answers_lost})


def withdraw(found: MailRecipient, reason: str, *, by: Actor, now: datetime) -> None:
    """Send it no longer, or let a refused one rest. RuleBroken for one that is accepted, or on its way this moment."""
    if not reason.strip():
        raise BadInput("Enter why it is withdrawn.", "reason")
    if found.state not in (MailState.WAITING, MailState.REFUSED):
        raise RuleBroken(f"This message is {found.state.value}: it cannot be withdrawn.")
    _end(found, MailState.WITHDRAWN, reason.strip(), Event.MESSAGE_WITHDRAWN, by, now)


def withdraw_all(customer_ids: Collection[int], why: str, *, by: Actor, now: datetime) -> int:
    """Send nothing more of what is on its way to these customers; how many that were.

    One whose text goes out this very moment may arrive still.
    """
    found = session().scalars(sa.select(MailRecipient).join(MailMessage, MailMessage.id == MailRecipient.mail_message_id).where(
        MailMessage.customer_id.in_(customer_ids), MailRecipient.state.in_(queries.RUNNING)).order_by(MailRecipient.id)).all()
    for one in found:
        _end(one, MailState.WITHDRAWN, why, Event.MESSAGE_WITHDRAWN, by, now)
    return len(found)


def again(found: MailRecipient, *, by: Actor, now: datetime) -> None:
    """Try a refused or waiting one now. RuleBroken for any other."""
    if found.state not in (MailState.WAITING, MailState.REFUSED):
        raise RuleBroken(f"This message is {found.state.value}: it cannot be tried again.")
    if found.state is MailState.REFUSED:
        found.since, found.tries = now, 0
    found.state, found.next_at = MailState.WAITING, now
    record(Event.MESSAGE_TRIED_AGAIN, found, by=by, now=now, order_id=found.message.order_id, before={"answer": found.answer})


def _end(found: MailRecipient, state: MailState, words: str, event: Event, by: Actor, now: datetime) -> None:
    found.state, found.next_at, found.answer, found.answered_at = state, None, words, now
    record(event, found, by=by, now=now, order_id=found.message.order_id,
           after={"try": found.tries, "words": words, "answers lost": found.answers_lost or None})


def _bytes(message: MailMessage, to: MailRecipient, server: MailServer | None) -> bytes:
    sender = (server.sender_name, server.sender_address) if server else ("", f"shop@{_domain(None)}")
    to_whom = (_shown(message.customer.name), to.reached_at)
    return composed(Letter(message.message_id, sender, to_whom, message.subject, message.body, message.queued_at,
                           _papers(message.papers)))


def _papers(papers: Sequence[MailPaper]) -> list[Paper]:
    return [Paper(one.file_name, one.document.media_type, the_store().get(one.document.sha256)) for one in papers]


def _shown(name: str) -> str:
    """A name for the header: what cannot be seen in it is a blank."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in name).split())


def _domain(server: MailServer | None) -> str:
    return server.sender_address.rpartition("@")[2] if server else "shop.invalid"


def _file_name(document: IssuedDocument, order: RepairOrder | None) -> str:
    ending = "pdf" if document.is_pdf else "html"
    return f"{document.kind.value.replace('_', '-')}-{order.number if order else document.order_id}-{document.revision}.{ending}"
