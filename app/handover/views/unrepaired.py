"""Giving an amp back unrepaired, from any stage."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, GateClosed
from app.handover import queries
from app.handover.forms import AcknowledgeForm, UnrepairedForm
from app.handover.rules import missing_items_unrepaired
from app.handover.service import unrepaired as unrepaired_service
from app.handover.views.common import again_asked, bp, load_open_order, save_or_reshow, sheet, version_of
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.money import queries as money
from app.orders.gates import missing_in
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.stages import End


@bp.get("/unrepaired")
@may(May.SEE)
def unrepaired_page(order_id: int) -> str:
    """Where an unrepaired return stands."""
    order = load_order(order_id)
    missing = missing_in(order, End.UNREPAIRED) if order.is_open else ()
    lacks = {lack.part for lack in missing_items_unrepaired(queries.unrepaired_facts(order))}
    return render_template("handover/unrepaired_page.html", order=order, missing=missing, written=queries.unrepaired(order_id),
                           lacks=lacks, acknowledged=queries.acknowledgement(order_id), things=queries.things(order_id),
                           old_parts=queries.old_parts(order_id), settlement=queries.settlement(order_id),
                           due=money.due(order, unrepaired=True), still_off=queries.still_off(order) if order.is_open else [])


@bp.route("/unrepaired/why", methods=["GET", "POST"])
@may(May.HAND_OUT)
def unrepaired(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), queries.unrepaired(order_id)
    form = read_form(UnrepairedForm, obj=record)
    done = save_or_reshow(
        form, order, lambda: unrepaired_service.write_unrepaired(order, form.leaving(), by=actor(), now=clock.now()),
        record=lambda: queries.unrepaired(order_id))
    return done or sheet("unrepaired", order, form, version=version_of(record))


@bp.route("/unrepaired/acknowledge", methods=["GET", "POST"])
@may(May.HAND_OUT)
def acknowledge(order_id: int) -> Response | str:
    """The warning, and the signature under it."""
    order = load_open_order(order_id)
    text, facts_sha256 = queries.text_to_acknowledge(order), queries.fingerprint_to_acknowledge(order)
    form = read_form(AcknowledgeForm, name=order.depositor.name, facts_sha256=facts_sha256)
    done = save_or_reshow(form, order, lambda: _acknowledge(order, form))
    form.facts_sha256.data, form.facts_sha256.raw_data = facts_sha256, None
    signed, stands = queries.acknowledgement(order_id), queries.unrepaired_facts(order).stands
    return done or sheet("acknowledge", order, form, text=text, signed=signed, stands=stands, signing=not stands or again_asked())


def _acknowledge(order: RepairOrder, form: AcknowledgeForm) -> None:
    if form.facts_sha256.data != queries.fingerprint_to_acknowledge(order):
        raise BadInput("Something changed since the text was shown. Read it again, then sign.", "signature")
    unrepaired_service.acknowledge(order, form.given(), by=actor(), now=clock.now())


@bp.post("/unrepaired/out")
@may(May.HAND_OUT)
def out_unrepaired(order_id: int) -> Response | tuple[str, int]:
    """The amp is gone, unrepaired."""
    order = load_open_order(order_id)
    try:
        with saving() as saved:
            unrepaired_service.give_back_unrepaired(order, by=actor(), now=clock.now())
            answer = saved("bench.order", order_id=order_id)
    except GateClosed as closed:
        return render_template("orders/refused.html", order=order, closed=closed), closed.status
    flash("Given back unrepaired. The order has ended.", "saved")
    return answer
