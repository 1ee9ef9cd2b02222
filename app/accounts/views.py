"""Signing in, switching, and the first start."""

from __future__ import annotations

from flask import Blueprint, g, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.accounts import service
from app.accounts.forms import SignInForm
from app.accounts.models import Person
from app.accounts.secrets import secret_fits
from app.db import session, transaction
from app.web.guard import actor, agent, device, public
from app.web.house import read_form
from app.web.requests import rotate_visit, set_cookie
from app.web.tokens import SIGN_IN_COOKIE

bp = Blueprint("accounts", __name__, url_prefix="/people")


@bp.route("/sign-in", methods=["GET", "POST"])
@public
def sign_in() -> Response | str:
    form = read_form(SignInForm, then=request.args.get("then", ""), held=request.args.get("held", ""))
    if request.method == "POST" and form.validate():
        found = session().query(Person).filter_by(name=form.name.data.strip(), active=True).one_or_none()
        if found is not None and secret_fits(found.password_hash, form.password.data):
            with transaction():
                _, token = service.open_sign_in(found, device(), agent=agent(), now=clock.now())
            answer = redirect(_after(form), code=303)
            set_cookie(answer, SIGN_IN_COOKIE, token)
            rotate_visit()
            return answer
        form.password.errors = ["That name and password do not belong together."]
    return render_template("accounts/sign_in.html", form=form)


def _after(form: SignInForm) -> str:
    if form.held.data:
        return url_for("web.held", held_id=form.held.data)
    then = form.then.data or "/"
    return then if then.startswith("/") and not then.startswith("//") else "/"


@bp.post("/switch")
@public
def switch() -> Response:
    if g.sign_in is not None:
        with transaction():
            service.end_sign_in(g.sign_in, by=actor(), now=clock.now())
    answer = redirect(url_for("accounts.sign_in"), code=303)
    answer.delete_cookie(SIGN_IN_COOKIE)
    rotate_visit()
    return answer


@bp.get("/first-start")
@public
def first_start() -> str:
    return render_template("accounts/first_start.html")
