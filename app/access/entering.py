"""Going in: the sign-in is opened, and the person goes on where they were going."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from flask import current_app, redirect, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import guessing, queries, service
from app.access.clean_up import once_a_day
from app.access.guard import device
from app.access.models import Person
from app.db import session, transaction
from app.kernel.cookies import cookie, rotate_visit, set_cookie
from app.kernel.door_log import What, note
from app.kernel.links import here_only
from app.kernel.origin import address, agent
from app.kernel.tokens import SIGN_IN_COOKIE


def enter(person: Person, form: Any, to: str = "", *, by_password: bool) -> Response:
    """Open a sign-in and go on: to this address, else to where the person was going.

    One sign-in a browser: the former one of this browser ends, whoever it was of.
    """
    with transaction() as current:
        if not current_app.config["READ_ONLY"]:
            once_a_day(current, clock.now())
        former = queries.by_token(cookie(SIGN_IN_COOKIE) or "")
        if former is not None:
            service.end_sign_in(former, by=service.actor(former.person, device(), agent()), now=clock.now())
        _, token = service.open_sign_in(person, device(), agent=agent(), by_password=by_password, now=clock.now())
    guessing.opened(service.place_of(device(), address()))
    note(What.SIGNED_IN, person=person.name)
    answer = redirect(to or _after(form), code=303)
    set_cookie(answer, SIGN_IN_COOKIE, token)
    rotate_visit()
    return answer


def find_by_name(name: str) -> Person | None:
    """Who may sign in by this name, however it is spaced and capitalised."""
    return session().scalar(sa.select(Person).where(sa.func.lower(Person.name) == " ".join(name.split()).lower(),
                                                    Person.active.is_(True)))


def _after(form: Any) -> str:
    if form.held.data:
        return url_for("device.held", held_id=form.held.data)
    return here_only(form.then.data or "/")
