"""The receipt of an amp that came in issues itself when the terms are signed."""

from __future__ import annotations

from datetime import datetime

from app.db import transaction
from app.documents import service
from app.documents.make import PhotoLost, make
from app.documents.paper import paper
from app.documents.pdf import PdfUnavailable
from app.documents.rules import Kind
from app.errors import RuleBroken
from app.journal.service import Actor
from app.orders.loading import load_order


def issue_after_signing(order_id: int, by: Actor, now: datetime) -> str:
    """Make and issue the receipt; why that could not be done, in words, or nothing.

    It is no part of the signature's transaction: making it takes a moment in which nobody else could save, and a signature is
    kept whether or not there is a printer's page of it.
    """
    order = load_order(order_id)
    try:
        made = make(order, paper(order, Kind.RECEIPT), now=now)
        with transaction():
            service.issue(load_order(order_id), made, by=by, now=now)
    except (PdfUnavailable, PhotoLost, RuleBroken) as wrong:
        return f"The receipt is not issued yet: {wrong}"
    return ""
