"""The parts of an order: the list, and one page for each thing done with a part."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound, RuleBroken
from app.exchange.queries import listed
from app.kept import queries as kept
from app.kernel.form_fields import House, read_form
from app.kernel.links import linked
from app.kernel.saving import check_fresh, saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.parts import queries, service
from app.parts.forms import DropForm, FitForm, NeedForm, OrderForm, RatingForm, ReceiveForm
from app.parts.gate import parts_here
from app.parts.models import Part
from app.parts.places import offered
from app.quote import costs
from app.quote import queries as quote
from app.quote.models import QuoteLine

bp = Blueprint("parts", __name__, url_prefix="/orders/<int:order_id>/parts")


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    order = load_order(order_id)
    parts = queries.parts_of(order)
    return render_template("parts/page.html", order=order, parts=[part for part in parts if part.dropped_at is None],
                           dropped=[part for part in parts if part.dropped_at is not None], lines=_lines(order),
                           agreed=quote.agreed_line_roots(order), uses=kept.of_parts(order.id),
                           unwritten=queries.lines_without_parts(order), basis=costs.basis(order),
                           cost=costs.standing(order), charged_minor=queries.total_charged(order),
                           again=[part.id for part in queries.to_get_again(order)],
                           missing=linked(parts_here(order)) if order.is_open else [])


@bp.route("/new", methods=["GET", "POST"])
@may(May.PARTS)
def new(order_id: int) -> Response | str:
    order, line = _load_open_order(order_id), request.args.get("line", "")
    form = read_form(NeedForm, line_root_id=int(line) if line.isdecimal() else 0)
    form.offer(quote.lines(order_id))
    done = _save_or_reshow(form, order, None, lambda: service.need(
        order, form.need(), form.line_root_id.data or None, by=actor(), now=clock.now()), "The part is recorded.")
    return done or render_template("parts/need.html", order=order, form=form, part=None, again_of=None, places=offered(order),
                                   has_errors=form.has_errors)


@bp.route("/<int:part_id>/change", methods=["GET", "POST"])
@may(May.PARTS)
def change(order_id: int, part_id: int) -> Response | str:
    order = _load_open_order(order_id)
    part = _part(order, part_id)
    form = read_form(NeedForm, obj=part)
    form.offer(_offered(order, part))
    done = _save_or_reshow(form, order, part, lambda: service.change(
        order, part, form.need(), form.line_root_id.data or None, by=actor(), now=clock.now()), "The part is changed.")
    return done or render_template("parts/need.html", order=order, form=form, part=part, again_of=None, places=offered(order),
                                   has_errors=form.has_errors)


@bp.route("/<int:part_id>/order", methods=["GET", "POST"], endpoint="order")
@may(May.PARTS)
def order_it(order_id: int, part_id: int) -> Response | str:
    order = _load_open_order(order_id)
    part = _part(order, part_id)
    form = read_form(OrderForm)
    done = _save_or_reshow(form, order, part, lambda: service.order_part(order, part, form.purchase(), by=actor(), now=clock.now()),
                           "Ordered.")
    return done or _one("order", order, part, form)


@bp.route("/<int:part_id>/receive", methods=["GET", "POST"])
@may(May.PARTS)
def receive(order_id: int, part_id: int) -> Response | str:
    order = _load_open_order(order_id)
    part = _part(order, part_id)
    form = read_form(ReceiveForm, condition=part.needed_condition, charged_minor=part.ordered_minor)

    def receive_or_send_back() -> None:
        if form.kept.data == "sent back":
            service.send_back(order, part, form.arrival(), form.sent_back_reason.data or "", by=actor(), now=clock.now())
        else:
            service.receive(order, part, form.arrival(), by=actor(), now=clock.now())

    done = _save_or_reshow(form, order, part, receive_or_send_back, "Recorded as sent back: it is needed as before."
                 if form.kept.data == "sent back" else "Received.")
    return done or _one("receive", order, part, form)


@bp.route("/<int:part_id>/fit", methods=["GET", "POST"])
@may(May.PARTS)
def fit(order_id: int, part_id: int) -> Response | str:
    order = _load_open_order(order_id)
    part = _part(order, part_id)
    form = read_form(FitForm, fitted_place=part.place)
    done = _save_or_reshow(form, order, part, lambda: service.fit(order, part, form.fitted_place.data, by=actor(), now=clock.now()),
                           "Fitted.")
    return done or _one("fit", order, part, form)


@bp.route("/<int:part_id>/rating/<int:use_id>", methods=["GET", "POST"])
@may(May.PARTS)
def rating(order_id: int, part_id: int, use_id: int) -> Response | str:
    """The calculation that rates its place was changed or withdrawn: what does the place ask now?"""
    order = _load_open_order(order_id)
    part, use = _part(order, part_id), kept.find_use(use_id)
    if use is None or use.part_id != part.id:
        raise NotFound("There is no such figure on this part.")
    if request.method == "GET" and (use.ended_at is not None or use.kept.stands):
        raise RuleBroken("The rating is settled already: look at the list of parts.")
    form = read_form(RatingForm)
    form.offer(use)
    done = _save_or_reshow(form, order, part, lambda: service.rate_again(
        order, part, use, form.decided(use.unit), by=actor(), now=clock.now()), "The rating is settled.")
    return done or render_template("parts/rating.html", order=order, part=part, form=form, use=use,
                                   line=quote.find_line(part.line_root_id) if part.line_root_id else None,
                                   has_errors=form.has_errors)


@bp.route("/<int:part_id>/drop", methods=["GET", "POST"])
@may(May.PARTS)
def drop(order_id: int, part_id: int) -> Response | str:
    order = _load_open_order(order_id)
    part = _part(order, part_id)
    kinds = service.may_be_dropped(part)
    form = read_form(DropForm, **({"how": kinds[0]} if len(kinds) == 1 else {}))
    form.offer(kinds)
    done = _save_or_reshow(form, order, part, lambda: service.drop(
        order, part, form.reason.data, form.how.data, by=actor(), now=clock.now()), "Recorded. The reason stays.")
    return done or _one("drop", order, part, form)


@bp.route("/<int:part_id>/again", methods=["GET", "POST"])
@may(May.PARTS)
def again(order_id: int, part_id: int) -> Response | str:
    """The same once more, in place of one that was cancelled or sent back."""
    order = _load_open_order(order_id)
    part = _part(order, part_id)
    form = read_form(NeedForm, obj=part)
    form.offer(_offered(order, part))
    done = _save_or_reshow(form, order, None, lambda: service.need(
        order, form.need(), form.line_root_id.data or None, again_of=part, by=actor(), now=clock.now()),
        "The part is added again. Order it now.")
    return done or render_template("parts/need.html", order=order, form=form, part=None, again_of=part, places=offered(order),
                                   has_errors=form.has_errors)


def _load_open_order(order_id: int) -> RepairOrder:
    order = load_order(order_id, May.PARTS)
    must_be_open(order)
    return order


def _part(order: RepairOrder, part_id: int) -> Part:
    part = queries.find(part_id)
    if part is None or part.order_id != order.id:
        raise NotFound("There is no such part on this repair.")
    return part


def _save_or_reshow(form: House, order: RepairOrder, part: Part | None, act: Callable[[], object], said: str) -> Response | None:
    """Do what was posted and go back to the list; None if the page is to be shown (again)."""
    if request.method != "POST" or not form.validate():
        return None
    try:
        with saving() as saved:
            if part is not None:
                check_fresh(part, form)
            act()
            flash(said, "saved")
            return saved("parts.page", order_id=order.id)
    except BadInput as wrong:
        form.add_error(wrong)
        return None


def _one(name: str, order: RepairOrder, part: Part, form: House) -> str:
    return render_template(f"parts/{name}.html", order=order, part=part, form=form, cost=costs.standing(order),
                           basis=costs.basis(order),
                           line=quote.find_line(part.line_root_id) if part.line_root_id else None, prices=listed(part.what),
                           has_errors=form.has_errors)


def _lines(order: RepairOrder) -> dict[int, QuoteLine]:
    """The line that stands now in each place of the quote, by the id of its first; withdrawn ones as they last stood."""
    return {line.line_root_id: line for line in [*quote.past_lines(order.id), *quote.lines(order.id)]}


def _offered(order: RepairOrder, part: Part) -> list[QuoteLine]:
    """The lines of the quote, and the part's own if it was withdrawn."""
    lines = {line.line_root_id: line for line in quote.lines(order.id)}
    own = _lines(order).get(part.line_root_id) if part.line_root_id else None
    if own is not None:
        lines.setdefault(own.line_root_id, own)
    return list(lines.values())
