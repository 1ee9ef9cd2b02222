"""Who is asking, and whether they may. Every view names what it needs; a view without a word is an error at start."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import ParamSpec, TypeVar

from flask import current_app, g

from app.access.models import Device, Person
from app.access.proving import ask_password
from app.access.rules import May, left_to
from app.access.service import actor as _actor
from app.errors import NotAllowed
from app.journal.service import Actor
from app.kernel.links import Offer
from app.kernel.needs import needs
from app.kernel.origin import agent

P = ParamSpec("P")
R = TypeVar("R")


def may(what: May, *, password: bool = False) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Decorate a view with what it lets a person do; anybody else is refused before it runs.

    With `password` it is also asked for the password, unless that was given a moment ago.
    """

    def decorate(view: Callable[P, R]) -> Callable[P, R]:
        @functools.wraps(view)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
            allow(what)
            if password and (asked := ask_password()) is not None:
                return asked  # type: ignore[return-value]  # every view gives what Flask takes for an answer
            return view(*args, **kwargs)

        guarded.needs = what  # type: ignore[attr-defined]
        guarded.asks_password = password  # type: ignore[attr-defined]
        return guarded

    return decorate


def allow(what: May) -> None:
    """Refuse unless the person signed in may do this."""
    if not person().may(what):
        role = person().role.value
        raise NotAllowed(f"{person().name} is signed in as {role}: {role} sign-ins cannot {what.words}. Switch user.")


def offer(endpoint: str, act_needs: May | None) -> Offer:
    """Whether who is signed in may open this page, and who does what is done there; `act_needs` where that needs more."""
    found: Person | None = g.get("person")
    opens: May | None = needs(current_app.view_functions[endpoint])

    def may_they(what: May | None) -> bool:
        return what is None or (found is not None and found.may(what))

    wanted = act_needs or opens
    return Offer(may_they(opens), "" if wanted is None or may_they(wanted) else left_to(wanted))


def person() -> Person:
    """The person signed in. Views that are not public always have one."""
    found: Person | None = g.get("person")
    if found is None:
        raise NotAllowed("Nobody is signed in.")
    return found


def device() -> Device | None:
    """The enrolled device that the request comes from, if it is one."""
    found: Device | None = g.get("device")
    return found


def actor() -> Actor:
    """The person and device, as the journal names them."""
    return _actor(person(), device(), agent())
