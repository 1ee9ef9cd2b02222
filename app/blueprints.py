"""Which rooms the house has: their blueprints, and the entries of the top bar."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Blueprint, Flask, g, request, url_for

from app.access.device_views import bp as device
from app.access.passkey_views import bp as staff
from app.access.rules import May
from app.access.views import bp as access
from app.bench.due import bp as due
from app.bench.figures.views import bp as figures
from app.bench.first_setup.views import bp as first_setup
from app.bench.history import bp as history
from app.bench.sources import bp as sources
from app.bench.sums.views import bp as sums
from app.bench.views import bp as bench
from app.boards.views import bp as boards
from app.circuits.views import bp as circuits
from app.contact.views import bp as contact
from app.contact.views import mail_bp as mail
from app.discharge.views import bp as discharge
from app.documents.logo_views import bp as logo
from app.documents.views import bp as documents
from app.drawings.views import bp as drawings
from app.exchange.views import bp as exchange
from app.findings.views import bp as findings
from app.findings.views import catalogue_bp as catalogue
from app.handover.views import bp as handover
from app.health import bp as health
from app.hours.views import bp as hours
from app.hours.views import shop_bp as shop_hours
from app.incidents.views import bp as incidents
from app.intake.views import bp as intake
from app.leftovers.views import bp as leftovers
from app.measuring.views import bp as measuring
from app.measuring.views import instruments
from app.money.views import bp as money
from app.money.views import shop_bp as accounts
from app.orders.views import bp as orders
from app.parts.views import bp as parts
from app.personal.views import bp as personal
from app.photos.views import bp as photos
from app.powerup.views import bp as powerup
from app.quote.views import bp as quote
from app.reassembly.views import bp as reassembly
from app.removals.views import bp as removals
from app.safety.views import bp as safety
from app.safety.views import profiles
from app.search.views import bp as search
from app.shop.first_start_views import bp as first_start
from app.shop.views import bp as shop
from app.sound.views import bp as sound
from app.trust.views import bp as trust

ROOMS: tuple[Blueprint, ...] = (device, health, trust, access, staff, first_start, shop, orders, intake, photos, drawings,
                                discharge, findings, boards, catalogue, removals, circuits, exchange, quote, parts, reassembly,
                                measuring, instruments, sound, safety, profiles, powerup, money, accounts, handover, hours,
                                shop_hours, incidents, leftovers, documents, logo, contact, mail, personal, history, bench, due,
                                first_setup, figures, sources, sums, search)

# word, endpoint, who sees it
ENTRIES: tuple[tuple[str, str, May], ...] = (
    ("Bench", "bench.index", May.SEE),
    ("Sums", "sums.index", May.WORK),
    ("Records", "intake.records", May.SEE),
    ("Money", "accounts.owed", May.HAND_OUT),
    ("Instruments", "instruments.page", May.INSTRUMENTS),
    ("Limits", "profiles.page", May.SETTINGS),
    ("Shop", "shop.settings", May.SETTINGS),
    ("People", "staff.page", May.PEOPLE),
)


# The counter's room holds the records too: only these pages of it lie under that word.
RECORDS = frozenset({"intake.records", "intake.customer", "intake.amp_record", "intake.edit_customer",
                     "intake.edit_amp"})
# Pages that gather for the owner lie under the shop's word.
SHOP = frozenset({"figures", "first_setup", "logo"})


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
    if request.blueprint in SHOP:
        return "shop.settings"
    return next((entry for _, entry, _ in ENTRIES
                 if entry != "intake.records" and entry.split(".")[0] == request.blueprint), None)


def install(app: Flask) -> None:
    """Register every room."""
    for room in ROOMS:
        app.register_blueprint(room)
