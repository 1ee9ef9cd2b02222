"""The page of the figures: what it gathers from the records, for whom, for which days, and at what cost."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.bench.figures import queries
from app.bench.figures.rules.period import Period
from app.bench.figures.rules.times import Cause, causes
from app.db import session, transaction
from app.hours.models import Task, WorkKind
from app.hours.service import tasks, timers
from app.intake.come_back_rules import Judgement, Payer, Verdict
from app.intake.service.come_back import judge
from app.orders import service as orders
from app.orders.models import Move, Quarantine, RepairOrder
from app.orders.stages import End, Stage
from app.shop.queries import the_shop
from tests import factories
from tests.bench.make import counted
from tests.factories import NOW
from tests.hours import make
from tests.pages import PageClient
from tests.people import BY, Cast

WEEK = Period(date(2026, 3, 1), date(2026, 3, 7))
ASKED = "/shop/figures?first=2026-03-01&last=2026-03-31"


@pytest.fixture
def engine_name(request: pytest.FixtureRequest) -> str:
    """One engine where the statements are the same on either."""
    return str(getattr(request, "param", "sqlite"))


def out(hours: float = 48.0, how: End = End.REPAIRED, **given: object) -> RepairOrder:
    order = factories.order(amp=factories.amp(serial=str(given.pop("serial", "1"))), **given)
    session().flush()
    for after, here, there in ((2, Stage.INTAKE, Stage.TEARDOWN), (10, Stage.TEARDOWN, Stage.RETURN)):
        session().add(Move(order_id=order.id, from_stage=here, to_stage=there, at=NOW + timedelta(hours=after), by_name="Mara"))
    order.stage, order.ended_as, order.ended_at = Stage.RETURN, how, NOW + timedelta(hours=hours)
    session().flush()
    return order


@pytest.mark.parametrize("engine_name", ["sqlite", "postgresql"], indirect=True)
def test_what_a_repair_took_is_gathered_from_its_moves_and_timers(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.diagnosed()
        entry = make.worked(order, make.DIAGNOSIS, cast.technician.actor, 1, 5)
        timers.correct(order, entry, make.Span(make.at(1), make.at(3)), "it ran over lunch", by=BY, now=make.at(9))
        order.ended_as, order.ended_at = End.UNREPAIRED, NOW + timedelta(hours=30)
        session().flush()
    found = queries.stories(WEEK, the_shop().zone)
    assert len(found) == 1
    spent = {cause: took / timedelta(hours=1) for cause, took in causes(found[0]).items()}
    assert sum(spent.values()) == 30
    assert spent[Cause.WORKED] == found[0].hours_worked == 2  # as corrected
    assert queries.stories(Period(date(2026, 2, 1), date(2026, 2, 28)), the_shop().zone) == []


@pytest.mark.parametrize("engine_name", ["sqlite", "postgresql"], indirect=True)
def test_come_backs_are_those_of_repaired_amps_by_their_first(context: Flask) -> None:
    with transaction():
        first = out()
        slip = factories.order(amp=first.amp, customer=first.depositor, come_back_of=first, now=NOW + timedelta(days=3))
        orders.void(slip, "opened for the wrong amp", by=BY, now=NOW + timedelta(days=3))
        again = factories.order(amp=first.amp, customer=first.depositor, come_back_of=first, now=NOW + timedelta(days=10))
        factories.order(amp=first.amp, customer=first.depositor, come_back_of=first, now=NOW + timedelta(days=20))
        out(serial="2", how=End.UNREPAIRED)
        session().flush()
        judge(again, Judgement(Verdict.OUR_PART, Payer.SHOP, True, "the new reservoir leaks"), by=BY, now=NOW + timedelta(days=11))
    found = queries.left(WEEK, the_shop().zone)
    assert [(one.number, one.back_number, one.days, one.found) for one in found] == [
        (first.number, again.number, 8, "our part failed")]


@pytest.mark.parametrize("engine_name", ["sqlite", "postgresql"], indirect=True)
def test_the_longest_wait_stands_first_and_a_barred_amp_says_so(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        old = factories.order()
        session().add(Move(order_id=old.id, from_stage=Stage.INTAKE, to_stage=Stage.TEARDOWN, at=NOW + timedelta(days=3),
                           by_name="Mara"))
        young = factories.order(amp=factories.amp(serial="2"), now=NOW + timedelta(days=2))
        session().add(Quarantine(order_id=young.id, reason="the chassis is live", set_at=NOW, set_by="Ines"))
        session().flush()
        numbers = [young.number, old.number]
    with app.app_context():
        found = queries.waiting(NOW + timedelta(days=5))
        assert [(one.number, one.days) for one in found] == [(numbers[0], 3.0), (numbers[1], 2.0)]
    words = owner.get(ASKED).words
    assert "Do not energise: the chassis is live" in words
    rows = list(csv.reader(io.StringIO(owner.client.get("/shop/figures/waiting.csv").text)))
    assert rows[0][-1] == "do not energise" and rows[1][-1] == "the chassis is live"


def test_the_page_names_nobody(app: Flask, owner: PageClient, cast: Cast) -> None:
    """Never a league of persons: nothing on it or in its files says who worked."""
    with app.app_context(), transaction():
        order = make.diagnosed()
        make.worked(order, make.DIAGNOSIS, cast.technician.actor, 1, 3)
        tasks.finish(order, make.DIAGNOSIS, by=cast.technician.actor, now=make.at(4))
        order.ended_as, order.ended_at = End.REPAIRED, make.at(5)
    page = owner.get(ASKED)
    with app.app_context():
        kind = session().scalars(sa.select(WorkKind.name).join(Task, Task.kind_id == WorkKind.id)).one()
    assert "1 repair ended" in page.words and kind in page.words
    main = page.text[page.text.index("<main"):page.text.index("</main>")]
    files = [owner.client.get(f"/shop/figures/{key}.csv?first=2026-03-01&last=2026-03-31").text
             for key in ("times", "come-backs", "came-back", "hours", "waiting")]
    assert kind in files[3]
    for text in (main, *files):
        assert not [name for name in ("Ines", "Odd", "Mara", "the console") if name in text]


def test_only_the_owner_sees_it(owner: PageClient, technician: PageClient, counter: PageClient) -> None:
    technician.get("/shop/figures", status=403)
    counter.get("/shop/figures/times.csv", status=403)
    assert "No repair ended in this period." in owner.get("/shop/figures").words


def test_a_period_that_is_none_is_said_beside_its_field(owner: PageClient) -> None:
    page = owner.get("/shop/figures?first=2026-05-01&last=2026-04-01")
    assert "The last day is before the first. Enter a later one." in page.words
    assert page.fields("/shop/figures") == {"first": "2026-05-01", "last": "2026-04-01"}
    owner.get("/shop/figures/times.csv?first=soon", status=404)
    owner.get("/shop/figures/persons.csv", status=404)


def test_a_file_says_what_the_page_says(app: Flask, owner: PageClient) -> None:
    with app.app_context(), transaction():
        out()
    answer = owner.client.get("/shop/figures/times.csv?first=2026-03-01&last=2026-03-31")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="times-2026-03-01-2026-03-31.csv"'
    rows = {row[0]: row[1:] for row in csv.reader(io.StringIO(answer.text))}
    assert rows["Cause"] == ["Days each (days)", "Share (%)"]
    assert [float(one) for one in rows["waiting to be collected"]] == [round(38 / 24, 3), round(38 / 48 * 100, 2)]
    assert float(rows["all"][0]) == 2.0


def test_a_thousand_repairs_cost_no_more_statements_than_one(app: Flask, owner: PageClient) -> None:
    def asked() -> int:
        with counted(app) as statements:
            assert owner.client.get(ASKED).status_code == 200
        return len(statements)

    with app.app_context(), transaction():
        first = out()
        amp, who = first.amp_id, first.depositor_id
    few = asked()
    with app.app_context(), transaction():
        lines = session().connection()  # past the session: a thousand records one by one would take the test's time, not the page's
        lines.execute(sa.insert(RepairOrder), [
            {"id": one, "number": one, "amp_id": amp, "depositor_id": who, "owner_id": who, "authority_id": who,
             "stage": Stage.RETURN, "ended_as": End.REPAIRED, "ended_at": NOW + timedelta(hours=one % 400), "opened_at": NOW,
             "version": 1} for one in range(5000, 6000)])
        lines.execute(sa.insert(Move), [
            {"order_id": one, "from_stage": Stage.INTAKE, "to_stage": Stage.RETURN, "at": NOW, "by_name": "Mara"}
            for one in range(5000, 6000)])
    assert "1001 repairs ended" in owner.get(ASKED).words
    assert asked() == few <= 20


@pytest.mark.parametrize(("first", "last"), [("0001-01-01", "0001-01-02"), ("9999-12-01", "9999-12-31")])
def test_a_period_at_the_calendar_s_end_is_refused_in_words(owner: PageClient, first: str, last: str) -> None:
    assert "Enter a day from 1900 to 2199." in owner.get(f"/shop/figures?first={first}&last={last}").words
    owner.get(f"/shop/figures/income.csv?first={first}&last={last}", status=404)
    assert "Enter a day from 1900 to 2199." in owner.get(f"/money/accounts?first={first}&last={last}").words
