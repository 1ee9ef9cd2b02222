"""A shop of before is carried to hardware by class and to keys: every old count is found again, every name is matched or listed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from flask import Flask

from app import migrate
from app.boards.models import Board
from app.db import session
from app.findings.models.special import BakeOut
from app.leftovers import queries as leftovers
from app.orders.models import RepairOrder
from app.parts.models import Part
from app.photos.models import Pin
from app.reassembly.models import BenchHandover, ClosureCount
from app.reassembly.queries.work import balance_of
from app.removals import queries as removals
from app.removals.models import FoundObject, LostPiece
from tests.conftest import configure, working_on
from tests.migrations.old_shop import THEN, OldShop, old_ledger

FIRST = "count_hardware_by_class"  # the migration before which the shop stands


@pytest.fixture
def old(empty: sa.Engine) -> Iterator[sa.Engine]:
    """A database at the schema before."""
    (path,) = (migrate.MIGRATIONS / "versions").glob(f"*_{FIRST}.py")
    migrate.upgrade(empty, to=str(migrate._revisions()[path.name.partition("_")[0]]))
    yield empty


@pytest.fixture
def carried(bare_app: Flask, tmp_path: Path, old: sa.Engine) -> Iterator[sa.Engine]:
    """The application on it, for what is read after it was carried forward."""
    with working_on(bare_app, configure(tmp_path, old.url.render_as_string(hide_password=False))), bare_app.app_context():
        yield old


def counted_shop(old: sa.Engine) -> int:
    """Pots and a panel off, one pot back, pieces issued and scrapped, a find, a loss, a count and a handover."""
    with old.begin() as connection:
        shop = OldShop(connection)
        order = shop.order(1001)
        stack = ["knob", "nut", "flat washer", "F1", "chassis", "toothed washer", "body"]
        pot = shop.removal(order, 1, "P1", "pot P1", stack=stack, fasteners={"clip": 2, "m3 screw": 1, "screw": 0},
                           lacked={"lock-nut": 1})
        shop.removal(order, 2, "F1", "front panel", stack=["screw M4 x 16", "PE ring (captive)"], fasteners={"end screw": 2})
        shop.removal(order, 3, "X1", "wrong amp", fasteners={"bolt": 7}, struck_at=THEN, struck_by="Ines", struck_reason="error")
        for name, went, count, at_end in (("nut", "refitted", 1, True), ("m3 screw", "scrapped", 1, False),
                                          ("m3 screw", "issued", 1, False), ("screw m4 x 16", "issued", 2, False)):
            shop.put("piece_entry", order_id=order, removal_id=pot, piece=name, went=went, count=count, at_end=at_end)
        shop.put("piece_entry", order_id=order, piece="nut", went="issued", count=9, struck_at=THEN, struck_by="Ines",
                 struck_reason="twice")
        shop.put("found_object", order_id=order, piece="fibre washer", place="below")
        shop.put("lost_piece", order_id=order, removal_id=pot, piece="toothed washer")
        shop.put("closure_count", order_id=order, step="CT:", label="Count", left={"nut": 1}, open={"nut": 0, "clip": -1},
                 faults=["x"])
        taker = shop.put("person", name="Odd", role="technician")
        shop.put("bench_handover", order_id=order, from_name="Ines", to_name="Odd", to_id=taker, counted={"clip": 2},
                 open={"clip": 1})
    return order


def test_every_old_count_is_found_again_and_the_balances_are_as_before(carried: sa.Engine) -> None:
    key = counted_shop(carried)
    with carried.connect() as connection:
        before = old_ledger(connection, key)
    assert before["m3 screw"] == {"removed": 1, "scrapped": 1, "issued": 1}
    assert before["screw m4 x 16"] == {"removed": 1, "issued": 2}
    assert migrate.upgrade(carried)
    order = session().get_one(RepairOrder, key)
    assert removals.ledger(order) == before
    gone = ("refitted", "scrapped", "returned_to_customer", "returned_to_stock")
    assert balance_of(order).open == {name: row.get("removed", 0) + row.get("issued", 0) - sum(row.get(one, 0) for one in gone)
                                      for name, row in before.items()}
    pot = removals.by_mark(order, "P1")
    assert pot and pot.fasteners == {"clip": 2, "m3 screw": 1} and pot.lacked == {"lock-nut": 1}
    assert [one.fasteners for one in removals.of_order(order, struck=True)] == [{"bolt": 7}]
    assert [(one.piece, one.count, one.struck_reason) for one in removals.entries(order) if one.struck_at] == [("nut", 9, "twice")]
    assert session().scalars(sa.select(FoundObject)).one().piece == "fibre washer"
    assert session().scalars(sa.select(LostPiece)).one().piece == "toothed washer"
    count, handed = session().scalars(sa.select(ClosureCount)).one(), session().scalars(sa.select(BenchHandover)).one()
    assert (count.left, count.open) == ({"nut": 1}, {"nut": 0, "clip": -1})
    assert (handed.counted, handed.open) == ({"clip": 2}, {"clip": 1})
    kinds = {one.hardware.hardware.label == one.hardware.kind for one in pot.pieces}
    assert kinds == {True}, "an old counter is a class with a kind and nothing more"


def named_shop(old: sa.Engine) -> int:
    """Words that name one record, none, and several."""
    with old.begin() as connection:
        shop = OldShop(connection)
        order, other = shop.order(1001), shop.order(1002)
        shop.removal(order, 1, "E1", "end screw", fixed_to="F1")
        shop.removal(order, 2, "F1", "front panel", fixed_to="chassis", under=["E1"])
        shop.removal(order, 3, "D1", "tag board", under=["f1", "Q9"], fixed_to="spacer", place="chassis")
        shop.removal(order, 4, "S1", "spacer", fixed_to="V6")
        shop.removal(order, 5, "S2", "spacer", place="tag board", under=["S2"])
        shop.removal(order, 6, "R6", "dropper R6", place="tag board")
        board = shop.put("board", order_id=order, name="Tag board", kind="tag")
        twin = shop.put("board", order_id=order, name="bias board", kind="tag")
        for sheet, reference in ((board, "C14"), (board, "C2"), (twin, "C2")):
            shop.put("board_position", order_id=order, board_id=sheet, reference=reference, kind="capacitor")
        seen = {"order_id": order, "area": "boards", "observation": "leaks", "number": 1, "place": "tag board"}
        found = shop.put("finding", **seen)
        lost = shop.put("finding", **{**seen, "number": 2, "place": "heater winding"})
        for place in ("r6", "C14", "finding 2", "C2", "bias board C2", "mains inlet"):
            shop.put("part", order_id=order, what=f"for {place}", kind="capacitor", quantity=1, place=place)
        for finding in (found, lost):
            shop.put("bake_out", order_id=order, finding_id=finding, hours=12, celsius=80, started_by="Ines")
        shot = shop.put("photo", order_id=order, sha256="a" * 64, web_sha256="b" * 64, thumb_sha256="c" * 64,
                        media_type="image/jpeg", width=4, height=3, place="front", phase="as_found", position=1)
        elsewhere = shop.removal(other, 1, "P1", "pot")
        for kind, subject in (("finding", found), ("removal", 6), ("position", 1), ("removal", 4711), ("removal", elsewhere)):
            shop.put("photo_pin", order_id=order, photo_id=shot, kind=kind, subject_id=subject, label=str(subject))
    return order


def test_names_are_matched_or_listed_and_none_is_dropped(carried: sa.Engine) -> None:
    key = named_shop(carried)
    assert migrate.upgrade(carried)
    order = session().get_one(RepairOrder, key)
    by_mark = {one.mark: one for one in removals.of_order(order)}
    assert {mark: one.under for mark, one in by_mark.items() if one.under} == {"F1": ["E1"], "D1": ["F1"]}
    assert {mark: one.held_by.mark for mark, one in by_mark.items() if one.held_by} == {"E1": "F1"}
    assert by_mark["S1"].fixed_to == "V6", "the old words stay"
    places = {one.place: (one.removal_id, one.board_position_id, one.finding_id) for one in session().scalars(sa.select(Part))}
    assert places == {"r6": (6, None, None), "C14": (None, 1, None), "finding 2": (None, None, 2), "C2": (None, None, None),
                      "bias board C2": (None, 3, None), "mains inlet": (None, None, None)}
    pins = [(one.table, one.subject_id) for one in session().scalars(sa.select(Pin).order_by(Pin.id))]
    assert pins[:3] == [("finding", 1), ("removal", 6), ("board_position", 1)] and {table for table, _ in pins[3:]} == {"leftover"}
    wet, other = session().scalars(sa.select(BakeOut).order_by(BakeOut.id))
    assert session().get_one(Board, wet.board_id).name == "Tag board"
    assert [hold.removal_id for hold in wet.holds] == [by_mark[mark].id for mark in ("D1", "S2", "R6")]
    assert (other.board_id, other.holds) == (None, [])
    assert [(one.record_table, one.told.value, one.text, "Several" in one.why) for one, _ in leftovers.everything()] == [
        ("removal", "was under", "Q9", False), ("removal", "fixed to", "spacer", True), ("removal", "fixed to", "V6", False),
        ("removal", "was under", "S2", False), ("part", "goes to", "C2", True), ("part", "goes to", "mains inlet", False),
        ("photo_pin", "pinned", "removal 4711", False), ("photo_pin", "pinned", "removal 7", False),
        ("bake_out", "dries", "heater winding", False)]


def test_a_pin_opens_exactly_one_record(carried: sa.Engine) -> None:
    named_shop(carried)
    migrate.upgrade(carried)
    for spoiled in ("finding_id = NULL", "removal_id = 6"):
        with pytest.raises(sa.exc.IntegrityError, match="opens_one_record"), carried.begin() as connection:
            connection.execute(sa.text(f"UPDATE photo_pin SET {spoiled} WHERE id = 1"))
