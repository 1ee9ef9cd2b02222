"""Signing in and switching."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, current_app, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import guessing, passkeys, queries, service, trying
from app.access.entering import enter, find_by_name
from app.access.forms import BadgeForm, PinForm, SignInForm
from app.access.guard import actor, device
from app.access.models import Device, Person
from app.access.site import site
from app.db import session, transaction
from app.errors import BadInput
from app.kernel.cookies import drop_cookie, rotate_visit
from app.kernel.door_log import What, note
from app.kernel.form_fields import options, read_form
from app.kernel.needs import public
from app.kernel.origin import address
from app.kernel.tokens import SIGN_IN_COOKIE

bp = Blueprint("access", __name__, url_prefix="/people")


@bp.route("/sign-in", methods=["GET", "POST"])
@public
def sign_in() -> Response | str:
    """By password. On an enrolled device the PIN page comes first."""
    if request.method == "GET" and device() is not None and "password" not in request.args and queries.without_password():
        return redirect(url_for("access.by_pin", **_onward()), code=303)
    form = read_form(SignInForm, **_onward())
    if request.method == "POST" and form.validate():
        found = find_by_name(form.name.data)
        trouble = trying.password(found, form.password.data, device(), name=form.name.data, now=clock.now(), address=address())
        if found is not None and trouble is None:
            return enter(found, form, by_password=True)
        form.add_error(BadInput(trouble or "", "password"))
    return render_template("access/sign_in.html", form=form, has_errors=form.has_errors, passkey=passkeys.offered(site()))


@bp.route("/pin", methods=["GET", "POST"])
@public
def by_pin() -> Response | str:
    """By name and PIN, on an enrolled device only."""
    here = device()
    if here is None:
        return redirect(url_for("access.sign_in", **_onward()), code=303)
    form = read_form(PinForm, **_onward())
    form.who.choices = options((person.id, person.name) for person in queries.with_pin())
    if request.method == "POST" and form.validate():
        found = session().get(Person, form.who.data)
        trouble = trying.pin(found, form.pin.data, here, now=clock.now())
        if found is not None and trouble is None:
            return enter(found, form, by_password=False)
        form.add_error(BadInput(trouble or "", "pin"))
    return _door(here, form, BadgeForm(data=_onward()))


@bp.post("/badge")
@public
def by_badge() -> Response | str:
    """By a badge, on an enrolled device only: it counts as a PIN does."""
    here = device()
    if here is None:
        return redirect(url_for("access.sign_in", **_onward()), code=303)
    form = read_form(BadgeForm)
    if form.validate():
        waiting = guessing.place_trouble(service.place_of(here, ""))
        found = None if waiting else service.whose_badge(form.badge.data, here)
        if found is not None:
            return enter(found, form, by_password=False)
        note(What.SLOWED if waiting else What.SIGN_IN_REFUSED)
        form.add_error(BadInput(waiting or "That badge opens nothing here: it was withdrawn, or it was not read whole. Scan it "
                                "again, or use your PIN or password.", "badge"))
    other = PinForm(data={"then": form.then.data, "held": form.held.data})
    other.who.choices = options((person.id, person.name) for person in queries.with_pin())
    return _door(here, other, form)


def _door(here: Device, form: PinForm, badge: BadgeForm) -> str:
    shown = form if form.has_errors else badge
    return render_template("access/by_pin.html", form=form, badge=badge, shown=shown, device=here, has_errors=shown.has_errors,
                           passkey=passkeys.offered(site()))


@bp.post("/switch")
@public
def switch() -> Response:
    """End this sign-in; the next person is a name and six digits away."""
    if g.sign_in is not None:
        with transaction():
            service.end_sign_in(g.sign_in, by=actor(), now=clock.now())
        note(What.SIGNED_OUT)
    answer = redirect(url_for("access.sign_in"), code=303)
    drop_cookie(answer, SIGN_IN_COOKIE)
    if current_app.config["SECURE_COOKIES"]:  # a browser heeds it over TLS alone; drafts are sealed and stay for their person
        answer.headers["Clear-Site-Data"] = '"cache"'
    rotate_visit()
    return answer


def _onward() -> dict[str, Any]:
    return {"then": request.args.get("then", ""), "held": request.args.get("held", "")}
