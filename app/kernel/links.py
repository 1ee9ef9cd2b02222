"""What is missing, with the address of the page where it is done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from flask import url_for

from app.errors import Missing
from app.kernel.speech import say


@dataclass(frozen=True)
class Linked:
    """One missing thing, where to go, and what is done there: a verb and its object, for the button.

    Of who is signed in: no `url` where the page refuses them, no `act` where the act does; then `left_to` says who does it.
    """

    text: str
    url: str | None
    act: str
    left_to: str


@dataclass(frozen=True)
class Offer:
    """Whether who is signed in may open a page; who does its act, if not they."""

    opens: bool
    left_to: str


_acts: dict[str, str] = {}
_offer: Callable[[str, Mapping[str, Any]], Offer] = lambda _endpoint, _values: Offer(True, "")  # noqa: E731 - until it is handed in


def use(acts: Mapping[str, str], offer: Callable[[str, Mapping[str, Any]], Offer]) -> None:
    """What is done on the pages to which missing things lead, by endpoint, and for whom; handed in, as the kernel knows no room."""
    global _offer  # noqa: PLW0603 - see above
    _acts.clear()
    _acts.update(acts)
    _offer = offer


def act(endpoint: str) -> str:
    """What is done on this page, as a button says it."""
    return say(_acts[endpoint])


def here_only(path: str) -> str:
    """The path if it leads somewhere on this site, else the first page.

    A browser leaves out tabs and line ends and reads a backslash as a slash, so none of them may stand in it.
    """
    leads_here = path.startswith("/") and not path.startswith("//") and "\\" not in path and path.isprintable()
    return path if leads_here else "/"


def linked(missing: Iterable[Missing]) -> list[Linked]:
    """Each missing thing with its address, and with its act for whoever may do it."""
    return [_link(one, dict(one.values)) for one in missing]


def _link(one: Missing, values: Mapping[str, Any]) -> Linked:
    offer = _offer(one.endpoint, values)
    return Linked(one.text, url_for(one.endpoint, **values) if offer.opens else None,
                  "" if offer.left_to else act(one.endpoint), offer.left_to)
