"""The pages of the sums: the list, each sum with its answer, and the sums that were kept."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.bench.sums import queries, service
from app.bench.sums.forms import KeepForm, keep_form
from app.bench.sums.kinds import Sum
from app.bench.sums.sections import MATTERS, SUMS
from app.bench.sums.work import Worked, work_out
from app.errors import BadInput, NotFound
from app.kernel.saving import saving
from app.orders.queries import open_orders

bp = Blueprint("sums", __name__, url_prefix="/sums")


@bp.get("")
@may(May.WORK)
def index() -> str:
    return render_template("sums/index.html", matters=MATTERS, kept=queries.kept(size=5), sums=SUMS)


@bp.get("/<key>")
@may(May.WORK)
def section(key: str) -> str:
    worked = work_out(_named(key), request.args)
    return _page(worked, keep_form(list(open_orders())))


@bp.get("/<key>/answer")
@may(May.WORK)
def answer(key: str) -> str:
    """The same answer without the page round it, for whoever types with script."""
    return render_template("sums/_answer.html", worked=work_out(_named(key), request.args))


@bp.post("/<key>/keep")
@may(May.WORK)
def keep(key: str) -> Response | str:
    worked = work_out(_named(key), request.form)
    form = keep_form(list(open_orders()), request.form)
    if form.validate() and worked.answer:
        try:
            with saving() as saved:
                service.keep_sum(worked, order_id=form.order, note=form.note.data or "", by=actor(), now=clock.now())
                flash("Kept, with its values.", "saved")
                return saved("sums.section", key=key, **worked.typed)
        except BadInput as wrong:
            form.add_error(wrong)
    return _page(worked, form)


@bp.get("/kept")
@may(May.WORK)
def kept() -> str:
    order_id = request.args.get("order", type=int)
    page = max(request.args.get("page", 1, type=int), 1)
    return render_template("sums/kept.html", kept=queries.kept(order_id=order_id, page=page), sums=SUMS, page=page,
                           total=queries.count(order_id=order_id), size=queries.PAGE, order_id=order_id)


def _named(key: str) -> Sum:
    if key not in SUMS:
        raise NotFound("There is no sum of that name. The list of sums has them all.")
    return SUMS[key]


def _page(worked: Worked, form: KeepForm) -> str:
    siblings: tuple[Sum, ...] = next(sums for matter, sums in MATTERS if matter == worked.sum.matter)
    return render_template("sums/section.html", worked=worked, form=worked.form, keep_form=form, siblings=siblings, sums=SUMS,
                           kept=queries.kept(section=worked.sum.key, size=5), has_errors=worked.form.has_errors or form.has_errors)
