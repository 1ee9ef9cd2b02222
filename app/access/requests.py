"""Before every request: who signed in, and whether the page is one of theirs."""

from __future__ import annotations

from flask import current_app, flash, g, redirect, request, url_for
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.wrappers import Response

from app import clock
from app.access import queries as sign_ins
from app.access import seen
from app.kernel import large_bodies
from app.kernel.held_forms import hold
from app.kernel.needs import needs
from app.kernel.tokens import DEVICE_COOKIE, SIGN_IN_COOKIE, csrf_fits


def know_the_person() -> None:
    """Who signed in, on which device: `g.person`, `g.sign_in`, `g.device`."""
    g.person = g.device = g.sign_in = None
    if request.endpoint in (None, "static", "device.font"):
        return
    if secret := request.cookies.get(DEVICE_COOKIE):
        g.device = sign_ins.device_by_secret(secret)
    if token := request.cookies.get(SIGN_IN_COOKIE):
        found, now = sign_ins.by_token(token), clock.now()
        if found is None:
            return
        if not sign_ins.is_open(found, now):
            if sign_ins.is_remembered(found, now):
                g.was_signed_in = found.person_id
            return
        g.sign_in, g.person = found, found.person
        seen.note(found, now)


def refuse_too_much() -> None:
    """Before anything of a form is looked at. One of a sign-in that has ended goes on without its files: its words are held."""
    try:
        large_bodies.refuse(known=g.person is not None or "was_signed_in" in g)
    except RequestEntityTooLarge as wrong:
        if g.person is not None or "was_signed_in" not in g:
            raise
        flash(wrong.description or "", "refused")


def ask_to_sign_in() -> Response | None:
    """Somebody must be signed in, save where a view is public; a form that came without is held."""
    view = current_app.view_functions.get(request.endpoint or "")
    if view is None or g.person is not None or needs(view) is None:
        return None
    if not sign_ins.anybody():
        return redirect(url_for("first_start.page"), code=303)
    if request.method == "POST":
        return redirect(url_for("access.sign_in", held=hold(g.get("was_signed_in"))), code=303)
    return redirect(url_for("access.sign_in", then=request.full_path.rstrip("?")), code=303)


def check_page_token() -> Response | None:
    """A form must come from one of our pages for this sign-in; else it is held and shown again."""
    if request.method in ("GET", "HEAD", "OPTIONS") or request.endpoint is None or csrf_fits():
        return None
    if g.person is None:
        return redirect(url_for("access.sign_in", stale=1), code=303)
    return redirect(url_for("device.held", held_id=hold(g.person.id)), code=303)


