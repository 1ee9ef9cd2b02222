"""Who is asking, and whether they may. Every view names what it needs; a view without a word is an error at start."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import ParamSpec, TypeVar

from flask import g

from app.access.models import Device, Person
from app.access.rules import May
from app.access.service import actor as _actor
from app.errors import NotAllowed
from app.journal.service import Actor
from app.kernel.origin import agent

P = ParamSpec("P")
R = TypeVar("R")


def may(what: May) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Decorate a view with what it lets a person do; anybody else is refused before it runs."""

    def decorate(view: Callable[P, R]) -> Callable[P, R]:
        @functools.wraps(view)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> R:
            allow(what)
            return view(*args, **kwargs)

        guarded.needs = what  # type: ignore[attr-defined]
        return guarded

    return decorate


def allow(what: May) -> None:
    """Refuse unless the person signed in may do this."""
    if not person().may(what):
        role = person().role.value
        raise NotAllowed(f"{person().name} is signed in as {role}: {role} sign-ins cannot {what.words}. Switch user.")


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
