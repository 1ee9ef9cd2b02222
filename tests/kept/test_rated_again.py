"""A part whose place is rated by a calculation that no longer stands is not "here": somebody looks at its rating again."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.bench.sums import service as sums
from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.journal.models import JournalEntry
from app.kept import queries
from app.kept import service as kept_service
from app.kept.models import SumUse
from app.kept.rules import Purpose
from app.orders.models import RepairOrder
from app.parts import service as parts
from app.parts.gate import parts_here
from app.parts.models import Part
from app.parts.rules import Dropped, RatedAgain, Rating, Settle
from tests.factories import NOW
from tests.kept import make
from tests.pages import PageClient
from tests.parts import make as part_make
from tests.people import BY
from tests.quote import make as quotes

LATER = NOW + timedelta(hours=2)
WHEN = {"by": BY, "now": LATER}


def rated(order: RepairOrder, *, marked: float | None = 600.0) -> tuple[Part, make.KeptSum]:
    """A can rated by a reservoir at 330 V a leg; here, and marked for `marked` volts, unless None."""
    part, one = part_make.part(order), make.kept(order)
    sums.use(order, one, make.figure(one, "highest_v"), make.target(order, Purpose.VOLTS), by=BY, now=NOW)
    session().flush()
    if marked is not None:
        parts.receive(order, part, part_make.arrival(rating=Rating(volts=marked), charged_minor=0), by=BY, now=NOW)
    session().flush()
    return part, one


def changed(order: RepairOrder, one: make.KeptSum, volts: str = "350") -> make.KeptSum:
    made = make.kept(order, replaces=one, secondary_vrms=volts, now=LATER)
    session().expire_all()
    return made


def use_of(order: RepairOrder, part: Part) -> SumUse:
    (one,) = queries.of_parts(order.id)[part.id]
    return one


def about(order: RepairOrder, part: Part) -> list[str]:
    return [one.text for one in parts_here(order) if dict(one.values).get("part_id") == part.id]


@pytest.mark.parametrize("marked", [600.0, None])
def test_a_place_rated_by_what_was_changed_or_withdrawn_is_named(context: Flask, marked: float | None) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order, marked=marked)
        assert not any("calculation" in words for words in about(order, part))
        second = changed(order, one)
        assert any("C14" in words and f"changed by {BY.name}" in words for words in about(order, part))
        parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.TAKE), **WHEN)
        assert not any("calculation" in words for words in about(order, part))
        kept_service.withdraw(second, "another winding", **WHEN)
        session().flush()
        session().expire_all()
        assert any("withdrawn" in words and "another winding" in words for words in about(order, part))


def test_the_new_figure_is_taken_and_what_came_is_judged_by_it(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order)
        second = changed(order, one)
        parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.TAKE), **WHEN)
        session().flush()
        assert part.needed_volts == make.figure(second, "highest_v").value
        assert use_of(order, part).sum_id == second.id and about(order, part) == []
        third = changed(order, second, "450")
        with pytest.raises(BadInput, match="rated 600 V"):
            parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.TAKE), **WHEN)
        assert part.needed_volts != make.figure(third, "highest_v").value and about(order, part)


def test_it_is_kept_or_set_otherwise_with_a_reason(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order)
        changed(order, one)
        for how, volts in ((Settle.KEEP, None), (Settle.OTHER, 500.0), (Settle.OTHER, None)):
            with pytest.raises(BadInput):
                reason = " " if volts or how is Settle.KEEP else "x"
                parts.rate_again(order, part, use_of(order, part), RatedAgain(how, volts, reason), **WHEN)
        before, why = part.needed_volts, "the new one is of the bench supply"
        parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.KEEP, None, why), **WHEN)
        session().flush()
        assert part.needed_volts == before and about(order, part) == [] and queries.of_parts(order.id) == {}
        assert "the new one is of the bench supply" in part.rating_source and "calculated worst-case" not in part.rating_source
        entry = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == "part:rated_again")).one()
        assert entry.reason == "the new one is of the bench supply"


def test_another_figure_takes_its_place_if_what_came_bears_it(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order)
        kept_service.withdraw(one, "wrong winding", **WHEN)
        session().flush()
        with pytest.raises(BadInput, match="withdrawn"):
            parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.TAKE), **WHEN)
        for volts, words in ((650.0, "rated 600 V"), (-3.0, "above 0"), (float("nan"), "above 0")):
            with pytest.raises(BadInput, match=words):
                parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.OTHER, volts, "measured cold"), **WHEN)
        parts.rate_again(order, part, use_of(order, part), RatedAgain(Settle.OTHER, 560.0, "measured cold"), **WHEN)
        assert part.needed_volts == 560.0 and "measured cold" in part.rating_source and about(order, part) == []


def test_what_has_not_been_looked_at_is_not_fitted(context: Flask) -> None:
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order)
        changed(order, one)
        with pytest.raises(RuleBroken, match="rating"):
            parts.fit(order, part, "C14", **WHEN)


def test_what_is_got_again_rests_on_the_same_calculation(context: Flask) -> None:
    """Else the figure of a calculation that was withdrawn lives on in the part that is got in place of the first."""
    with transaction(), context.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order)
        changed(order, one, "450")
        parts.drop(order, part, "marked too low", Dropped.SENT_BACK, **WHEN)
        session().flush()
        again = parts.need(order, part.need, None, again_of=part, **WHEN)
        session().flush()
        assert use_of(order, again).sum_id == one.id
        assert any("calculation" in words for words in about(order, again))
        parts.rate_again(order, again, use_of(order, again), RatedAgain(Settle.TAKE), **WHEN)
        assert again.needed_volts is not None and again.needed_volts > 600


def test_by_its_page_it_is_named_settled_and_settled_once(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction(), app.test_request_context():
        order = quotes.agreed_order()
        part, one = rated(order)
        changed(order, one)
        path, base = f"/orders/{order.id}/parts/{part.id}/rating/{use_of(order, part).id}", f"/orders/{order.id}/parts"
    page = technician.get(base)
    assert "Every part that is called for is here" not in page.words
    assert path in page.links()
    page = technician.post(path, {"how": "keep", "reason": ""}, form_on=path)
    assert page.title.startswith("Error") and "Enter why" in page.words
    form = {**technician.get(path).fields(path), "how": "keep", "reason": "of the bench supply"}
    technician.send(path, form)
    assert "saved already" in technician.send(path, form).words
    assert path not in technician.get(base).links()
    with app.app_context():
        assert session().query(JournalEntry).filter_by(event="part:rated_again").count() == 1
    assert "settled" in technician.get(path, status=409).words
