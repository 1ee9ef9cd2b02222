"""Reading issued papers."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.documents.models import IssuedDocument, LabelTied, ShopLogo
from app.documents.rules import Kind


def find(document_id: int) -> IssuedDocument | None:
    """The paper with this id."""
    return session().get(IssuedDocument, document_id)


def of_order(order_id: int) -> Sequence[IssuedDocument]:
    """Every paper of an order, newest first."""
    return session().scalars(sa.select(IssuedDocument).where(IssuedDocument.order_id == order_id)
                             .order_by(IssuedDocument.id.desc())).all()


def newest(order_id: int, kind: Kind, about_id: int = 0) -> IssuedDocument | None:
    """The revision that counts."""
    return session().scalar(sa.select(IssuedDocument).where(
        IssuedDocument.order_id == order_id, IssuedDocument.kind == kind, IssuedDocument.about_id == about_id)
        .order_by(IssuedDocument.revision.desc()).limit(1))


def replaced(order_id: int) -> set[int]:
    """The ids of those of an order that a later revision replaces."""
    found = session().scalars(sa.select(IssuedDocument.replaces_id).where(IssuedDocument.order_id == order_id,
                                                                          IssuedDocument.replaces_id.is_not(None)))
    return {one for one in found if one is not None}


def tied(document_id: int) -> LabelTied | None:
    """That this label is tied to its amp; None while nobody has recorded it."""
    return session().scalar(sa.select(LabelTied).where(LabelTied.document_id == document_id))


def shop_logo() -> ShopLogo | None:
    """The logo that papers have now; None where the shop has none."""
    return session().scalar(sa.select(ShopLogo).where(ShopLogo.withdrawn_at.is_(None)).order_by(ShopLogo.id.desc()).limit(1))


def find_logo(logo_id: int) -> ShopLogo | None:
    """The logo with this id."""
    return session().get(ShopLogo, logo_id)
