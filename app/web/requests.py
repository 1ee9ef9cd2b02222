"""Around every request: who signed in, the page token, and the headers that keep a page to itself."""

from __future__ import annotations

import secrets
from datetime import timedelta
from urllib.parse import unquote

from flask import Flask, current_app, g, redirect, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.accounts import queries as accounts
from app.db import session, transaction
from app.errors import BadInput, NotAllowed
from app.web.guard import needs
from app.web.held import hold
from app.web.house import NO_SIGN
from app.web.kept import close_files
from app.web.tokens import DEVICE_COOKIE, SIGN_IN_COOKIE, VISIT_COOKIE, csrf_fits

SEEN_EVERY = timedelta(seconds=30)  # how often "last seen" is written: not with every picture
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
                               "font-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; "
                               "base-uri 'none'; object-src 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
}


def install(app: Flask) -> None:
    """Hook all of it into the application."""
    app.before_request(_know_the_person)
    app.before_request(_refuse_other_sites)
    app.before_request(_ask_to_sign_in)
    app.before_request(_check_page_token)
    app.after_request(_finish)
    app.teardown_request(close_files)


def _know_the_person() -> None:
    g.person = g.device = g.sign_in = None
    if request.endpoint in (None, "static", "web.font"):
        return
    if secret := request.cookies.get(DEVICE_COOKIE):
        g.device = accounts.device_by_secret(secret)
    if token := request.cookies.get(SIGN_IN_COOKIE):
        found, now = accounts.by_token(token), clock.now()
        if found is None:
            return
        if not accounts.is_open(found, now):
            g.was_signed_in = found.person_id
            return
        g.sign_in, g.person = found, found.person
        if now - found.seen_at > SEEN_EVERY:
            with transaction():
                found.seen_at = now


def _refuse_other_sites() -> None:
    """A form that another site's page sent is no form of ours: it is not held either, to be sent on with one press."""
    if NO_SIGN in unquote(request.full_path):
        raise BadInput("There is a sign in this address that cannot be kept. Open the page from a link.")
    if request.method == "POST" and request.headers.get("Sec-Fetch-Site") == "cross-site":
        raise NotAllowed("This form was sent by another site’s page. Open the page here and enter it there.")


def _ask_to_sign_in() -> Response | None:
    view = current_app.view_functions.get(request.endpoint or "")
    if view is None or g.person is not None or needs(view) is None:
        return None
    if not accounts.anybody():
        return redirect(url_for("accounts.first_start"), code=303)
    if request.method == "POST":
        return redirect(url_for("accounts.sign_in", held=hold(g.get("was_signed_in"))), code=303)
    return redirect(url_for("accounts.sign_in", then=request.full_path.rstrip("?")), code=303)


def _check_page_token() -> Response | None:
    if request.method in ("GET", "HEAD", "OPTIONS") or request.endpoint is None or csrf_fits():
        return None
    if g.person is None:
        return redirect(url_for("accounts.sign_in", stale=1), code=303)
    return redirect(url_for("web.held", held_id=hold(g.person.id)), code=303)


def _finish(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    if request.endpoint == "static":
        # An address with its content's hash never changes its content; a module that another imports has none.
        response.headers["Cache-Control"] = "public, max-age=31536000, immutable" if "v" in request.args else "no-cache"
    elif request.endpoint != "web.font":
        response.headers.setdefault("Cache-Control", "no-store")
    secure: bool = current_app.config["SECURE_COOKIES"]
    if visit := g.get("visit"):
        response.set_cookie(VISIT_COOKIE, visit, httponly=True, samesite="Lax", secure=secure)
    if secure:
        response.headers["Strict-Transport-Security"] = "max-age=31536000"
    return response


def set_cookie(response: Response, name: str, value: str, *, days: int | None = None) -> None:
    """A cookie that scripts cannot read and other sites cannot send."""
    response.set_cookie(name, value, httponly=True, samesite="Lax", secure=current_app.config["SECURE_COOKIES"],
                        max_age=days * 86400 if days else None)


def rotate_visit() -> None:
    """A new visit after signing in or out, so that an old page token means nothing."""
    g.visit = secrets.token_urlsafe(16)
    session().expire_all()
