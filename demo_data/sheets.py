"""What else the bench writes down in the demo: a board's sheet, what turned up loose, and the waste."""

from __future__ import annotations

from app.boards import service as boards_service
from app.boards.rules import BoardKind
from app.boards.spec import BoardFacts, PositionFacts
from app.db import session
from app.findings.service import waste as waste_service
from app.orders.models import RepairOrder
from app.photos.models import Photo
from app.removals.rules import Explained
from app.removals.service import odd as odd_service
from demo_data.counter import Stage
from demo_data.story import Story


def read_board(order: RepairOrder, story: Story, shown: list[Photo], stage: Stage) -> None:
    """The first board of the first picture, position by position."""
    if not story.board:
        return
    facts = BoardFacts("board 1", BoardKind.TAG, shown[0].id if shown else None, "M1", 0.8)
    board = boards_service.record_board(order, facts, by=stage.crew.bench, now=stage.later(minutes=4))
    session().flush()
    for one in story.board:
        position = PositionFacts(
            one.reference,
            one.kind,
            one.nominal,
            one.tolerance,
            one.read,
            None,
            one.fate,
            one.reason,
            one.new_part,
        )
        boards_service.record_position(board, order, position, by=stage.crew.bench, now=stage.later(minutes=2))


def explain_loose(order: RepairOrder, story: Story, stage: Stage) -> None:
    """A loose thing is written down when it turns up, and explained when it is known what it is."""
    for one in story.loose:
        thing = odd_service.found(order, one.piece, place=one.place, by=stage.crew.bench, now=stage.later(minutes=2))
        session().flush()
        odd_service.explain(thing, order, Explained.OTHER, words=one.why, by=stage.crew.bench, now=stage.later(minutes=6))


def log_waste(order: RepairOrder, story: Story, stage: Stage) -> None:
    """What must not go into the bin."""
    for one in story.waste:
        waste_service.record_waste(
            order,
            material=one.material,
            presumed=one.presumed,
            quantity=one.quantity,
            unit=one.unit,
            container=one.container,
            note=one.note,
            by=stage.crew.bench,
            now=stage.later(minutes=2),
        )
