"""Personal data: a customer's record for them, erasing a person, who is due, and where photos were taken. The owner's alone."""

from __future__ import annotations

from datetime import date

from flask import Blueprint, Response, flash, render_template, request, stream_with_context
from werkzeug.wrappers import Response as AnyResponse

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.db import session
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.saving import Saved, save_or_reshow, saving
from app.personal import finishing, handout, locations, papers, queries, retention, scope, service
from app.personal.forms import EraseForm
from app.personal.models import Erasure
from app.personal.rules.hindrances import hindrances
from app.photos import removal
from app.photos import service as photos
from app.photos.models import Photo
from app.records.models import Customer
from app.shop.queries import the_shop

bp = Blueprint("personal", __name__)


@bp.route("/customers/<int:customer_id>/record", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def record(customer_id: int) -> AnyResponse | str:
    """What is in a customer's record, and giving it out: that it was given is kept, then the file comes."""
    who = _customer(customer_id)
    if request.method == "POST":
        with saving() as saved:
            service.hand_out(who, by=actor(), now=clock.now())
            return saved("personal.record_file", customer_id=customer_id)
    return render_template("personal/record.html", who=who, lines=handout.index(handout.gather(who, clock.now())))


@bp.get("/customers/<int:customer_id>/record.zip")
@may(May.SETTINGS, password=True)
def record_file(customer_id: int) -> Response:
    """The record as one ZIP, sent as it is written."""
    who = _customer(customer_id)
    if who.erased_at is not None:
        raise NotFound("This person was erased: there is nothing of theirs to give out.")
    answer = Response(stream_with_context(handout.sent(handout.gather(who, clock.now()))), mimetype="application/zip")
    answer.headers["Content-Disposition"] = f'attachment; filename="record-of-customer-{customer_id}.zip"'
    return answer


@bp.route("/customers/<int:customer_id>/erase", methods=["GET", "POST"])
@may(May.SETTINGS, password=True)
def erase(customer_id: int) -> AnyResponse | str:
    """What an erasure would do, what stands in its way, and doing it."""
    who, now = _customer(customer_id), clock.now()
    form = read_form(EraseForm, why="they asked for it")
    done: list[service.Erased] = []

    def act(saved: Saved) -> AnyResponse:
        if " ".join((form.typed_name.data or "").split()) != " ".join(who.name.split()):
            raise BadInput("This is not the name as it stands above.", "typed_name")
        done.append(service.erase(who, form.wish(), by=actor(), now=now))
        flash("Erased. Print the paper for the person.", "saved")
        return saved("personal.paper", customer_id=customer_id)

    if answer := save_or_reshow(form, act):
        finishing.finish(done[0].forms if done else (), now)
        return answer
    return _erase_page(_customer(customer_id), form)


@bp.get("/customers/<int:customer_id>/erasure")
@may(May.SETTINGS)
def paper(customer_id: int) -> str:
    """The paper for the person: what was erased, what was kept, why, and until when."""
    found = _erasure(customer_id)
    return render_template("personal/paper.html", erasure=found, waiting=len(removal.waiting()))


@bp.get("/personal-data/due")
@may(May.SETTINGS)
def due() -> str:
    """Who is due for erasure by the end of this year, and papers whose time is over."""
    today = _today()
    return render_template("personal/due.html", due=queries.due(date(today.year, 12, 31)), years=queries.customer_years(),
                           today=today, over=queries.kept_over(today),
                           periods=retention.for_jurisdiction(the_shop().jurisdiction))


@bp.post("/personal-data/papers/<int:kept_id>/remove")
@may(May.SETTINGS, password=True)
def end_keeping(kept_id: int) -> AnyResponse:
    """A paper that was kept after an erasure goes."""
    kept = queries.find_kept(kept_id)
    if kept is None:
        raise NotFound("There is no such paper.")
    with saving() as saved:
        service.end_keeping(kept, by=actor(), now=clock.now())
        flash("The paper is removed.", "saved")
        answer = saved("personal.due")
    finishing.finish((), clock.now())
    return answer


@bp.route("/personal-data/locations", methods=["GET", "POST"], endpoint="locations")
@may(May.SETTINGS)
def locations_page() -> AnyResponse | str:
    """Originals that may tell where they were taken; some of them at a time are replaced by the same picture without."""
    after = request.args.get("after", 0, type=int)
    if request.method == "POST":
        return _clean(after)
    return render_template("personal/locations.html", left=locations.left(), after=after,
                           more=len(locations.next_ones(after)))


def _clean(after: int) -> AnyResponse:
    cleaned = locations.clean(locations.next_ones(after))
    now = clock.now()
    with saving() as saved:
        for one in cleaned:
            if not one.wrong:
                photos.replace_original(session().get_one(Photo, one.photo_id), one.sha256, by=actor(), now=now)
        for one in cleaned:
            if one.wrong:
                flash(f"Photo {one.photo_id}: {one.wrong}", "refused")
        flash(f"{counted(sum(not one.wrong for one in cleaned), 'original')} without location.", "saved")
        answer = saved("personal.locations", after=cleaned[-1].photo_id if cleaned else after)
    removal.work_off(now)
    return answer


def _erase_page(who: Customer, form: EraseForm) -> str:
    periods, today = retention.for_jurisdiction(the_shop().jurisdiction), _today()
    standing, orders = queries.standing(who), scope.orders_of(who)
    replacer = queries.replacer_of(who, orders)
    own_years = form.paper_years.data if all(one.years is None for one in periods) else None
    return render_template(
        "personal/erase.html", who=who, form=form, orders=orders, periods=periods, unpaid=standing.unpaid,
        asks_years=all(one.years is None for one in periods), alike=scope.others_alike(who),
        hindrances=list(hindrances(standing, today, settled=True)),
        fates=papers.fates(orders, replacer, periods, own_years, today), one_word=bool(replacer.left_in_texts),
        has_errors=form.has_errors)


def _customer(customer_id: int) -> Customer:
    found = queries.find_customer(customer_id)
    if found is None:
        raise NotFound("There is no customer at this address.")
    return found


def _erasure(customer_id: int) -> Erasure:
    found = queries.erasure_of(customer_id)
    if found is None:
        raise NotFound("This person was not erased.")
    return found


def _today() -> date:
    return clock.now().astimezone(the_shop().zone).date()
