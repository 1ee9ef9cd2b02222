"""Reading kept sums."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm import joinedload

from app.db import session
from app.kept.models import KeptSum

PAGE = 25


def kept(*, section: str | None = None, order_id: int | None = None, page: int = 1, size: int = PAGE) -> Sequence[KeptSum]:
    """Kept sums, newest first; of one kind or one order where named."""
    asked = _narrowed(sa.select(KeptSum), section, order_id).options(joinedload(KeptSum.order), joinedload(KeptSum.replaced_by))
    return session().scalars(asked.order_by(KeptSum.id.desc()).limit(size).offset((page - 1) * size)).all()


def count(*, section: str | None = None, order_id: int | None = None) -> int:
    """How many there are."""
    return session().scalar(_narrowed(sa.select(sa.func.count(KeptSum.id)), section, order_id)) or 0


def _narrowed(asked: sa.Select[tuple[Any]], section: str | None, order_id: int | None) -> sa.Select[tuple[Any]]:
    if section is not None:
        asked = asked.where(KeptSum.section == section)
    if order_id is not None:
        asked = asked.where(KeptSum.order_id == order_id)
    return asked
