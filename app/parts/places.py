"""The record that a part's place names: what came off there, the position on a board's sheet, or the finding it is for."""

from __future__ import annotations

from datetime import datetime

from app.errors import BadInput
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import names
from app.orders.models import RepairOrder
from app.parts import queries

# A removal comes first: its way back waits for the part.
COLUMNS = {"removal": "removal_id", "position": "board_position_id", "finding": "finding_id"}


def keys_of(order: RepairOrder, place: str) -> dict[str, int | None]:
    """The column of the record that these words name, and its id; every column empty where they name none (mains inlet).

    BadInput where two records have that name.
    """
    found = names.meant(order, place, *COLUMNS)
    if len(found) > 1:
        raise BadInput(f"{place.strip()} is the name of several places. Enter which: "
                       f"{' or '.join(one.title for one in found)}.", "place")
    return {column: found[0].id if found and found[0].kind == kind else None for kind, column in COLUMNS.items()}


def offered(order: RepairOrder) -> list[str]:
    """Names that can be tapped for a place: what came off, then positions of boards."""
    return list(dict.fromkeys(listed_part.title for listed_part in names.listed(order, "removal", "position")))


@names.renews
def name_what_waits(order: RepairOrder, by: Actor, now: datetime) -> None:
    """A part may be needed before its place is off or on a sheet: then its words get their key."""
    open_parts = [part for part in queries.parts_of(order) if part.is_open]
    off = names.listed(order, "removal") if open_parts else []
    standing = {one.id for one in off}  # without what was struck
    waiting = [part for part in open_parts if part.removal_id not in standing]
    others = names.listed(order, "position", "finding") if any(part.place_id is None for part in waiting) else []
    for part in waiting:
        found = names.among(off, part.place) or ([] if part.place_id else names.among(others, part.place))
        if len(found) == 1:
            for kind, column in COLUMNS.items():
                setattr(part, column, found[0].id if found[0].kind == kind else None)
            record(Event.PART_CHANGED, part, by=by, now=now, before={"its place is": ""}, after={"its place is": found[0].title})
