"""What was decided about a come-back."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.intake.models import ComeBackVerdict
from app.request_cache import cached_until_write


@cached_until_write
def verdicts(order_id: int) -> Sequence[ComeBackVerdict]:
    """Every verdict on this come-back, oldest first; the newest counts."""
    return session().scalars(sa.select(ComeBackVerdict).where(ComeBackVerdict.order_id == order_id)
                             .order_by(ComeBackVerdict.id)).all()


def verdict(order_id: int) -> ComeBackVerdict | None:
    """The verdict that counts; None while nobody has judged."""
    found = verdicts(order_id)
    return found[-1] if found else None
