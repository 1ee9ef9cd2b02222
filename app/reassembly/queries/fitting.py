"""What the insulation test depends on: whether something conducts between mains and metal, and what is unplugged for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa

from app.boards import queries as boards
from app.boards.rules import BoardKind
from app.db import session
from app.findings import queries as findings_queries
from app.findings.rules.life import Disposition, Status
from app.measuring.insulation import UNNAMED, tells_of_one
from app.orders.models import RepairOrder
from app.parts import queries as parts
from app.parts.rules import PartState
from app.reassembly.models import MainsFitting
from app.removals import queries as removals
from app.removals.rules import Kind
from app.request_cache import cached_until_write

_VALVES = frozenset({Kind.VALVE, Kind.OUTPUT_VALVE, Kind.VALVE_RECTIFIER})


@dataclass(frozen=True)
class Fitted:
    """Whether something conducts at 500 V between the mains and the metal: `what`, "" if nothing does; how that is known."""

    what: str
    known: str


@dataclass(frozen=True)
class _Told:
    """A record that tells of such a part, and when it began to."""

    what: str
    record: str
    at: datetime


@cached_until_write
def fitted(order: RepairOrder) -> Fitted | None:
    """By somebody's answer, else by the records; None while neither says anything.

    A record that came after the answer counts before it: what was seen since stands there.
    """
    answer = session().scalars(sa.select(MainsFitting).where(MainsFitting.order_id == order.id)
                               .order_by(MainsFitting.id.desc()).limit(1)).first()
    told = list(_told(order))
    newest = max(told, key=lambda one: one.at, default=None)
    if answer is not None and (newest is None or newest.at <= answer.at):
        what = (answer.words or (newest.what if newest else UNNAMED)) if answer.conducts else ""
        return Fitted(what, f"answered by {answer.by_name}")
    return Fitted(newest.what, newest.record) if newest else None


def _told(order: RepairOrder) -> Iterator[_Told]:
    """Every record of the order that tells of such a part which will be in the amp."""
    for removal in removals.of_order(order):
        if removal.fate.goes_back and removal.kind not in _VALVES and tells_of_one(removal.name):
            yield _Told(removal.title, f"removal {removal.mark}", removal.removed_at)
    for board in boards.boards_of(order):
        for one in board.positions:
            if tells_of_one(f"{one.note}. {one.new_part}"):
                yield _Told(f"{one.reference} of {board.name}", f"board {board.name}", one.at)
    for finding in findings_queries.findings_of(order):
        gone = finding.disposition is Disposition.REMOVE_MOD or finding.status is Status.WITHDRAWN
        if not gone and tells_of_one(finding.observation):
            yield _Told(f"what finding {finding.number} tells of", f"finding {finding.number}", finding.recorded_at)
    for part in parts.parts_of(order):
        if part.state is not PartState.DROPPED and tells_of_one(part.what):
            yield _Told(f"{part.what} at {part.place}", "the parts of this order", part.needed_at)


def to_be_out(order: RepairOrder) -> list[str]:
    """What the records name that an insulation test must not reach: valves that are in, boards with semiconductors."""
    off = removals.of_order(order)
    valves = [one.title for one in off if one.kind in _VALVES and one.fate.goes_back and one.ended_at is not None]
    printed = [one.title for one in off if one.kind is Kind.PRINTED_BOARD and one.fate.goes_back]
    sheets = [f"board {one.name}" for one in boards.boards_of(order) if one.kind is BoardKind.PRINTED]
    return list(dict.fromkeys((*valves, *printed, *sheets)))
