"""Loose objects that turn up, and pieces that get lost."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may, person
from app.access.rules import May
from app.hardware.queries import known
from app.kernel.form_fields import House, read_form
from app.kernel.saving import Saved, save_or_reshow
from app.orders.loading import load_order
from app.orders.service import must_be_open
from app.removals import queries
from app.removals.forms import FoundAgainForm, FoundForm, LostForm, SearchForm
from app.removals.service import odd as odd_service
from app.removals.views.common import add_photos, bp, of_this, prepare_uploads


@bp.route("/found", methods=["GET", "POST"])
@may(May.WORK)
def found(order_id: int) -> Response | str:
    """A loose thing lay inside."""
    order = load_order(order_id, May.WORK)
    must_be_open(order)
    form = read_form(FoundForm)
    ready = prepare_uploads("photos")

    def act(saved: Saved) -> Response:
        photo_id = add_photos(order, ready, form.place.data or "found inside", form.piece.data)
        thing = odd_service.found(order, form.piece.data, place=form.place.data or "", note=form.note.data or "",
                              photo_id=photo_id, by=actor(), now=clock.now())
        flash(f"Found inside: {thing.piece}.", "saved")
        return saved("reassembly.found", order_id=order_id, object_id=thing.id)

    return save_or_reshow(form, act) or render_template("removals/found.html", order=order, form=form, known=known(),
                                                        has_errors=form.has_errors)


@bp.route("/lost", methods=["GET", "POST"])
@may(May.WORK)
def lost(order_id: int) -> Response | str:
    """A piece is lost."""
    order = load_order(order_id, May.WORK)
    must_be_open(order)
    off = queries.of_order(order)
    form = read_form(LostForm)
    form.offer(off, "not known")

    def act(saved: Saved) -> Response:
        gone = odd_service.lost(order, form.piece.data, removal=form.chosen(off), circumstances=form.circumstances.data or "",
                            by=actor(), now=clock.now())
        flash(f"Lost: {gone.piece}. Closing is blocked until it is found or a second person signs the search.", "saved")
        return saved("removals.one_lost", order_id=order_id, lost_id=gone.id)

    return save_or_reshow(form, act) or render_template("removals/lost.html", order=order, form=form, known=known(),
                                                        has_errors=form.has_errors)


@bp.get("/lost/<int:lost_id>")
@may(May.SEE)
def one_lost(order_id: int, lost_id: int) -> str:
    """One lost piece: found, searched for, countersigned."""
    order = load_order(order_id)
    gone = of_this(order, queries.find_lost(lost_id))
    return _lost_page(order_id, lost_id, FoundAgainForm(), SearchForm(data={"how": gone.search_words}))


@bp.post("/lost/<int:lost_id>/found")
@may(May.WORK)
def found_again(order_id: int, lost_id: int) -> Response | str:
    """It turned up."""
    order = load_order(order_id, May.WORK)
    gone, form = of_this(order, queries.find_lost(lost_id)), read_form(FoundAgainForm)

    def act(saved: Saved) -> Response:
        odd_service.find_again(gone, order, where=form.where.data, by=actor(), now=clock.now())
        flash(f"Found: {gone.piece}.", "saved")
        return saved("removals.page", order_id=order_id)

    return save_or_reshow(form, act) or _lost_page(order_id, lost_id, form, SearchForm(data={"how": gone.search_words}))


@bp.post("/lost/<int:lost_id>/searched")
@may(May.WORK)
def searched(order_id: int, lost_id: int) -> Response | str:
    """A search, in vain."""
    order = load_order(order_id, May.WORK)
    gone, form = of_this(order, queries.find_lost(lost_id)), read_form(SearchForm)

    def act(saved: Saved) -> Response:
        odd_service.searched(gone, order, how=form.how.data, by=actor(), now=clock.now())
        flash("The search is recorded. A second person must look too and sign.", "saved")
        return saved("removals.one_lost", order_id=order_id, lost_id=lost_id)

    return save_or_reshow(form, act) or _lost_page(order_id, lost_id, FoundAgainForm(), form)


@bp.post("/lost/<int:lost_id>/countersign")
@may(May.WORK)
def countersign(order_id: int, lost_id: int) -> Response | str:
    """A second person signs."""
    order = load_order(order_id, May.WORK)
    gone = of_this(order, queries.find_lost(lost_id))

    def act(saved: Saved) -> Response:
        odd_service.countersign(gone, order, by=actor(), now=clock.now())
        flash(f"Signed by {person().name}.", "saved")
        return saved("removals.page", order_id=order_id)

    return save_or_reshow(read_form(House), act) or _lost_page(order_id, lost_id, FoundAgainForm(), SearchForm())


def _lost_page(order_id: int, lost_id: int, found_form: House, search_form: House) -> str:
    order = load_order(order_id)
    gone = of_this(order, queries.find_lost(lost_id))
    return render_template("removals/one_lost.html", order=order, gone=gone, found_form=found_form, search_form=search_form,
                           second=gone.searched_by_id is not None and gone.searched_by_id != person().id,
                           has_errors=found_form.has_errors or search_form.has_errors)
