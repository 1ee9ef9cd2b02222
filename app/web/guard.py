"""Who is asking, and whether they may. Every view names what it needs; a view without a word is an error at start."""

from __future__ import annotations

import functools
import ipaddress
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

from flask import Flask, g, request

from app.accounts.models import Device, Person
from app.accounts.rules import May
from app.accounts.service import actor as _actor
from app.errors import NotAllowed, NotFound
from app.journal.service import Actor
from app.orders.models import RepairOrder
from app.orders.queries import find

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


def public(view: Callable[P, R]) -> Callable[P, R]:
    """Decorate a view that needs no sign-in."""
    view.needs = None  # type: ignore[attr-defined]
    return view


def allow(what: May) -> None:
    """Refuse unless the person signed in may do this."""
    if not person().may(what):
        raise NotAllowed(f"{person().name} is signed in as {person().role.value}; "
                         f"that sign-in may not {what.value}. Switch to somebody who may.")


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


def agent() -> str:
    """The browser in a word or two: enough to tell a tablet from a desk."""
    told = request.user_agent.string
    for mark, name in (("iPad", "a tablet"), ("Tablet", "a tablet"), ("iPhone", "a phone"), ("Mobile", "a phone"),
                       ("Android", "a tablet")):
        if mark in told:
            return name
    return "a browser"


def address() -> str:
    """Where the request comes from, as what is counted by address: of IPv6 the network, since a host may pick the rest."""
    told = request.remote_addr or "unknown"
    try:
        found = ipaddress.ip_address(told)
    except ValueError:
        return f"address {told[:60]}"
    if isinstance(found, ipaddress.IPv6Address) and found.ipv4_mapped is None:
        return f"address {ipaddress.ip_network((found.packed[:8] + bytes(8), 64))}"
    return f"address {getattr(found, 'ipv4_mapped', None) or found}"


def load_order(order_id: int, what: May = May.SEE) -> RepairOrder:
    """The one way for a view to come by an order: it is there, and this person may do this with it."""
    allow(what)
    found = find(order_id)
    if found is None:
        raise NotFound("There is no repair order at this address.")
    return found


def unguarded(app: Flask) -> list[str]:
    """Endpoints that name no need and are not marked public: there must be none."""
    return [name for name, view in app.view_functions.items() if not hasattr(view, "needs")]


def needs(view: Any) -> May | None:
    """What a view needs; None if it is public."""
    found: May | None = view.needs
    return found
