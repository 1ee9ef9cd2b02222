"""The terms in force: the shop's own newest edition for its jurisdiction, or the program's set where it keeps none."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.intake.models import ShopTerms
from app.intake.terms import Paragraph, Terms, for_jurisdiction
from app.request_cache import cached_until_write

OWN = "common practice"  # nobody's law, as far as the program knows: the shop answers for it


@cached_until_write
def editions(jurisdiction: str) -> Sequence[ShopTerms]:
    """The shop's own editions for this jurisdiction, newest first."""
    return session().scalars(sa.select(ShopTerms).where(ShopTerms.jurisdiction == jurisdiction)
                             .order_by(ShopTerms.edition.desc())).all()


def in_force(jurisdiction: str) -> Terms:
    """What is shown, signed and printed for this jurisdiction from now on."""
    shipped = for_jurisdiction(jurisdiction)
    newest = next(iter(editions(shipped.id)), None)
    return terms_of(newest, shipped) if newest is not None and newest.paragraphs else shipped


def terms_of(edition: ShopTerms, shipped: Terms) -> Terms:
    """An edition of the shop's own as terms; what the law wants on an invoice stays that of the program's set."""
    source = f"the shop’s own terms, edition {edition.edition}"
    paragraphs = tuple(Paragraph(head, text, source, OWN) for head, text in edition.paragraphs)
    return Terms(shipped.id, f"{shipped.title}, the shop’s own terms, edition {edition.edition}", edition.checked_on,
                 shipped.caution, paragraphs, shipped.invoice, shipped.look_up, edition.edition)
