"""A found object and the places it may have come from."""

from __future__ import annotations

from flask import flash, render_template
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import NotFound
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, save_or_reshow
from app.orders.loading import load_order
from app.photos import queries as photos
from app.reassembly.forms import ExplainForm
from app.reassembly.queries.work import proposals
from app.reassembly.views.common import bp
from app.removals import queries as removals
from app.removals.service import odd as odd_service


@bp.route("/found/<int:object_id>", methods=["GET", "POST"])
@may(May.WORK)
def found(order_id: int, object_id: int) -> Response | str:
    """Explain what lay inside: the places that miss one of its class are proposed."""
    order = load_order(order_id, May.WORK)
    thing = removals.find_object(object_id)
    if thing is None or thing.order_id != order_id:
        raise NotFound("There is no such find on this repair.")
    off, proposed = removals.of_order(order), proposals(order, thing)
    form = read_form(ExplainForm, removal=next((str(proposal.removal_id) for proposal in proposed if proposal.best), ""))
    form.offer(proposed, off)

    def act(saved: Saved) -> Response:
        odd_service.explain(thing, order, form.how.data, removal=form.chosen(off), words=form.words.data or "", by=actor(),
                       now=clock.now())
        flash(f"The {thing.piece} is explained.", "saved")
        return saved("removals.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "reassembly/found.html", order=order, thing=thing, form=form, proposed=proposed,
        photo=photos.find(thing.photo_id) if thing.photo_id else None, has_errors=form.has_errors)
