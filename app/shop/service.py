"""Opening the shop and changing its settings."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa

from app.db import Base, session
from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import why_not_kept_in
from app.shop.models import Shop

FIRSTS = {"bill": "Bill", "credit_note": "Credit note"}  # tables whose first number the shop sets, and what one is called


def open_shop(name: str, *, by: Actor, now: datetime, demo: bool = False, **settings: Any) -> Shop:
    """The shop's one row, made at the first start."""
    blank = {"address": "", "phone": "", "email": "", "licence": "", "tax_number": ""}
    shop = Shop(id=1, name=name, opened_at=now, demo=demo, **{**blank, **settings})
    session().add(shop)
    record(Event.SHOP_OPENED, shop, by=by, now=now, after={"name": name, "demo": demo})
    return shop


def change(shop: Shop, settings: dict[str, Any], *, by: Actor, now: datetime) -> None:
    """Keep what the owner has set; the journal names each setting that changed, and when they were saved the first time."""
    check_currency(shop, settings.get("currency", shop.currency))
    check_first_number(shop, settings.get("first_number", shop.first_number))
    for table in FIRSTS:
        check_first_of(shop, table, settings.get(f"first_{table}", getattr(shop, f"first_{table}")))
    if shop.settings_saved_at is None:
        settings = {**settings, "settings_saved_at": now}
    changed = {name: value for name, value in settings.items() if getattr(shop, name) != value}
    before = {name: _say(getattr(shop, name)) for name in changed}
    for name, value in changed.items():
        setattr(shop, name, value)
    if changed:
        record(Event.SHOP_CHANGED, shop, by=by, now=now, before=before,
               after={name: _say(value) for name, value in changed.items()})


def check_currency(shop: Shop, currency: str) -> None:
    """Refuse a currency that CLDR does not know, and any other than the shop's once sums are kept: they would be other amounts."""
    if currency == shop.currency:
        return
    if why := why_not_kept_in(currency):
        raise BadInput(why, "currency")
    if sums_are_kept():
        raise BadInput(f"Sums are kept in {shop.currency} already, on repair orders or price lists: in {currency} they would be "
                       f"other amounts. The currency stays {shop.currency}; another one needs a shop of its own.", "currency")


def check_first_number(shop: Shop, number: int) -> None:
    """Refuse a first number that comes too late: a repair with it, or with a later one, is there."""
    if number == shop.first_number:
        return
    orders = Base.metadata.tables["repair_order"]
    last = session().scalar(sa.select(sa.func.max(orders.c.number)))
    if last is not None and number <= last:
        raise BadInput(f"Repair {last} is there already. Enter a number above {last}, and the next repair has it.", "first_number")


def check_first_of(shop: Shop, table: str, number: int) -> None:
    """Refuse another first number of bills or credit notes once one has its own: their numbers go on without a gap."""
    if number == getattr(shop, f"first_{table}"):
        return
    last = session().scalar(sa.select(sa.func.max(Base.metadata.tables[table].c.number)))
    if last is not None:
        raise BadInput(f"{FIRSTS[table]} {last} is issued already: the numbers go on from it without a gap.", f"first_{table}")


def sums_are_kept() -> bool:
    """Whether there is a repair order, or any other record that holds a sum in minor units."""
    tables = Base.metadata.tables
    holding = [sa.exists().select_from(table) for name, table in tables.items() if name != Shop.__tablename__
               and (name == "repair_order" or any(one.name.endswith("_minor") for one in table.columns))]
    return bool(session().scalar(sa.select(sa.or_(*holding))))


def _say(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else getattr(value, "value", value)
