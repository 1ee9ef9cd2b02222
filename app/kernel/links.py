"""What is missing, with the address of the page where it is done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from flask import url_for

from app.errors import Missing
from app.kernel.speech import say


@dataclass(frozen=True)
class Linked:
    """One missing thing, where to go, and what is done there: a verb and its object, for the button."""

    text: str
    url: str
    act: str


_acts: dict[str, str] = {}


def use(acts: Mapping[str, str]) -> None:
    """What is done on the pages to which missing things lead, by endpoint; handed in, because the kernel knows no room."""
    _acts.clear()
    _acts.update(acts)


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
    """Each missing thing with its address."""
    return [Linked(one.text, url_for(one.endpoint, **dict(one.values)), act(one.endpoint)) for one in missing]
