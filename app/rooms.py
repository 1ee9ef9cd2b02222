"""Which rooms the house has: their blueprints, and the entries of the top bar."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, Flask, g, request, url_for

from app.accounts.people_views import bp as staff

# A gate registers itself with the spine when it is loaded.
from app.accounts.rules import May
from app.accounts.views import bp as accounts
from app.bench.sums.views import bp as sums
from app.bench.views import bp as bench
from app.documents import gate as _documents_gate  # noqa: F401
from app.documents.views import bp as documents
from app.handover import gate as _handover_gate  # noqa: F401
from app.handover.views import bp as handover
from app.intake import gate as _intake_gate  # noqa: F401
from app.intake.views import bp as intake
from app.journal.views import bp as journal
from app.keeping.views import bp as keeping
from app.measuring.views import bp as measuring
from app.measuring.views import instruments
from app.orders.views import bp as orders
from app.parts import gate as _parts_gate  # noqa: F401
from app.parts.views import bp as parts
from app.photos.views import bp as photos
from app.quote import gate as _quote_gate  # noqa: F401
from app.quote.views import bp as quote
from app.reassembly import gate as _reassembly_gate  # noqa: F401
from app.reassembly.views import bp as reassembly
from app.safety import gate as _safety_gate  # noqa: F401
from app.safety.views import bp as safety
from app.safety.views import profiles
from app.shop.views import bp as shop
from app.teardown import gate as _teardown_gate  # noqa: F401
from app.teardown.removals import gate as _removals_gate  # noqa: F401
from app.teardown.removals.views import bp as removals
from app.teardown.views import bp as teardown
from app.teardown.views import catalogue_bp as catalogue
from app.web.views import bp as web

ROOMS: tuple[Blueprint, ...] = (web, keeping, accounts, staff, shop, orders, intake, photos, teardown, catalogue, removals,
                                 quote, parts, reassembly, measuring, instruments, safety, profiles, handover, documents,
                                 journal, bench, sums)

# word, endpoint, who sees it
ENTRIES: tuple[tuple[str, str, May], ...] = (
    ("Bench", "bench.index", May.SEE),
    ("Sums", "sums.index", May.WORK),
    ("Records", "intake.records", May.SEE),
    ("Instruments", "instruments.page", May.INSTRUMENTS),
    ("Limits", "profiles.page", May.SETTINGS),
    ("Shop", "shop.settings", May.SETTINGS),
    ("People", "staff.page", May.PEOPLE),
)


# The counter's room holds the records too: only these pages of it lie under that word.
RECORDS = frozenset({"intake.records", "intake.customer", "intake.amp_record", "intake.edit_customer",
                     "intake.edit_amp"})


@dataclass(frozen=True)
class Entry:
    """One word of the top bar."""

    word: str
    url: str
    current: bool


def entries() -> list[Entry]:
    """The top bar for the person signed in."""
    person = g.get("person")
    if person is None:
        return []
    return [Entry(word, url_for(endpoint), endpoint == _here())
            for word, endpoint, need in ENTRIES if person.may(need)]


def _here() -> str | None:
    """The entry under which the present page lies."""
    if request.endpoint in RECORDS:
        return "intake.records"
    return next((entry for _, entry, _ in ENTRIES
                 if entry != "intake.records" and entry.split(".")[0] == request.blueprint), None)


def install(app: Flask) -> None:
    """Register every room."""
    for room in ROOMS:
        app.register_blueprint(room)
