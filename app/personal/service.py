"""Handing out a customer's record, erasing a person, and taking out papers whose time is over."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from app.contact.service import outbox
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal import erasing, seals, triggers
from app.journal.events import Event
from app.journal.rules import canonical
from app.journal.service import Actor, record
from app.kernel.models import HeldPost
from app.personal import papers, queries, retention, scope, telling, walking
from app.personal.models import Erasure, KeptPaper
from app.personal.rules.hindrances import hindrances
from app.personal.rules.replacing import GONE, Replacer
from app.records.models import Customer
from app.shop.queries import the_shop


@dataclass(frozen=True)
class Wish:
    """What the owner says of an erasure: why; what else the person is called; years for bills where no law's are known; how a sum
    that is shown as unpaid was settled."""

    why: str
    further: tuple[str, ...] = ()
    paper_years: int | None = None
    settled_words: str = ""


@dataclass(frozen=True)
class Erased:
    """An erasure that is written, and the forms on their way whose files are to go once it is saved."""

    erasure: Erasure
    forms: tuple[str, ...]


def hand_out(customer: Customer, *, by: Actor, now: datetime) -> None:
    """The customer's whole record is given to them: that it was is kept."""
    if customer.erased_at is not None:
        raise RuleBroken("This person was erased: there is nothing of theirs to give out.")
    customer.record_given_at = now
    record(Event.CUSTOMER_EXPORTED, customer, by=by, now=now, reason="the whole record, for the person")


def erase(customer: Customer, wish: Wish, *, by: Actor, now: datetime) -> Erased:
    """Take a person out of every record, keeping what law and safety need. RuleBroken while something is open with them.

    Everything in the one transaction of whoever calls: files of papers are listed here and removed after it.
    """
    today = now.astimezone(the_shop().zone).date()
    if not wish.why.strip():
        raise BadInput("Enter why: the person asked for it, or the time for keeping is over.", "why")
    if found := list(hindrances(queries.standing(customer), today, settled=bool(wish.settled_words.strip()))):
        raise BadInput(" ".join(found), "settled_words" if len(found) == 1 and "unpaid" in found[0] else None)
    periods = retention.for_jurisdiction(the_shop().jurisdiction)
    if wish.paper_years is None and all(one.years is None for one in periods):
        raise BadInput("No law’s period is known here: enter for how many years the shop keeps its bills.", "paper_years")
    outbox.withdraw_all(scope.ids_of(customer), "The customer was erased.", by=by, now=now)
    session().flush()
    orders = scope.orders_of(customer)
    own, replacer = scope.rows_of(customer, orders), queries.replacer_of(customer, orders, wish.further)
    fates = papers.fates(orders, replacer, periods, wish.paper_years, today)
    connection = session().connection()
    _overwrite_what_is_freed(connection)
    with triggers.changes_allowed(connection):
        changed = _replace(customer, own, replacer, now)
        for fate in fates:
            if fate.until is None:
                papers.take_out(fate.document, "it named a person who was erased from the records", by=by, now=now)
                changed.add(f"{fate.document.__tablename__} {fate.document.id}")
        seals.begin_anew(session(), changed)
        entries, unsalted = erasing.write_anew(connection, lambda facts: _said_anew(facts, customer, own, replacer), changed)
    forms = _forget_forms(replacer)
    told = telling.of(changed, len(entries), unsalted, fates, len(forms), now, in_texts=not replacer.left_in_texts)
    erasure = Erasure(customer_id=customer.id, at=now, by_name=by.name, why=wish.why.strip(), jurisdiction=the_shop().jurisdiction,
                      settled_words=wish.settled_words.strip(), told=told)
    session().add(erasure)
    session().flush()
    session().add_all(KeptPaper(erasure_id=erasure.id, document_id=fate.document.id, until=fate.until, why=fate.why)
                      for fate in fates if fate.until is not None)
    record(Event.CUSTOMER_ERASED, customer, by=by, now=now, reason=wish.why.strip(),
           after={"records changed": len(changed), "journal entries changed": len(entries), "papers removed":
                  sum(fate.until is None for fate in fates), "papers kept": sum(fate.until is not None for fate in fates)})
    for some in erasing.named(entries):
        record(Event.ENTRIES_ERASED, erasure, by=by, now=now, after={"entries": some})
    return Erased(erasure, forms)


def end_keeping(kept: KeptPaper, *, by: Actor, now: datetime) -> None:
    """The time of a paper that the law kept after an erasure is over: it is taken out. RuleBroken before that day is past."""
    if kept.removed_at is not None:
        raise RuleBroken("This paper is removed already.")
    if kept.until >= now.astimezone(the_shop().zone).date():
        raise RuleBroken(f"This paper is kept until {queries.day_words(kept.until)}. It can be removed from the day after on.")
    connection = session().connection()
    _overwrite_what_is_freed(connection)
    with triggers.changes_allowed(connection):
        papers.take_out(kept.document, "the time for which it was kept is over", by=by, now=now)
        kept.removed_at = now
        seals.begin_anew(session(), {f"{kept.document.__tablename__} {kept.document_id}"})


def _replace(customer: Customer, own: scope.Rows, replacer: Replacer, now: datetime) -> set[str]:
    """The customer's own row, signatures, approvals, and every text; the rows that changed, as "table key"."""
    changed = walking.blank_signatures(customer, own, replacer) | walking.blank_approvals(customer, own)
    changed |= walking.replace_everywhere(customer, own, replacer)
    for one in scope.records_of(customer):
        one.name, one.phone, one.email, one.note, one.address, one.erased_at = replacer.token, "", "", "", GONE, now
        changed.add(f"{one.__tablename__} {one.id}")
    return changed


def _said_anew(facts: Mapping[str, Any], customer: Customer, own: scope.Rows, replacer: Replacer) -> erasing.Said:
    """A journal entry's facts and reason without the person."""
    about = (facts["subject_type"], facts["subject_id"])
    theirs = about[0] == customer.__tablename__ and about[1] in scope.ids_of(customer)
    is_own = (theirs or facts["order_id"] in own["repair_order"] or about[1] in own.get(about[0], ()))
    said = []
    for told in (facts["before"], facts["after"]):
        read = json.loads(told)
        anew = replacer.value(read, own=is_own)
        if theirs:
            anew = {name: _blank(name, value, replacer) for name, value in anew.items()}
        said.append(canonical(anew) if anew != read else told)
    return said[0], said[1], replacer.text(facts["reason"], own=is_own)


def _blank(name: str, value: Any, replacer: Replacer) -> Any:
    if name == "name":
        return replacer.token
    return GONE if name in ("phone", "email", "address", "note") and value else value


def _forget_forms(replacer: Replacer) -> tuple[str, ...]:
    """Forms that were held until somebody signs in again, and name the person; their ids."""
    found = [held for held in session().scalars(sa.select(HeldPost))
             if any(replacer.text(str(value), own=True) != value for _, value in json.loads(held.fields))]
    for held in found:
        session().delete(held)
    return tuple(held.id for held in found)


def _overwrite_what_is_freed(connection: sa.Connection) -> None:
    """SQLite writes zeros over what is deleted, from here on in this connection: the words do not stay in the file's free room."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA secure_delete=ON")
