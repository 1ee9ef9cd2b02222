"""The strip-down's own page, and how its records are come by."""

from __future__ import annotations

from flask import Blueprint, render_template

from app import clock
from app.access.guard import may
from app.access.rules import May
from app.boards import queries as boards
from app.discharge import queries as discharge
from app.errors import NotFound
from app.findings import queries
from app.findings.models.findings import Finding
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import pins
from app.photos import queries as photos

bp = Blueprint("findings", __name__, url_prefix="/orders/<int:order_id>")
pins.register(pins.Kind("finding", "finding", "findings.finding", "finding_id", "findings.new_finding"))


@bp.get("/findings")
@may(May.SEE)
def page(order_id: int) -> str:
    """Discharged or not, and every finding, gravest first."""
    order = load_order(order_id)
    findings = queries.findings_of(order)
    return render_template("findings/page.html", order=order, safe=discharge.shown(order),
                           findings=queries.gravest_first([finding for finding in findings if finding.withdrawn_at is None]),
                           withdrawn=[finding for finding in findings if finding.withdrawn_at is not None],
                           shown=pins.photos_by_record(order_id, "finding"), photo_count=len(photos.of_order(order_id)),
                           asks=queries.asks_of(order), boards=boards.boards_of(order), totals=boards.totals_of(order),
                           baking=queries.bake_outs(order, running=True), waste=queries.waste_of(order), now=clock.now())


def load_finding(order_id: int, finding_id: int, what: May = May.SEE) -> tuple[RepairOrder, Finding]:
    """The one way for a view to come by a finding: it belongs to this order."""
    order = load_order(order_id, what)
    found = queries.find_finding(finding_id)
    if found is None or found.order_id != order.id:
        raise NotFound("There is no finding at this address.")
    return order, found
