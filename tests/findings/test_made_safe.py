"""Discharged, measured, below the limit; over when it is powered."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.findings import queries
from app.findings.models.made_safe import MadeSafe
from app.measuring.rules import Quantity, Statement
from app.measuring.service import points as points_service
from app.measuring.service import readings as readings_service
from app.measuring.spec import PointFacts
from app.orders import power
from app.safety.service.soaking import start_soak
from app.shop.queries import the_shop
from tests.factories import NOW
from tests.findings.make import made_safe, order_at
from tests.measuring import make as measuring
from tests.people import BY
from tests.safety import make as proving


@pytest.mark.parametrize("volts", [10.0, 47.0, -12.0, 430.0, float("nan"), float("inf")])
def test_volts_at_or_above_the_limit_are_refused(context: Flask, volts: float) -> None:
    with transaction():
        order = order_at()
        assert the_shop().safe_volts == 10
        with pytest.raises(BadInput, match="not below the 10 V limit"):
            made_safe(order, volts)
        assert queries.made_safe(order) is None


def test_it_ends_when_the_amp_is_powered_and_stays_readable(context: Flask) -> None:
    with transaction():
        order = order_at()
        made_safe(order, -0.8)
        standing = queries.made_safe(order)
        assert standing is not None and standing.volts == 0.8
        power.power_up_by_word(order, "first run on reduced mains", reason="as found", by=BY, now=NOW)
        assert queries.made_safe(order) is None and len(queries.times_made_safe(order)) == 1
        with pytest.raises(RuleBroken, match="powered already"):
            power.power_up_by_word(order, "again", reason="as found", by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="has been powered since"):
            made_safe(order)
        power.power_off(order, by=BY, now=NOW)
        assert queries.made_safe(order) is None  # off is not discharged
        made_safe(order)
        assert queries.made_safe(order) is not None


@pytest.mark.parametrize(("quantity", "typed", "holds"), [
    (Quantity.VOLT_DC, "441", False), (Quantity.AMP_DC, "38m", False), (Quantity.VOLT_AC, "6.3", False), (Quantity.OHM, "4k7",
                                                                                                          True),
    (Quantity.FARAD, "22u", True)])
def test_a_reading_that_needs_power_ends_it(context: Flask, quantity: Quantity, typed: str, holds: bool) -> None:
    """A reading of 441 V once left "made safe" standing."""
    with transaction():
        order = order_at()
        made_safe(order)
        meter = measuring.instrument("M2", stated=(Statement(quantity, 1000, 1, 0, 0),))
        point = points_service.add_point(order, PointFacts("HT1", quantity, None, None, None, ""), by=BY, now=NOW)
        session().flush()
        readings_service.take(order, readings_service.Taken.at(point, typed, meter), by=BY, now=NOW)
        assert (queries.made_safe(order) is not None) is holds and (power.powered(order.id) is None) is holds


def test_the_database_keeps_no_unsafe_record(context: Flask) -> None:
    with transaction():
        made = made_safe(order_at()).id
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().execute(sa.update(MadeSafe).where(MadeSafe.id == made).values(volts=60.0))


def test_a_soak_run_powers_the_amp(context: Flask) -> None:
    with transaction():
        order = proving.order()
        made_safe(order)
        proving.profile()
        proving.earthed(order)
        assert queries.made_safe(order) is not None
        start_soak(order, load="8 ohm, music", attended=True, by=BY, now=NOW)
        on = power.powered(order.id)
        assert queries.made_safe(order) is None and on is not None and on.why == "soak run"
