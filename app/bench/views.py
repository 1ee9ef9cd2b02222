"""The bench list and the order's page."""

from __future__ import annotations

from flask import Blueprint, render_template

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.bench.panels import in_order
from app.bench.queries import Standing, standing, standing_in_list
from app.intake.queries.sheets import complaint_words
from app.kernel.local_forms import counted
from app.orders import queries as orders
from app.orders.loading import load_order
from app.orders.stages import Stage
from app.shop.queries import the_shop

bp = Blueprint("bench", __name__)


@bp.get("/")
@may(May.SEE)
def index() -> str:
    zone = the_shop().zone
    here = orders.open_orders()
    told = complaint_words(one.id for one in here)
    rows = [standing_in_list(one, zone, told.get(one.id, "")) for one in here]
    return render_template("bench/index.html", rows=rows, ended=orders.ended_orders(), summary=_summary(rows),
                           today=clock.now().astimezone(zone).date())


@bp.get("/orders/<int:order_id>")
@may(May.SEE)
def order(order_id: int) -> str:
    found = load_order(order_id)
    sheets = [(panel.template, panel.values(found)) for panel in in_order(found)]
    return render_template("bench/order.html", order=found, standing=standing(found, the_shop().zone), sheets=sheets,
                           complaint=complaint_words([order_id]).get(order_id, ""))


def _summary(rows: list[Standing]) -> str:
    """'11 amps in the house · 3 wait for a customer · 2 wait for parts'."""
    if not rows:
        return "No amp in the house"
    customer = sum(row.order.stage in (Stage.QUOTE, Stage.RETURN) for row in rows)
    parts = sum(row.order.stage is Stage.PARTS for row in rows)
    told = [_many(len(rows), "amp in the house", "amps in the house"),
            _many(customer, "waits for a customer", "wait for a customer"),
            _many(parts, "waits for parts", "wait for parts")]
    return " · ".join(words for words in told if words)


def _many(count: int, one: str, more: str) -> str:
    return "" if count == 0 else counted(count, one, more)
