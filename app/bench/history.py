"""The history page of a repair order and of any one record."""

from __future__ import annotations

from flask import Blueprint, render_template

from app.access.guard import may
from app.access.rules import May
from app.errors import NotFound
from app.journal import queries
from app.orders.loading import load_order

bp = Blueprint("history", __name__)


@bp.get("/orders/<int:order_id>/history")
@may(May.SEE)
def of_order(order_id: int) -> str:
    order = load_order(order_id)
    return render_template("bench/history.html", order=order, title=f"History of repair {order.number}",
                           lines=queries.of_order(order_id))


@bp.get("/history/<subject>/<int:subject_id>")
@may(May.SEE)
def of_record(subject: str, subject_id: int) -> str:
    lines = queries.of_record(subject, subject_id)
    if not lines:
        raise NotFound("Nothing was ever written about such a record.")
    words = subject.replace("_", " ")
    return render_template("bench/history.html", order=None, title=f"History of {words} {subject_id}", lines=lines)
