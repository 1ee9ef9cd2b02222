"""Answers that are kept for one reading, and let go of as soon as anything is written."""

from __future__ import annotations

from flask import Flask

from app.db import end_reading, session, transaction
from app.findings import queries as findings_queries
from app.removals import queries as removals
from tests import factories
from tests.bench.make import counted
from tests.findings.make import finding
from tests.removals import make as off


def test_asked_twice_is_read_once(app: Flask) -> None:
    with app.app_context():
        with transaction():
            order = factories.order()
            finding(order)
        assert len(findings_queries.findings_of(order)) == 1
        with counted(app) as statements:
            assert findings_queries.findings_of(order) is findings_queries.findings_of(order)
        assert statements == []


def test_what_waits_to_be_written_is_seen_at_once(app: Flask) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        session().flush()
        assert removals.of_order(order) == [] and removals.lines(order) == []
        one = off.removal(order, "P1")
        assert [each.mark for each in removals.of_order(order)] == ["P1"]
        session().flush()
        assert [line.untagged for line in removals.lines(order)] == [""]
        one.bag = ""
        assert "in which bag" in removals.lines(order)[0].untagged


def test_two_orders_and_two_questions_are_kept_apart(app: Flask) -> None:
    with app.app_context():
        with transaction():
            order, other = factories.order(), factories.order()
            session().flush()
            off.removal(order, "P1")
        assert len(removals.of_order(order)) == 1 and removals.of_order(other) == []
        assert removals.of_order(order, struck=True) == []


def test_a_rollback_and_somebody_elses_write_let_go_of_it(app: Flask) -> None:
    with app.app_context():
        with transaction():
            order = factories.order()
            session().flush()
            order_id = order.id
        assert removals.of_order(order) == []
        end_reading()
        with app.app_context(), transaction():
            off.removal(session().get_one(type(order), order_id), "P1")
        assert len(removals.of_order(order)) == 1
