"""An order pushed about at random, by people who try every move at any time: nothing gets round a gate, nothing is lost.

What must hold is written here a second time, from the rows of the design's table of gates and from the stored records alone; the
gates themselves are not asked. Seed: Hypothesis derandomized, so that every run takes the same walks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from flask import Flask
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule, run_state_machine_as_test

from app.db import Base, session, transaction
from app.errors import RuleBroken
from app.journal.rules import GENESIS, entry_hash
from app.orders import service as orders
from app.orders.gates import missing_to_leave
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, End, Stage
from tests import factories
from tests.factories import NOW
from tests.orders import steps
from tests.people import BY

# Walks are not shortened when one fails: they share a database, in which an earlier walk is history.
ENOUGH = settings(derandomize=True, phases=[Phase.generate], deadline=None, database=None, print_blob=False,
                  suppress_health_check=list(HealthCheck))
DIFFERENCE = "added_minor"  # what an answer adds to the one before it, which can be less
MONEY = [(table, column) for table in Base.metadata.sorted_tables for column in table.columns
         if column.name.endswith("_minor") and column.name != DIFFERENCE]
# Written out once: they are asked after every step.
ALL = [table.name for table in Base.metadata.sorted_tables]
STILL_MADE = ("journal_entry",)
OF_AN_ORDER = [t.name for t in Base.metadata.sorted_tables if "order_id" in t.columns and t.name not in STILL_MADE]
LEAST_MONEY = sa.text("SELECT " + ", ".join(f'(SELECT MIN("{column.name}") FROM "{table.name}")' for table, column in MONEY))
COUNT_ALL = sa.text("SELECT " + ", ".join(f'(SELECT COUNT(*) FROM "{name}")' for name in ALL))
COUNT_ORDER = sa.text("SELECT " + ", ".join(f'(SELECT COUNT(*) FROM "{name}" WHERE order_id = :order)' for name in OF_AN_ORDER))


class LifeCycle(RuleBasedStateMachine):
    """One order, from the counter on. A refusal is what a wrong move deserves; anything else that is raised is a fault."""

    moved_on: dict[str, int] = {}  # how often something came to pass, over all walks: a walk that gets nowhere proves nothing

    def __init__(self) -> None:
        super().__init__()
        self.now = NOW
        self.rows: dict[str, int] = {}
        self.frozen: dict[int, tuple[Any, ...]] = {}
        with transaction():
            made = factories.order(amp=factories.amp(protection_class=steps.CLASS_I))
            self.order_id = made.id
            self.seq = newest_seq()

    @property
    def order(self) -> RepairOrder:
        return session().get_one(RepairOrder, self.order_id)

    @contextmanager
    def attempt(self, name: str) -> Iterator[None]:
        """One transaction, an hour later. Counted if it was not refused."""
        self.now += timedelta(hours=1)
        try:
            with transaction():
                yield
        except RuleBroken:
            session().expire_all()
        else:
            self.moved_on[name] = self.moved_on.get(name, 0) + 1

    @initialize(stages=st.sampled_from((5, 6, 7, 5, 6, 7, 4, 5, 3, 0)))
    def somebody_worked_on_it_first(self, stages: int) -> None:
        """Begin anywhere, oftenest near the door: that many stages were gone through properly."""
        for stage in IN_ORDER[:stages]:
            self.properly(stage)
            self.move_on()

    def properly(self, stage: Stage) -> None:
        """Everything that this stage asks for, each thing for itself."""
        for step in steps.PROPER[stage]:
            with self.attempt(step.__name__):
                step(self.order, self.now)

    @rule(step=st.sampled_from([step for stage in steps.PROPER.values() for step in stage]))
    def do_something_right(self, step: Callable[[RepairOrder, Any], None]) -> None:
        with self.attempt(step.__name__):
            step(self.order, self.now)

    @rule(step=st.sampled_from(steps.MISCHIEF))
    def do_something_else(self, step: Callable[[RepairOrder, Any], None]) -> None:
        with self.attempt(step.__name__):
            step(self.order, self.now)

    @rule(step=st.sampled_from((steps.failed, steps.void, steps.passed)))
    def test_again(self, step: Callable[[RepairOrder, Any], None]) -> None:
        """The test is what most is tried to get round."""
        with self.attempt(step.__name__):
            step(self.order, self.now)

    @rule()
    def finish_the_stage(self) -> None:
        self.properly(self.order.stage)

    @rule()
    def move_on(self) -> None:
        with self.attempt("move on"):
            orders.move_on(self.order, by=BY, now=self.now)

    @rule(there=st.sampled_from(IN_ORDER))
    def move_back(self, there: Stage) -> None:
        with self.attempt("move back"):
            orders.move_back(self.order, there, reason="it was not right", by=BY, now=self.now)

    @rule(settle=st.booleans())
    def release(self, settle: bool) -> None:
        if settle:
            self.properly(Stage.RETURN)
        with self.attempt("handed out"):
            steps.release(self.order, self.now)

    @rule(step=st.sampled_from((steps.failed, steps.void, *steps.MISCHIEF)))
    def spoil_it_and_hand_it_out(self, step: Callable[[RepairOrder, Any], None]) -> None:
        """The likeliest way round a gate: one thing wrong at the door, all else in order."""
        if self.order.stage is not Stage.RETURN:
            return
        self.properly(Stage.RETURN)
        self.do_something_else(step)
        self.properly(Stage.RETURN)
        self.end(End.REPAIRED)

    @rule(how=st.sampled_from(list(End)))
    def end(self, how: End) -> None:
        with self.attempt("handed out" if how is End.REPAIRED else f"ended {how.value}"):
            orders.end(self.order, how, by=BY, now=self.now, reason="tried")

    @precondition(lambda self: not self.order.is_open)
    @rule()
    def come_back(self) -> None:
        with self.attempt("came back"):
            self.order_id = steps.come_back(self.order, self.now).id

    @invariant()
    def only_what_is_right_goes_out_as_repaired(self) -> None:
        order = self.order
        if order.ended_as is End.REPAIRED and order.id not in self.frozen:
            assert order.stage is Stage.RETURN
            assert steps.lacks(order.id) == []

    @invariant()
    def what_has_ended_stays_as_it_was(self) -> None:
        for order_id in {self.order_id, *self.frozen}:
            order = session().get_one(RepairOrder, order_id)
            if order.is_open:
                continue
            stands = (order.stage, order.ended_as, order.ended_at, order.version, *rows_of(order_id))
            assert self.frozen.setdefault(order_id, stands) == stands

    @invariant()
    def nothing_is_deleted_and_no_money_is_negative(self) -> None:
        counted = counts()
        assert [name for name, count in counted.items() if count < self.rows.get(name, 0)] == []
        self.rows = counted
        least = session().execute(LEAST_MONEY).one()
        assert [str(column) for (_, column), value in zip(MONEY, least, strict=True) if value is not None and value < 0] == []

    @invariant()
    def the_journal_is_whole(self) -> None:
        self.seq = whole_since(self.seq)

    def teardown(self) -> None:
        session().rollback()


def newest_seq() -> int:
    return int(session().scalar(sa.text("SELECT COALESCE(MAX(seq), 0) FROM journal_entry")) or 0)


def counts() -> dict[str, int]:
    """Rows of every table, in one question."""
    return dict(zip(ALL, session().execute(COUNT_ALL).one(), strict=True))


def rows_of(order_id: int) -> tuple[int, ...]:
    """How many records of each kind belong to an order."""
    return tuple(session().execute(COUNT_ORDER, {"order": order_id}).one())


def whole_since(seq: int) -> int:
    """Each entry after this one is the next number and carries the hash of the one before; returns the newest number."""
    journal = Base.metadata.tables["journal_entry"]
    entries = session().execute(sa.select(journal).where(journal.c.seq >= seq).order_by(journal.c.seq)).mappings().all()
    for before, entry in zip([None, *entries], entries, strict=False):
        assert before is None or (entry["seq"] == before["seq"] + 1 and entry["previous_hash"] == before["hash"])
        assert before is not None or entry["seq"] > 1 or entry["previous_hash"] == GENESIS
        facts = {name: value for name, value in entry.items() if name not in ("previous_hash", "hash")}
        facts["at"] = entry["at"].isoformat(timespec="microseconds")
        assert entry["hash"] == entry_hash(entry["previous_hash"], facts)
    return int(entries[-1]["seq"]) if entries else seq


def walk(app: Flask, walks: int, length: int) -> dict[str, int]:
    """Take the walks; returns how often each thing came to pass."""
    LifeCycle.moved_on = {}
    with app.app_context():
        with transaction():
            steps.equip()
        run_state_machine_as_test(LifeCycle, settings=settings(ENOUGH, max_examples=walks, stateful_step_count=length))
    return LifeCycle.moved_on


@pytest.mark.timeout(600)
def test_no_walk_gets_round_a_gate(app: Flask, engine_name: str) -> None:
    walks, length = (20, 18) if engine_name == "sqlite" else (4, 10)
    passed = walk(app, walks, length)
    wanted = {"move on", "passed"} | ({"move back", "handed out", "failed", "void"} if engine_name == "sqlite" else set())
    assert wanted <= passed.keys(), f"the walks did not come to {wanted - passed.keys()}"
    print(dict(sorted(passed.items())))


def test_the_walks_can_end_well_and_what_is_written_here_asks_for_everything(app: Flask) -> None:
    """The straight way through is let out, and it lacks nothing; before it, everything is named."""
    with app.app_context():
        with transaction():
            steps.equip()
        machine = LifeCycle()
        assert len(steps.lacks(machine.order_id)) >= 12
        machine.somebody_worked_on_it_first(6)
        assert machine.order.stage is Stage.RETURN, missing_to_leave(machine.order)
        machine.properly(Stage.RETURN)
        machine.release(settle=False)
        assert machine.order.ended_as is End.REPAIRED, missing_to_leave(machine.order)
        assert steps.lacks(machine.order_id) == []
        assert date.fromisoformat("2026-03-02") <= machine.now.date()
