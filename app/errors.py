"""How Tagstrip says no.

RuleBroken
├── GateClosed      a stage cannot be left yet: carries the list of what is missing
├── NotAllowed      this person may not do this
├── NotFound        no such record
├── BadInput        something typed or uploaded cannot be used: carries the field
├── ChangedMeanwhile  somebody saved the record after this page was opened
├── AlreadyDone     the same form came twice: carries where its first outcome stands
└── Unavailable     the program cannot do this at the moment (disk full, PDFs off)

Each can say itself to a person; `status` is the HTTP answer that carries the words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


class RuleBroken(Exception):
    """A refusal with its reason in the user's words."""

    status = 409
    title = "That cannot be done"

    def __init__(self, words: str) -> None:
        self.words = words
        super().__init__(words)


@dataclass(frozen=True)
class Missing:
    """One thing that a gate lacks: what, and the page where it is done.

    `holds` marks what bars the amp rather than what is merely still to do: a failed test, a piece too many.
    """

    text: str
    endpoint: str
    values: tuple[tuple[str, Any], ...] = ()
    holds: bool = False


class GateClosed(RuleBroken):
    """The stage holds the amp back; `missing` says what for, every item at once."""

    title = "Still missing"

    def __init__(self, words: str, missing: tuple[Missing, ...]) -> None:
        self.missing = missing
        super().__init__(words)


class NotAllowed(RuleBroken):
    """The person signed in may not do this."""

    status = 403
    title = "Not allowed for your role"


class NotFound(RuleBroken):
    """There is no such record."""

    status = 404
    title = "Not found"


class BadInput(RuleBroken):
    """A value that cannot be used; `field` is the form field it stands in, if it stands in one."""

    status = 422
    title = "Something to correct"

    def __init__(self, words: str, field: str | None = None) -> None:
        self.field = field
        super().__init__(words)


@dataclass(frozen=True)
class Clash:
    """One field in which the page and the record differ: before this page, theirs, mine."""

    field: str
    theirs: str
    mine: str


class ChangedMeanwhile(RuleBroken):
    """The record was saved by someone else after this page was opened."""

    title = "Changed in the meantime"

    def __init__(self, words: str, clashes: tuple[Clash, ...] = ()) -> None:
        self.clashes = clashes
        self.version: int | None = None  # of the record as it stands now
        super().__init__(words)


class AlreadyDone(RuleBroken):
    """The same form was sent before; `location` is where its outcome stands."""

    title = "Already saved"

    def __init__(self, words: str, location: str | None) -> None:
        self.location = location
        super().__init__(words)


class Unavailable(RuleBroken):
    """Not possible at the moment, through no fault of the person."""

    status = 503
    title = "Not possible at the moment"
