"""Issuing a paper: its bytes lie in the store before the row that names them is written."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.documents.models import IssuedDocument, LabelTied, ShopLogo
from app.documents.queries import newest, shop_logo, tied
from app.documents.rules import Kind
from app.errors import RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.photos.prepare import Prepared


@dataclass(frozen=True)
class Made:
    """A paper whose bytes are in the store: what it is, its hashes, and what is printed on it."""

    kind: Kind
    about_id: int
    revision: int
    sha256: str
    page_sha256: str
    facts_sha256: str
    facts_version: int
    draft: str
    media_type: str
    size: int
    journal_hash: str


def tie_label(order: RepairOrder, label: IssuedDocument, *, by: Actor, now: datetime) -> LabelTied:
    """The newest label is tied to the amp. RuleBroken for any other paper, or one that was replaced."""
    must_be_open(order)
    counts = newest(order.id, Kind.UNREPAIRED)
    if counts is None or counts.id != label.id:
        raise RuleBroken("This is not the label that counts. Tie on the newest one.")
    if tied(label.id) is not None:
        raise RuleBroken("This label is recorded as tied already.")
    made = LabelTied(order_id=order.id, document_id=label.id, at=now, by_name=by.name)
    session().add(made)
    record(Event.LABEL_TIED, made, by=by, now=now, after={"label": f"revision {label.revision}", "SHA-256": label.sha256})
    return made


def issue(order: RepairOrder, made: Made, *, by: Actor, now: datetime) -> IssuedDocument:
    """Write down that this paper was issued. RuleBroken if somebody issued the same revision while it was made."""
    if not made.kind.is_money:
        must_be_open(order)
    before = newest(order.id, made.kind, made.about_id)
    if made.revision != (before.revision if before else 0) + 1:
        raise RuleBroken("Someone issued this paper at the same moment. Look at theirs; issue again if yours differs.")
    document = IssuedDocument(
        order_id=order.id, kind=made.kind, about_id=made.about_id, revision=made.revision,
        replaces_id=before.id if before else None, sha256=made.sha256, page_sha256=made.page_sha256,
        facts_sha256=made.facts_sha256, facts_version=made.facts_version, draft=made.draft,
        media_type=made.media_type, size=made.size, journal_hash=made.journal_hash, issued_at=now,
        issued_by=by.name)
    session().add(document)
    session().flush()
    record(Event.DOCUMENT_ISSUED, document, by=by, now=now,
           before={"revision": before.revision if before else None, "SHA-256": before.sha256 if before else None},
           after={"paper": made.kind.word, "revision": made.revision, "SHA-256": made.sha256,
                  **({"draft": made.draft} if made.draft else {})})
    return document


def set_logo(picture: Prepared, *, by: Actor, now: datetime) -> ShopLogo:
    """This picture stands at the head of papers from now on; the one before is withdrawn. Its bytes are in the store."""
    before = shop_logo()
    made = ShopLogo(sha256=picture.sha256, web_sha256=picture.web_sha256, thumb_sha256=picture.thumb_sha256,
                    media_type=picture.media_type, width=picture.width, height=picture.height, added_at=now, added_by=by.name)
    session().add(made)
    _withdraw(before, by=by, now=now)
    record(Event.LOGO_SET, made, by=by, now=now, before={"SHA-256": before.sha256} if before else {},
           after={"SHA-256": made.sha256, "size": f"{made.width} × {made.height}"})
    return made


def withdraw_logo(logo: ShopLogo, *, by: Actor, now: datetime) -> None:
    """No picture stands at the head of papers any more. RuleBroken if another one does by now, or none."""
    if logo.withdrawn_at is not None:
        raise RuleBroken("This logo is withdrawn already. Look at the one that is printed now.")
    _withdraw(logo, by=by, now=now)
    record(Event.LOGO_WITHDRAWN, logo, by=by, now=now, before={"SHA-256": logo.sha256})


def _withdraw(logo: ShopLogo | None, *, by: Actor, now: datetime) -> None:
    if logo is not None:
        logo.withdrawn_at, logo.withdrawn_by = now, by.name
