"""Loose objects that turn up, and pieces that get lost."""

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
from app.removals.models import FoundObject, LostPiece, PieceEntry, Removal
from app.removals.rules import Explained, Went, fold


def found(order: RepairOrder, piece: str, *, place: str = "", note: str = "", photo_id: int | None = None, by: Actor,
          now: datetime) -> FoundObject:
    """A loose thing lay inside."""
    must_be_open(order)
    kind = hardware.class_of(_needed(piece, "Enter what it is, for example toothed washer.", "piece"), by=by, now=now)
    thing = FoundObject(order_id=order.id, hardware=kind, place=fold(place), note=fold(note), photo_id=photo_id, found_at=now,
                        found_by=by.name)
    session().add(thing)
    chassis.opened(thing.order_id, "a loose piece was found inside", by=by, now=now)
    record(Event.OBJECT_FOUND, thing, by=by, now=now, after={"what": kind.label, "where": thing.place, "note": thing.note})
    return thing


def explain(thing: FoundObject, order: RepairOrder, how: Explained, *, removal: Removal | None = None, words: str = "",
            by: Actor, now: datetime) -> None:
    """Where it belongs, or why it is not of this amp.

    What belongs to a place of this amp that had lost it before it came in joins the ledger there, so that it must end.
    """
    must_be_open(order)
    if thing.explained_at is not None:
        raise RuleBroken(f"The {thing.piece} is explained already: {thing.explained_as.word if thing.explained_as else ''}.")
    if how is Explained.PLACE and removal is None:
        raise BadInput("Tap the place it belongs to.", "removal")
    words = fold(words)
    if how is not Explained.PLACE and not words:
        raise BadInput("Enter what shows that.", "words")
    thing.explained_as, thing.explained_at, thing.explained_by = how, now, by.name
    thing.explained_words, thing.removal_id = words, removal.id if removal and how is Explained.PLACE else None
    if how is Explained.PLACE and removal is not None:
        session().add(PieceEntry(order_id=order.id, removal_id=removal.id, hardware=thing.hardware, went=Went.ISSUED, count=1,
                                 note="found inside, belongs here", at=now, by_name=by.name))
    record(Event.OBJECT_EXPLAINED, thing, by=by, now=now, before={"explained": None},
           after={"explained": how.word, "place": removal.mark if removal else "", "words": words})


def lost(order: RepairOrder, piece: str, *, removal: Removal | None = None, circumstances: str = "", by: Actor,
         now: datetime) -> LostPiece:
    """A piece is lost: stop, search, say so. Saying so at once is right and carries no blame."""
    must_be_open(order)
    kind = hardware.class_of(_needed(piece, "Enter what is lost, for example lock-nut.", "piece"), by=by, now=now)
    gone = LostPiece(order_id=order.id, removal_id=removal.id if removal else None, hardware=kind,
                     circumstances=fold(circumstances), lost_at=now, lost_by=by.name)
    session().add(gone)
    record(Event.PIECE_LOST, gone, by=by, now=now, after={"what": kind.label, "from": removal.mark if removal else "",
                                                          "how": gone.circumstances})
    return gone


def find_again(gone: LostPiece, order: RepairOrder, *, where: str, by: Actor, now: datetime) -> None:
    """It is found."""
    must_be_open(order)
    _must_be_lost(gone)
    gone.found_words = _needed(where, "Enter where it lay.", "where")
    gone.found_at, gone.found_by = now, by.name
    chassis.opened(gone.order_id, "a lost piece was found", by=by, now=now)
    record(Event.PIECE_FOUND, gone, by=by, now=now, after={"where": gone.found_words})


def searched(gone: LostPiece, order: RepairOrder, *, how: str, by: Actor, now: datetime) -> None:
    """How it was searched for, in vain. A second person must countersign."""
    must_be_open(order)
    _must_be_lost(gone)
    before = {"search": gone.search_words}
    gone.search_words = _needed(how, "Enter how it was searched for: magnet, shaking out, mirror, air.", "how")
    gone.searched_at, gone.searched_by, gone.searched_by_id = now, by.name, by.person_id
    chassis.opened(gone.order_id, "it was searched for a lost piece", by=by, now=now)
    record(Event.PIECE_SEARCHED, gone, by=by, now=now, before=before, after={"search": gone.search_words})


def countersign(gone: LostPiece, order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """A second person has looked too: the piece is not in the amp. It leaves the ledger as scrapped."""
    must_be_open(order)
    _must_be_lost(gone)
    if gone.searched_at is None:
        raise RuleBroken("Nobody has recorded a search yet.")
    if by.person_id is None or by.person_id == gone.searched_by_id:
        raise RuleBroken(f"{gone.searched_by} searched; someone else must search too and sign.")
    gone.countersigned_at, gone.countersigned_by, gone.countersigned_by_id = now, by.name, by.person_id
    session().add(PieceEntry(order_id=order.id, removal_id=gone.removal_id, hardware=gone.hardware, went=Went.SCRAPPED, count=1,
                             note=f"lost; searched by {gone.searched_by}, countersigned by {by.name}", at=now,
                             by_name=by.name))
    chassis.opened(gone.order_id, "a second person searched it", by=by, now=now)
    record(Event.SEARCH_COUNTERSIGNED, gone, by=by, now=now, after={"searched by": gone.searched_by, "signed by": by.name})


def _must_be_lost(gone: LostPiece) -> None:
    if gone.found_at is not None:
        raise RuleBroken(f"The {gone.piece} is found already.")
    if gone.countersigned_at is not None:
        raise RuleBroken("The search is countersigned. If it turns up after all, record it as found inside.")


def _needed(text: str, words: str, field: str) -> str:
    plain = fold(text)
    if not plain:
        raise BadInput(words, field)
    return plain
