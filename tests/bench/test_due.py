"""What is due: each room's own, asked as one query, with its act and its day; the bench list's line says the same."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import sqlalchemy as sa
from flask import Flask

from app import clock
from app.bench.due import in_words
from app.contact.models import MailMessage, MailRecipient
from app.contact.rules import How, MailState
from app.contact.service import log
from app.contact.spec import ContactFacts
from app.db import session, transaction
from app.gates import ACTS, DUE
from app.handover.models import CollectionNotice
from app.handover.rules import Sent
from app.hours.models import OrderOutlook
from app.incidents.rules import Harm
from app.measuring.models import Instrument
from app.measuring.rules import Kind, State
from app.orders.due import Due, due
from app.orders.models import Move, OrderStanding, RepairOrder
from app.orders.stages import Stage
from app.parts.models import Part
from app.parts.rules import PartKind, PartState
from app.records.rules import ProtectionClass
from tests import factories
from tests.bench.make import counted
from tests.factories import NOW
from tests.incidents.test_incidents import hurt
from tests.pages import PageClient
from tests.people import BY
from tests.quote.make import issue, line, order_at
from tests.safety import make as safety

ZONE = ZoneInfo("Australia/Sydney")
TODAY = NOW.astimezone(ZONE).date()


def found(kind: str, now: datetime = NOW) -> list[Due]:
    session().flush()
    return [one for one in due(now, ZONE) if one.kind == kind]


def at_return(days_ago: int = 0) -> RepairOrder:
    order = factories.order()
    order.stage = Stage.RETURN
    session().add(
        Move(
            order_id=order.id,
            from_stage=Stage.SAFETY_TEST,
            to_stage=Stage.RETURN,
            at=NOW - timedelta(days=days_ago),
            by_name="Mara",
        )
    )
    session().flush()
    return order


def said(order: RepairOrder, how: How = How.CALLED, now: datetime = NOW, **given: object) -> None:
    log.record_contact(
        order.depositor,
        order,
        ContactFacts(how, "555 0199", "it is ready", **given),  # type: ignore[arg-type]
        by=BY,
        now=now,
    )
    session().flush()


def test_every_source_has_its_act_and_a_name_of_its_own() -> None:
    assert len({one.kind for one in DUE}) == len(DUE) == 11
    assert all(one.ahead >= 7 for one in DUE)


def test_nothing_is_due_in_an_empty_shop(context: Flask) -> None:
    with transaction():
        assert due(NOW, ZONE) == [] and in_words([], NOW) == ""


@pytest.mark.parametrize(("days", "late", "shown"), [(-1, True, True), (0, False, True), (14, False, True), (15, False, False)])
def test_a_promised_day(context: Flask, days: int, late: bool, shown: bool) -> None:
    with transaction():
        order = factories.order()
        order.promised_on = TODAY + timedelta(days=days)
        session().add(
            OrderOutlook(
                order_id=order.id,
                spent_hours=0,
                running_since=[],
                to_come_hours=1,
                p50_hours=1,
                p80_hours=1,
                queue_median_hours=1,
                queue_log_sd=0.1,
                unattended_hours=0,
                waits_without_day="",
                as_of=NOW,
                late_share=0.62,
            )
        )
        there = found("Promised day")
        assert [one.overdue(TODAY, NOW) for one in there] == ([late] if shown else [])
        if shown:
            assert there[0].act.endpoint == "intake.place" and "62 %" in there[0].text
            order.promised_on = None
            assert found("Promised day") == []


def test_a_part_that_is_late(context: Flask) -> None:
    with transaction():
        order = factories.order()
        part = Part(
            order_id=order.id,
            state=PartState.ORDERED,
            what="6L6GC",
            kind=PartKind.VALVE,
            quantity=2,
            place="V3, V4",
            needed_at=NOW,
            needed_by="Ines",
            ordered_at=NOW,
            ordered_by="Ines",
            ordered_minor=100,
            supplier="Valve Barn",
            expected_on=TODAY - timedelta(days=3),
        )
        session().add(part)
        (one,) = found("Part")
        assert one.overdue(TODAY, NOW) and one.act.endpoint == "parts.receive" and "6L6GC is expected from Valve Barn" in one.text
        order.ended_as, order.ended_at = "returned_unrepaired", NOW  # type: ignore[assignment]
        assert found("Part") == []


def test_a_calibration_is_told_a_month_ahead(context: Flask) -> None:
    with transaction():
        meter = Instrument(
            name="DMM 1", kind=Kind.MULTIMETER, calibrated_on=date(2025, 3, 1), due_on=TODAY + timedelta(days=30), added_at=NOW
        )
        session().add(meter)
        assert [one.act.endpoint for one in found("Calibration")] == ["instruments.one"]
        meter.due_on = TODAY + timedelta(days=31)
        assert found("Calibration") == []
        meter.due_on, meter.state = TODAY - timedelta(days=1), State.QUARANTINED
        assert found("Calibration") == []
        meter.state = State.IN_SERVICE
        assert "has run out" in found("Calibration")[0].text


def test_a_report_counts_by_the_minute(context: Flask) -> None:
    with transaction():
        hurt(harm=Harm.SERIOUS)
        (one,) = found("Incident report")
        assert one.at == NOW + timedelta(days=2) and not one.overdue(TODAY, NOW)
        assert one.overdue(TODAY, NOW + timedelta(days=2))


def test_the_gate_s_call_is_due_today(context: Flask) -> None:
    with transaction():
        order = factories.order()
        session().flush()
        session().execute(sa.delete(OrderStanding).where(OrderStanding.order_id == order.id))
        session().add(
            OrderStanding(
                order_id=order.id,
                waits_for="x",
                held=False,
                do_not_energise="",
                discharged=False,
                overdue=False,
                clock_text="",
                clock_place=[],
                turn=1,
                missing=[
                    ["Call Wren Adler about the hours.", "hours.call", [["order_id", order.id]], False],
                    ["Do the danger check", "intake.look", [["order_id", order.id]], False],
                ],
            )
        )
        (one,) = found("Call")
        assert one.text == "Call Wren Adler about the hours." and one.phone == "555 0199" and one.on == TODAY


def test_a_quote_without_an_answer(context: Flask) -> None:
    with transaction():
        order = order_at()
        line(order)
        quote = issue(order)
        (one,) = found("Quote reply", now=datetime.combine(quote.valid_until, NOW.time(), ZONE))
        assert one.on == quote.valid_until and one.act.endpoint == "quote.answer" and "no answer yet" in one.text
        after = datetime.combine(quote.valid_until + timedelta(days=1), NOW.time(), ZONE)
        assert "no longer valid" in found("Quote reply", now=after)[0].text


def test_collection_is_told_then_noticed(context: Flask) -> None:
    """Common practice, no source: tell them at once; a fortnight after they were told, the first notice."""
    with transaction():
        order = at_return()
        (one,) = found("Collection")
        assert one.act.endpoint == "contact.new" and one.on == TODAY
        said(order, How.NO_ANSWER)
        assert [one.act.endpoint for one in found("Collection")] == ["contact.new"]  # nobody was told anything
        said(order)
        assert found("Collection") == []
        later = NOW + timedelta(days=14)
        assert [(one.act.endpoint, one.overdue(later.date(), later)) for one in found("Collection", later)] == [
            ("handover.notice", False)
        ]


def test_what_was_told_before_the_amp_was_ready_does_not_count(context: Flask) -> None:
    with transaction():
        order = at_return()
        said(order, now=NOW - timedelta(hours=1))
        assert [one.act.endpoint for one in found("Collection")] == ["contact.new"]


def notice(order: RepairOrder, number: int, given: date, sent: date | None = None) -> None:
    session().add(
        CollectionNotice(
            order_id=order.id,
            number=number,
            addressed_to="Wren Adler",
            address="Harrowmere",
            sent_on=sent or given,
            given_on=given,
            how=next(iter(Sent)),
            due_minor=0,
            ready_since=given,
            hours="9 to 5",
            rule="the rule of the place",
            rule_words="x",
            rule_source="x",
            rule_checked=TODAY,
            wait_notices=2,
            wait_days=28,
            at=NOW,
            by_name="Mara",
        )
    )
    session().flush()


def test_notices_run_under_the_rule_they_were_sent_under(context: Flask) -> None:
    with transaction():
        order = at_return(days_ago=40)
        notice(order, 1, TODAY - timedelta(days=35), TODAY - timedelta(days=36))
        (one,) = found("Notice")
        assert one.text == "Notice 1 of 2 is sent: send the next one." and one.act.endpoint == "handover.notice"
        notice(order, 2, TODAY - timedelta(days=27))
        (one,) = found("Notice")
        assert one.on == TODAY + timedelta(days=1) and one.act.endpoint == "handover.uncollected"
        assert found("Collection") == [] or found("Collection")[0].act.endpoint == "contact.new"


def test_a_notice_sent_before_the_amp_was_ready_does_not_count(context: Flask) -> None:
    with transaction():
        order = at_return(days_ago=1)
        notice(order, 1, TODAY - timedelta(days=10))
        assert found("Notice") == []


def test_a_test_that_failed_is_made_again(context: Flask) -> None:
    with transaction():
        safety.profile()
        order = safety.order(ProtectionClass.II)
        test = safety.started(order)
        assert found("Safety test again") == []
        test.voided_at, test.voided_by, test.void_reason = NOW, "Ines", "the chassis was opened"
        assert [one.act.endpoint for one in found("Safety test again")] == ["safety.page"]
        again = safety.started(order)
        assert again.number == 2 and found("Safety test again") == []


def test_the_next_try_falls_with_the_next_contact(context: Flask) -> None:
    with transaction():
        order = factories.order()
        said(order, How.NO_ANSWER, next_on=TODAY)
        (one,) = found("Next try")
        assert dict(one.act.values) == {"customer": order.depositor_id, "order": order.id}
        other = factories.order(amp=factories.amp(serial="2"), customer=order.depositor)
        said(other)
        assert len(found("Next try")) == 1  # another repair of theirs is another matter
        said(order)
        assert found("Next try") == []


def test_a_refused_message_is_due_until_it_is_seen_to(context: Flask) -> None:
    with transaction():
        order = factories.order()
        message = MailMessage(
            customer_id=order.depositor_id,
            order_id=order.id,
            message_id="a@b",
            subject="Ready",
            body="x",
            size=1,
            queued_at=NOW,
            queued_by="Mara",
        )
        to = MailRecipient(
            message=message, reached_at="wren@adler.example", since=NOW, state=MailState.REFUSED, answer="550 No", answered_at=NOW
        )
        session().add_all([message, to])
        assert "550 No" in found("E-mail")[0].text
        to.state = MailState.WITHDRAWN
        assert found("E-mail") == []


def test_each_act_is_one_that_a_button_says(context: Flask) -> None:
    with transaction():
        at_return()
        session().flush()
        assert all(one.act.endpoint in ACTS for one in due(NOW, ZONE))


def test_the_page_marks_overdue_in_words_and_shape_and_asks_few_questions(
    app: Flask, counter: PageClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    with app.app_context(), transaction():
        order = factories.order()
        order.promised_on = TODAY - timedelta(days=2)
    page = counter.get("/due")
    assert "overdue" in page.words and "Change the promised day" in page.words
    assert "tel:5550199" in page.links() and "verdict-fail" in page.text
    with counted(app) as few:
        counter.client.get("/due")
    with app.app_context(), transaction():
        for one in range(30):
            factories.order(amp=factories.amp(serial=f"s{one}")).promised_on = TODAY
    with counted(app) as many:
        counter.client.get("/due")
    assert len(few) == len(many) <= 12
    assert "1 overdue, 30 due today" in counter.get("/").words
