"""People and devices, for the owner."""

from __future__ import annotations

from flask import Blueprint, flash, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from app import clock
from app.access import guessing, passkeys, queries, service
from app.access.forms import ChangePersonForm, EnrolForm, PersonForm
from app.access.guard import actor, may, person
from app.access.models import Device, Person
from app.access.rules import CODE_LASTS, May
from app.db import session
from app.errors import BadInput, NotFound, RuleBroken
from app.kernel.cookies import set_cookie
from app.kernel.door_log import What, note
from app.kernel.form_fields import read_form
from app.kernel.needs import public
from app.kernel.origin import address, agent
from app.kernel.saving import saving
from app.kernel.tokens import DEVICE_COOKIE

bp = Blueprint("staff", __name__, url_prefix="/people")
TEN_YEARS = 3650


@bp.route("", methods=["GET", "POST"])
@may(May.PEOPLE, password=True)
def page() -> Response | str:
    """Everybody, every device, and the form for somebody new."""
    form = read_form(PersonForm)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                made = service.add_person(form.name.data, form.role.data, None, by=actor(), now=clock.now())
                flash(f"{made.name} is added. Make the one-time code with which {made.name} sets a password.", "saved")
                return saved("staff.one", person_id=made.id)
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("access/people.html", form=form, people=queries.people(), gone=queries.people(active=False),
                           devices=queries.devices(), has_errors=form.has_errors)


@bp.route("/<int:person_id>", methods=["GET", "POST"])
@may(May.PEOPLE, password=True)
def one(person_id: int) -> Response | str:
    """One person: role, sign-in, the way to a password and a badge."""
    found = _load(person_id)
    form = read_form(ChangePersonForm, obj=found)
    if request.method == "POST" and form.validate():
        try:
            with saving() as saved:
                service.change_person(found, role=form.role.data, active=form.active.data, by=actor(), now=clock.now())
                flash(f"{found.name}: saved.", "saved")
                return saved("staff.page")
        except BadInput as wrong:
            form.add_error(wrong)
        except RuleBroken as wrong:
            form.add_error(BadInput(wrong.words, "role"))
    return render_template("access/person.html", form=form, found=found, badge=queries.badge_of(found),
                           passkeys=passkeys.of(found),
                           has_errors=form.has_errors)


@bp.post("/<int:person_id>/password-code")
@may(May.PEOPLE, password=True)
def password_code(person_id: int) -> str:
    """A one-time code with which this person sets their own password: on this page, and on no other."""
    found = _load(person_id)
    with saving() as saved:
        code = service.make_password_code(found, by=actor(), now=clock.now())
        saved("staff.one", person_id=person_id)
    return render_template("access/password_code.html", found=found, code=" ".join((code[:4], code[4:8], code[8:])),
                           ends=clock.now() + CODE_LASTS)


@bp.post("/<int:person_id>/badge")
@may(May.PEOPLE, password=True)
def badge(person_id: int) -> str:
    """A badge to print, in place of the one before: on this page, and on no other."""
    found = _load(person_id)
    with saving() as saved:
        secret = service.make_badge(found, by=actor(), now=clock.now())
        saved("staff.one", person_id=person_id)
    return render_template("access/badge.html", found=found, square=square(secret))


@bp.post("/<int:person_id>/badge/withdraw")
@may(May.PEOPLE, password=True)
def withdraw_badge(person_id: int) -> Response:
    """A lost badge: it opens nothing any more, and what it opened is ended."""
    found = _load(person_id)
    with saving() as saved:
        service.withdraw_badge(found, by=actor(), now=clock.now())
        flash(f"{found.name}’s badge is withdrawn.", "saved")
        return saved("staff.one", person_id=person_id)


def square(secret: str) -> Markup:
    """A badge's secret as a QR code, as SVG without fixed size. Error correction M: it is read off a worn card."""
    import segno

    drawn = segno.make(secret, error="m", micro=False)
    return Markup(drawn.svg_inline(omitsize=True, border=4, svgclass="qr", lineclass="qr-line"))  # noqa: S704 - made here


def _load(person_id: int) -> Person:
    found = session().get(Person, person_id)
    if found is None:
        raise NotFound("There is nobody of that number.")
    return found


@bp.post("/enrol-code")
@may(May.PEOPLE, password=True)
def make_code() -> Response:
    """A one-time code for a tablet."""
    with saving() as saved:
        code = service.make_enrol_code(person(), by=actor(), now=clock.now())
        flash(f"Code for one device, good for ten minutes: {code[:4]} {code[4:]}. "
              f"Enter it on the tablet, at {url_for('staff.enrol', _external=True)}", "saved")
        return saved("staff.page")


@bp.route("/enrol", methods=["GET", "POST"])
@public
def enrol() -> Response | str:
    """On the tablet itself: the code makes it an enrolled device."""
    form = read_form(EnrolForm)
    if request.method == "POST" and form.validate():
        try:
            if trouble := guessing.place_trouble(address()):
                raise BadInput(trouble, "code")
            with saving() as saved:
                made, secret = service.enrol(form.code.data, form.name.data, agent=agent(), now=clock.now())
                saved("access.sign_in")
        except BadInput as wrong:
            note(What.CODE_REFUSED)
            form.add_error(wrong)
        else:
            note(What.DEVICE_ENROLLED)
            flash(f"This is {made.name} now. A name and a PIN are enough here.", "saved")
            answer = redirect(url_for("access.sign_in"), code=303)
            set_cookie(answer, DEVICE_COOKIE, secret, days=TEN_YEARS)
            return answer
    return render_template("access/enrol.html", form=form, has_errors=form.has_errors)


@bp.post("/devices/<int:device_id>/revoke")
@may(May.PEOPLE, password=True)
def revoke(device_id: int) -> Response:
    """A lost or sold tablet: from its next request on it is a stranger."""
    found = session().get(Device, device_id)
    if found is None:
        raise NotFound("There is no such device.")
    with saving() as saved:
        service.revoke(found, by=actor(), now=clock.now())
        flash(f"{found.name} is revoked.", "saved")
        return saved("staff.page")
