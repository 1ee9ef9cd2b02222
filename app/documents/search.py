"""How the papers that were issued are found."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session

from app.access.rules import May
from app.documents.models import IssuedDocument
from app.documents.rules import Kind as PaperKind
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.search.models import Kind
from app.search.rules import FINGERPRINT
from app.search.service import Entry, Finds, Ids, Source
from app.shop.models import Shop
from app.shop.wording import Pack


def _of_orders(ids: Ids) -> sa.Select[Any]:
    return sa.select(IssuedDocument.id).where(IssuedDocument.order_id.in_(ids))


def _of_people(ids: Ids) -> sa.Select[Any]:
    return sa.select(IssuedDocument.id).join(RepairOrder, IssuedDocument.order_id == RepairOrder.id).where(
        RepairOrder.depositor_id.in_(ids))


def _of_amps(ids: Ids) -> sa.Select[Any]:
    return sa.select(IssuedDocument.id).join(RepairOrder, IssuedDocument.order_id == RepairOrder.id).where(
        RepairOrder.amp_id.in_(ids))


def _called_otherwise(_shops: Ids) -> sa.Select[Any]:
    """The papers whose name differs from pack to pack."""
    differing = [kind for kind in PaperKind if len({kind.called(pack) for pack in Pack}) > 1]
    return sa.select(IssuedDocument.id).where(IssuedDocument.kind.in_(differing))


def _describe(current: Session, ids: Ids) -> Iterable[Entry]:
    asked = (sa.select(IssuedDocument, RepairOrder.number, Amp.maker, Amp.model, Customer.name)
             .join(RepairOrder, IssuedDocument.order_id == RepairOrder.id).join(Amp, RepairOrder.amp_id == Amp.id)
             .join(Customer, RepairOrder.depositor_id == Customer.id).where(IssuedDocument.id.in_(ids)))
    pack = current.scalar(sa.select(Shop.wording)) or Pack.VALVE  # asked of this session: a migration has no other
    for paper, number, maker, model, name in current.execute(asked):
        yield Entry(paper.id, paper.order_id, paper.titled(pack),
                    (("order", str(number)), ("amp", f"{maker} {model}".strip()), ("left by", name),
                     ("fingerprint", paper.sha256[:FINGERPRINT])))


PAPERS = Finds(
    Kind.PAPER, May.SEE, lambda document_id, _: ("documents.issued", {"document_id": document_id}),
    (Source(IssuedDocument, frozenset({"kind", "revision", "draft", "sha256", "order_id"})),
     Source(Shop, frozenset({"wording"}), _called_otherwise),
     Source(RepairOrder, frozenset({"number", "depositor_id", "amp_id"}), _of_orders),
     Source(Customer, frozenset({"name"}), _of_people), Source(Amp, frozenset({"maker", "model"}), _of_amps)),
    _describe, IssuedDocument)
