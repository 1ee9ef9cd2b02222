"""The catalogue of usual findings: read by all, changed by the owner."""

from __future__ import annotations

from flask import Blueprint, flash, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access.guard import actor, may, person
from app.access.rules import May
from app.errors import BadInput, NotFound
from app.findings import usual
from app.findings.forms.catalogue import UsualForm
from app.findings.rules.alternatives import spread
from app.findings.rules.life import Area
from app.findings.service import catalogue as catalogue_service
from app.kernel.form_fields import read_form
from app.kernel.saving import check_fresh, saving

catalogue_bp = Blueprint("catalogue", __name__, url_prefix="/usual-findings")


@catalogue_bp.get("")
@may(May.SEE)
def page() -> str:
    """Every usual finding by area."""
    found = usual.catalogue(retired=person().may(May.SETTINGS))
    areas = [(area, [one for one in found if one.area is area]) for area in Area]
    return render_template("findings/catalogue.html", areas=areas, count=len(found), spread=spread)


@catalogue_bp.route("/new", methods=["GET", "POST"])
@may(May.SETTINGS)
def new() -> Response | str:
    return _edit(None)


@catalogue_bp.route("/<code>", methods=["GET", "POST"])
@may(May.SETTINGS)
def entry(code: str) -> Response | str:
    found = usual.find(code)
    if found is None:
        raise NotFound("There is no usual finding of this code.")
    return _edit(found)


def _edit(found: usual.Usual | None) -> Response | str:
    row = usual.row_of(found.code) if found else None
    form = read_form(UsualForm, **(UsualForm.stored(found) if found else {}))
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                if row is not None:
                    check_fresh(row)
                if found is None and usual.find(form.code.data) is not None:
                    raise BadInput(f"{form.code.data} is in the catalogue already.", "code")
                if found is not None and form.code.data != found.code:
                    raise BadInput("A code stays as it is; add a new one instead.", "code")
                catalogue_service.keep_usual(form.entry(), by=actor(), now=clock.now())
                flash("Saved.", "saved")
                return saved("catalogue.page")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("findings/usual.html", found=found, form=form, version=row.version if row else "",
                           has_errors=form.has_errors)
