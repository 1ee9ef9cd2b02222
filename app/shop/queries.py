"""Reading the shop's settings."""

from __future__ import annotations

from datetime import date

from app.db import session
from app.errors import NotFound
from app.kernel import local_forms
from app.request_cache import cached_until_write
from app.shop.models import Shop
from app.shop.place import country_of
from app.shop.wording import swap


@cached_until_write
def find() -> Shop | None:
    """The shop, once it is opened."""
    return session().get(Shop, 1)


def in_shop_words(text: str) -> str:
    """Text that is written in valve words, said in the shop's own; its name is a name and stays."""
    shop = find()
    if shop is None:
        return text
    kept = [text] if " " not in shop.name else text.split(shop.name)  # a name of one word may be a word of the trade
    return shop.name.join(swap(part, shop.wording) for part in kept)


def currency() -> str:
    """The shop's currency, ISO 4217."""
    return the_shop().currency


def the_shop() -> Shop:
    """The shop; NotFound before its first start."""
    shop = find()
    if shop is None:
        raise NotFound("The shop has not been opened yet.")
    return shop


def country() -> str | None:
    """The country the shop is in, by its ISO 3166 code: as chosen, else as its terms or its time zone name one; else None."""
    shop = find()
    return (shop.country or country_of(shop.jurisdiction, shop.time_zone)) if shop else None


def locale() -> str:
    """The English in which the shop's days are written (CLDR's name)."""
    return local_forms.locale_of(country())


def day(value: date) -> str:
    """A day as the shop writes it: '25 Nov 2026'. Of a moment, the day in its own zone: take it to the shop's first."""
    return local_forms.day(value, locale())
