"""People and devices, for the owner; one's own PIN and password, for everybody."""

from __future__ import annotations

from flask import Blueprint, flash, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import guessing, proving, queries, service
from app.access.forms import ChangePersonForm, EnrolForm, OwnForm, PersonForm
from app.access.guard import actor, device, may, person
from app.access.models import Device, Person
from app.access.rules import May
from app.db import session
from app.errors import BadInput, NotFound, RuleBroken
from app.kernel.cookies import set_cookie
from app.kernel.door_log import What, note
from app.kernel.form_fields import read_form
from app.kernel.needs import never_kept, public
from app.kernel.origin import address, agent
from app.kernel.saving import saving
from app.kernel.tokens import DEVICE_COOKIE

bp = Blueprint("staff", __name__, url_prefix="/people")
TEN_YEARS = 3650


@bp.route("", methods=["GET", "POST"])
@may(May.PEOPLE)
def page() -> Response | str:
    """Everybody, every device, and the form for somebody new."""
    form = read_form(PersonForm)
    if request.method == "POST" and form.validate():
        try:
            password = service.new_password(form.password.data, form.name.data)
            with saving() as saved:
                made = service.add_person(form.name.data, form.role.data, password, by=actor(), now=clock.now())
                flash(f"{made.name} may sign in.", "saved")
                return saved("staff.page")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("access/people.html", form=form, people=queries.people(), gone=queries.people(active=False),
                           devices=queries.devices(), has_errors=form.has_errors)


@bp.route("/<int:person_id>", methods=["GET", "POST"])
@may(May.PEOPLE)
def one(person_id: int) -> Response | str:
    """One person: role, sign-in, a new password."""
    found = session().get(Person, person_id)
    if found is None:
        raise NotFound("There is nobody of that number.")
    form = read_form(ChangePersonForm, obj=found)
    if request.method == "POST" and form.validate():
        try:
            password = service.new_password(form.password.data, found.name) if form.password.data else None
            with saving() as saved:
                service.change_person(found, role=form.role.data, active=form.active.data, by=actor(), now=clock.now())
                if password:
                    service.set_password(found, password, by=actor(), now=clock.now())
                flash(f"{found.name}: saved.", "saved")
                return saved("staff.page")
        except BadInput as wrong:
            form.add_error(wrong)
        except RuleBroken as wrong:
            form.add_error(BadInput(wrong.words, "role"))
    return render_template("access/person.html", form=form, found=found, has_errors=form.has_errors)


@bp.route("/me", methods=["GET", "POST"])
@may(May.SEE)
@never_kept
def me() -> Response | str:
    """One's own PIN and password."""
    form = read_form(OwnForm)
    if request.method == "POST" and form.validate():
        if trouble := _not_own(form):
            form.add_error(BadInput(trouble, "now_password"))
        elif not (form.new_pin.data or form.new_password.data):
            form.add_error(BadInput("Enter a new PIN, a new password, or both.", "new_pin"))
        else:
            try:
                return _keep_own(form)
            except BadInput as wrong:
                form.add_error(BadInput(wrong.words, "new_password" if wrong.field == "password" else wrong.field))
    return render_template("access/me.html", form=form, has_errors=form.has_errors)


def _not_own(form: OwnForm) -> str | None:
    """What to say if the present password does not fit. Wrong ones count as they do when signing in."""
    trouble = proving.password(person(), form.now_password.data, device(), now=clock.now(), address=address())
    return "That is not your present password." if trouble == proving.NO_MATCH else trouble


def _keep_own(form: OwnForm) -> Response:
    pin = service.new_pin(form.new_pin.data) if form.new_pin.data else None
    password = service.new_password(form.new_password.data, person().name) if form.new_password.data else None
    with saving() as saved:
        if pin:
            service.set_pin(person(), pin, by=actor(), now=clock.now())
        if password:
            service.set_password(person(), password, by=actor(), now=clock.now())
            g.sign_in.ended_at = None  # this one stays; all others have ended
        flash("Saved.", "saved")
        return saved("staff.me")


@bp.post("/enrol-code")
@may(May.PEOPLE)
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
@may(May.PEOPLE)
def revoke(device_id: int) -> Response:
    """A lost or sold tablet: from its next request on it is a stranger."""
    found = session().get(Device, device_id)
    if found is None:
        raise NotFound("There is no such device.")
    with saving() as saved:
        service.revoke(found, by=actor(), now=clock.now())
        flash(f"{found.name} is revoked.", "saved")
        return saved("staff.page")
