"""What other rooms ask of what was brought in."""

from __future__ import annotations

import sqlalchemy as sa

from app.db import session
from app.exchange.models import BroughtIn, ListedPart, PastJob


def past_pairs(kind: str | None = None) -> list[tuple[float, float]]:
    """(estimated, actual) hours of the past jobs of this kind, or of all: what app.estimating.calibrate is fed."""
    asked = sa.select(PastJob.estimated_hours, PastJob.actual_hours).order_by(PastJob.id)
    return [(row[0], row[1]) for row in session().execute(asked.where(PastJob.kind == kind) if kind else asked)]


def listed_part(part_id: int) -> ListedPart | None:
    """One row of a supplier's list."""
    return session().get(ListedPart, part_id)


def prices_of(part: ListedPart) -> list[tuple[ListedPart, BroughtIn]]:
    """Every row of the same number and supplier with the file that it came in, the newest first: that price counts."""
    asked = (sa.select(ListedPart, BroughtIn).join(BroughtIn, ListedPart.brought_in_id == BroughtIn.id)
             .where(ListedPart.number == part.number, ListedPart.supplier == part.supplier).order_by(ListedPart.id.desc()))
    return [(row, file) for row, file in session().execute(asked)]


def listed(words: str) -> list[ListedPart]:
    """Of every part number that stands in these words, the newest row of each supplier, the lowest price first."""
    numbers = {one.strip(".,;:()") for one in words.split()}
    newest = (sa.select(sa.func.max(ListedPart.id)).where(ListedPart.number.in_(numbers))
              .group_by(ListedPart.number, ListedPart.supplier))
    return list(session().scalars(sa.select(ListedPart).where(ListedPart.id.in_(newest)).order_by(ListedPart.price_minor)))
