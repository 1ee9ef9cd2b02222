"""Signing in and switching."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from flask import Blueprint, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import proving, queries, service
from app.access.entering import enter
from app.access.forms import PinForm, SignInForm
from app.access.guard import actor, device
from app.access.models import Person
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
    if request.method == "GET" and device() is not None and "password" not in request.args and queries.with_pin():
        return redirect(url_for("access.by_pin", **_onward()), code=303)
    form = read_form(SignInForm, **_onward())
    if request.method == "POST" and form.validate():
        found = session().scalar(sa.select(Person).where(
            sa.func.lower(Person.name) == " ".join(form.name.data.split()).lower(), Person.active.is_(True)))
        trouble = proving.password(found, form.password.data, device(), name=form.name.data, now=clock.now(), address=address())
        if found is not None and trouble is None:
            return enter(found, form)
        form.add_error(BadInput(trouble or "", "password"))
    return render_template("access/sign_in.html", form=form, has_errors=form.has_errors)


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
        trouble = proving.pin(found, form.pin.data, here, now=clock.now())
        if found is not None and trouble is None:
            return enter(found, form)
        form.add_error(BadInput(trouble or "", "pin"))
    return render_template("access/by_pin.html", form=form, device=here, has_errors=form.has_errors)


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
    rotate_visit()
    return answer


def _onward() -> dict[str, Any]:
    return {"then": request.args.get("then", ""), "held": request.args.get("held", "")}
