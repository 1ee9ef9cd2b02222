"""New hardware, and where pieces went that did not go back."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.hardware.queries import known
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow
from app.orders.loading import load_order
from app.orders.service import must_be_open
from app.removals import queries
from app.removals.forms import PiecesForm, ReasonForm
from app.removals.rules import Went
from app.removals.service import pieces as pieces_service
from app.removals.views.common import bp, of_this


@bp.route("/pieces", methods=["GET", "POST"])
@may(May.WORK)
def pieces(order_id: int) -> Response | str:
    """Enter pieces; `?piece=…&went=…&removal=…` come prefilled from where they are missing."""
    order = load_order(order_id, May.WORK)
    must_be_open(order)
    off = queries.of_order(order)
    asked = request.args
    form = read_form(PiecesForm, piece=asked.get("piece", ""), removal=asked.get("removal", ""), count=1,
                     went=Went(asked["went"]) if asked.get("went") in list(Went) else Went.ISSUED)
    form.offer(off, "the whole job")

    def act(saved: Saved) -> Response:
        entry = pieces_service.enter_pieces(order, form.piece.data, form.went.data, form.count.data, removal=form.chosen(off),
                                     note=form.note.data or "", by=actor(), now=clock.now())
        flash(f"{entry.count} {entry.piece}: {entry.went.word}.", "saved")
        return saved("removals.pieces", order_id=order_id)

    here = {name for line in queries.lines(order) for name in line.pieces}
    return save_or_reshow(form, act) or render_template("removals/pieces.html", order=order, form=form,
                                                        known=list(dict.fromkeys([*sorted(here), *known()])),
                                                        entries=queries.entries(order), has_errors=form.has_errors)


@bp.route("/pieces/<int:entry_id>/strike", methods=["GET", "POST"])
@may(May.WORK)
def strike_pieces(order_id: int, entry_id: int) -> Response | str:
    """The entry was wrong."""
    order = load_order(order_id, May.WORK)
    entry = of_this(order, queries.find_entry(entry_id))
    form = read_form(ReasonForm)

    def act(saved: Saved) -> Response:
        pieces_service.strike_entry(entry, order, reason=form.reason.data, by=actor(), now=clock.now())
        flash("The entry is struck.", "saved")
        return saved("removals.pieces", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "removals/reason.html", order=order, form=form, title="Strike out an entry", has_errors=form.has_errors,
        words=f"{entry.count} {entry.piece}: {entry.went.word}.", button="Strike out the entry", back=("removals.pieces", {}))
