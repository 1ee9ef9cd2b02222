"""Opening the shop and changing its settings."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from app.db import session
from app.journal.events import Event
from app.journal.service import Actor, record
from app.shop.models import Shop


def open_shop(name: str, *, by: Actor, now: datetime, demo: bool = False, **settings: Any) -> Shop:
    """The shop's one row, made at the first start."""
    blank = {"address": "", "phone": "", "email": "", "licence": "", "tax_number": ""}
    shop = Shop(id=1, name=name, opened_at=now, demo=demo, **{**blank, **settings})
    session().add(shop)
    record(Event.SHOP_OPENED, shop, by=by, now=now, after={"name": name, "demo": demo})
    return shop


def change(shop: Shop, settings: dict[str, Any], *, by: Actor, now: datetime) -> None:
    """Keep what the owner has set; the journal names each setting that changed."""
    changed = {name: value for name, value in settings.items() if getattr(shop, name) != value}
    before = {name: _say(getattr(shop, name)) for name in changed}
    for name, value in changed.items():
        setattr(shop, name, value)
    if changed:
        record(Event.SHOP_CHANGED, shop, by=by, now=now, before=before,
               after={name: _say(value) for name, value in changed.items()})


def _say(value: Any) -> Any:
    return getattr(value, "value", value)
