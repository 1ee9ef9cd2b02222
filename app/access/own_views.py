"""What is one's own: PIN and password, the sign-ins that are open, and the password once more where it is asked for."""

from __future__ import annotations

from flask import flash, g, redirect, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access import guessing, passkeys, queries, seen, service, trying
from app.access.entering import enter, find_by_name
from app.access.forms import OwnForm, ProveForm, SetPasswordForm
from app.access.guard import actor, device, may, person
from app.access.people_views import bp as bp  # what it adds stands under the same name
from app.access.proving import ask_again, proved
from app.access.rules import May
from app.db import session, transaction
from app.errors import BadInput, NotFound
from app.kernel.door_log import What, note
from app.kernel.form_fields import House, read_form
from app.kernel.links import here_only
from app.kernel.needs import never_kept, public
from app.kernel.origin import address, agent
from app.kernel.saving import saving


@bp.route("/me", methods=["GET", "POST"])
@may(May.SEE)
@never_kept
def me() -> Response | str:
    """One's own PIN and password, and where one is signed in."""
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
    return render_template("access/me.html", form=form, has_errors=form.has_errors, here=g.sign_in, last_seen=seen.last,
                           sign_ins=queries.open_sign_ins(person(), clock.now()), passkeys=passkeys.of(person()))


def _not_own(form: OwnForm) -> str | None:
    """What to say if the present password does not fit. Wrong ones count as they do when signing in."""
    trouble = trying.password(person(), form.now_password.data, device(), now=clock.now(), address=address())
    return "That is not your present password." if trouble == trying.NO_MATCH else trouble


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


@bp.post("/me/sign-ins/<int:sign_in_id>/end")
@may(May.SEE)
def end_own(sign_in_id: int) -> Response:
    """End one of one's own sign-ins: on a tablet that was left, say."""
    found = next((one for one in queries.open_sign_ins(person(), clock.now()) if one.id == sign_in_id), None)
    if found is None:
        raise NotFound("None of your open sign-ins has this number. It may have ended already.")
    if found is g.sign_in:
        raise NotFound("This is the sign-in that you use now. It ends with Switch.")
    read_form(House)
    with saving() as saved:
        service.end_sign_in(found, by=actor(), now=clock.now())
        flash("That sign-in is ended.", "saved")
        return saved("staff.me")


@bp.post("/password")
@may(May.SEE)
def prove() -> Response:
    """The password once more, on the way to a page that asks for it."""
    form = read_form(ProveForm)
    return redirect(here_only(form.then.data or "/"), code=303) if proved(form) else ask_again(form)


@bp.route("/set-password", methods=["GET", "POST"])
@public
def set_password() -> Response | str:
    """One's own password, by the owner's one-time code."""
    form = read_form(SetPasswordForm, then=request.args.get("then", ""), held=request.args.get("held", ""))
    if request.method == "POST" and form.validate():
        found = find_by_name(form.name.data)
        trouble = guessing.place_trouble(_place())
        if trouble is None:
            with transaction():
                trouble = service.password_code_trouble(found, form.password_code.data, now=clock.now(), place=_place(),
                                                        name=form.name.data)
        if found is None or trouble is not None:
            note(What.CODE_REFUSED)
            form.add_error(BadInput(trouble or service.NO_CODE, "password_code"))
        else:
            try:
                password = service.new_password(form.new_password.data, found.name)
                with transaction():
                    service.use_password_code(found, form.password_code.data, password, agent=agent(), now=clock.now())
                return enter(session().merge(found), form, by_password=True)
            except BadInput as wrong:
                form.add_error(BadInput(wrong.words, "new_password" if wrong.field == "password" else wrong.field))
    return render_template("access/set_password.html", form=form, has_errors=form.has_errors)


def _place() -> str:
    return service.place_of(device(), address())
