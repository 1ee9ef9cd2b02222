from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.orders.gates import missing_in
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.parts import queries, service
from app.parts.models import Part
from app.parts.rules import Dropped, Incoming, PartKind, PartState, Rating
from app.quote import costs
from app.quote import queries as quote
from app.quote.rules.costs import Level
from app.quote.rules.words import PartCondition
from tests.parts import make
from tests.people import BY
from tests.quote import make as quotes
from tests.quote.make import LATER


def texts(order: RepairOrder) -> list[str]:
    return [one.text for one in missing_in(order, Stage.PARTS)]


def one_line(order: RepairOrder) -> int:
    return quote.agreed_lines(order)[0].line_root_id


def test_the_gate_follows_a_part_from_the_quote_to_its_place(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        assert texts(order) == ["Add the parts for: Replace the supply capacitors. Named on the quote: three 47u 500 V."]
        part = make.part(order, one_line(order))
        assert texts(order) == ["Order 3 × 47u 450 V for C14, or drop it with a reason."]
        service.order_part(order, part, make.bought(), by=BY, now=LATER)
        assert texts(order) == ["Receive 3 × 47u 450 V from Brackwater Components."]
        service.receive(order, part, make.arrival(), by=BY, now=LATER)
        assert texts(order) == [] and queries.total_charged(order) == 4200
        service.fit(order, part, "C14 to C16", by=BY, now=LATER)
        assert texts(order) == [] and queries.fitted(order) == [part]


def test_a_dropped_part_plans_its_task_anew(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        with pytest.raises(BadInput):
            service.drop(order, part, " ", by=BY, now=LATER)
        service.drop(order, part, "the old ones measure as new: kept", by=BY, now=LATER)
        assert texts(order) == []
        with pytest.raises(RuleBroken, match="dropped already"):
            service.order_part(order, part, make.bought(), by=BY, now=LATER)


def test_a_part_that_failed_its_test_is_neither_fitted_nor_passed(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        service.receive(order, part, make.arrival(test=Incoming.FAILED, test_words="4 mA at 450 V"), by=BY, now=LATER)
        assert texts(order) == ["3 × 47u 450 V failed its incoming test: send it back, then order the same again."]
        assert part.cost_minor == part.charged_minor == queries.total_charged(order) == 0
        with pytest.raises(RuleBroken, match="it must not go in"):
            service.fit(order, part, "C14", by=BY, now=LATER)


def test_nothing_is_ordered_before_its_line_is_agreed_to(context: Flask) -> None:
    with transaction():
        order = quotes.order_at(Stage.QUOTE)
        line = quotes.line(order)
        part, free = make.part(order, line.line_root_id), make.part(order)
        for one in (part, free):
            with pytest.raises(BadInput, match="agreed"):
                service.order_part(order, one, make.bought(), by=BY, now=LATER)
        quotes.issue(order)
        quotes.authorise(order)
        service.order_part(order, part, make.bought(), by=BY, now=LATER)
        assert part.state is PartState.ORDERED


def test_a_part_that_would_pass_the_agreed_sum_is_refused(context: Flask) -> None:
    """Agreed: 142.50 + 42.00 and 10 % = 202.95, up to 250.00. So 42.77 on top of the quoted parts is the last cent that fits."""
    with transaction():
        order = quotes.order_at(Stage.QUOTE)
        line = quotes.line(order)
        quotes.issue(order, maximum_minor=25_000)
        quotes.authorise(order)
        part = make.part(order, line.line_root_id)
        with pytest.raises(BadInput) as refused:
            service.order_part(order, part, make.bought(4200 + 4278), by=BY, now=LATER)
        assert refused.value.field == "ordered_minor"
        assert "AUD 250.01 would be committed" in refused.value.words and "new revision" in refused.value.words
        service.order_part(order, part, make.bought(4200 + 4277), by=BY, now=LATER)
        stands = costs.standing(order)
        assert stands.committed_minor == 25_000 and stands.level is Level.HOLD and stands.words.startswith("Hold: 100 %")
        with pytest.raises(BadInput) as dearer:
            service.receive(order, part, make.arrival(charged_minor=4200 + 4278), by=BY, now=LATER)
        assert dearer.value.field == "charged_minor"


def test_the_warning_comes_before_the_sum_is_used_up(context: Flask) -> None:
    with transaction():
        order = quotes.order_at(Stage.QUOTE)
        quotes.line(order)
        quotes.issue(order, maximum_minor=30_000)
        quotes.authorise(order)
        free = make.part(order)
        assert costs.standing(order).level is Level.WITHIN
        service.order_part(order, free, make.bought(3000), by=BY, now=LATER)
        stands = costs.standing(order)
        assert stands.level is Level.WARN and "79 % of what was agreed" in stands.words and "AUD 64.05 is left" in stands.words


def test_a_part_follows_its_line_through_changes(context: Flask) -> None:
    from app.quote.service import lines as lines_service

    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        line = quote.lines(order.id)[0]
        lines_service.change(order, line, quotes.draft(parts_minor=5000), by=BY, now=LATER)
        quotes.issue(order, LATER)
        quotes.authorise(order)
        assert part in queries.called_for(order) and queries.lines_without_parts(order) == []
        service.order_part(order, part, make.bought(), by=BY, now=LATER)


def test_parts_of_a_declined_line_are_not_waited_for(context: Flask) -> None:
    with transaction():
        order = quotes.order_at(Stage.QUOTE)
        quotes.line(order, parts="", parts_minor=0, condition=None)
        other = quotes.line(order, what="Replace the output valves")
        make.part(order, other.line_root_id)
        quotes.issue(order)
        quotes.authorise(order, [other.id])
        assert texts(order) == []


def test_the_customers_own_part_is_free_and_marked(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, kind=PartKind.VALVE, what="12AX7", rating=Rating(), rating_source="",
                         condition=PartCondition.CUSTOMERS)
        service.receive(order, part, make.arrival(condition=PartCondition.CUSTOMERS, rating=Rating(), charged_minor=0),
                        by=BY, now=LATER)
        assert part.is_customers and part.supplier == "the customer" and part.cost_minor == 0


def test_a_change_shows_in_the_history(context: Flask) -> None:
    from app.journal.queries import of_record

    with transaction():
        order = quotes.agreed_order()
        part = make.part(order)
        service.change(order, part, make.need(quantity=4), None, by=BY, now=LATER)
        line = of_record("part", part.id)[0]
        assert [(c.name, c.before, c.after) for c in line.changes] == [("how many", "3", "4")]
        with pytest.raises(BadInput):
            service.change(order, part, make.need(), 999, by=BY, now=LATER)


@pytest.mark.parametrize("wrong", [
    {"rated_volts": 100.0}, {"quantity": 0}, {"charged_minor": -1}, {"test": Incoming.FAILED}, {"dropped_reason": "x"}])
def test_the_database_keeps_a_part_that_will_not_do_out_of_its_place(context: Flask, wrong: dict[str, object]) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        service.receive(order, part, make.arrival(), by=BY, now=LATER)
        service.fit(order, part, "C14", by=BY, now=LATER)
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().connection().execute(sa.update(Part).values(**wrong))


def test_a_cancelled_order_leaves_the_need_open_and_the_same_is_ordered_again(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        service.order_part(order, part, make.bought(), by=BY, now=LATER)
        service.drop(order, part, "the supplier has none", Dropped.CANCELLED, by=BY, now=LATER)
        session().flush()
        assert texts(order) == ["3 × 47u 450 V for C14 was cancelled: order the same again, or say how the work is planned "
                                "without it."]
        assert [one.endpoint for one in missing_in(order, Stage.PARTS)] == ["parts.again"]
        again = service.need(order, part.need, part.line_root_id, again_of=part, by=BY, now=LATER)
        session().flush()
        assert texts(order) == ["Order 3 × 47u 450 V for C14, or drop it with a reason."]
        with pytest.raises(RuleBroken, match="is not needed again"):
            service.need(order, part.need, part.line_root_id, again_of=part, by=BY, now=LATER)
        service.drop(order, again, "the old ones measure as new", by=BY, now=LATER)
        assert texts(order) == []


def test_what_was_cancelled_can_be_planned_without(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        service.order_part(order, part, make.bought(), by=BY, now=LATER)
        with pytest.raises(BadInput, match="does not fit"):
            service.drop(order, part, "wrong pitch", Dropped.SENT_BACK, by=BY, now=LATER)  # nothing came
        service.drop(order, part, "none to be had", Dropped.CANCELLED, by=BY, now=LATER)
        session().flush()
        service.drop(order, part, "the old ones measure as new", by=BY, now=LATER)
        session().flush()
        assert texts(order) == [] and part.dropped_reason == "none to be had; then: the old ones measure as new"
        with pytest.raises(RuleBroken, match="dropped already"):
            service.drop(order, part, "again", by=BY, now=LATER)


def test_a_refused_delivery_is_kept_as_come_and_sent_back(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        service.order_part(order, part, make.bought(), by=BY, now=LATER)
        weak = make.arrival(rating=Rating(volts=350.0), batch="2540", test=Incoming.LOOKED_AT, test_words="")
        with pytest.raises(BadInput, match="Do not fit it"):
            service.receive(order, part, weak, by=BY, now=LATER)
        with pytest.raises(BadInput) as refused:
            service.send_back(order, part, weak, " ", by=BY, now=LATER)
        assert refused.value.field == "sent_back_reason"
        service.send_back(order, part, weak, "350 V instead of 450 V", by=BY, now=LATER)
        session().flush()
        assert (part.state, part.dropped_how, part.batch, part.rated_volts) == (PartState.DROPPED, Dropped.SENT_BACK, "2540", 350.0)
        assert part.received_at == LATER and part.cost_minor == queries.total_charged(order) == 0
        assert "was sent back: order the same again" in texts(order)[0]


def test_one_that_failed_is_not_charged_and_does_not_count_as_here(context: Flask) -> None:
    with transaction():
        order = quotes.agreed_order()
        part = make.part(order, one_line(order))
        before = costs.committed(order)
        service.order_part(order, part, make.bought(), by=BY, now=LATER)
        service.receive(order, part, make.arrival(test=Incoming.FAILED, test_words="4 mA at 450 V", charged_minor=4200), by=BY,
                        now=LATER)
        session().flush()
        assert part.charged_minor == part.cost_minor == 0 and costs.committed(order) == before
        service.drop(order, part, "leaks", Dropped.SENT_BACK, by=BY, now=LATER)
        session().flush()
        assert "was sent back: order the same again" in texts(order)[0]
