"""The photos of an order: taking, describing, ordering, striking; and the picture files themselves."""

from __future__ import annotations

from flask import Blueprint, Response, flash, make_response, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.local_forms import counted
from app.kernel.resubmitted_uploads import uploads
from app.kernel.saving import check_fresh, saving
from app.orders.loading import load_order
from app.orders.models import RepairOrder
from app.orders.stages import Stage, is_back
from app.photos import pins, queries, service
from app.photos.forms import AddForm, StrikeForm, WordsForm
from app.photos.models import Phase, Photo
from app.photos.prepare import Prepared, prepare_all
from app.photos.store import the_store

bp = Blueprint("photos", __name__)


@bp.route("/orders/<int:order_id>/photos", methods=["GET", "POST"])
@may(May.SEE)
def page(order_id: int) -> AnyResponse | str:
    """All photos of an order, and the way to take several in a row without leaving."""
    order = load_order(order_id)
    form = read_form(AddForm, place=request.args.get("place", ""), phase=_phase(order),
                     caption=request.args.get("caption", ""), same_view_as=request.args.get("same_view_as", type=int))
    form.offer(tuple(queries.places(order_id)))
    if request.method == "POST":
        allow(May.CHECK_IN)
        if form.validate() and (kept := _take(form)):
            try:
                return _add(order, form, kept)
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("photos/page.html", order=order, form=form, photos=queries.of_order(order_id),
                           struck=queries.of_order(order_id, struck=True), model=_model(order, form),
                           has_errors=form.has_errors)


@bp.get("/orders/<int:order_id>/photos/pairs")
@may(May.SEE)
def pairs(order_id: int) -> str:
    """As found and as left, side by side."""
    order = load_order(order_id)
    return render_template("photos/pairs.html", order=order, pairs=queries.pairs(order_id))


@bp.route("/photos/<int:photo_id>", methods=["GET", "POST"])
@may(May.SEE)
def one(photo_id: int) -> AnyResponse | str:
    """One photo, large, with its words."""
    photo = load_photo(photo_id)
    form = read_form(WordsForm, place=photo.place, phase=photo.phase, caption=photo.caption)
    if request.method == "POST":
        allow(May.CHECK_IN)
        if form.validate():
            try:
                with saving() as saved:
                    check_fresh(photo)
                    service.describe(photo, place=form.place_words, caption=form.caption_words, phase=form.phase.data,
                                     by=actor(), now=clock.now())
                    flash("Saved.", "saved")
                    return saved("photos.one", photo_id=photo_id)
            except BadInput as wrong:
                form.add_error(wrong)
    before, after = _beside(photo)
    return render_template("photos/one.html", order=load_order(photo.order_id), photo=photo, form=form, before=before,
                           after=after, pins=pins.on_photo(photo_id), url_of=pins.url_of,
                           kinds=[one for one in pins.kinds() if one.begins], has_errors=form.has_errors)


@bp.route("/photos/<int:photo_id>/strike", methods=["GET", "POST"])
@may(May.CHECK_IN)
def strike(photo_id: int) -> AnyResponse | str:
    photo = load_photo(photo_id)
    form = read_form(StrikeForm)
    if request.method == "POST" and form.validate():
        with saving() as saved:
            service.strike(photo, reason=form.reason.data, by=actor(), now=clock.now())
            flash("The photo is struck; its file is kept.", "saved")
            return saved("photos.page", order_id=photo.order_id)
    return render_template("photos/strike.html", order=load_order(photo.order_id), photo=photo, form=form,
                           has_errors=form.has_errors)


@bp.post("/photos/<int:photo_id>/move/<way>")
@may(May.CHECK_IN)
def move(photo_id: int, way: str) -> AnyResponse:
    """One place earlier or later in the row."""
    photo = load_photo(photo_id)
    if way not in ("earlier", "later"):
        raise NotFound("A photo moves earlier or later.")
    with saving() as saved:
        if not service.move(photo, earlier=way == "earlier", by=actor(), now=clock.now()):
            flash(f"It is the {'first' if way == 'earlier' else 'last'} already.", "refused")
        return saved("photos.page", order_id=photo.order_id, _anchor=f"photo-{photo_id}")


@bp.get("/photos/<int:photo_id>/<size>")
@may(May.SEE)
def show(photo_id: int, size: str) -> Response:
    """The file. Copies are JPEG without metadata; the original may tell a place: only bench and owner get it."""
    photo = load_photo(photo_id)
    if size == "original":
        allow(May.WORK)
    sha256 = {"thumb": photo.thumb_sha256, "web": photo.web_sha256, "original": photo.sha256}.get(size)
    if sha256 is None:
        raise NotFound("A photo is there as thumb, web and original.")
    answer = make_response(the_store().get(sha256))  # not to be stored: Back would show it after Switch, asking nobody
    answer.mimetype = photo.media_type if size == "original" else "image/jpeg"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    if size == "original":
        answer.headers["Content-Disposition"] = f'attachment; filename="photo-{photo_id}.{_ending(photo)}"'
    return answer


def load_photo(photo_id: int) -> Photo:
    """The one way for a view to come by a photo."""
    photo = queries.find(photo_id)
    if photo is None:
        raise NotFound("There is no photo at this address.")
    load_order(photo.order_id)
    return photo


def _take(form: AddForm) -> list[Prepared]:
    given = uploads("photos")
    if not given:
        form.add_error(BadInput("Take a photo or choose a file.", "photos"))
        return []
    if not form.place_words.strip():
        form.add_error(BadInput("Enter which place the photos show, then add them once more.", "place"))
        return []
    kept, refused = prepare_all(given)
    for bad in refused:
        words = f"{bad.name}: {bad.words}"
        if kept:
            flash(words, "refused")
        else:
            form.add_error(BadInput(words, "photos"))
    return kept


def _add(order: RepairOrder, form: AddForm, kept: list[Prepared]) -> AnyResponse:
    with saving() as saved:
        for one in kept:
            service.add(order, one, place=form.place_words, caption=form.caption_words, phase=form.phase.data,
                        same_view_as=_model(order, form), by=actor(), now=clock.now())
        flash(f"{counted(len(kept), 'photo')} added.", "saved")
        return saved("photos.page", order_id=order.id, place=form.place_words, phase=form.phase.data.value)


def _model(order: RepairOrder, form: AddForm) -> Photo | None:
    """The earlier photo whose view is taken again."""
    found = queries.find(form.same_view_as.data) if form.same_view_as.data else None
    return found if found is not None and found.order_id == order.id and found.struck_at is None else None


def _phase(order: RepairOrder) -> Phase:
    """What photos taken now are most likely to be: as asked for, or by the stage."""
    asked = request.args.get("phase", "")
    if asked in list(Phase):
        return Phase(asked)
    if is_back(Stage.SAFETY_TEST, order.stage):
        return Phase.AS_FOUND if order.stage in (Stage.INTAKE, Stage.TEARDOWN) else Phase.AT_WORK
    return Phase.AS_LEFT


def _beside(photo: Photo) -> tuple[Photo | None, Photo | None]:
    row = list(queries.of_order(photo.order_id, struck=photo.struck_at is not None))
    here = row.index(photo)
    return (row[here - 1] if here else None, row[here + 1] if here + 1 < len(row) else None)


def _ending(photo: Photo) -> str:
    return photo.media_type.split("/")[1].replace("jpeg", "jpg")
