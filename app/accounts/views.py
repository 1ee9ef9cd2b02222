"""Signing in, switching, the first start."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from flask import Blueprint, current_app, flash, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.accounts import first_start as console
from app.accounts import queries, service
from app.accounts.forms import FirstStartForm, PinForm, SignInForm
from app.accounts.models import Person
from app.accounts.rules import Role
from app.db import session, transaction
from app.errors import BadInput, NotFound
from app.journal.service import Actor
from app.shop.service import open_shop
from app.web.guard import actor, address, agent, device, public
from app.web.house import options, read_form
from app.web.links import here_only
from app.web.requests import rotate_visit, set_cookie
from app.web.tokens import SIGN_IN_COOKIE

bp = Blueprint("accounts", __name__, url_prefix="/people")


@bp.route("/sign-in", methods=["GET", "POST"])
@public
def sign_in() -> Response | str:
    """By password. On an enrolled device the PIN page comes first."""
    if request.method == "GET" and device() is not None and "password" not in request.args and queries.with_pin():
        return redirect(url_for("accounts.by_pin", **_onward()), code=303)
    form = read_form(SignInForm, **_onward())
    if request.method == "POST" and form.validate():
        found = session().scalar(sa.select(Person).where(
            sa.func.lower(Person.name) == " ".join(form.name.data.split()).lower(), Person.active.is_(True)))
        with transaction():
            trouble = service.try_password(found, form.password.data, device(), now=clock.now(), address=address())
        if found is not None and trouble is None:
            return _enter(found, form)
        form.add_error(BadInput(trouble or "", "password"))
    return render_template("accounts/sign_in.html", form=form, has_errors=form.has_errors)


@bp.route("/pin", methods=["GET", "POST"])
@public
def by_pin() -> Response | str:
    """By name and PIN, on an enrolled device only."""
    here = device()
    if here is None:
        return redirect(url_for("accounts.sign_in", **_onward()), code=303)
    form = read_form(PinForm, **_onward())
    form.who.choices = options((person.id, person.name) for person in queries.with_pin())
    if request.method == "POST" and form.validate():
        found = session().get(Person, form.who.data)
        with transaction():
            trouble = service.try_pin(found, form.pin.data, here, now=clock.now())
        if found is not None and trouble is None:
            return _enter(found, form)
        form.add_error(BadInput(trouble or "", "pin"))
    return render_template("accounts/by_pin.html", form=form, device=here, has_errors=form.has_errors)


@bp.post("/switch")
@public
def switch() -> Response:
    """End this sign-in; the next person is a name and six digits away."""
    if g.sign_in is not None:
        with transaction():
            service.end_sign_in(g.sign_in, by=actor(), now=clock.now())
    answer = redirect(url_for("accounts.sign_in"), code=303)
    answer.delete_cookie(SIGN_IN_COOKIE)
    rotate_visit()
    return answer


@bp.route("/first-start", methods=["GET", "POST"])
@public
def first_start() -> Response | str:
    """The first start makes the owner. Once there is one, this page is not there."""
    if queries.anybody():
        raise NotFound("The shop is open already.")
    form = read_form(FirstStartForm)
    if request.method == "POST" and form.validate():
        data, now = current_app.config["DATA"], clock.now()
        if not console.code_fits(data, form.code.data):
            form.add_error(BadInput("That is not the code that was printed where Tagstrip was started.", "code"))
        else:
            try:
                with transaction():
                    who = Actor(None, form.name.data, agent())
                    owner = service.add_person(form.name.data, Role.OWNER, form.password.data, by=who, now=now)
                    open_shop(form.shop_name.data.strip(), by=who, now=now)
                console.forget_code(data)
                flash("The shop is open. Look through its settings first.", "saved")
                return _enter(owner, form, url_for("shop.settings"))
            except BadInput as wrong:
                form.add_error(wrong)
    return render_template("accounts/first_start.html", form=form, has_errors=form.has_errors)


def _enter(person: Person, form: Any, to: str = "") -> Response:
    with transaction():
        _, token = service.open_sign_in(person, device(), agent=agent(), now=clock.now())
    answer = redirect(to or _after(form), code=303)
    set_cookie(answer, SIGN_IN_COOKIE, token)
    rotate_visit()
    return answer


def _onward() -> dict[str, Any]:
    return {"then": request.args.get("then", ""), "held": request.args.get("held", "")}


def _after(form: Any) -> str:
    if form.held.data:
        return url_for("web.held", held_id=form.held.data)
    return here_only(form.then.data or "/")
