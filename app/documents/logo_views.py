"""The shop's logo: chosen, seen, withdrawn. It is printed small at the head of papers."""

from __future__ import annotations

from flask import Blueprint, flash, make_response, render_template, request
from werkzeug.wrappers import Response
from wtforms import FileField

from app import clock
from app.access.guard import actor, may
from app.access.rules import May
from app.documents import queries, service
from app.errors import BadInput, NotFound
from app.kernel.form_fields import House, read_form
from app.kernel.resubmitted_uploads import not_taken, uploads
from app.kernel.saving import saving
from app.photos.prepare import Prepared, name_of, prepare
from app.photos.store import the_store

bp = Blueprint("logo", __name__, url_prefix="/shop/logo")


class LogoForm(House):
    """The picture."""

    file = FileField("Picture")


@bp.route("", methods=["GET", "POST"])
@may(May.SETTINGS)
def page() -> Response | str:
    """The logo that papers have, and another one in its place."""
    form = read_form(LogoForm)
    if request.method == "POST" and form.validate() and (picture := _picture(form)) is not None:
        with saving() as saved:
            service.set_logo(picture, by=actor(), now=clock.now())
            flash("The logo is saved. The next paper has it.", "saved")
            return saved("logo.page")
    return render_template("documents/logo.html", form=form, logo=queries.shop_logo(), has_errors=form.has_errors)


@bp.post("/<int:logo_id>/withdraw")
@may(May.SETTINGS)
def withdraw(logo_id: int) -> Response:
    """Papers have none any more."""
    logo = queries.find_logo(logo_id)
    if logo is None:
        raise NotFound("There is no such logo.")
    with saving() as saved:
        service.withdraw_logo(logo, by=actor(), now=clock.now())
        flash("The logo is withdrawn: the next paper has none. What was issued stays as it is.", "saved")
        return saved("logo.page")


@bp.get("/<int:logo_id>")
@may(May.SEE)
def picture(logo_id: int) -> Response:
    """Its upright copy, without what the camera noted."""
    logo = queries.find_logo(logo_id)
    if logo is None:
        raise NotFound("There is no such logo.")
    answer = make_response(the_store().get(logo.web_sha256))
    answer.mimetype = "image/jpeg"
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return answer


def _picture(form: LogoForm) -> Prepared | None:
    """The one file that was sent, taken in as photos are; else its refusal beside the field."""
    given = uploads("file")
    if len(given) != 1:
        form.add_error(BadInput("Choose one picture, and leave the others out." if given else "Choose a picture.", "file"))
        return None
    try:
        return prepare(given[0])
    except BadInput as wrong:
        not_taken(given[0])
        form.add_error(BadInput(f"{name_of(given[0])}: {wrong.words}", "file"))
        return None
