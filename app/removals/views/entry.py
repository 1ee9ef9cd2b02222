"""What came off: the list, one record, the next of a row."""

from __future__ import annotations

from flask import flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.db import session
from app.hardware.queries import pickers
from app.kernel.form_fields import read_form
from app.kernel.saving import Saved, check_fresh, save_or_reshow
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.photos import pins
from app.removals import queries
from app.removals.drawing import draw, drawn
from app.removals.forms import AgainForm, RemovalForm
from app.removals.models import Removal
from app.removals.rules import CARRIES, HIDDEN, LIFTED, STACK_PIECES, WIRE_COLOURS, Fate
from app.removals.service import record as record_service
from app.removals.service.record import bag_of, facts_of, next_number, suggest_mark
from app.removals.stacks import read_stack
from app.removals.usual import offers
from app.removals.views.common import attach_photos, bp, load_removal, photo_of, prepare_uploads

WIRE_WORDS = (*WIRE_COLOURS, *CARRIES, *LIFTED[1:], HIDDEN)


@bp.get("")
@may(May.SEE)
def page(order_id: int) -> str:
    """Everything that is off, with its pieces, bag and fate."""
    order = load_order(order_id)
    lines = queries.lines(order)
    last = lines[-1].removal if lines else None
    again = AgainForm(data={"mark": suggest_mark(last, order)}) if last else None
    return render_template("removals/page.html", order=order, lines=lines, last=last, again=again,
                           struck=queries.of_order(order, struck=True), found=queries.found_objects(order),
                           lost=queries.lost_pieces(order), entries=queries.entries(order))


@bp.route("/new", methods=["GET", "POST"])
@may(May.WORK)
def new(order_id: int) -> Response | str:
    """One more thing off. Place, side and sub-assembly of the last one are offered first."""
    order = load_order(order_id, May.WORK)
    must_be_open(order)
    off = queries.of_order(order)
    form = read_form(RemovalForm)
    if request.method == "GET":
        _prefill(form, order, off[-1] if off else None)
        _asked(form, order)
    form.offer(off, queries.cavities(order))
    if form.fate.data is Fate.NEW:
        form.name.label.text = "What it is"
    ready = prepare_uploads("photos")

    def act(saved: Saved) -> Response:
        made = record_service.record_removal(order, form.mark.data, form.facts(), by=actor(), now=clock.now())
        attach_photos(order, made, form, ready)
        flash(f"{made.title} is new and in the way back." if made.fate is Fate.NEW else f"{made.title} is off the amp.", "saved")
        return saved("removals.new" if request.form.get("then") == "next" else "removals.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template(
        "removals/form.html", order=order, form=form, removal=None, version=0, usual=offers(order, next_number(order)),
        pieces=STACK_PIECES, wire_words=WIRE_WORDS, hardware=pickers(),
        drawing=draw(read_stack(form.stack.data or "")), **_pinned(order, form), has_errors=form.has_errors)


@bp.get("/<int:removal_id>")
@may(May.SEE)
def one(order_id: int, removal_id: int) -> str:
    """One thing that came off: what is recorded, and what can be done with it."""
    order, removal = load_removal(order_id, removal_id)
    line = queries.line_of(removal, order) if removal.struck_at is None else None
    again = AgainForm(data={"mark": suggest_mark(removal, order)})
    drawings = drawn(queries.stacks_in_words(removal, order))
    photo = photo_of(order, removal.photo_id)
    return render_template("removals/one.html", order=order, removal=removal, line=line, drawings=drawings, again=again,
                           photo=photo, pins_here=pins.on_photo(photo.id) if photo else (), url_of=pins.url_of,
                           entries=[one for one in queries.entries(order) if one.removal_id == removal_id])


@bp.route("/<int:removal_id>/edit", methods=["GET", "POST"])
@may(May.WORK)
def edit(order_id: int, removal_id: int) -> Response | str:
    """Say it better. Its tag stays."""
    order, removal = load_removal(order_id, removal_id, May.WORK)
    form = read_form(RemovalForm, mark=removal.mark)
    if request.method == "GET":
        form.show(facts_of(removal))
        own = pins.of_record("removal", removal_id)
        form.photo_id.data = own[0].photo_id if own else removal.photo_id
        form.pin_x.data, form.pin_y.data = (own[0].x, own[0].y) if own else (None, None)
    form.offer(queries.of_order(order), queries.cavities(order), removal)
    ready = prepare_uploads("photos")

    def act(saved: Saved) -> Response:
        session().refresh(removal)
        check_fresh(removal)
        record_service.change_removal(removal, order, form.facts(removal.photo_id), by=actor(), now=clock.now())
        attach_photos(order, removal, form, ready)
        flash("Saved.", "saved")
        return saved("removals.one", order_id=order_id, removal_id=removal_id)

    version = request.form.get("version", "") or removal.version
    return save_or_reshow(form, act) or render_template(
        "removals/form.html", order=order, form=form, removal=removal, version=version, usual={}, pieces=STACK_PIECES,
        wire_words=WIRE_WORDS, hardware=pickers(), drawing=draw(read_stack(form.stack.data or "")), **_pinned(order, form),
        has_errors=form.has_errors)


@bp.route("/<int:removal_id>/again", methods=["GET", "POST"])
@may(May.WORK)
def again(order_id: int, removal_id: int) -> Response | str:
    """The next of a row of equals, in one tap."""
    order, like = load_removal(order_id, removal_id, May.WORK)
    form = read_form(AgainForm, mark=suggest_mark(like, order))

    def act(saved: Saved) -> Response:
        made = record_service.same_again(like, order, form.mark.data, by=actor(), now=clock.now())
        flash(f"{made.title} is off the amp, as {like.mark}.", "saved")
        return saved("removals.page", order_id=order_id)

    return save_or_reshow(form, act) or render_template("removals/again.html", order=order, form=form, like=like,
                                                        has_errors=form.has_errors)


@bp.get("/sketch")
@may(May.WORK)
def sketch(order_id: int) -> str:
    """The drawing of a stack that is being tapped together: `?stack=` with a piece a line."""
    load_order(order_id, May.WORK)
    return render_template("removals/sketch.html", drawing=draw(read_stack(request.args.get("stack", ""))[:40]))


def _asked(form: RemovalForm, order: RepairOrder) -> None:
    """What the address says: which photo, where on it; that it is new, and what it is."""
    if request.args.get("fate") == Fate.NEW.value:
        form.fate.data = Fate.NEW
        form.name.data, form.mark.data = request.args.get("name", ""), request.args.get("mark") or form.mark.data
    shown = photo_of(order, request.args.get("photo_id", type=int))
    if shown is not None:
        form.photo_id.data = shown.id
        form.pin_x.data, form.pin_y.data = (request.args.get(name, type=float) for name in ("pin_x", "pin_y"))
        form.place.data = shown.place


def _pinned(order: RepairOrder, form: RemovalForm) -> dict[str, object]:
    """The photo that the form is pinned to, if any."""
    photo = photo_of(order, form.photo_id.data)
    return {"photo": photo, "pins_here": pins.on_photo(photo.id) if photo else (), "url_of": pins.url_of}


def _prefill(form: RemovalForm, order: RepairOrder, last: Removal | None) -> None:
    number = next_number(order)
    form.mark.data, form.bag.data = f"R{number}", bag_of(order, number)
    if last is not None:
        form.place.data, form.unit.data = last.place, last.unit
        form.side.data = last.side.value if last.side else None
