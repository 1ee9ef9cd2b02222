"""One thing alone is wrong, and that thing holds the amp: each row leaves nothing else that could have refused."""

from __future__ import annotations

from datetime import timedelta

import pytest
from flask import Flask

from app.db import session, transaction
from app.errors import GateClosed, RuleBroken
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel
from app.orders.stages import Stage
from app.safety import queries as safety
from app.safety.service import soaking as soaking_service
from tests.factories import NOW
from tests.orders import steps
from tests.orders.test_ways_round import Walk
from tests.parts import make as store
from tests.people import BY
from tests.safety import make as proving


@pytest.fixture
def walk(context: Flask) -> Walk:
    return Walk()


def test_an_earlier_gate_is_asked_again_at_the_door(walk: Walk) -> None:
    """Handed over, tested, signed: only a part that is needed and has not come stands against it."""
    walk.to(Stage.RETURN).do(*steps.PROPER[Stage.RETURN])
    assert walk.missing() == ""
    with walk.later() as order:
        store.part(order)
    with walk.later() as order, pytest.raises(GateClosed) as held:
        steps.release(order, walk.now)
    assert "47u 450 V" in " ".join(one.text for one in held.value.missing)


def test_an_amp_in_pieces_is_not_left_running_whatever_was_proved_before(walk: Walk) -> None:
    """Its earth and insulation passed, then something came off: nothing but that is against a soak run."""
    walk.to(Stage.SAFETY_TEST)
    with walk.later() as order:
        proving.earthed(order, now=walk.now)
        proving.off(order, now=walk.now)
    assert safety.why_not_proven(walk.order) == ""
    walk.do(steps.discharged, steps.took_off)
    with walk.later() as order, pytest.raises(RuleBroken, match="A soak run begins when the amp is whole"):
        soaking_service.start_soak(order, load="8 Ω", attended=True, by=BY, now=walk.now)


def test_what_counts_is_the_newest_for_the_work_that_was_not_withdrawn(walk: Walk) -> None:
    """Common practice, no source: a consent written down wrongly counts no more, and one to the diagnosis lowers nothing."""
    def agree(covers: AuthorityFor, minor: int, hours: int) -> int:
        with transaction():
            consent = Consent(covers, "the work", minor, Channel.PHONE, NOW + timedelta(hours=hours), "555 0199")
            made = authority.grant(walk.order, consent, by=BY, now=NOW + timedelta(hours=hours))
            session().flush()
            return made.id

    work = next(one for one in AuthorityFor if one is not AuthorityFor.DIAGNOSIS)
    agree(AuthorityFor.DIAGNOSIS, 9000, 1)
    assert authority.ceiling(walk.id) == 9000
    agree(work, 40000, 2)
    agree(AuthorityFor.DIAGNOSIS, 12000, 3)
    assert authority.ceiling(walk.id) == 40000
    wrong = agree(work, 90000, 4)
    assert authority.ceiling(walk.id) == 90000
    with transaction():
        entry = next(one for one in authority.ledger(walk.id) if one.id == wrong)
        authority.withdraw(entry, "it was for another amp", by=BY, now=NOW + timedelta(hours=5))
    assert authority.ceiling(walk.id) == 40000
