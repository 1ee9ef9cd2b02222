"""Reading the shop's settings."""

from __future__ import annotations

from app.db import session
from app.errors import NotFound
from app.reading import once
from app.shop.models import Shop


@once
def find() -> Shop | None:
    """The shop, once it is opened."""
    return session().get(Shop, 1)


def the_shop() -> Shop:
    """The shop; NotFound before its first start."""
    found = find()
    if found is None:
        raise NotFound("The shop has not been opened yet.")
    return found
