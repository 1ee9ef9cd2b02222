"""Going in: the sign-in is opened, and the person goes on where they were going."""

from __future__ import annotations

from typing import Any

from flask import redirect, url_for
from werkzeug.wrappers import Response

from app import clock
from app.access import service
from app.access.clean_up import once_a_day
from app.access.guard import device
from app.access.models import Person
from app.db import transaction
from app.kernel.cookies import rotate_visit, set_cookie
from app.kernel.door_log import What, note
from app.kernel.links import here_only
from app.kernel.origin import agent
from app.kernel.tokens import SIGN_IN_COOKIE


def enter(person: Person, form: Any, to: str = "") -> Response:
    """Open a sign-in and go on: to this address, else to where the person was going."""
    with transaction() as current:
        once_a_day(current, clock.now())
        _, token = service.open_sign_in(person, device(), agent=agent(), now=clock.now())
    note(What.SIGNED_IN, person=person.name)
    answer = redirect(to or _after(form), code=303)
    set_cookie(answer, SIGN_IN_COOKIE, token)
    rotate_visit()
    return answer


def _after(form: Any) -> str:
    if form.held.data:
        return url_for("device.held", held_id=form.held.data)
    return here_only(form.then.data or "/")
