"""Incidents: written down once, what was told stands below, and the time for a report as the law of the place counts it.

Australia: a repairer reports within two days of learning of it (Product Safety Australia, When you must report an incident).
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.db import session, transaction
from app.errors import BadInput
from app.incidents import duties, queries, service
from app.incidents.models import Incident
from app.incidents.rules import Harm, Told, overdue
from app.incidents.service import About, Happened, Said
from app.journal import service as journal
from app.orders.gates import clocks_of
from app.orders.models import RepairOrder
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY


def hurt(order: RepairOrder | None = None, harm: Harm = Harm.SERIOUS, learned: datetime = NOW, **given: str) -> Incident:
    usual = {"who": "Wren Adler, playing", "what": "a shock from the strings", "place": "the hall in Harrowmere"}
    made = service.record_incident(Happened(**{**usual, **given}, harm=harm, happened_at=learned - timedelta(hours=20),
                                            learned_at=learned), About(order), by=BY, now=max(NOW, learned))
    session().flush()
    return made


def test_two_days_run_from_when_the_shop_learned_of_it(context: Flask) -> None:
    with transaction():
        order = factories.order()
        made = hurt(order)
        assert made.due_at == NOW + timedelta(days=2) and made.duty_read == "seen"
        assert (made.amp_id, made.customer_id) == (order.amp_id, order.owner_id)
        assert hurt(harm=Harm.SLIGHT).due_at is None  # the duty speaks of death, serious injury, serious illness
        the_shop().jurisdiction = "uk-england"
        british = hurt()
        assert british.due_at is None and british.duty_read != "seen" and "No period" in british.duty_words


@pytest.mark.parametrize("kind", [Told.REPORTED, Told.NOT_DUE])
def test_a_report_or_the_owner_s_word_ends_the_reminder(context: Flask, kind: Told) -> None:
    with transaction():
        order = factories.order()
        made = hurt(order)
        assert [one.text for one in clocks_of(order) if "incident" in one.text] == [f"Report of incident {made.id} due"]
        service.add_entry(made, Said(Told.TOLD, "what happened", NOW, whom="the owner"), by=BY, now=NOW)
        assert list(queries.to_report()) == [made]
        service.add_entry(made, Said(kind, "in full", NOW, whom="Product Safety Australia", proof="R-4471"), by=BY, now=NOW)
        assert made.settled and list(queries.to_report()) == []
        assert not [one for one in clocks_of(order) if "incident" in one.text]


@pytest.mark.parametrize(("given", "field"), [
    ({"who": " "}, "who"), ({"what": ""}, "what"), ({"place": ""}, "place"), ({"learned": NOW + timedelta(days=1)}, None)])
def test_what_an_incident_must_say(context: Flask, given: dict[str, object], field: str | None) -> None:
    with transaction():
        if field is None:
            with pytest.raises(BadInput, match="not come yet"):
                service.record_incident(Happened("a", Harm.SLIGHT, "b", "c", NOW, NOW + timedelta(days=1)), About(), by=BY, now=NOW)
        else:
            with pytest.raises(BadInput) as refused:
                hurt(**given)  # type: ignore[arg-type]
            assert refused.value.field == field


def test_a_report_needs_somebody_and_a_proof(context: Flask) -> None:
    with transaction():
        made = hurt()
        for said, words in ((Said(Told.REPORTED, "all", NOW, whom="the authority"), "proves the report"),
                            (Said(Told.TOLD, "all", NOW), "to whom"), (Said(Told.CORRECTED, " ", NOW), "put right"),
                            (Said(Told.TOLD, "all", NOW - timedelta(days=9), whom="x"), "before it happened")):
            with pytest.raises(BadInput, match=words):
                service.add_entry(made, said, by=BY, now=NOW)


def test_what_is_written_down_is_never_changed_and_stands_in_the_journal(context: Flask) -> None:
    with transaction():
        made = hurt()
        service.add_entry(made, Said(Told.CORRECTED, "it was the left hand", NOW), by=BY, now=NOW)
    for table in ("incident", "incident_entry"):
        with pytest.raises(sa.exc.DatabaseError, match="refused"), transaction() as current:
            current.execute(sa.text(f"UPDATE {table} SET by_name = 'somebody'"))  # noqa: S608 - two names, written here
        with pytest.raises(sa.exc.DatabaseError, match="refused"), transaction() as current:
            current.execute(sa.text(f"DELETE FROM {table}"))  # noqa: S608
    assert journal.verify() == []


def test_overdue_is_told_by_the_clock() -> None:
    assert overdue(NOW, settled=False, now=NOW) and not overdue(NOW, settled=False, now=NOW - timedelta(seconds=1))
    assert not overdue(NOW, settled=True, now=NOW) and not overdue(None, settled=False, now=NOW)


def test_every_duty_names_source_mark_and_date() -> None:
    for duty in duties.known().values():
        assert duty.words and duty.to and duty.source and duty.read and duty.checked
        assert (duty.days is not None) == (duty.read == "seen")  # a time that nobody read is no time
    assert duties.for_jurisdiction("AU-NSW ").days == 2 and duties.for_jurisdiction("moon").days is None


def test_the_whole_by_its_pages(app: Flask, counter: PageClient, owner: PageClient) -> None:
    with app.app_context(), transaction():
        number = factories.order().number
        zone = the_shop().zone
    now = clock.now().astimezone(zone)
    ago = now - timedelta(days=4)
    given = {"who": "Wren Adler", "harm": Harm.SERIOUS.value, "what": "a shock from the strings", "place": "the hall",
             "happened_on": ago.date().isoformat(), "happened_at": "09:00", "learned_on": ago.date().isoformat(),
             "learned_at": "10:00",
             "first_aid": "supply cut, ambulance called", "order": str(number)}
    assert "There is no repair with this number." in counter.post("/incidents/new", {**given, "order": "999"}).words
    page = counter.post("/incidents/new", given)
    assert "Overdue: the report to Product Safety Australia was due" in page.words and f"Repair {number}" in page.words
    here = page.response.request.path
    assert "Overdue: the report of incident" in counter.get("/").words
    assert "supply cut, ambulance called" in counter.get(f"{here}/paper").words
    told = f"{here}/told"
    assert Told.NOT_DUE.value not in counter.get(told).text and Told.NOT_DUE.value in owner.get(told).text
    entry = {"kind": Told.REPORTED.value, "whom": "Product Safety Australia", "what": "the whole record",
             "told_on": now.date().isoformat(), "told_at": "00:01"}
    assert "Enter what proves the report" in counter.post(told, entry).words
    page = counter.post(told, {**entry, "proof": "R-4471"})
    assert "R-4471" in page.words and "Overdue" not in page.words
    assert "report of incident" not in counter.get("/").words
    assert "settled" in counter.get("/incidents").words
