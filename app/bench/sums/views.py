"""The pages of the sums: the list, each sum with its answer, and the sums that were kept."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Blueprint, flash, render_template, request
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.bench.sums import queries, service
from app.bench.sums.forms import KeepForm, keep_form
from app.bench.sums.kinds import Sum
from app.bench.sums.sections import MATTERS, SUMS
from app.bench.sums.shop_defaults import usual_here
from app.bench.sums.work import Worked, work_out
from app.errors import BadInput, NotFound
from app.kernel.saving import saving
from app.orders.models import RepairOrder
from app.orders.queries import find, open_orders
from app.shop.queries import the_shop

bp = Blueprint("sums", __name__, url_prefix="/sums")


@bp.get("")
@may(May.WORK)
def index() -> str:
    return render_template("sums/index.html", matters=MATTERS, kept=queries.kept(size=5), sums=SUMS, order=_order_asked())


@bp.get("/<key>")
@may(May.WORK)
def section(key: str) -> str:
    order = _order_asked()
    form = keep_form(list(open_orders()), MultiDict({"order_id": str(order.id)}) if order else None)
    return _page(_worked(key, request.args), form, order)


@bp.get("/<key>/answer")
@may(May.WORK)
def answer(key: str) -> str:
    """The same answer without the page round it, for whoever types with script."""
    return render_template("sums/_answer.html", worked=_worked(key, request.args))


@bp.post("/<key>/keep")
@may(May.WORK)
def keep(key: str) -> Response | str:
    worked = _worked(key, request.form)
    form = keep_form(list(open_orders()), request.form)
    if form.validate() and worked.answer:
        try:
            with saving() as saved:
                service.keep_sum(worked, order_id=form.order, note=form.note.data or "", by=actor(), now=clock.now())
                flash("Kept, with its values.", "saved")
                return saved("sums.section", key=key, **worked.address, **({"order": form.order} if form.order else {}))
        except BadInput as wrong:
            form.add_error(wrong)
    return _page(worked, form, find(form.order) if form.order else None)


@bp.get("/kept")
@may(May.WORK)
def kept() -> str:
    order_id = request.args.get("order", type=int)
    page = max(request.args.get("page", 1, type=int), 1)
    return render_template("sums/kept.html", kept=queries.kept(order_id=order_id, page=page), sums=SUMS, page=page,
                           total=queries.count(order_id=order_id), size=queries.PAGE, order_id=order_id)


def _worked(key: str, sent: Mapping[str, str]) -> Worked:
    if key not in SUMS:
        raise NotFound("There is no sum of that name. The list of sums has them all.")
    return work_out(SUMS[key], sent, usual_here(the_shop()))


def _order_asked() -> RepairOrder | None:
    """The order that the sums are wanted for, while it is open."""
    order_id = request.args.get("order", type=int)
    order = find(order_id) if order_id else None
    return order if order is not None and order.ended_as is None else None


def _page(worked: Worked, form: KeepForm, order: RepairOrder | None) -> str:
    siblings: tuple[Sum, ...] = next(sums for matter, sums in MATTERS if matter == worked.sum.matter)
    kept = queries.kept(order_id=order.id, size=5) if order else queries.kept(section=worked.sum.key, size=5)
    return render_template("sums/section.html", worked=worked, form=worked.form, keep_form=form, siblings=siblings, sums=SUMS,
                           kept=kept, order=order, has_errors=worked.form.has_errors or form.has_errors)
