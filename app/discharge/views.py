"""The discharge record of an order: its cautions, the chain, the list of capacitors, a round of readings."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.discharge import drawing, queries, service
from app.discharge.forms import ListForm, RoundForm, StickForm, as_before, round_form
from app.discharge.models import DischargeRecord, SupplyList
from app.discharge.rules.chain import Plan, plan
from app.discharge.rules.listing import Supply, as_layout
from app.errors import BadInput, NotFound
from app.kept import queries as kept
from app.kernel.form_fields import read_form
from app.kernel.saving import saving
from app.measuring import queries as measuring
from app.measuring.models import Instrument
from app.orders import power
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.shop.queries import the_shop

PLAN = "plan-"  # before the names of the sum’s fields, beside those of the record
bp = Blueprint("discharge", __name__, url_prefix="/orders/<int:order_id>/discharge")
STICK = {"stick_ohm": 10e3, "stick_w": 10.0}  # what the sum starts from until a stick was typed: common practice, no source


@bp.route("", methods=["GET", "POST"])
@may(May.SEE)
def page(order_id: int) -> Response | str:
    """What to expect, then what the meter showed across each capacitor."""
    order, listed = load_order(order_id), queries.list_of(order_id)
    last = queries.last_by(order, actor())
    form, meters = _round_form(listed, last)
    if request.method == "POST":
        allow(May.WORK)
        if listed is None or form is None:
            return redirect(url_for("discharge.edit_list", order_id=order_id), code=303)
        if form.validate():
            try:
                with saving() as saved:
                    made = service.record_round(order, form.given(listed, _meter(form)), by=actor(), now=clock.now())
                    _say(order, made)
                    return saved("discharge.page", order_id=order_id)
            except service.WrongReadings as wrong:
                form.wrong(wrong.each)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template(
        "discharge/page.html", order=order, listed=listed, form=form, meters=meters, has_errors=bool(form and form.has_errors),
        state=queries.state(order_id), records=queries.records_of(order), earlier=queries.earlier_form(order),
        verdicts=queries.verdicts, limit=the_shop().safe_volts, offers=queries.offers(order) if listed is None else [],
        powered=power.powered(order_id), calculated=list(kept.of_discharge(order_id).values()), **_expected(listed, last))


@bp.route("/list", methods=["GET", "POST"])
@may(May.WORK)
def edit_list(order_id: int) -> Response | str:
    """Every capacitor of the supplies: started from an offer, corrected, saved."""
    order, listed = load_order(order_id, May.WORK), queries.list_of(order_id)
    must_be_open(order)
    offers, asked = queries.offers(order), request.args.get("from", "")
    start = next((one for one in offers if one.key == asked), None)
    if asked and start is None:
        raise NotFound("There is no such list to start from.")
    layout = start.layout if start else as_layout(listed.plain) if listed else None
    form = read_form(ListForm, **(vars(layout) if layout else {}))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = service.record_list(order, form.layout(), by=actor(), now=clock.now())
                flash(f"{len(made.capacitors)} capacitors listed.", "saved")
                return saved("discharge.page", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("discharge/list.html", order=order, form=form, offers=offers, start=start, listed=listed,
                           has_errors=form.has_errors)


def _round_form(listed: SupplyList | None, last: DischargeRecord | None) -> tuple[RoundForm | None, list[Instrument]]:
    if listed is None:
        return None, []
    today = measuring.today(clock.now())
    meters = queries.offered_instruments(max(one.working_v for one in listed.capacitors), today)
    form = read_form(round_form(listed), **as_before(last))
    form.offer(meters, {one.id: one.standing(today).value for one in meters})
    return form, meters


def _meter(form: RoundForm) -> Instrument:
    found = measuring.find_instrument(form.instrument.data)
    if found is None:
        raise NotFound("There is no instrument at this address.")
    return found


def _say(order: RepairOrder, made: DischargeRecord) -> None:
    found = queries.state(order.id)
    if found is None or found.why_not:
        flash(f"Saved, but not shown discharged. {found.why_not if found else ''} Discharge again, then read every capacitor "
              "again: what one still holds flows back into the others.", "saved")
        return
    flash(f"Discharge recorded: {found.count} of {found.count} below {made.limit_volts:g} V, the highest {found.highest}. "
          "Measure again after some minutes.", "saved")


def _expected(listed: SupplyList | None, last: DischargeRecord | None) -> dict[str, Any]:
    """What the stick typed leaves where, and what it bears."""
    asked = f"{PLAN}stick_ohm" in request.args
    stick = {"stick_ohm": last.stick_ohm, "stick_w": last.stick_w} if last and last.stick_ohm else STICK
    ask = StickForm(request.args if asked else None, data=stick, prefix=PLAN)
    plans: list[tuple[Plan, drawing.ChainDrawn]] = []
    ohm, watt = ask.stick_ohm.data, ask.stick_w.data
    good = not asked or ask.validate()
    if listed is not None and good and ohm is not None and watt is not None:
        try:
            for supply in Supply:
                found = plan(listed.plain, supply, stick_ohm=ohm, stick_w=watt, limit_v=the_shop().safe_volts,
                             held_s=ask.held_s.data,
                             from_v=ask.from_v.data if supply is Supply.HT else None)
                if found is not None:
                    plans.append((found, drawing.draw(found)))
        except BadInput as wrong:
            ask.add_error(wrong)
    return {"ask": ask, "plans": plans, "said_seconds": drawing.seconds, "said_volts": drawing.volts}
