"""An open way back of a released version goes on where it stood: every step that was done then is done in the plan of now."""

from __future__ import annotations

from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate
from app.db import session
from app.orders.models import RepairOrder
from app.reassembly.models import StepRecord
from app.reassembly.queries.way import handovers_of, way_back
from tests.conftest import configure, working_on
from tests.migrations import old_shops
from tests.migrations.test_old_shops import SHOPS


@pytest.mark.parametrize("path", SHOPS, ids=[path.name for path in SHOPS])
def test_what_was_done_on_an_open_way_back_stays_done(bare_app: Flask, empty: sa.Engine, path: Path, tmp_path: Path) -> None:
    shop = old_shops.read(path)
    old_shops.fill(empty, shop)
    migrate.upgrade(empty)
    done: dict[int, set[str]] = {}
    for row in shop.tables["step_record"]:
        if row["undone_at"] is None:
            done.setdefault(row["order_id"], set()).add(row["step"])
    assert done
    config = configure(tmp_path, empty.url.render_as_string(hide_password=False))
    with working_on(bare_app, config), bare_app.app_context():
        still_open = 0
        for order_id, steps in done.items():
            order = session().get_one(RepairOrder, order_id)
            way = way_back(order)
            assert not way.problem and not way.conflicts
            assert steps <= way.steps.keys() and steps == set(way.done) and not way.invalidated
            assert {step.id for step in way.left}.isdisjoint(way.done)
            still_open += bool(way.left)
            for handover in handovers_of(order):
                assert not handover.waits and handover.second_proof == "" and handover.second == {}
        assert still_open, "the kept shop has an order in the middle of its way back"
        kept = session().scalars(sa.select(StepRecord)).all()
        assert len(kept) == len(shop.tables["step_record"])
