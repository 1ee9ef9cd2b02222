"""The sheets of an order, each saved on its own, and their overview."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.intake.forms.records import AmpForm
from app.intake.forms.sheets import (
    AccessoriesForm,
    ComplaintForm,
    ConditionForm,
    LookForm,
    PlaceForm,
    ReasonForm,
    accessories_form,
    shot_of,
)
from app.intake.queries import search as search_queries
from app.intake.queries import sheets as sheets_queries
from app.intake.rules import (
    NO_ISOLATION,
    Zone,
    accessory_list,
    missing_items,
    open_zones,
    views_asked,
    zone_after,
    zone_named,
)
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
from app.orders import service as orders
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.photos import service as photos
from app.photos.prepare import Prepared, Refused, prepare_all
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
    order, least = load_open_order(order_id), the_shop().least_views
    shown = sheets_queries.zones_shown(order_id)
    still = open_zones(shown, least)
    form = read_form(ConditionForm, zone=zone_named(request.args.get("zone", still[0].value if still else "")))
    form.offer(shown)
    if request.method == "POST" and form.validate():
        try:
            return _note_zones(order, form, nothing_open=not still)
        except BadInput as wrong:
            form.add_error(wrong)
    asked = views_asked(least)
    return sheet_page("condition", order, form, notes=sheets_queries.condition_notes(order_id), shown=shown, still=still,
                      asked=asked, more=[zone for zone in Zone if zone not in asked],
                      struck=sheets_queries.condition_notes(order_id, struck=True),
                      photos=sheets_queries.condition_photos(order_id))


def _note_zones(order: RepairOrder, form: ConditionForm, *, nothing_open: bool) -> Response:
    """Photos are decoded and stored first, outside the write lock; good ones are kept where others are refused."""
    sent = [(zone, prepare_all(uploads(shot_of(zone)))) for zone in Zone] + [(form.zone.data, prepare_all(uploads("photos")))]
    refused = [bad for _, (_, bads) in sent for bad in bads]
    note = (form.note.data or "").strip()
    if not note and not any(good for _, (good, _) in sent):
        if nothing_open and not refused:
            with saving() as saved:
                return onward(saved, order)
        words = " ".join(f"{one.name}: {one.words}" for one in refused)
        raise BadInput(words or "Take a photo, or say how it looks.", "photos")
    with saving() as saved:
        by, now = actor(), clock.now()
        for zone, (good, _) in sent:
            for one in good:
                photos.add(order, one, place=zone.value, by=by, now=now)
        if note:
            sheets_service.note_condition(order, form.zone.data, note, by=by, now=now)
        flash("Saved.", "saved")
        for bad in refused:
            flash(f"{bad.name} was not kept: {bad.words}", "refused")
        shown = sheets_queries.zones_shown(order.id)
        if open_zones(shown, the_shop().least_views) or request.form.get("then") == "stay":
            following = zone_after(form.zone.data, shown, the_shop().least_views)
            return saved("intake.condition", order_id=order.id, zone=following.value)
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
    form = read_form(accessories_form(accessory_list(the_shop().accessory_list)))
    if request.method == "GET":
        stored = {accessory.what: accessory.quantity for accessory in sheets_queries.accessories(order_id)}
        form.show(stored, counted_before=record is not None)
    shots = form.shots() if request.method == "POST" else {}
    sent = {what: prepare_all(uploads(field)) for field, what in shots.items()}  # decoded outside the write lock
    done = save_or_reshow(form, order, lambda: _count(order, form, sent), lambda: sheets_queries.counted(order_id))
    return done or sheet_page("accessories", order, form, version=version_of(record), usual=list(form.listed),
                              shots=list(form.shots()), photos=sheets_queries.photos_of(order_id, list(form.listed.values())))


def _count(order: RepairOrder, form: AccessoriesForm, sent: dict[str, tuple[list[Prepared], list[Refused]]]) -> None:
    """The count, and the photos of what was counted; good ones are kept where others are refused."""
    by, now = actor(), clock.now()
    sheets_service.count(order, form.counted(), by=by, now=now)
    for what, (good, refused) in sent.items():
        for one in good:
            photos.add(order, one, place=what, by=by, now=now)
        for bad in refused:
            flash(f"{bad.name} was not kept: {bad.words}", "refused")


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


@bp.route(f"{AT}/void", methods=["GET", "POST"])
@may(May.MERGE)
def void(order_id: int) -> Response | str:
    """It was opened by mistake."""
    order, form = load_open_order(order_id), read_form(ReasonForm)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                orders.void(order, form.reason.data or "", by=actor(), now=clock.now())
                flash(f"Repair {order.number} is void.", "saved")
                return saved("bench.order", order_id=order_id)
        except BadInput as wrong:
            form.add_error(wrong)
    return reason_page(order, form, title="Void this order", button=f"Void repair {order.number}", back="intake.page",
                       words="For an order that was opened by mistake. Its number and records stay; nobody works on it any more.")
