"""The bench list and the order's page."""

from __future__ import annotations

from flask import Blueprint, render_template

from app.accounts.rules import May
from app.bench.panels import PANELS
from app.bench.queries import standing
from app.orders import queries as orders
from app.shop.queries import the_shop
from app.web import load_order, may

bp = Blueprint("bench", __name__)


@bp.get("/")
@may(May.SEE)
def index() -> str:
    zone = the_shop().zone
    rows = [standing(order, zone) for order in orders.open_orders()]
    return render_template("bench/index.html", rows=rows, ended=orders.ended_orders(), summary=_summary(len(rows)))


@bp.get("/orders/<int:order_id>")
@may(May.SEE)
def order(order_id: int) -> str:
    found = load_order(order_id)
    sheets = [(panel.template, panel.values(found)) for panel in PANELS]
    return render_template("bench/order.html", order=found, standing=standing(found, the_shop().zone), sheets=sheets,
                           complaint="")


def _summary(count: int) -> str:
    return f"{count} amp{'' if count == 1 else 's'} in the house"
