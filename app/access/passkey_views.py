"""Passkeys: signing in by one, adding and ending one's own, and the owner ending anybody's."""

from __future__ import annotations

from flask import Response as Answer
from flask import flash, g, render_template, request
from werkzeug.wrappers import Response

from app import clock
from app.access import challenges, guessing, passkeys, service
from app.access.challenges import For
from app.access.entering import enter
from app.access.forms import NewPasskeyForm, PasskeyForm
from app.access.guard import actor, device, may, person
from app.access.models import Passkey, Person
from app.access.own_views import bp as bp  # what it adds stands under the same name
from app.access.rules import May
from app.access.site import site
from app.db import end_reading, session, transaction
from app.errors import BadInput, NotFound
from app.kernel.door_log import What, note
from app.kernel.form_fields import House, read_form
from app.kernel.needs import never_kept, public
from app.kernel.origin import address
from app.kernel.saving import saving
from app.kernel.tokens import bound_to


@bp.post("/passkey/challenge")
@public
def passkey_to_sign_in() -> Answer:
    """What a passkey is to sign, for the page that asks."""
    return _json(passkeys.options_to_sign_in(site(), page=bound_to(), now=clock.now()))


@bp.route("/passkey", methods=["GET", "POST"])
@public
def by_passkey() -> Response | str:
    """By a passkey: it signs in as a PIN does, on any device that holds one."""
    form = read_form(PasskeyForm, then=request.args.get("then", ""), held=request.args.get("held", ""))
    if request.method == "POST" and form.validate():
        place = service.place_of(device(), address())
        waiting = guessing.place_trouble(place)
        found = waiting or _whose(form.credential.data, place)
        if not isinstance(found, str):
            return enter(session().merge(found), form, by_password=False)
        note(What.SLOWED if waiting else What.SIGN_IN_REFUSED)
        form.add_error(BadInput(found))
    return render_template("access/by_passkey.html", form=form, has_errors=form.has_errors, passkey=site().trouble() or "")


@bp.route("/me/passkey", methods=["GET", "POST"])
@may(May.SEE, password=True)
@never_kept
def add_passkey() -> Response | str:
    """A new passkey of one's own."""
    form = read_form(NewPasskeyForm)
    if request.method == "POST" and form.validate():
        asked = challenges.take(For.ADDING, bound_to(), clock.now())
        try:
            with saving() as saved:
                passkeys.add_passkey(person(), form.name.data, form.credential.data, asked, site(), by=actor(), now=clock.now())
                flash("The passkey is added. It signs you in as a PIN does.", "saved")
                return saved("staff.me")
        except BadInput as wrong:
            form.add_error(wrong)
    return render_template("access/add_passkey.html", form=form, has_errors=form.has_errors, passkey=site().trouble() or "")


@bp.post("/me/passkey/challenge")
@may(May.SEE, password=True)
@never_kept
def passkey_to_add() -> Answer:
    """What a new passkey is to answer, for the page that asks."""
    return _json(passkeys.options_to_add(person(), site(), page=bound_to(), now=clock.now()))


@bp.post("/me/passkeys/<int:passkey_id>/end")
@may(May.SEE, password=True)
@never_kept
def end_own_passkey(passkey_id: int) -> Response:
    """One of one's own; the sign-in that is used now stays."""
    found = session().get(Passkey, passkey_id)
    if found is None or found.person_id != person().id:
        raise NotFound("None of your passkeys has this number.")
    read_form(House)
    with saving() as saved:
        passkeys.end_passkey(found, by=actor(), now=clock.now())
        g.sign_in.ended_at = None
        flash("That passkey is ended, and so are your other sign-ins.", "saved")
        return saved("staff.me")


@bp.post("/passkeys/<int:passkey_id>/end")
@may(May.PEOPLE, password=True)
@never_kept
def end_passkey(passkey_id: int) -> Response:
    """Anybody's, by the owner; nobody adds another's."""
    found = session().get(Passkey, passkey_id)
    if found is None:
        raise NotFound("There is no passkey of that number.")
    with saving() as saved:
        passkeys.end_passkey(found, by=actor(), now=clock.now())
        flash(f"{found.person.name}’s passkey is ended, and so are the open sign-ins.", "saved")
        return saved("staff.one", person_id=found.person_id)


def _whose(credential: str, place: str) -> Person | str:
    """Whom it opens for, or what to say. What is slow about it is done outside the write lock."""
    weighed = passkeys.weigh(credential, challenges.take(For.SIGNING_IN, bound_to(), clock.now()), site())
    if isinstance(weighed, str):
        return weighed
    end_reading()
    with transaction():
        return passkeys.use_passkey(weighed, place=place, now=clock.now())


def _json(words: str) -> Answer:
    return Answer(words, mimetype="application/json")
