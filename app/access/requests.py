"""Before every request: who signed in, and whether the page is one of theirs."""

from __future__ import annotations

from flask import current_app, flash, g, redirect, request, url_for
from werkzeug.exceptions import RequestEntityTooLarge
from werkzeug.wrappers import Response

from app import clock
from app.access import clock_jumps, seen
from app.access import queries as sign_ins
from app.access.rules import May
from app.access.secrets import token_hash
from app.errors import Unavailable
from app.kernel import large_bodies
from app.kernel.cookies import cookie
from app.kernel.held_forms import has_something, hold
from app.kernel.needs import is_never_kept, needs
from app.kernel.origin import SAFE
from app.kernel.refusals import NotOurPage, page_of_form
from app.kernel.tokens import DEVICE_COOKIE, SIGN_IN_COOKIE, csrf_fits, page_is_of

NEVER_KEPT = (May.PEOPLE, May.SETTINGS)
NOT_SAVED = "Nothing was saved. Sign in, and enter it on its page again."

NO_RECORD = frozenset({None, "access.sign_in", "access.by_pin", "access.switch", "device.theme"})  # what these do is no record


def know_the_person() -> None:
    """Who signed in, on which device: `g.person`, `g.sign_in`, `g.device`."""
    g.person = g.device = g.sign_in = None
    if request.endpoint in (None, "static", "device.font", "health.healthz"):
        return
    clock_jumps.look()
    if token := cookie(SIGN_IN_COOKIE):
        g.sender_id = seen.whose(token_hash(token))
    if secret := cookie(DEVICE_COOKIE) or request.cookies.get(DEVICE_COOKIE):  # of a tablet enrolled before it had the prefix
        g.device = sign_ins.device_by_secret(secret)
    if token := cookie(SIGN_IN_COOKIE):
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


def refuse_to_write() -> None:
    """While the folder can only be read, a form does nothing but sign in and out."""
    if current_app.config["READ_ONLY"] and request.method not in SAFE and request.endpoint not in NO_RECORD:
        raise Unavailable("The data folder can only be read, so nothing was saved. Reading and printing still work.")


def ask_to_sign_in() -> Response | None:
    """Somebody must be signed in, save where a view is public; a form that came without is held for whose page it was on."""
    view = current_app.view_functions.get(request.endpoint or "")
    if view is None or g.person is not None or needs(view) is None:
        return None
    if not sign_ins.anybody():
        return redirect(url_for("first_start.page"), code=303)
    if request.method in SAFE:
        return redirect(url_for("access.sign_in", then=request.full_path.rstrip("?")), code=303)
    whose = sign_ins.person_of_page(page_is_of, clock.now())
    if whose is not None and _is_kept(view):
        return redirect(url_for("access.sign_in", held=hold(whose.id)), code=303)
    flash(NOT_SAVED, "refused")
    return redirect(url_for("access.sign_in", then=page_of_form()), code=303)


def check_page_token() -> Response | None:
    """A form must come from one of our pages for this sign-in. One of an earlier sign-in is held for its person alone."""
    if request.method in SAFE or request.endpoint is None or csrf_fits():
        return None
    if g.person is None:
        return redirect(url_for("access.sign_in", stale=1), code=303)
    whose = sign_ins.person_of_page(page_is_of, clock.now())
    kept = whose is not None and _is_kept(current_app.view_functions[request.endpoint])
    if whose is None:
        raise NotOurPage("This form carries no token of a page that you opened, so nothing was saved. Open the page and enter "
                         "it there.")
    if whose.id != g.person.id:
        raise NotOurPage(f"{whose.name} opened this page, and {g.person.name} is signed in now, so nothing was saved. " +
                         (f"What was entered is kept until {whose.name} signs in." if kept and hold(whose.id) else ""))
    if not kept:
        raise NotOurPage("You opened this page before you last signed in, so nothing was saved. Open it again and do it there.")
    return redirect(url_for("device.held", held_id=hold(whose.id)), code=303)


def _is_kept(view: object) -> bool:
    """People, shop and limits are not changed by a form from before; a button is pressed again rather than kept."""
    return needs(view) not in NEVER_KEPT and not is_never_kept(view) and has_something()
