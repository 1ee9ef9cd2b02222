"""Counts at closures, and the balance."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow
from app.orders.loading import load_order
from app.photos import queries as photos
from app.reassembly.forms import BaseForm, CountForm, with_counts
from app.reassembly.queries.cavities import host_of
from app.reassembly.queries.due import due_at, ends_due
from app.reassembly.queries.way import counts_of, way_back
from app.reassembly.queries.work import balances
from app.reassembly.rules import ENDS
from app.reassembly.service import counts as counts_service
from app.reassembly.service.counts import asks_for_pieces
from app.reassembly.views.common import bp, planned
from app.removals import queries as removals


@bp.route("/count/<path:step>", methods=["GET", "POST"])
@may(May.WORK)
def count(order_id: int, step: str) -> Response | str:
    """Count what lies in tray and bags before something is closed. What the ledger says is shown after the count, never before."""
    order = load_order(order_id, May.WORK)
    way = planned(order, step)
    of_joints = way.origins[step][0] in ENDS
    due = due_at(order, way, step) if asks_for_pieces(way, step) else ()
    kind, names = with_counts(BaseForm if of_joints else CountForm, ((one.key, one.piece) for one in due))
    form = read_form(kind)

    def act(saved: Saved) -> Response:
        counted = {key: form[name].data for name, key in names.items()}
        do = counts_service.count_base if of_joints else counts_service.count_closure
        made = do(order, step, counted=counted, ends=form.ends.data, looked=form.looked.data, by=actor(), now=clock.now())
        if made.closed:
            flash(f"{made.label}: " + ("every class was counted and matches. It balances." if due else
                                       "every wire end is joined."), "saved")
            return saved("reassembly.page", order_id=order_id)
        for fault in made.faults:
            flash(fault, "refused")
        agreed = {name: counted[key] for one in due for name, key in names.items() if key == one.key and one.agrees(counted[key])}
        return saved("reassembly.count", order_id=order_id, step=step, **agreed)

    answer = save_or_reshow(form, act)
    if request.method == "GET":  # after a count that did not close, what agreed stands as it was counted
        for name in names:
            form[name].data = request.args.get(name, type=int)
    bags = {bag: [form[name] for name, key in names.items() if key[0] == bag] for bag in dict.fromkeys(one.bag for one in due)}
    host = host_of(way, step) if of_joints else ""
    photo = photos.find(way.removals[host].photo_id or 0) if host else None
    return answer or render_template(
        "reassembly/count.html", order=order, way=way, step=way.steps[step], form=form, bags=bags, of_joints=of_joints,
        owners={one.bag: one.of for one in due}, asks_ends=of_joints or ends_due(way, step) > 0,
        lost=removals.open_losses(order), host=host, kept=any(name in request.args for name in names),
        photo=photo if photo and photo.struck_at is None else None,
        counts=[one for one in counts_of(order) if one.step == step], has_errors=form.has_errors)


@bp.get("/balance")
@may(May.SEE)
def balance(order_id: int) -> str:
    """The ledger of the whole job and of each sub-assembly, class by class."""
    order = load_order(order_id)
    return render_template("reassembly/balance.html", order=order, balances=balances(order), counts=counts_of(order),
                           way=way_back(order, planned=False), lost=removals.open_losses(order))
