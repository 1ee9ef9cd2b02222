"""Reading drawings back."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.drawings.models import Drawing, DrawingPin
from app.records.models import Amp
from app.records.rules import alike
from app.request_cache import cached_until_write


def find(drawing_id: int) -> Drawing | None:
    """The drawing with this id, withdrawn or not."""
    return session().get(Drawing, drawing_id)


def find_pin(drawing_id: int, pin_id: int) -> DrawingPin | None:
    """The pin with this id on this drawing."""
    found = session().get(DrawingPin, pin_id)
    return found if found is not None and found.drawing_id == drawing_id else None


def amp_with(amp_id: int) -> Amp | None:
    """The amp with this id."""
    return session().get(Amp, amp_id)


@cached_until_write
def of_model(maker: str, model: str) -> Sequence[Drawing]:
    """The drawings of a maker's model that are not withdrawn, however it was spelt; the oldest first."""
    names = session().execute(sa.select(Drawing.maker, Drawing.model).where(Drawing.withdrawn_at.is_(None)).distinct())
    spellings = [(one, other) for one, other in names if alike((one, other), (maker, model))]
    if not spellings:
        return []
    which = sa.or_(*(sa.and_(Drawing.maker == one, Drawing.model == other) for one, other in spellings))
    return session().scalars(sa.select(Drawing).where(which, Drawing.withdrawn_at.is_(None)).order_by(Drawing.id)).all()


def every(*, withdrawn: bool = False) -> Sequence[Drawing]:
    """Every drawing of the shop that stands, or those that are withdrawn; by maker and model."""
    standing = Drawing.withdrawn_at.is_not(None) if withdrawn else Drawing.withdrawn_at.is_(None)
    return session().scalars(sa.select(Drawing).where(standing).order_by(Drawing.maker, Drawing.model, Drawing.id)).all()
