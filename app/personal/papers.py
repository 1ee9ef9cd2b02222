"""Issued papers at an erasure: which name the person, which of these the law keeps and until when, and taking one out.

A paper that is taken out leaves a line in its place that says so: its row, its number and its revision stay.
"""

from __future__ import annotations

import hashlib
import html
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa

from app.db import session
from app.documents.models import PAGE, IssuedDocument
from app.errors import RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.personal.rules.replacing import Replacer
from app.personal.rules.retention import Period, kept_until, years_after
from app.photos.prepare import stored
from app.photos.removal import list_file
from app.photos.store import the_store
from app.shop.queries import day, the_shop

WITH_SUMS = ("report", "estimate", "bill", "credit", "payment")  # what a tax authority may ask for
OWN_CHOICE = "the shop’s own choice: no law’s period is known here"
_TAGS = re.compile(r"<[^>]*>")


@dataclass(frozen=True)
class Fate:
    """A paper that names the person: until when it is kept and why; or that it goes (no day)."""

    document: IssuedDocument
    until: date | None
    why: str


def of_orders(orders: Iterable[RepairOrder]) -> Sequence[IssuedDocument]:
    """Every paper of these repairs, in the order in which they were issued."""
    ids = [order.id for order in orders]
    return session().scalars(sa.select(IssuedDocument).where(IssuedDocument.order_id.in_(ids)).order_by(IssuedDocument.id)).all()


def names_anyone(document: IssuedDocument, replacer: Replacer) -> bool:
    """Whether its page has words of theirs. A page that cannot be read may have."""
    try:
        page = the_store().get(document.page_sha256).decode()
    except RuleBroken:
        return True
    words = [html.unescape(one) for one in _TAGS.split(page)]
    return any(replacer.text(one, own=True) != one for one in [*words, " ".join(words)])


def fates(orders: Sequence[RepairOrder], replacer: Replacer, periods: Sequence[Period], own_years: int | None,
          today: date) -> list[Fate]:
    """What becomes of each paper that names the person. `own_years`: what the shop chose where no law's period is known."""
    zone = the_shop().zone
    found = []
    for document in of_orders(orders):
        if not names_anyone(document, replacer):
            continue
        on = document.issued_at.astimezone(zone).date()
        kept = kept_until(periods, document.kind.value, on)
        until, why = (kept[0], _says(kept[1])) if kept else (None, "")
        if kept is None and own_years and document.kind.value in WITH_SUMS:
            until, why = years_after(on, own_years), OWN_CHOICE
        found.append(Fate(document, until, why) if until is not None and until >= today else Fate(document, None, ""))
    return found


def take_out(document: IssuedDocument, why: str, *, by: Actor, now: datetime) -> None:
    """Put a line in its place that says it was removed; its files go once this is saved. The triggers are to be lifted."""
    order = session().get_one(RepairOrder, document.order_id)
    said = f"{document.title}, of repair {order.number} was removed on {day(now.astimezone(the_shop().zone))}: {why}."
    page = f'<article class="doc"><p>{html.escape(said)}</p></article>'
    body = f'<!doctype html><html lang="en"><meta charset="utf-8"><title>Removed</title><p>{html.escape(said)}</p></html>'
    before = {"SHA-256": document.sha256}
    for gone in dict.fromkeys((document.sha256, document.page_sha256)):
        list_file(gone, "the paper named a person who was erased", now)
    document.sha256, document.page_sha256 = stored(body.encode(), page.encode(), what="line in the paper’s place")
    document.facts_sha256, document.facts_version = hashlib.sha256(page.encode()).hexdigest(), 0
    document.media_type, document.size = PAGE, len(body.encode())
    record(Event.DOCUMENT_REMOVED, document, by=by, now=now, before=before, after={"SHA-256": document.sha256}, reason=why)


def _says(period: Period) -> str:
    mark = "" if not period.unconfirmed else " (not confirmed in its source)"
    return f"{period.words} {period.source}{mark}"
