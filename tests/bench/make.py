"""An order with many of everything that a strip-down makes, and a count of what a page asks the database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import sqlalchemy as sa
from flask import Flask

from app.boards import service as boards_service
from app.boards.rules import BoardKind, Fate, PartKind, Reason
from app.boards.spec import BoardFacts, PositionFacts
from app.db import Database, session
from app.findings.models.special import Round
from app.findings.rules.life import Area, Disposition
from app.findings.rules.signs import Sign
from app.findings.service import outcome as outcome_service
from app.findings.service import special as special_service
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.photos import pins
from app.photos import service as photos
from app.photos.models import Phase, Photo
from app.photos.prepare import prepare
from app.reassembly.queries.way import way_back
from app.reassembly.service import steps as steps_service
from app.removals.rules import Kind, Went, WireEnd
from app.removals.service import odd as odd_service
from app.removals.service import pieces as pieces_service
from tests.discharge import make as emptied
from tests.factories import NOW
from tests.findings import make as found
from tests.people import BY
from tests.photos.make import photo_bytes, upload
from tests.removals import make as off


@contextmanager
def counted(app: Flask) -> Iterator[list[str]]:
    """The statements that go to the database meanwhile, one after another."""
    asked: list[str] = []
    engine = app.extensions["tagstrip_db"].engine
    assert isinstance(app.extensions["tagstrip_db"], Database)

    def note(_connection: object, _cursor: object, statement: str, *_more: object) -> None:
        if statement != "BEGIN":  # of a reading transaction: it asks nothing
            asked.append(statement)

    sa.event.listen(engine, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        sa.event.remove(engine, "before_cursor_execute", note)


def stripped(order: RepairOrder, many: int) -> None:
    """`many` each of photos, findings with all that hangs on one, removals (two each), pieces issued, found and lost.

    Call inside a transaction.
    """
    order.stage = Stage.REASSEMBLY
    emptied.discharged(order)
    ready = prepare(upload(photo_bytes()))
    for number in range(1, many + 1):
        shown = photos.add(order, ready, place=f"place {number % 4}", phase=Phase.AS_FOUND, by=BY, now=NOW)
        session().flush()
        _finding(order, number, shown)
        _removal(order, number, shown)
        _board(order, number, shown)
    session().flush()
    worked_back(order, many // 3)


def _finding(order: RepairOrder, number: int, shown: Photo) -> None:
    """Every third is acted on, every fourth leaks and dries."""
    signs = Sign.BOARD_LEAKS.value if number % 4 == 0 else ""
    made = found.finding(order, area=Area.BOARDS, observation=f"seen {number}", place=f"board {number}", signs=signs)
    pins.drop(shown, "finding", made.id, str(number), x=0.25, y=0.5, by=BY, now=NOW)
    outcome_service.decide(made, Disposition.REPAIR, words="renew it", by=BY, now=NOW)
    if number % 3 == 0:
        outcome_service.act_on(made, words="renewed", by=BY, now=NOW)
    if signs:
        special_service.measure_leakage(made, round=Round.BEFORE, between="1 and 2", source_v=250, meter_v=2, meter_ohm=10e6,
                                 instrument="M2", by=BY, now=NOW)
        special_service.start_bake_out(made, by=BY, now=NOW)
    special_service.list_wire(made, colour="green", run="heaters", from_end="V1 pin 4", to_end=f"V{number} pin 4", weeps=True,
                              by=BY,
                       now=NOW)


def _removal(order: RepairOrder, number: int, shown: Photo) -> None:
    """A pot of the front panel and the wire from it, by turns; a piece issued, one found and one lost for each."""
    pot = off.removal(order, f"P{number}", unit="front" if number % 2 else "chassis", bag="" if number % 3 else "tray",
                      photo_id=shown.id, stays_on_loom=False)
    off.removal(order, f"W{number}", kind=Kind.WIRE, name=f"wire {number}", stack=(), ends=(WireEnd("1", f"P{number}", "green"),),
                fixed_to=f"P{number}")
    session().flush()
    pins.drop(shown, "removal", pot.id, pot.mark, x=0.75, y=0.5, by=BY, now=NOW)
    pieces_service.enter_pieces(order, "nut", Went.ISSUED, 1, removal=pot, by=BY, now=NOW)
    odd_service.found(order, "toothed washer", place=f"under board {number}", by=BY, now=NOW)
    odd_service.lost(order, "nut", removal=pot, circumstances="rolled away", by=BY, now=NOW)


def _board(order: RepairOrder, number: int, shown: Photo) -> None:
    board = boards_service.record_board(order, BoardFacts(f"board {number}", BoardKind.TURRET, shown.id, "M2", 1.0), by=BY, now=NOW)
    session().flush()
    drifted = PositionFacts("R1", PartKind.RESISTOR, 100e3, 0.1, 104e3, None, Fate.KEEP, Reason.ORIGINAL)
    boards_service.record_position(board, order, drifted, by=BY, now=NOW)


def worked_back(order: RepairOrder, many: int) -> None:
    """That many steps of the way back, in plan order."""
    for _ in range(many):
        way = way_back(order)
        step = next(one for one in way.ready(NOW) if way.kind(one.id) == "done")
        steps_service.do_step(order, step.id, by=BY, now=NOW)
