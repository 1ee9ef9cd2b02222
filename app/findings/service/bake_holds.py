"""Which board a bake-out dries and which removals wait for it: the board that came off, and what came off that board."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.findings import queries
from app.findings.models.special import BakeHold, BakeOut
from app.journal.service import Actor
from app.orders import names
from app.orders.models import RepairOrder


def name_its_board(bake: BakeOut, order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """Give the words of its finding's place their keys: the sheet of that board, and each removal that is it or came off it."""
    place = bake.finding.place
    boards = names.meant(order, place, "board")
    if bake.board_id is None and len(boards) == 1:
        bake.board_id = boards[0].id
    held = {one.removal_id for one in bake.holds if one.struck_at is None}
    for named in names.listed(order, "removal") if place else ():
        if named.id not in held and place.lower() in (*named.names, named.place):
            bake.holds.append(BakeHold(order_id=order.id, removal_id=named.id, at=now, by_name=by.name))
    session().flush()


def name_anew(finding_id: int, order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """The finding's place was corrected: what its running bake-outs held up before waits no more, what it names now does."""
    for bake in queries.bake_outs(order, running=True):
        if bake.finding_id == finding_id:
            bake.board_id = None
            for hold in bake.holds:
                hold.struck_at = hold.struck_at or now
            name_its_board(bake, order, by=by, now=now)


@names.renews
def name_what_waits(order: RepairOrder, by: Actor, now: datetime) -> None:
    """A board may come off, or get its sheet, after its bake-out was begun."""
    for bake in queries.bake_outs(order, running=True):
        name_its_board(bake, order, by=by, now=now)
