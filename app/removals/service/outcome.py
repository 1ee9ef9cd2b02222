"""What becomes of a removal: its fate decided, its end, and taking either back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.hardware import service as hardware
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.local_forms import plural
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.removals import queries
from app.removals.models import PieceEntry, Removal
from app.removals.rules import OUTCOME_OF, WENT_WITH, Fate, OldPart, Outcome, fold, say_counts
from app.removals.service.record import must_stand


def decide_fate(removal: Removal, order: RepairOrder, fate: Fate, *, reason: str = "", old_part: OldPart | None = None,
                by: Actor, now: datetime) -> None:
    """Refit, replace, scrap, give back, take into stock, or leave open. A change needs its reason."""
    must_be_open(order)
    must_stand(removal)
    if removal.ended_at is not None:
        raise RuleBroken(f"{removal.title} has ended. Reopen it first.")
    reason = fold(reason)
    if (fate is Fate.NEW) is not (removal.fate is Fate.NEW):
        raise BadInput(f"{removal.title} never came off: strike it out if it is not fitted." if removal.fate is Fate.NEW else
                       f"{removal.title} came off: choose what becomes of it, and record what is new by itself.", "fate")
    if fate is Fate.REPLACE and old_part is None:
        raise BadInput("Enter where the old one goes.", "old_part")
    if fate is not removal.fate and not reason:
        raise BadInput("Enter why its disposition changes.", "fate_reason")
    before = _fate(removal)
    removal.fate, removal.fate_reason = fate, reason
    removal.old_part = old_part if fate is Fate.REPLACE else None
    after = _fate(removal)
    if after != before:
        record(Event.REMOVAL_DECIDED, removal, by=by, now=now, before=before, after=after, reason=reason)


def end_removal(removal: Removal, order: RepairOrder, *, pieces: Mapping[str, int] | None = None, by: Actor,
                now: datetime) -> None:
    """What became of it, as its fate says, and of its loose pieces: all that are open, or the counts given by class.

    What is not counted here stays open until an entry says where it went. A removal on hold cannot end.
    """
    must_be_open(order)
    must_stand(removal)
    if removal.ended_at is not None:
        return
    outcome = OUTCOME_OF.get(removal.fate)
    if outcome is None:
        raise RuleBroken(f"{removal.title} is on hold: choose its disposition first.")
    still = queries.line_of(removal, order).open
    counts = dict(still) if pieces is None else dict(pieces)
    for name, count in counts.items():
        if count < 0:
            raise BadInput(f"{name}: enter how many, zero or more.", "pieces")
    counts = {name: count for name, count in counts.items() if count > 0}
    for name, count in counts.items():
        session().add(PieceEntry(order_id=order.id, removal_id=removal.id, hardware=hardware.class_of(name, by=by, now=now),
                                 went=WENT_WITH[outcome], count=count, note=f"with {removal.mark}", at_end=True,
                                 at=now, by_name=by.name))
    removal.ended_as, removal.ended_at, removal.ended_by = outcome, now, by.name
    if outcome in (Outcome.REFITTED, Outcome.REPLACED, Outcome.FITTED):
        chassis.opened(order.id, f"a removal was {outcome.word}", by=by, now=now)
    record(Event.REMOVAL_ENDED, removal, by=by, now=now, before={"ended": None},
           after={"ended": outcome.word, "pieces": say_counts(counts)})


def reopen_removal(removal: Removal, order: RepairOrder, *, reason: str, by: Actor, now: datetime) -> None:
    """It is off again, or was never on: its end and the pieces entered with it are taken back."""
    must_be_open(order)
    must_stand(removal)
    if removal.ended_as is None:
        return
    reason = fold(reason)
    if not reason:
        raise BadInput("Enter why it is reopened.", "reason")
    for entry in queries.entries(order):
        if entry.removal_id == removal.id and entry.at_end and entry.struck_at is None:
            entry.struck_at, entry.struck_by, entry.struck_reason = now, by.name, reason
    before = {"ended": removal.ended_as.word}
    removal.ended_as = removal.ended_at = removal.ended_by = None
    chassis.opened(removal.order_id, "a removal was reopened", by=by, now=now)
    record(Event.REMOVAL_REOPENED, removal, by=by, now=now, before=before, after={"ended": None}, reason=reason)


def strike_removal(removal: Removal, order: RepairOrder, *, reason: str, by: Actor, now: datetime) -> None:
    """It was recorded in error: it stays readable and counts no more."""
    must_be_open(order)
    must_stand(removal)
    reason = fold(reason)
    if not reason:
        raise BadInput("Enter why it is struck out.", "reason")
    if removal.ended_at is not None:
        raise RuleBroken(f"{removal.title} has ended. Reopen it first.")
    naming = [one.mark for one in queries.of_order(order) if removal.mark in one.under or removal in one.holders]
    if naming:
        raise RuleBroken(f"{', '.join(naming)} {plural(len(naming), 'refers', 'refer')} to {removal.mark}. "
                         f"Change {plural(len(naming), 'it', 'them')} first.")
    if any(entry.removal_id == removal.id and entry.struck_at is None for entry in queries.entries(order)):
        raise RuleBroken(f"Pieces are entered for {removal.mark}: strike those entries first.")
    removal.struck_at, removal.struck_by, removal.struck_reason = now, by.name, reason
    record(Event.REMOVAL_STRUCK, removal, by=by, now=now, before={"struck": False}, after={"struck": True}, reason=reason)


def _fate(removal: Removal) -> dict[str, str]:
    return {"fate": removal.fate.word, "why": removal.fate_reason,
            "old one": removal.old_part.word if removal.old_part else ""}


