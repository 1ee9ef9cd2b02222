"""Whom and what the shop knows by what was just typed: the same phone, e-mail or name; the same serial of the same model."""

from __future__ import annotations

from collections.abc import Iterable

import sqlalchemy as sa

from app.db import session
from app.orders.models import RepairOrder
from app.records.models import Amp, Customer
from app.records.rules import alike, same_model
from app.records.spec import AmpFacts, CustomerFacts
from app.search import queries as search
from app.search.models import Kind
from app.search.rules import phone_cores, understand
from app.shop.queries import country

MOST = 5
NO_SERIAL = frozenset({"", "nonefound", "none", "unknown", "notread"})  # says nothing of which amp it is


def people_like(facts: CustomerFacts) -> list[Customer]:
    """Customers with this phone number however it is written, this e-mail address, or this very name; by name."""
    ids = {one for typed in (facts.phone, facts.email, facts.name) if typed.strip()
           for one in search.find(Kind.CUSTOMER, understand(typed, country()), 4 * MOST)}
    found = session().scalars(sa.select(Customer).where(Customer.id.in_(ids), Customer.merged_into_id.is_(None))
                              .order_by(Customer.name, Customer.id))
    return [one for one in found if _same_person(one, facts)][:MOST]


def amps_like(facts: AmpFacts) -> list[Amp]:
    """Amps with this serial number whose model is spelt alike, or where none was typed yet; none without a serial."""
    serial = _folded(facts.serial)
    if serial in NO_SERIAL:
        return []
    ids = search.find(Kind.AMP, understand(facts.serial, None), 4 * MOST)
    found = session().scalars(sa.select(Amp).where(Amp.id.in_(ids), Amp.merged_into_id.is_(None)).order_by(Amp.id))
    return [one for one in found if _folded(one.serial) == serial and _may_be(one, facts)][:MOST]


def last_order(amp_id: int) -> RepairOrder | None:
    """The newest order of an amp."""
    return session().scalar(sa.select(RepairOrder).where(RepairOrder.amp_id == amp_id).order_by(RepairOrder.number.desc()).limit(1))


def people_with(amps: Iterable[Amp], *more: Customer | None) -> list[Customer]:
    """Owner and who approved cost when these amps were here last, after `more`; each once."""
    orders = [order for amp in amps if (order := last_order(amp.id)) is not None]
    people = [*more, *(who for order in orders for who in (order.owner, order.authority, order.depositor))]
    return list({one.id: one for one in people if one is not None and one.erased_at is None}.values())


def _same_person(one: Customer, facts: CustomerFacts) -> bool:
    phones = set(phone_cores(facts.phone, country())) & set(phone_cores(one.phone, country()))
    same_mail = bool(facts.email.strip()) and facts.email.strip().casefold() == one.email.strip().casefold()
    same_name = bool(facts.name.strip()) and " ".join(facts.name.split()).casefold() == " ".join(one.name.split()).casefold()
    return bool(phones) or same_mail or same_name


def _may_be(amp: Amp, facts: AmpFacts) -> bool:
    typed = (facts.maker, facts.model)
    if not any(same_model(*typed)):
        return True
    return alike(typed, (amp.maker, amp.model)) or same_model(*typed)[0] == same_model(amp.maker, amp.model)[0]


def _folded(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())
