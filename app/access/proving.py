"""The password once more: for people, the shop's settings and its limits it must have been given within five minutes.

Whoever signed in by PIN or badge is asked for it there. A form that is sent to such a page comes back with the question and all
that was entered, and is sent on with the password: nothing of it is kept meanwhile, and nothing is lost.
"""

from __future__ import annotations

from flask import g, make_response, render_template, request, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import trying
from app.access.forms import ProveForm
from app.access.rules import password_counts
from app.db import transaction
from app.errors import BadInput
from app.kernel.form_fields import read_form
from app.kernel.origin import address
from app.kernel.refusals import posted
from app.kernel.resubmitted_uploads import kept_words
from app.kernel.tokens import OWN_PASSWORD, UNSEEN_FIELDS


def ask_password() -> Response | None:
    """The page that asks for it; None if the password counts still, or came with this form and is right."""
    if password_counts(g.sign_in.password_at, clock.now()):
        return None
    form = read_form(ProveForm) if OWN_PASSWORD in request.form else ProveForm()
    if OWN_PASSWORD in request.form and proved(form):
        return None
    if request.method == "POST":
        return _page(form, request.full_path.rstrip("?"), posted())
    return _page(form, url_for("staff.prove"), [("then", request.full_path.rstrip("?"))])


def proved(form: ProveForm) -> bool:
    """Whether this is the password of who is signed in; if so it counts from now on. Wrong ones are slowed as when signing in."""
    if not form.validate():
        return False
    now = clock.now()
    trouble = trying.password(g.person, form.own_password.data, g.device, now=now, address=address())
    if trouble is None:
        with transaction():
            g.sign_in.password_at = now
    else:
        form.add_error(BadInput("That is not your password." if trouble == trying.NO_MATCH else trouble, OWN_PASSWORD))
    return trouble is None


def ask_again(form: ProveForm) -> Response:
    """The page of its own once more, with what was wrong."""
    return _page(form, url_for("staff.prove"), [("then", form.then.data or "/")], status=200)


def _page(form: ProveForm, action: str, entered: list[tuple[str, str]], *, status: int = 403) -> Response:
    kept = kept_words() if request.method == "POST" else ""
    typed = [(name, value) for name, value in entered if value and name not in UNSEEN_FIELDS]
    return make_response(render_template("access/prove.html", form=form, action=action, posted=entered, typed=typed, kept=kept,
                                         has_errors=form.has_errors), status)
