"""New hardware from stock, and where pieces went that did not go back."""

from __future__ import annotations

from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.hardware import service as hardware
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.removals.models import PieceEntry, Removal
from app.removals.rules import Went, fold


def enter_pieces(order: RepairOrder, piece: str, went: Went, count: int, *, removal: Removal | None = None, note: str = "",
                 by: Actor, now: datetime) -> PieceEntry:
    """So many pieces of a class issued new, fitted, scrapped, given back or taken into stock; for which place, if known."""
    must_be_open(order)
    if not fold(piece):
        raise BadInput("Enter what kind of piece.", "piece")
    if count < 1:
        raise BadInput("Enter how many, one or more.", "count")
    if removal is not None and removal.order_id != order.id:
        raise RuleBroken("That place belongs to another repair.")
    entry = PieceEntry(order_id=order.id, removal_id=removal.id if removal else None,
                       hardware=hardware.class_of(piece, by=by, now=now), went=went, count=count, note=fold(note), at=now,
                       by_name=by.name)
    session().add(entry)
    if went is Went.ISSUED:
        chassis.opened(order.id, "new hardware was issued", by=by, now=now)
    event = Event.HARDWARE_ISSUED if went is Went.ISSUED else Event.HARDWARE_ENDED
    record(event, entry, by=by, now=now, after={"piece": entry.piece, "count": count, "went": went.word,
                                                "place": removal.mark if removal else "", "note": entry.note})
    return entry


def strike_entry(entry: PieceEntry, order: RepairOrder, *, reason: str, by: Actor, now: datetime) -> None:
    """The entry was wrong: it stays readable and counts no more."""
    must_be_open(order)
    if entry.struck_at is not None:
        return
    if entry.at_end:
        raise RuleBroken("It was entered with the end of its removal: reopen that instead.")
    reason = fold(reason)
    if not reason:
        raise BadInput("Enter why the entry is struck out.", "reason")
    entry.struck_at, entry.struck_by, entry.struck_reason = now, by.name, reason
    record(Event.HARDWARE_STRUCK, entry, by=by, now=now,
           before={"piece": entry.piece, "count": entry.count, "went": entry.went.word}, after={"struck": True}, reason=reason)
