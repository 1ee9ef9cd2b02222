"""Discharged, measured, below the limit; over when it is powered."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput
from app.findings import queries
from app.findings.models.made_safe import MadeSafe
from app.findings.service import made_safe as made_safe_service
from app.orders.stages import Stage
from app.safety.service.soaking import start_soak
from app.shop.queries import the_shop
from tests.factories import NOW
from tests.findings.make import made_safe, order_at
from tests.people import BY


@pytest.mark.parametrize("volts", [10.0, 47.0, -12.0, 430.0, float("nan"), float("inf")])
def test_volts_at_or_above_the_limit_are_refused(context: Flask, volts: float) -> None:
    with transaction():
        order = order_at()
        assert the_shop().safe_volts == 10
        with pytest.raises(BadInput, match="below 10 V"):
            made_safe(order, volts)
        assert queries.made_safe(order) is None


def test_it_ends_when_the_amp_is_powered_and_stays_readable(context: Flask) -> None:
    with transaction():
        order = order_at()
        made_safe(order, -0.8)
        standing = queries.made_safe(order)
        assert standing is not None and standing.volts == 0.8
        assert made_safe_service.powered_again(order, reason="first run on reduced mains", by=BY, now=NOW)
        assert queries.made_safe(order) is None and len(queries.times_made_safe(order)) == 1
        assert not made_safe_service.powered_again(order, reason="again", by=BY, now=NOW)


def test_the_database_keeps_no_unsafe_record(context: Flask) -> None:
    with transaction():
        made = made_safe(order_at()).id
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().execute(sa.update(MadeSafe).where(MadeSafe.id == made).values(volts=60.0))


def test_a_soak_run_powers_the_amp(context: Flask) -> None:
    with transaction():
        order = order_at(Stage.SAFETY_TEST)
        made_safe(order)
        start_soak(order, load="8 ohm, music", attended=True, by=BY, now=NOW)
        assert queries.made_safe(order) is None
        assert queries.times_made_safe(order)[0].expired_reason == "soak run"
