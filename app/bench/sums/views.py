"""The pages of the sums: the list, each sum with its answer, and the sums that were kept."""

from __future__ import annotations

from collections.abc import Mapping

from flask import Blueprint, flash, render_template, request
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may, person
from app.access.rules import May
from app.bench.sums import queries, service
from app.bench.sums.forms import KeepForm, UseForm, WithdrawSumForm, keep_form
from app.bench.sums.kinds import Sum
from app.bench.sums.sections import MATTERS, SUMS
from app.bench.sums.shop_defaults import usual_here
from app.bench.sums.targets import Target, offered
from app.bench.sums.work import Worked, work_out
from app.errors import BadInput, NotFound
from app.kept import queries as kept_queries
from app.kept import service as kept_service
from app.kept.models import KeptSum
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
    order, earlier = _order_asked(), _earlier(key, request.args.get("replaces", type=int))
    start = {"order_id": str(order.id)} if order else {}
    if earlier is not None:
        start = {"replaces": str(earlier.id), "order_id": str(earlier.order_id or ""), "note": earlier.note}
    form = keep_form(list(open_orders()), MultiDict(start) if start else None)
    return _page(_worked(key, request.args), form, order, earlier)


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
    earlier = _earlier(key, form.in_place_of)
    if form.validate() and worked.answer:
        try:
            with saving() as saved:
                made = service.keep_sum(worked, order_id=form.order, note=form.note.data or "", replaces=earlier, by=actor(),
                                        now=clock.now())
                flash("Kept, with its values.", "saved")
                if earlier is not None:
                    return saved("sums.one_kept", sum_id=made.id)
                return saved("sums.section", key=key, **worked.address, **({"order": form.order} if form.order else {}))
        except BadInput as wrong:
            form.add_error(wrong)
    return _page(worked, form, find(form.order) if form.order else None, earlier)


@bp.get("/kept")
@may(May.WORK)
def kept() -> str:
    order_id = request.args.get("order", type=int)
    page = max(request.args.get("page", 1, type=int), 1)
    return render_template("sums/kept.html", kept=queries.kept(order_id=order_id, page=page), sums=SUMS, page=page,
                           total=queries.count(order_id=order_id), size=queries.PAGE, order_id=order_id)


@bp.get("/kept/<int:sum_id>")
@may(May.WORK)
def one_kept(sum_id: int) -> str:
    """One kept calculation: what it came to, what rests on it, and what else may."""
    return _kept_page(_kept(sum_id))


@bp.post("/kept/<int:sum_id>/use")
@may(May.WORK)
def use(sum_id: int) -> Response | str:
    """The order takes one of its figures."""
    kept = _kept(sum_id)
    if kept.order is None:
        raise BadInput("It was kept on its own. Open it, and save it for the repair first.")
    form, targets = _use_form(kept)
    if form.validate():
        try:
            with saving() as saved:
                figure = next(one for one in kept.figures if one.key == form.figure.data)
                target = next(one for one in targets if one.key == form.target.data)
                made = service.use(kept.order, kept, figure, target, by=actor(), now=clock.now())
                flash(f"{target.words}: {made.said}.", "saved")
                return saved("sums.one_kept", sum_id=sum_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return _kept_page(kept, use_form=form)


@bp.post("/kept/<int:sum_id>/withdraw")
@may(May.WORK)
def withdraw(sum_id: int) -> Response | str:
    """It was wrong: it stays readable, and what rests on it is marked."""
    kept, form = _kept(sum_id), WithdrawSumForm(request.form)
    if form.validate():
        with saving() as saved:
            kept_service.withdraw(kept, form.reason.data, by=actor(), now=clock.now())
            flash("Withdrawn. What rests on it is marked.", "saved")
            return saved("sums.one_kept", sum_id=sum_id)
    return _kept_page(kept, withdraw_form=form)


def _kept(sum_id: int) -> KeptSum:
    found = kept_queries.find(sum_id)
    if found is None:
        raise NotFound("There is no kept calculation at this address.")
    return found


def _earlier(key: str, sum_id: int | None) -> KeptSum | None:
    """The kept calculation whose place one of this kind takes."""
    found = kept_queries.find(sum_id) if sum_id is not None else None
    return found if found is not None and found.section == key else None


def _use_form(kept: KeptSum) -> tuple[UseForm, list[Target]]:
    targets = offered(kept.order, parts_too=person().may(May.PARTS)) if kept.order is not None and kept.order.is_open else []
    form = UseForm(request.form or None)
    form.offer(kept, targets)
    return form, targets


def _kept_page(kept: KeptSum, use_form: UseForm | None = None, withdraw_form: WithdrawSumForm | None = None) -> str:
    form = use_form or _use_form(kept)[0]
    withdrawing = withdraw_form or WithdrawSumForm()
    return render_template("sums/one_kept.html", kept=kept, sum=SUMS.get(kept.section), form=form, withdraw_form=withdrawing,
                           uses=kept_queries.rests_on(kept), has_errors=form.has_errors or withdrawing.has_errors)


def _worked(key: str, sent: Mapping[str, str]) -> Worked:
    if key not in SUMS:
        raise NotFound("There is no sum of that name. The list of sums has them all.")
    return work_out(SUMS[key], sent, usual_here(the_shop()))


def _order_asked() -> RepairOrder | None:
    """The order that the sums are wanted for, while it is open."""
    order_id = request.args.get("order", type=int)
    order = find(order_id) if order_id else None
    return order if order is not None and order.ended_as is None else None


def _page(worked: Worked, form: KeepForm, order: RepairOrder | None, earlier: KeptSum | None) -> str:
    siblings: tuple[Sum, ...] = next(sums for matter, sums in MATTERS if matter == worked.sum.matter)
    kept = queries.kept(order_id=order.id, size=5) if order else queries.kept(section=worked.sum.key, size=5)
    return render_template("sums/section.html", worked=worked, form=worked.form, keep_form=form, siblings=siblings, sums=SUMS,
                           kept=kept, order=order, earlier=earlier, has_errors=worked.form.has_errors or form.has_errors)
