"""The sheets of an order, each saved on its own, and their overview."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.intake.forms.records import AmpForm
from app.intake.forms.sheets import AccessoriesForm, ComplaintForm, ConditionForm, LookForm, PlaceForm, ReasonForm
from app.intake.queries import search as search_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.rules import ACCESSORIES, NO_ISOLATION, missing_items, zone_after, zone_named
from app.intake.service import checking_in as checking_in_service
from app.intake.service import danger as danger_service
from app.intake.service import records as records_service
from app.intake.service import sheets as sheets_service
from app.intake.service.checking_in import Place
from app.intake.summary import sheets_of
from app.intake.views.common import bp, load_open_order, onward, reason_page, save_or_reshow, sheet_page, version_of
from app.kernel.form_fields import read_form
from app.kernel.resubmitted_uploads import uploads
from app.kernel.saving import saving
from app.orders import power
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import service as photos
from app.photos.prepare import prepare_all
from app.shop.queries import the_shop

AT = "/orders/<int:order_id>/intake"


@bp.get(AT)
@may(May.SEE)
def page(order_id: int) -> str:
    """All sheets in a line each, what is missing first."""
    order = load_order(order_id)
    lacks = {lack.part: lack.text for lack in missing_items(sheets_queries.facts(order))}
    return render_template("intake/page.html", order=order, sheets=sheets_of(order, lacks, lines=True), lacks=lacks,
                           earlier=search_queries.earlier_orders(order), quarantine=power.do_not_energise(order_id))


@bp.route(f"{AT}/complaint", methods=["GET", "POST"])
@may(May.CHECK_IN)
def complaint(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), sheets_queries.complaint(order_id)
    form = read_form(ComplaintForm, obj=record)
    if request.method == "GET" and record:
        form.show(record)
    done = save_or_reshow(form, order, lambda: checking_in_service.complain(order, form.facts(), by=actor(), now=clock.now()),
                          lambda: sheets_queries.complaint(order_id))
    return done or sheet_page("complaint", order, form, version=version_of(record))


@bp.route(f"{AT}/amp", methods=["GET", "POST"])
@may(May.CHECK_IN)
def amp(order_id: int) -> Response | str:
    order = load_open_order(order_id)
    form = read_form(AmpForm, obj=order.amp)
    done = save_or_reshow(form, order, lambda: records_service.change_amp(order.amp, form.amp_facts(), by=actor(), now=clock.now()),
                          lambda: order.amp)
    return done or sheet_page("amp", order, form, version=version_of(order.amp))


@bp.route(f"{AT}/condition", methods=["GET", "POST"])
@may(May.CHECK_IN)
def condition(order_id: int) -> Response | str:
    order = load_open_order(order_id)
    form = read_form(ConditionForm, zone=zone_named(request.args.get("zone", "")))
    if request.method == "POST" and form.validate():
        try:
            return _note_zone(order, form)
        except BadInput as wrong:
            form.add_error(wrong)
    return sheet_page("condition", order, form, notes=sheets_queries.condition_notes(order_id),
                      struck=sheets_queries.condition_notes(order_id,
                                                            struck=True), photos=sheets_queries.condition_photos(order_id))


def _note_zone(order: RepairOrder, form: ConditionForm) -> Response:
    """Photos are decoded and stored first, outside the write lock; good ones are kept where others are refused."""
    prepared, refused = prepare_all(uploads("photos"))
    note = (form.note.data or "").strip()
    if not prepared and not note:
        words = " ".join(f"{one.name}: {one.words}" for one in refused)
        raise BadInput(words or "Take a photo, or say how it looks.", "photos")
    with saving() as saved:
        by, now = actor(), clock.now()
        for one in prepared:
            photos.add(order, one, place=form.zone.data.value, by=by, now=now)
        if note:
            sheets_service.note_condition(order, form.zone.data, note, by=by, now=now)
        flash("Saved.", "saved")
        for bad in refused:
            flash(f"{bad.name} was not kept: {bad.words}", "refused")
        if request.form.get("then") == "more":
            return saved("intake.condition", order_id=order.id, zone=zone_after(form.zone.data).value)
        return onward(saved, order)


@bp.route(f"{AT}/condition/<int:note_id>/strike", methods=["GET", "POST"])
@may(May.CHECK_IN)
def strike_note(order_id: int, note_id: int) -> Response | str:
    order, note, form = load_open_order(order_id), sheets_queries.find_note(note_id), read_form(ReasonForm)
    if note is None or note.order_id != order_id:
        raise NotFound("There is no such note on this order.")
    done = save_or_reshow(
        form, order, lambda: sheets_service.strike_note(note, form.reason.data or "", by=actor(), now=clock.now()))
    return done or reason_page(order, form, title="Strike out a note",
                               words=f"{note.zone.value}: {note.note}", button="Strike out the note",
                               back="intake.condition")


@bp.route(f"{AT}/accessories", methods=["GET", "POST"])
@may(May.CHECK_IN)
def accessories(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), sheets_queries.counted(order_id)
    form = read_form(AccessoriesForm)
    if request.method == "GET":
        form.show({accessory.what: accessory.quantity for accessory in sheets_queries.accessories(order_id)})
    done = save_or_reshow(form, order, lambda: sheets_service.count(order, form.counted(), by=actor(), now=clock.now()),
                          lambda: sheets_queries.counted(order_id))
    return done or sheet_page("accessories", order, form, version=version_of(record), usual=ACCESSORIES)


@bp.route(f"{AT}/look", methods=["GET", "POST"])
@may(May.CHECK_IN)
def look(order_id: int) -> Response | str:
    order, record = load_open_order(order_id), sheets_queries.first_look(order_id)
    form = read_form(LookForm, obj=record)
    if request.method == "GET" and record:
        form.show(record)
    done = save_or_reshow(form, order, lambda: danger_service.look(order, form.seen(), by=actor(), now=clock.now()),
                lambda: sheets_queries.first_look(order_id))
    return done or sheet_page("look", order, form, version=version_of(record), no_isolation=NO_ISOLATION,
                              mains_joined=bool(record and record.mains_joined),
                              quarantines=sheets_queries.quarantines(order_id), quarantine=power.do_not_energise(order_id))


@bp.route(f"{AT}/quarantine", methods=["GET", "POST"])
@may(May.CHECK_IN)
def impound(order_id: int) -> Response | str:
    order, form = load_open_order(order_id), read_form(ReasonForm)
    done = save_or_reshow(form, order, lambda: danger_service.impound(order, form.reason.data or "", by=actor(), now=clock.now()))
    return done or reason_page(order, form, title="Do not energise",
                               words="Do not switch on until a technician clears it.",
                               button="Mark it “do not energise”", back="intake.look")


@bp.route(f"{AT}/quarantine/lift", methods=["GET", "POST"])
@may(May.WORK)
def lift(order_id: int) -> Response | str:
    order, form = load_open_order(order_id), read_form(ReasonForm)
    standing = power.do_not_energise(order_id)
    done = save_or_reshow(form, order, lambda: danger_service.lift(order, form.reason.data or "", by=actor(), now=clock.now()))
    return done or reason_page(order, form, title="Remove the do-not-energise mark",
                               words=f"Marked because: {standing.reason}" if standing else "It is not marked.",
                               button="Remove the do-not-energise mark", back="intake.look")


@bp.route(f"{AT}/place", methods=["GET", "POST"])
@may(May.CHECK_IN)
def place(order_id: int) -> Response | str:
    order = load_open_order(order_id)
    form = read_form(PlaceForm, obj=order)

    def put() -> None:
        today = clock.now().astimezone(the_shop().zone).date()
        checking_in_service.place(order, Place(form.shelf.data or "", form.promised_on.data, today), by=actor(), now=clock.now())

    return save_or_reshow(form, order, put, lambda: order) or sheet_page("place", order, form, version=version_of(order))
