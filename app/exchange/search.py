"""How the parts of suppliers' lists are found: of every number and supplier the newest row, as the price that counts."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import Session, aliased

from app.access.rules import May
from app.exchange.models import ListedPart
from app.search.models import Kind
from app.search.service import Entry, Finds, Ids, Source

_COLUMNS = frozenset({"number", "what", "supplier", "price_minor"})


def _rows_of_the_same(ids: Ids) -> sa.Select[Any]:
    """Every row of the numbers and suppliers that these rows name: a newer one takes the older one's place."""
    other = aliased(ListedPart)
    return sa.select(other.id).join(ListedPart, sa.and_(other.number == ListedPart.number, other.supplier == ListedPart.supplier)
                                    ).where(ListedPart.id.in_(ids)).distinct()


def _describe(current: Session, ids: Ids) -> Iterable[Entry]:
    newer = aliased(ListedPart)
    replaced = sa.exists().where(newer.number == ListedPart.number, newer.supplier == ListedPart.supplier, newer.id > ListedPart.id)
    for part in current.scalars(sa.select(ListedPart).where(ListedPart.id.in_(ids), ~replaced)):
        yield Entry(part.id, None, part.what, (("number", part.number), ("supplier", part.supplier)))


LISTED = Finds(Kind.LISTED, May.PARTS, lambda part_id, _: ("exchange.listed_part", {"part_id": part_id}),
               (Source(ListedPart, _COLUMNS, _rows_of_the_same),), _describe, ListedPart)
