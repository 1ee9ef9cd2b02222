"""The pages of the hours, through a browser that reads every page it gets."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from flask import Flask

from app import clock
from app.access.models import Person
from app.access.rules import Role
from app.db import session, transaction
from app.hours.models import HoursCall, Task, TimeEntry, WorkKind
from app.hours.queries import tasks as queries
from app.hours.service import timers
from app.orders.models import RepairOrder
from app.orders.stages import End, Stage
from tests.factories import NOW
from tests.hours import make
from tests.hours.make import STRIP_DOWN
from tests.pages import PageClient
from tests.people import Cast
from tests.quote import make as quotes


def opened(app: Flask, stage: Stage = Stage.TEARDOWN, *, agreed: bool = False) -> str:
    with app.app_context(), transaction():
        return f"/orders/{(make.agreed() if agreed else make.diagnosed(quotes.order_at(stage))).id}"


def press(client: PageClient, page: str, action: str, **more: str) -> None:
    """One tap on the button of this form on this page."""
    client.send(action, {**client.get(page).fields(action), **more})


def entries(app: Flask) -> list[TimeEntry]:
    with app.app_context():
        return list(session().query(TimeEntry).order_by(TimeEntry.id))


def test_one_tap_starts_one_switches_and_one_stops_from_any_page(app: Flask, technician: PageClient) -> None:
    here = opened(app)
    start, stop = f"{here}/hours/start", f"{here}/hours/stop"
    press(technician, here, start)  # the first button of the order's page: strip-down, at teardown
    assert [one.step for one in entries(app)] == [""]
    header = technician.get("/glossary")
    assert "Strip-down" in header.words and header.form(stop) is not None  # always in sight
    press(technician, f"{here}/hours", start)  # what can be started now is switched to
    first, second = entries(app)
    assert first.stopped_at == second.started_at and second.stopped_at is None
    press(technician, "/glossary", stop)
    assert all(one.stopped_at for one in entries(app))


def test_a_page_that_did_not_see_the_timer_is_refused_in_words(app: Flask, technician: PageClient) -> None:
    here = opened(app)
    stale = technician.get(f"{here}/hours").fields(f"{here}/hours/start")
    press(technician, here, f"{here}/hours/start")
    told = technician.send(f"{here}/hours/start", stale, status=409)
    assert "after this page was opened" in told.words and len(entries(app)) == 1


def test_the_same_tap_twice_starts_once(app: Flask, technician: PageClient) -> None:
    here = opened(app)
    fields = technician.get(here).fields(f"{here}/hours/start")
    technician.send(f"{here}/hours/start", fields)
    technician.send(f"{here}/hours/start", fields)
    assert len(entries(app)) == 1


def test_work_without_authority_asks_who_allows_it(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        here = f"/orders/{quotes.order_at(Stage.TEARDOWN).id}"
    fields = technician.get(f"{here}/hours").fields(f"{here}/hours/start")
    asked = technician.send(f"{here}/hours/start", fields)
    assert "Nobody has agreed to pay" in asked.words and not entries(app)
    again = asked.fields(f"{here}/hours/start")
    technician.send(f"{here}/hours/start", {**again, "allowed_by": "Tove, in person"})
    assert entries(app)[0].allowed_by == "Tove, in person"
    assert "allowed by Tove, in person" in technician.get(f"{here}/hours").words


def test_a_forgotten_timer_is_shown_and_corrected_with_its_likely_end(app: Flask, technician: PageClient, cast: Cast,
                                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    """Begun at ten on a Monday in Sydney, found at half past eight in the evening: the shop closed for lunch at 12:30."""
    monday = datetime(2026, 3, 1, 23, 0, tzinfo=UTC)
    with app.app_context(), transaction():
        order = make.diagnosed()
        entry = timers.start(order, STRIP_DOWN, by=cast.technician.actor, now=monday)
        session().flush()
        here, key = f"/orders/{order.id}/hours", entry.id
    monkeypatch.setattr(clock, "now", lambda: monday + timedelta(hours=10.5))
    client = PageClient(app).sign_in(cast.technician)
    assert "It ran over the break at 12:30." in client.get(here).words and "It ran over" in client.get("/hours").words
    form = client.get(f"{here}/entries/{key}/correct").fields()
    assert (form["day"], form["started"], form["stopped"]) == ("2026-03-02", "10:00", "12:30")
    wrong = client.send(f"{here}/entries/{key}/correct", form)
    assert "Enter why" in wrong.words
    client.send(f"{here}/entries/{key}/correct", {**wrong.fields(), "reason": "went for lunch, then to the supplier"})
    page = client.get(here)
    assert "Corrected by Ines" in page.words and "Check these times" not in page.words
    first, second = entries(app)
    assert (second.stopped_at, first.stopped_at) == (monday + timedelta(hours=2.5), monday + timedelta(hours=10.5))


def test_a_timer_that_was_switched_to_keeps_its_seconds_where_only_its_end_is_corrected(
        app: Flask, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """It began in the second in which the one before it stopped: by the minute alone the two would lie over each other."""
    monday = datetime(2026, 3, 1, 23, 0, 10, tzinfo=UTC)
    switched = monday + timedelta(minutes=20, seconds=30)
    with app.app_context(), transaction():
        order = make.diagnosed()
        first = timers.start(order, make.DIAGNOSIS, by=cast.technician.actor, now=monday)
        session().flush()
        second = timers.start(order, STRIP_DOWN, seen=first.id, by=cast.technician.actor, now=switched)
        session().flush()
        here, key, other = f"/orders/{order.id}/hours", second.id, first.id
    monkeypatch.setattr(clock, "now", lambda: monday + timedelta(hours=2))
    client = PageClient(app).sign_in(cast.technician)
    client.post(f"{here}/entries/{key}/correct", {"stopped": "11:00", "reason": "stopped for the telephone"})
    client.post(f"{here}/entries/{other}/correct", {"reason": "was right"})
    made, again = entries(app)[2:]
    assert (made.started_at, made.stopped_at) == (switched, datetime(2026, 3, 2, 0, 0, tzinfo=UTC))
    assert (again.started_at, again.stopped_at) == (monday, switched)
    client.post(f"{here}/entries/{made.id}/correct", {"stopped": "10:20", "reason": "did not work at all"})
    assert entries(app)[-1].started_at == entries(app)[-1].stopped_at == switched


def test_the_likely_end_is_not_said_to_be_the_entered_one(app: Flask, cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """The end that is filled in is the shop's closing: whoever leaves it has not confirmed the longer time."""
    monday = datetime(2026, 3, 1, 23, 0, tzinfo=UTC)
    with app.app_context(), transaction():
        order = make.diagnosed()
        entry = timers.start(order, STRIP_DOWN, by=cast.technician.actor, now=monday)
        session().flush()
        path = f"/orders/{order.id}/hours/entries/{entry.id}/correct"
    monkeypatch.setattr(clock, "now", lambda: monday + timedelta(hours=4))
    client = PageClient(app).sign_in(cast.technician)
    page = client.get(path)
    assert "leave the times" not in page.words and "enter its own end again" in page.words


def test_hours_are_entered_afterwards_tasks_added_planned_finished_and_opened_again(app: Flask, technician: PageClient) -> None:
    here = f"{opened(app, agreed=True)}/hours"
    technician.post(f"{here}/tasks/new", {"what": "Clean the board", "kind": "boards", "hours_likely": "1:30", "hours_low": "1"})
    page = technician.get(here)
    assert "Clean the board" in page.words and "planned 1.5 h (1 h to 1.5 h)" in page.words
    with app.app_context():
        key = f"task-{session().query(Task).one().id}"
        order = session().get_one(RepairOrder, int(here.split("/")[2]))
        item = make.item(order).text
    technician.post(f"{here}/tasks/{item}", {"before": key})
    assert "After: Clean the board" in technician.get(here).words
    technician.post(f"{here}/enter", {"task": key, "day": "2026-03-02", "started": "10:00", "stopped": "11:00",
                                     "reason": "no tablet"})
    technician.send(f"{here}/finish", {**technician.token(), "work": key})
    assert "Clean the board · finished" in technician.get(here).words
    technician.send(f"{here}/reopen", {**technician.token(), "work": key})
    technician.send(f"{here}/start-unattended", {**technician.token(), "work": key})
    alone = entries(app)[-1]
    assert alone.unattended and "End unattended time" in technician.get(here).words
    technician.send(f"{here}/entries/{alone.id}/end", technician.token())
    technician.post(f"{here}/tasks/new", {"what": "Repaint it", "kind": "other"})
    with app.app_context():
        idle = session().query(Task).order_by(Task.id.desc()).first()
        assert idle is not None
        withdraw = f"{here}/tasks/{idle.id}/withdraw"
    technician.post(withdraw, {"reason": "not wanted"})
    assert "Repaint it" not in technician.get(here).words


def test_bad_input_is_told_beside_its_field(app: Flask, technician: PageClient) -> None:
    here = f"{opened(app)}/hours"
    for entered, words in (({"hours_likely": "soon"}, "is not a time"), ({"hours_likely": "900"}, "from 0 to 400"),
                           ({"what": ""}, "Enter what is to be done")):
        told = technician.post(f"{here}/tasks/new", {"what": "Clean", "kind": "boards", **entered})
        assert words in told.words
    for path in (f"{here}/tasks/task-999", f"{here}/tasks/nonsense", f"{here}/start?work=item-9", f"{here}/entries/999/correct"):
        technician.get(path, status=404)


def test_the_counter_records_the_call_and_its_answer(app: Flask, counter: PageClient, cast: Cast) -> None:
    with app.app_context(), transaction():
        order = make.agreed()
        make.worked(order, make.item(order), cast.technician.actor, 0, 3.6)
        here = f"/orders/{order.id}"
    assert "3.6 h of 5 h · warning" in counter.get("/").words
    page = counter.get(here)
    assert "Warning: 72 % of the 5 h" in page.words and f"{here}/hours/call" in page.links()
    told = counter.post(f"{here}/hours/call", {"how": "agreed to more", "ceiling_minor": "100"})
    assert "is agreed already" in told.words
    counter.send(f"{here}/hours/call", {**told.fields(), "ceiling_minor": "900", "note": "wants it right"})
    with app.app_context():
        call = session().query(HoursCall).one()
        assert call.authority_id is not None
    assert "Agreed to a higher limit" in counter.get(f"{here}/hours").words
    assert "warning" not in counter.get("/").words and "Warning" not in counter.get(here).words


def test_the_bench_list_sorts_by_risk_to_the_promise(app: Flask, technician: PageClient, cast: Cast) -> None:
    with app.app_context(), transaction():
        late, early = make.agreed(hours=400.0, maximum_minor=9_000_000), make.agreed(hours=1.0)
        late.promised_on = datetime.now(UTC).date() + timedelta(days=21)  # whatever day of the week it is
        early.promised_on = datetime.now(UTC).date() + timedelta(days=20)
        since = (datetime.now(UTC) - make.at(0)).total_seconds() / 3600
        make.started(early, make.item(early), cast.second.actor, since - 0.1)
        numbers = str(late.number), str(early.number)
    page = technician.get("/?sort=risk").words
    assert page.rindex(numbers[0]) < page.rindex(numbers[1]) and "late in" in page and "likely done" in page
    plain = technician.get("/").words
    assert plain.rindex(numbers[1]) < plain.rindex(numbers[0])  # above the list stands what is due


def test_the_owner_keeps_the_list_of_kinds_and_reads_how_good_the_estimates_were(app: Flask, owner: PageClient) -> None:
    assert "strip-down" in owner.get("/hours/kinds").words
    owner.post("/hours/kinds", {"name": "Wax and potting", "areas": "boards"})
    with app.app_context():
        made = session().query(WorkKind).filter_by(name="wax and potting").one()
        assert queries.kind_for("boards") == "wax and potting"
        key = made.id
    owner.post(f"/hours/kinds/{key}", {"in_use": None, "areas": "earth"})
    assert "no longer used" in owner.get("/hours/kinds").words
    assert "Too few finished jobs to replay" in owner.get("/hours/estimates").words
    owner.get("/hours/kinds/999", status=404)


def test_opening_hours_are_set_and_refused_in_words(app: Flask, owner: PageClient) -> None:
    told = owner.post("/shop", {"opening_hours": "nine to five"})
    assert "is not a day of the week" in told.words
    assert "is not a day" in owner.post("/shop", {"closed_days": "Christmas"}).words
    owner.post("/shop", {"opening_hours": "Mon-Sat 10:00-18:00", "closed_days": "2026-12-24 to 2027-01-04"})
    assert "Mon-Sat 10:00-18:00" in owner.get("/shop").text


def test_who_changed_to_the_counter_still_stops_their_own_timer_and_starts_none(app: Flask, technician: PageClient,
                                                                               cast: Cast) -> None:
    here = opened(app)
    start, stop = f"{here}/hours/start", f"{here}/hours/stop"
    press(technician, here, start)
    with app.app_context(), transaction():
        session().get_one(Person, cast.technician.id).role = Role.COUNTER
    technician.send(start, technician.token(), status=403)
    press(technician, "/glossary", stop)
    assert [one.stopped_at is not None for one in entries(app)] == [True]


def test_nothing_is_to_come_on_a_repair_that_has_ended(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order_id = make.agreed().id
    before = technician.get(f"/orders/{order_id}").words
    assert "to come. At the end" in before, before[before.find("Hours"):][:600]
    with app.app_context(), transaction():
        order = session().get_one(RepairOrder, order_id)
        order.ended_as, order.ended_at = End.UNREPAIRED, NOW
    words = technician.get(f"/orders/{order_id}").words.replace("\u00a0", " ")
    assert "0 h worked" in words and "to come" not in words and "at the end" not in words, words[words.find("Hours"):][:500]
