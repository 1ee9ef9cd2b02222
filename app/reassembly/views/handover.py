"""The open amp changes hands: the one who gives counts, then the one who takes, without the first figures."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access import queries as people
from app.access import trying
from app.access.guard import actor, device, may, person
from app.access.models import Person
from app.access.rules import May
from app.db import session
from app.errors import BadInput, NotFound
from app.journal.service import Actor
from app.kernel.form_fields import House, options, read_form
from app.kernel.origin import address
from app.kernel.saving import Saved, save_or_reshow
from app.orders.loading import load_order
from app.orders.service import must_be_open
from app.reassembly.forms import HandoverForm, TakeOverForm, with_counts
from app.reassembly.models import BenchHandover
from app.reassembly.queries.way import handovers_of, waiting_handover
from app.reassembly.queries.work import balance_of
from app.reassembly.service import counts as counts_service
from app.reassembly.views.common import bp


@bp.route("/handover", methods=["GET", "POST"])
@may(May.WORK)
def change_technician(order_id: int) -> Response | str:
    """The first count, by the person who hands the open amp over."""
    order = load_order(order_id, May.WORK)
    must_be_open(order)
    still = [name for name, number in balance_of(order).open.items() if number]
    kind, names = with_counts(HandoverForm, ((name, name) for name in still))
    form = read_form(kind)
    takers = [one for one in people.people() if one.may(May.WORK) and one.id != person().id]
    form.to.choices = options((one.id, one.name) for one in takers)

    def act(saved: Saved) -> Response:
        taker = next((one for one in takers if one.id == form.to.data), None)
        if taker is None:
            raise BadInput("Tap who takes over.", "to")
        given = counts_service.change_technician(order, to_id=taker.id, to_name=taker.name,
                                         counted={piece: form[name].data for name, piece in names.items()},
                                         note=form.note.data or "", by=actor(), now=clock.now())
        session().flush()
        flash(f"Counted. {taker.name} counts now, without seeing the first count.", "saved")
        return saved("reassembly.take_over", order_id=order_id, handover_id=given.id)

    return save_or_reshow(form, act) or render_template("reassembly/change_technician.html", order=order, form=form, takers=takers,
                                              counters=[form[name] for name in names], past=handovers_of(order),
                                              waiting=waiting_handover(order), has_errors=form.has_errors)


@bp.route("/handover/<int:handover_id>/take", methods=["GET", "POST"])
@may(May.WORK)
def take_over(order_id: int, handover_id: int) -> Response | str:
    """The second count. Whoever is signed in, the taker's own PIN or password is asked."""
    order = load_order(order_id, May.WORK)
    given = _of(order_id, handover_id)
    taker = session().get_one(Person, given.to_id)
    proof = "PIN" if device() is not None and taker.pin_hash else "password"
    kind, names = with_counts(TakeOverForm, ((one.hardware.label, one.hardware.label) for one in given.pieces))
    form = read_form(kind)
    form.secret.label.text = f"{taker.name}’s own {proof}"
    if given.waits and request.method == "POST" and form.validate() and (trouble := _trouble(taker, form.secret.data, proof)):
        form.add_error(BadInput(trouble, "secret"))
        answer = None
    else:
        def act(saved: Saved) -> Response:
            counts_service.take_over(given, order, counted={piece: form[name].data for name, piece in names.items()},
                                     note=form.note.data or "", proof=proof, by=Actor(taker.id, taker.name, actor().device),
                                     now=clock.now())
            flash(f"{taker.name} has taken over. Sign in as {taker.name} before the next step.", "saved")
            return saved("reassembly.page", order_id=order_id)

        answer = save_or_reshow(form, act)
    return answer or render_template("reassembly/take_over.html", order=order, given=given, form=form, taker=taker,
                                     counters=[form[name] for name in names], has_errors=form.has_errors)


@bp.post("/handover/<int:handover_id>/drop")
@may(May.WORK)
def drop_handover(order_id: int, handover_id: int) -> Response | str:
    """The amp stays where it was."""
    order, given = load_order(order_id, May.WORK), _of(order_id, handover_id)

    def act(saved: Saved) -> Response:
        counts_service.drop_handover(given, order, by=actor(), now=clock.now())
        flash(f"The amp stays with {given.from_name}.", "saved")
        return saved("reassembly.page", order_id=order_id)

    return save_or_reshow(read_form(House), act) or change_technician(order_id)


def _of(order_id: int, handover_id: int) -> BenchHandover:
    found = session().get(BenchHandover, handover_id)
    if found is None or found.order_id != order_id:
        raise NotFound("There is no such handover on this repair.")
    return found


def _trouble(taker: Person, secret: str, proof: str) -> str | None:
    """Why this does not prove the taker; wrong ones are counted as at the sign-in, whatever becomes of the page."""
    now = clock.now()
    if proof == "PIN":
        return trying.pin(taker, secret, device(), now=now)
    return trying.password(taker, secret, device(), now=now, address=address())
