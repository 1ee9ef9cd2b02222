"""The shop's drawings: all of them, one with its pins, adding, changing, withdrawing; and the files themselves."""

from __future__ import annotations

from flask import Blueprint, Response, flash, make_response, render_template, request
from werkzeug.wrappers import Response as AnyResponse

from app import clock
from app.access.guard import actor, allow, may
from app.access.rules import May
from app.db import session
from app.drawings import queries, service
from app.drawings.forms import AddForm, PinForm, WithdrawForm, WordsForm
from app.drawings.models import Drawing
from app.drawings.prepare import PreparedDrawing, take
from app.drawings.spec import DrawingFacts, PinFacts
from app.errors import BadInput, NotFound
from app.kernel.form_fields import read_form
from app.kernel.resubmitted_uploads import not_taken, uploads
from app.kernel.saving import Saved, check_fresh, save_or_reshow, saving
from app.kernel.spec_forms import read_facts, shown
from app.photos.prepare import name_of
from app.photos.store import the_store

bp = Blueprint("drawings", __name__, url_prefix="/drawings")


@bp.get("")
@may(May.SEE)
def page() -> str:
    """Every drawing by maker and model, and those that were withdrawn."""
    return render_template("drawings/page.html", drawings=queries.every(), withdrawn=queries.every(withdrawn=True))


@bp.route("/new", methods=["GET", "POST"])
@may(May.WORK)
def new() -> AnyResponse | str:
    """Add one; an amp in the address names its maker and model."""
    amp = queries.amp_with(request.args.get("amp", 0, type=int))
    form = read_form(AddForm, maker=amp.maker if amp else "", model=amp.model if amp else "")
    if request.method == "POST" and form.validate() and (file := _file(form)) is not None:
        try:
            with saving() as saved:
                made = service.add_drawing(read_facts(form, DrawingFacts), file, by=actor(), now=clock.now())
                session().flush()
                flash("The drawing is added.", "saved")
                return saved("drawings.one", drawing_id=made.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("drawings/new.html", form=form, amp=amp, has_errors=form.has_errors)


@bp.route("/<int:drawing_id>", methods=["GET", "POST"])
@may(May.SEE)
def one(drawing_id: int) -> AnyResponse | str:
    """One drawing: a picture that zooms, with its pins; a pin more by POST."""
    drawing, form = _load(drawing_id), read_form(PinForm)
    if request.method == "POST":
        allow(May.WORK)

    def act(saved: Saved) -> AnyResponse:
        facts = read_facts(form, PinFacts)
        made = service.add_pin(drawing, facts.note, facts.across / 100, facts.down / 100, by=actor(), now=clock.now())
        flash(f"Pin {made.number} is added.", "saved")
        return saved("drawings.one", drawing_id=drawing_id)

    return save_or_reshow(form, act) or render_template("drawings/one.html", drawing=drawing, form=form, has_errors=form.has_errors)


@bp.route("/<int:drawing_id>/edit", methods=["GET", "POST"])
@may(May.WORK)
def edit(drawing_id: int) -> AnyResponse | str:
    """Change its words."""
    drawing = _load(drawing_id)
    form = read_form(WordsForm, **shown(drawing, DrawingFacts))

    def act(saved: Saved) -> AnyResponse:
        check_fresh(drawing, form)
        service.change_drawing(drawing, read_facts(form, DrawingFacts), by=actor(), now=clock.now())
        flash("The drawing is changed.", "saved")
        return saved("drawings.one", drawing_id=drawing_id)

    return save_or_reshow(form, act) or render_template("drawings/edit.html", drawing=drawing, form=form,
                                                        has_errors=form.has_errors)


@bp.route("/<int:drawing_id>/withdraw", methods=["GET", "POST"])
@may(May.WORK)
def withdraw(drawing_id: int) -> AnyResponse | str:
    """Offer it no more."""
    drawing, form = _load(drawing_id), read_form(WithdrawForm)

    def act(saved: Saved) -> AnyResponse:
        check_fresh(drawing)
        service.withdraw_drawing(drawing, reason=form.reason.data, by=actor(), now=clock.now())
        flash("The drawing is withdrawn; its file is kept.", "saved")
        return saved("drawings.one", drawing_id=drawing_id)

    return save_or_reshow(form, act) or render_template("drawings/withdraw.html", drawing=drawing, form=form,
                                                        has_errors=form.has_errors)


@bp.post("/<int:drawing_id>/pins/<int:pin_id>/withdraw")
@may(May.WORK)
def withdraw_pin(drawing_id: int, pin_id: int) -> AnyResponse:
    """Show a pin no more."""
    pin = queries.find_pin(drawing_id, pin_id)
    if pin is None:
        raise NotFound("There is no such pin on this drawing.")
    with saving() as saved:
        service.withdraw_pin(pin, by=actor(), now=clock.now())
        flash(f"Pin {pin.number} is withdrawn.", "saved")
        return saved("drawings.one", drawing_id=drawing_id)


@bp.get("/<int:drawing_id>/<size>")
@may(May.SEE)
def show(drawing_id: int, size: str) -> Response:
    """The file. As of a photo, the picture as it came may tell a place: only bench and owner get it.

    A PDF is handed to the browser's own viewer or saved. It runs nothing on this address: nosniff keeps it a PDF, and the
    policy lets no script, frame or form begin from it.
    """
    drawing = _load(drawing_id)
    if size == "full" and not drawing.is_pdf:
        allow(May.WORK)
    sha256 = {"thumb": drawing.thumb_sha256, "web": drawing.web_sha256, "full": drawing.sha256}.get(size)
    if sha256 is None:
        raise NotFound("A picture is there as thumb, web and full, a PDF as full.")
    answer = make_response(the_store().get(sha256))  # not to be stored, as a photo
    media_type = drawing.media_type if size == "full" else "image/jpeg"
    answer.mimetype = media_type
    if not drawing.is_pdf:  # a sandboxed PDF is shown by no viewer; the policy of every page holds for it
        answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    shown_as = "attachment" if request.args.get("save") else "inline"
    answer.headers["Content-Disposition"] = f'{shown_as}; filename="drawing-{drawing_id}.{_ending(media_type)}"'
    return answer


def _load(drawing_id: int) -> Drawing:
    found = queries.find(drawing_id)
    if found is None:
        raise NotFound("There is no drawing at this address.")
    return found


def _file(form: AddForm) -> PreparedDrawing | None:
    """The one file that was sent, taken in; else its refusal beside the field, and what is typed stays."""
    given = uploads("file")
    if len(given) != 1:
        form.add_error(BadInput("Choose one file for each drawing, and leave the others out." if given
                                else "Choose a picture or a PDF.", "file"))
        return None
    try:
        return take(given[0])
    except BadInput as wrong:
        not_taken(given[0])
        form.add_error(BadInput(f"{name_of(given[0])}: {wrong.words}", "file"))
        return None


def _ending(media_type: str) -> str:
    return media_type.split("/")[1].replace("jpeg", "jpg")
