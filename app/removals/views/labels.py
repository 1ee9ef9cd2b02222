"""Labels for bags: a printed page, each with a square that opens the removal when it is scanned."""

from __future__ import annotations

from dataclasses import dataclass

from flask import render_template, url_for
from markupsafe import Markup

from app.access.guard import may
from app.access.rules import May
from app.orders.loading import load_order
from app.removals import queries
from app.removals.models import Removal
from app.removals.rules import say_counts
from app.removals.views.common import bp


@dataclass(frozen=True)
class Label:
    """What stands on one bag."""

    removal: Removal
    pieces: str
    square: Markup


@bp.get("/labels")
@may(May.SEE)
def labels(order_id: int) -> str:
    """One label for each bag or tray that is not empty yet."""
    order = load_order(order_id)
    made = [Label(line.removal, say_counts(line.pieces), square(order_id, line.removal.id))
            for line in queries.lines(order) if line.removal.bag and line.removal.ended_at is None]
    return render_template("removals/labels.html", order=order, labels=made)


def square(order_id: int, removal_id: int) -> Markup:
    """A QR code of the removal's address, as SVG without fixed size. Error correction M: it is read off a creased bag."""
    import segno

    address = url_for("removals.one", order_id=order_id, removal_id=removal_id, _external=True)
    drawn = segno.make(address, error="m", micro=False)
    return Markup(drawn.svg_inline(omitsize=True, border=2, svgclass="qr", lineclass="qr-line"))  # noqa: S704 - made here
