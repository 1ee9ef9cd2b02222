"""Pins: fractions of the upright picture, one for each record on a photo, moved and lifted with a trace."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.photos import pins
from app.photos.models import Pin
from tests import factories
from tests.factories import NOW
from tests.findings.make import finding
from tests.people import BY
from tests.photos.make import photo
from tests.removals.make import removal


def test_a_pin_is_dropped_moved_and_lifted(context: Flask) -> None:
    with transaction():
        order = factories.order()
        seen, made = photo(order), finding(order)
        session().flush()
        pin = pins.drop(seen, "finding", made.id, "7", x=0.25, y=0.5, by=BY, now=NOW)
        session().flush()
        assert pins.drop(seen, "finding", made.id, "7", x=0.3, y=0.5, by=BY, now=NOW) is pin
        assert [(one.x, one.y) for one in pins.on_photo(seen.id)] == [(0.3, 0.5)]
        assert [one.photo.id for one in pins.of_record("finding", made.id)] == [seen.id]
        pins.lift(pin, by=BY, now=NOW)
        assert not pins.on_photo(seen.id)
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().execute(sa.update(Pin).values(x=1.2))


@pytest.mark.parametrize("keys", [{}, {"finding_id": 1, "removal_id": 1}])
def test_a_pin_opens_exactly_one_record(context: Flask, keys: dict[str, int]) -> None:
    with transaction():
        order = factories.order()
        seen = photo(order)
        finding(order)
        removal(order)
    with pytest.raises(sa.exc.IntegrityError, match="opens_one_record"), transaction():
        session().add(Pin(order_id=order.id, photo_id=seen.id, label="7", at=NOW, by_name="Ines", **keys))
        session().flush()


@pytest.mark.parametrize(("x", "y"), [(1.01, 0.5), (-0.1, 0.5), (float("nan"), 0.5), (0.5, None)])
def test_a_pin_lies_on_the_picture(context: Flask, x: float, y: float | None) -> None:
    with transaction(), pytest.raises(BadInput):
        pins.drop(photo(factories.order()), "finding", 1, "1", x=x, y=y, by=BY, now=NOW)


def test_no_pin_of_a_kind_that_nobody_opens(context: Flask) -> None:
    with transaction(), pytest.raises(RuleBroken):
        pins.drop(photo(factories.order()), "sandwich", 1, "1", by=BY, now=NOW)
