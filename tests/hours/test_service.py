"""Tasks, timers, corrections and calls, through the services; time passed in."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest
import sqlalchemy as sa
from flask import Flask, render_template_string

from app import clock
from app.db import session, transaction
from app.errors import BadInput, NotFound, RuleBroken
from app.hours.models import OrderOutlook, Task, TimeEntry
from app.hours.queries import history, outlook
from app.hours.queries import tasks as queries
from app.hours.queries.work import piece, pieces
from app.hours.rules.outlook import Level
from app.hours.rules.timing import Span
from app.hours.rules.words import Called, Role, WorkKey
from app.hours.service import calls, kinds, tasks, timers
from app.journal.queries import of_record
from app.orders import authority
from app.orders.gates import missing_in
from app.orders.models import AuthorityFor, RepairOrder
from app.orders.stages import End, Stage
from app.orders.standing import calculate
from app.quote.rules.lines import Hours
from tests.factories import NOW
from tests.hours import make
from tests.hours.make import DIAGNOSIS, STRIP_DOWN, WAY_BACK, at
from tests.people import BY, Cast
from tests.quote import make as quotes


def test_one_timer_a_person_and_switching_is_one_act(context: Flask, cast: Cast) -> None:
    ines, odd = cast.technician.actor, cast.second.actor
    with transaction():
        order = make.diagnosed()
        first = make.started(order, STRIP_DOWN, ines)
        second = make.started(order, DIAGNOSIS, ines, 1.0, seen=first.id)
        assert first.stopped_at == second.started_at == at(1) and queries.running_of(ines.person_id or 0) is second
        other = make.started(order, DIAGNOSIS, odd, 1.5)  # two technicians on one amp, on one task
        timers.stop(ines.person_id or 0, seen=second.id, by=ines, now=at(2))
        timers.stop(odd.person_id or 0, seen=other.id, by=odd, now=at(3))
        session().flush()
        found = piece(order, DIAGNOSIS)
        assert found is not None and found.spent(at(9)) == 2.5 and outlook.order_hours(order, at(9)).bar.spent == 3.5


def test_a_start_from_a_page_that_did_not_see_the_running_timer_is_refused(context: Flask, cast: Cast) -> None:
    """Two tablets of one person at once: the second did not know of the first."""
    ines = cast.technician.actor
    with transaction():
        order = make.diagnosed()
        first = make.started(order, STRIP_DOWN, ines)
        with pytest.raises(RuleBroken, match="after this page was opened"):
            timers.start(order, DIAGNOSIS, by=ines, now=at(0))
        with pytest.raises(RuleBroken, match="runs on this already"):
            timers.start(order, STRIP_DOWN, seen=first.id, by=ines, now=at(1))
        with pytest.raises(RuleBroken, match="after this page was opened"):
            timers.stop(ines.person_id or 0, seen=first.id + 1, by=ines, now=at(1))
        timers.stop(ines.person_id or 0, seen=first.id, by=ines, now=at(1))
        with pytest.raises(RuleBroken, match="stopped already"):
            timers.stop(ines.person_id or 0, seen=first.id, by=ines, now=at(1))
        with pytest.raises(RuleBroken, match="Sign in"):
            timers.start(order, STRIP_DOWN, by=BY, now=at(1))


def test_the_database_holds_one_running_timer_a_person(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.diagnosed()
        entry = make.started(order, STRIP_DOWN, cast.technician.actor)
    row = {one.name: getattr(entry, one.name) for one in TimeEntry.__table__.columns if one.name != "id"}
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().execute(sa.insert(TimeEntry).values(**row))


@pytest.mark.parametrize("wrong", [{"stopped_at": NOW - timedelta(days=1)}, {"stopped_at": NOW}, {"person_name": ""},
                                   {"takes_place_of_id": 1}])
def test_the_database_holds_what_an_entry_must_be(context: Flask, cast: Cast, wrong: dict[str, object]) -> None:
    with transaction():
        make.started(make.diagnosed(), STRIP_DOWN, cast.technician.actor)
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().connection().execute(sa.update(TimeEntry).values(**wrong))


def test_work_that_nobody_agreed_to_is_asked_back_before_it_starts(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = quotes.order_at(Stage.TEARDOWN)
        with pytest.raises(BadInput, match="Nobody has agreed to pay") as refused:
            timers.start(order, STRIP_DOWN, by=ines, now=at(0))
        assert refused.value.field == "allowed_by"
        make.diagnosed(order)
        first = make.started(order, STRIP_DOWN, ines, allowed_by="not asked for, so not kept")
        own = tasks.add(order, "Try another output transformer", make.plan(), by=ines, now=at(0))
        session().flush()
        key = WorkKey(Role.OWN, own.id)
        with pytest.raises(BadInput, match="The quote is not answered yet"):
            timers.start(order, key, seen=first.id, by=ines, now=at(1))
        second = make.started(order, key, ines, 1.0, seen=first.id, allowed_by="Tove, on the telephone")
        assert (first.allowed_by, second.allowed_by) == ("", "Tove, on the telephone")
        assert ("allowed by", "", "Tove, on the telephone") in [
            (one.name, one.before or "", one.after) for one in of_record("time_entry", second.id)[0].changes]


def test_a_task_that_stands_on_no_quote_is_asked_back_once(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        own = tasks.add(order, "Line the cabinet anew", make.plan(), by=ines, now=at(0))
        session().flush()
        key = WorkKey(Role.OWN, own.id)
        with pytest.raises(BadInput, match="Nobody has agreed to this: Line the cabinet anew"):
            timers.start(order, key, by=ines, now=at(0))
        first = make.started(order, key, ines, allowed_by="Tove, on the telephone")
        timers.stop(first.person_id, seen=first.id, by=ines, now=at(0.2))
        session().flush()
        assert make.started(order, key, ines, 0.3).allowed_by == ""


def test_a_call_settles_no_threshold_that_is_still_to_come(context: Flask, cast: Cast) -> None:
    """Five hours agreed: a call at 3.46, which is 69.2 %, is none at 70 %."""
    with transaction():
        order = make.agreed()
        make.worked(order, make.item(order), cast.technician.actor, 0, 3.46)
        calls.call(order, calls.Call(Called.STAY, "555 0199"), by=BY, now=at(3.46))
        make.worked(order, make.item(order), cast.technician.actor, 3.46, 3.6)
        session().flush()
        assert outlook.call_needed(order, outlook.order_hours(order, at(3.6)))


def test_work_is_held_at_the_shops_second_threshold(context: Flask, cast: Cast) -> None:
    """Five hours are agreed: 4.5 are 90 %."""
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        make.worked(order, make.item(order), ines, 0, 4.5)
        assert outlook.order_hours(order, at(5)).bar.level is Level.HOLD
        with pytest.raises(BadInput, match="Hold: 90 % of the 5 h"):
            timers.start(order, make.item(order), by=ines, now=at(5))
        make.started(order, STRIP_DOWN, ines, 5, allowed_by="Tove")  # nothing was agreed for diagnosis


def test_the_warning_comes_before_the_limit_and_ends_with_a_call(context: Flask, cast: Cast,
                                                                 monkeypatch: pytest.MonkeyPatch) -> None:
    """Five hours agreed, 3.5 are 70 %. The call for more is an entry of the ledger; one not reached settles nothing."""
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        make.worked(order, make.item(order), ines, 0, 3.4)
        monkeypatch.setattr(clock, "now", lambda: at(3.4))
        assert [one for one in missing_in(order, Stage.TEARDOWN) if one.endpoint == "hours.call"] == []
        make.worked(order, make.item(order), ines, 3.4, 3.6)
        monkeypatch.setattr(clock, "now", lambda: at(3.6))
        asked = [one for one in missing_in(order, Stage.TEARDOWN) if one.endpoint == "hours.call"]
        assert len(asked) == 1 and "Warning: 72 % of the 5 h" in asked[0].text
        calls.call(order, calls.Call(Called.NOT_REACHED, note="engaged"), by=BY, now=at(3.6))
        session().flush()
        assert outlook.call_needed(order, outlook.order_hours(order, at(3.6)))
        for wrong, field in ((calls.Call(Called.STAY), "reached_at"), (calls.Call(Called.MORE, "555 0199"), "ceiling_minor"),
                             (calls.Call(Called.MORE, "555 0199", 52_250), "ceiling_minor")):
            with pytest.raises(BadInput) as refused:
                calls.call(order, wrong, by=BY, now=at(3.6))
            assert refused.value.field == field
        made = calls.call(order, calls.Call(Called.MORE, "555 0199", 73_150, "she wants it right"), by=BY, now=at(3.7))
        session().flush()
        entry = authority.governing(order.id)
        assert entry is not None and made.authority_id == entry.id
        assert (entry.covers, entry.ceiling_minor) == (AuthorityFor.VARIATION, 73_150)
        hours = outlook.order_hours(order, at(3.7))
        assert (made.percent, made.ceiling_minor) == (72, 52_250) and hours.bar.ceiling == pytest.approx(7.0)
        assert hours.bar.level in (Level.WITHIN, Level.EXPECTED_OVER) and not outlook.call_needed(order, hours)


def test_a_call_after_which_the_limit_stays_settles_this_threshold_and_no_higher_one(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        make.worked(order, make.item(order), ines, 0, 3.6)
        calls.call(order, calls.Call(Called.STAY, "555 0199"), by=BY, now=at(3.6))
        session().flush()
        assert not outlook.call_needed(order, outlook.order_hours(order, at(3.6)))
        make.worked(order, make.item(order), ines, 3.6, 4.6)
        assert outlook.call_needed(order, outlook.order_hours(order, at(4.6)))


def test_what_is_done_within_its_limit_asks_for_no_call(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.agreed()
        make.worked(order, make.item(order), cast.technician.actor, 0, 4.9)
        assert outlook.order_hours(order, at(5)).bar.level is Level.HOLD
        tasks.finish(order, make.item(order), by=BY, now=at(5))
        session().flush()
        hours = outlook.order_hours(order, at(5))
        assert hours.bar.level is Level.WITHIN and hours.bar.to_come == 0 and not outlook.call_needed(order, hours)


def test_a_forgotten_timer_is_corrected_and_the_first_entry_stays(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.diagnosed()
        entry = make.started(order, STRIP_DOWN, ines)
        with pytest.raises(BadInput, match="Enter why"):
            timers.correct(order, entry, Span(at(0), at(2)), " ", by=ines, now=at(15))
    with transaction():
        entry = session().get_one(TimeEntry, entry.id)
        order = session().get_one(RepairOrder, order.id)
        made = timers.correct(order, entry, Span(at(0), at(2)), "went home", by=ines, now=at(15))
        session().flush()
        assert (entry.stopped_at, made.stopped_at, made.takes_place_of_id) == (at(15), at(2), entry.id)
        assert [one.id for one in queries.standing(queries.entries_of(order))] == [made.id]
        assert len(queries.entries_of(order)) == 2 and outlook.order_hours(order, at(20)).bar.spent == 2.0
        said = of_record("time_entry", made.id)[0]
        assert said.reason == "went home" and [one.name for one in said.changes] == ["to"]
        with pytest.raises(RuleBroken, match="corrected already"):
            timers.correct(order, entry, Span(at(0), at(3)), "again", by=ines, now=at(16))
        with pytest.raises(NotFound):
            timers.correct(make.diagnosed(), made, Span(at(0), at(1)), "another order", by=ines, now=at(16))
    with pytest.raises(sa.exc.DatabaseError), transaction():
        session().connection().execute(sa.delete(TimeEntry))


def test_a_correction_cannot_claim_two_places_at_once(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.diagnosed()
        make.worked(order, STRIP_DOWN, ines, 0, 1)
        entry = make.worked(order, DIAGNOSIS, ines, 1, 2)
        with pytest.raises(BadInput, match="other work"):
            timers.correct(order, entry, Span(at(0.5), at(2)), "slip", by=ines, now=at(3))
        timers.correct(order, entry, Span(at(1.5), at(2)), "slip", by=ines, now=at(3))
        timers.enter(order, STRIP_DOWN, Span(at(1), at(1.5)), "forgot to start it", by=ines, now=at(3))
        session().flush()
        assert outlook.order_hours(order, at(4)).bar.spent == 2.0
        with pytest.raises(BadInput, match="future"):
            timers.enter(order, STRIP_DOWN, Span(at(4), at(9)), "guess", by=ines, now=at(5))


def test_unattended_time_runs_apart(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        alone = timers.start_alone(order, make.item(order), by=ines, now=at(0))
        session().flush()
        make.worked(order, make.item(order), ines, 0, 1)
        with pytest.raises(RuleBroken, match="runs already"):
            timers.start_alone(order, make.item(order), by=cast.second.actor, now=at(1))
        with pytest.raises(RuleBroken, match="unattended time still runs"):
            tasks.finish(order, make.item(order), by=ines, now=at(2))
        timers.stop_alone(alone, by=ines, now=at(20))
        session().flush()
        found = piece(order, make.item(order))
        assert found is not None and (found.spent(at(30)), found.spent_alone(at(30))) == (1.0, 20.0)
        with pytest.raises(RuleBroken, match="ended already"):
            timers.stop_alone(alone, by=ines, now=at(21))


def test_a_finished_task_is_a_pair_of_the_shops_history(context: Flask, cast: Cast) -> None:
    """Estimated at 4 h, took 2: a factor of a half. A correction afterwards is weighed again."""
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        key = make.item(order)
        entry = make.worked(order, key, ines, 0, 2)
        task = tasks.finish(order, key, by=ines, now=at(2))
        session().flush()
        assert (task.took_hours, task.hours_likely, task.kind.name) == (2.0, 4.0, "other")
        assert task.log_ratio == pytest.approx(math.log(0.5)) and history.pairs_by_kind()["other"].n == 1
        low, high = task.said_low_hours, task.said_high_hours  # by the plain spread of an estimate that nobody calibrated
        assert (low, high) == (pytest.approx(4 / 1.898, rel=1e-3), pytest.approx(4 * 1.898, rel=1e-3))
        timers.correct(order, entry, Span(at(0), at(1)), "half of it was lunch", by=ines, now=at(3))
        assert task.log_ratio == pytest.approx(math.log(0.25))
        with pytest.raises(RuleBroken, match="Reopen it"):
            timers.start(order, key, by=ines, now=at(3))
        tasks.reopen(order, key, by=ines, now=at(3))
        session().flush()
        assert (task.finished_at, task.log_ratio, task.hours_likely) == (None, None, None) and not history.pairs_by_kind()
        with pytest.raises(RuleBroken, match="open already"):
            tasks.reopen(order, key, by=ines, now=at(3))


def test_a_colleagues_timer_is_not_stopped_by_finishing(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.agreed()
        make.started(order, make.item(order), cast.technician.actor)
        with pytest.raises(RuleBroken, match="The timer of Ines still runs"):
            tasks.finish(order, make.item(order), by=cast.second.actor, now=at(1))
        done = tasks.finish(order, make.item(order), by=cast.technician.actor, now=at(1))
        assert done.took_hours == 1.0 and queries.running_of(cast.technician.id) is None


def test_what_comes_before_is_finished_first_and_never_in_a_circle(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        clean = tasks.add(order, "Clean the board", make.plan(), by=ines, now=at(0))
        session().flush()
        key = WorkKey(Role.OWN, clean.id)
        tasks.change(order, make.item(order), tasks.Plan("boards", before=(key,)), by=ines, now=at(0))
        session().flush()
        with pytest.raises(RuleBroken, match="comes after: Clean the board"):
            timers.start(order, make.item(order), by=ines, now=at(0))
        with pytest.raises(BadInput, match="comes after this task itself"):
            tasks.change(order, key, make.plan(before=(make.item(order),)), by=ines, now=at(0))
        with pytest.raises(BadInput, match="stand on the quote"):
            tasks.change(order, make.item(order), make.plan(), by=ines, now=at(0))
        tasks.finish(order, key, by=ines, now=at(1))
        session().flush()
        make.started(order, make.item(order), ines, 1)


def test_a_task_of_its_own_is_withdrawn_only_before_it_cost_hours(context: Flask, cast: Cast) -> None:
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        idle, used = (tasks.add(order, what, make.plan(), by=ines, now=at(0)) for what in ("Repaint", "Re-cover"))
        session().flush()
        with pytest.raises(BadInput):
            tasks.withdraw(order, idle, " ", by=ines, now=at(0))
        tasks.withdraw(order, idle, "not wanted", by=ines, now=at(0))
        make.worked(order, WorkKey(Role.OWN, used.id), ines, 0, 1, allowed_by="Tove")
        with pytest.raises(RuleBroken, match="Hours were spent on it"):
            tasks.withdraw(order, used, "not wanted", by=ines, now=at(2))
        assert "Repaint" not in [one.what for one in pieces(order)]
        for wrong in (make.plan(hours=Hours(2, 1, 3)), make.plan(hours=Hours(0, 1, 900)), make.plan(kind="juggling"),
                      make.plan(unattended_hours=-1.0)):
            with pytest.raises(BadInput):
                tasks.add(order, "Anything", wrong, by=ines, now=at(0))


def test_an_area_proposes_one_kind_of_work(context: Flask) -> None:
    with transaction():
        made = kinds.add("Wax and potting", ["boards"], by=BY, now=NOW)
        session().flush()
        assert queries.kind_for("boards") == "wax and potting" and queries.kind_for("earth") == "mains and earth"
        kinds.change(made, [], in_use=False, by=BY, now=NOW)
        session().flush()
        assert queries.kind_for("boards") == "other" and made.name not in [one.name for one in queries.offered_kinds()]
        with pytest.raises(BadInput, match="already"):
            kinds.add("wax  and potting", [], by=BY, now=NOW)
        with pytest.raises(BadInput, match="stays on the list"):
            kinds.change(kinds.kind_named("strip-down"), [], in_use=False, by=BY, now=NOW)


def test_an_order_that_has_ended_takes_no_hours(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.agreed()
        order.ended_as, order.ended_at = End.REPAIRED, at(0)
        session().flush()
        for act in (lambda: timers.start(order, STRIP_DOWN, by=cast.technician.actor, now=at(1)),
                    lambda: tasks.add(order, "x", make.plan(), by=BY, now=at(1)),
                    lambda: calls.call(order, calls.Call(Called.NOT_REACHED), by=BY, now=at(1))):
            with pytest.raises(RuleBroken, match="ended"):
                act()


def test_an_order_does_not_leave_the_bench_while_a_timer_runs_on_it(context: Flask, cast: Cast) -> None:
    """After its end nobody could correct the time, and it would run on."""
    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        entry = make.started(order, make.item(order), ines)
        alone = timers.start_alone(order, make.item(order), by=ines, now=at(0))
        session().flush()
        texts = [one.text for one in missing_in(order, Stage.SAFETY_TEST)]
        assert any("timer of Ines still runs" in one for one in texts) and any("unattended time" in one for one in texts)
        assert "timer of Ines" not in " ".join(one.text for one in missing_in(order, Stage.REASSEMBLY))
        for end in (End.UNREPAIRED, End.UNCOLLECTED):
            assert "still runs" in " ".join(one.text for one in missing_in(order, end))
        timers.stop(cast.technician.id, seen=entry.id, by=ines, now=at(1))
        timers.stop_alone(alone, by=ines, now=at(1))
        session().flush()
        assert "still runs" not in " ".join(one.text for one in missing_in(order, Stage.SAFETY_TEST))


def test_a_step_of_the_way_back_carries_its_time(context: Flask, cast: Cast) -> None:
    from tests.bench.make import stripped

    ines = cast.technician.actor
    with transaction():
        order = make.agreed()
        stripped(order, 3)
        session().flush()
        from app.reassembly.queries.way import way_back

        step = way_back(order, planned=False).left[0].id
        entry = make.started(order, WAY_BACK, ines, step=step)
        assert entry.step == step
        with pytest.raises(NotFound, match="no such step"):
            timers.start(order, WAY_BACK, "no-such-step", seen=entry.id, by=ines, now=at(1))


def test_a_running_timer_bounds_what_was_worked_out_about_its_order(context: Flask, cast: Cast) -> None:
    """Five hours agreed: the timer reaches 70 % after 3.5 h. The standing that was stored is good until then at the latest."""
    with transaction():
        order = make.agreed()
        make.started(order, make.item(order), cast.technician.actor)
        found = calculate(order, at(0.1))
        assert found.clock is not None and (found.clock.at, found.clock.text) == (at(3.5), "70 % of the agreed hours used: warning")
        assert found.good_until == at(3.5) and calculate(order, at(3.6)).clock is not None


def test_the_outlook_is_kept_beside_the_standing(context: Flask, cast: Cast) -> None:
    with transaction():
        order = make.agreed()
        order.promised_on = (NOW + timedelta(days=1)).date()
        make.started(order, make.item(order), cast.technician.actor)
    row = session().get_one(OrderOutlook, order.id)
    assert row.ceiling_hours == pytest.approx(5.0) and len(row.running_since) == 1 and row.queue_median_hours > 0
    assert row.finish_p50 and row.finish_p80 and row.finish_p90 and row.finish_p50 <= row.finish_p80 <= row.finish_p90
    assert row.late_share is not None and 0 <= row.late_share <= 1 and session().scalar(sa.select(sa.func.count(Task.id))) == 1


def test_a_paper_says_what_was_worked_and_nothing_of_what_is_left(context: Flask, cast: Cast) -> None:
    """Four hours of the item are still to come: a report that is issued now must not say that none is left."""
    with transaction():
        order = make.agreed()
        make.worked(order, make.item(order), cast.technician.actor, 0, 1)
        session().flush()
        told = outlook.worked(order)
        assert told is not None and told.words == "1 h worked. The agreed sum holds 5 h." and told.to_come is None
        here = outlook.order_hours(order, at(1)).bar
        assert here.to_come and "to come" in here.words
    with context.test_request_context():
        page = render_template_string("{% from 'components/hours_bar.html' import hours_bar %}{{ hours_bar(bar) }}", bar=told)
    assert "sign-solid" not in page and "worked" in page
