"""Reading sheets back, and what is known beside them."""

from __future__ import annotations

import sqlalchemy as sa
from sqlalchemy.orm import selectinload

from app.boards import queries as boards
from app.boards.rules import Fate
from app.circuits.models import AmpSheet, SheetBlock
from app.circuits.rules.blocks import Kind, Sheet
from app.circuits.rules.boards import Place, with_boards
from app.circuits.rules.changes import Modification, modifications
from app.circuits.rules.compare import Known, Left, Read, Row, rows
from app.circuits.rules.work import Worked, work
from app.db import session
from app.measuring import queries as measuring
from app.measuring.models import Point, Reading
from app.measuring.rules import Relation
from app.orders.models import RepairOrder
from app.records.rules import alike
from app.request_cache import cached_until_write


def _whole() -> sa.Select[AmpSheet]:
    return sa.select(AmpSheet).options(selectinload(AmpSheet.blocks).selectinload(SheetBlock.values),
                                       selectinload(AmpSheet.printed))


@cached_until_write
def of_order(order: RepairOrder) -> AmpSheet | None:
    """The sheet of a repair's amp."""
    return session().scalar(_whole().where(AmpSheet.order_id == order.id))


def find(sheet_id: int) -> AmpSheet | None:
    """The sheet with this id, its blocks with it."""
    return session().scalar(_whole().where(AmpSheet.id == sheet_id))


def find_block(block_id: int) -> SheetBlock | None:
    """The block with this id."""
    return session().get(SheetBlock, block_id)


def last_of_model(maker: str, model: str) -> AmpSheet | None:
    """The sheet last kept of a model, however it is spelt."""
    names = session().execute(sa.select(AmpSheet.id, AmpSheet.maker, AmpSheet.model).where(AmpSheet.order_id.is_(None)))
    ids = [number for number, one, other in names if alike((one, other), (maker, model))]
    return find(max(ids)) if ids else None


def places_of(order: RepairOrder) -> tuple[Place, ...]:
    """The positions of an order's boards as the sheet takes them."""
    return tuple(Place(board.name, one.reference, one.kind.unit, one.nominal, one.measured_out, one.tolerance,
                       one.fate is Fate.REPLACE, board.meter_percent)
                 for board in boards.boards_of(order) for one in board.positions)


def effective(order: RepairOrder, sheet: AmpSheet) -> Sheet:
    """The sheet with what its parts were measured at."""
    return with_boards(sheet.as_entered, places_of(order))


def worked(order: RepairOrder, sheet: AmpSheet) -> Worked:
    """What follows from the sheet at the mains as measured."""
    return work(effective(order, sheet), sheet.mains_v, sheet.meter_ohm)


def changed_of(sheet: AmpSheet) -> tuple[Modification, ...]:
    """What is otherwise than on the model's sheet that this one was copied from."""
    model = find(sheet.copied_from_id) if sheet.copied_from_id else None
    return modifications(model.as_entered, sheet.as_entered) if model else ()


def tap_of(sheet: Sheet) -> float | None:
    """The volts of the tap in use."""
    mains = next(sheet.of_kind(Kind.MAINS), None)
    return mains.of("tap_v").number if mains else None


def compared(order: RepairOrder, sheet: AmpSheet) -> list[Row]:
    """Every node that the sheet, a drawing or another repair says something of, with its readings."""
    as_found: dict[str, Read] = {}
    as_left: dict[str, Read] = {}
    for row in measuring.as_found_as_left(order):
        for into, reading in ((as_found, row.as_found), (as_left, row.as_left)):
            if row.point.node and reading is not None:
                into[row.point.node] = _read(reading)
    effective_sheet = effective(order, sheet)
    known = Known(tuple(one.value for one in sheet.prints), left_of_model(order), as_found, as_left)
    return rows(worked(order, sheet), known, first=sheet.speaks, mains_v=sheet.mains_v, tap_v=tap_of(effective_sheet))


def _read(reading: Reading) -> Read:
    return Read(reading.value, Relation(reading.relation), reading.uncertainty, reading.mains_v,
                "" if reading.standing.counts else reading.standing.value)


def left_of_model(order: RepairOrder) -> tuple[Left, ...]:
    """Readings as left on other repairs of the model, carried to their taps' volts; one without its mains or tap is left out."""
    mine = (order.amp.maker, order.amp.model)
    found = [one for one in measuring.left_at_nodes(order) if alike((one.maker, one.model), mine)]
    if not found:
        return ()
    sheets = session().scalars(_whole().where(AmpSheet.order_id.in_({one.order_id for one in found})))
    taps = {sheet.order_id: tap_of(sheet.as_entered) for sheet in sheets}
    return tuple(Left(one.node, one.volt * tap / one.mains_v, one.number) for one in found
                 if one.mains_v and (tap := taps.get(one.order_id)))


def points_by_node(order: RepairOrder) -> dict[str, Point]:
    """The standing test point of each node."""
    return {one.node: one for one in measuring.points_at_nodes(order) if one.withdrawn_at is None}


def read_at(found: list[Row]) -> tuple[tuple[str, float, float], ...]:
    """(node, volts DC at the sheet's mains, expanded uncertainty) of each latest reading that a fault can be searched by."""
    return tuple((row.node, held.carried, held.read.uncertainty or abs(held.carried) * 0.01) for row in found
                 if (held := row.latest) is not None and row.unit == "V DC" and held.read.relation is Relation.IS)
