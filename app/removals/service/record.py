"""Recording what came off, and saying it better."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa
from sqlalchemy.orm.attributes import flag_modified

from app.db import session
from app.errors import BadInput, RuleBroken
from app.hardware import service as hardware
from app.hardware.queries import label_of
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kernel.spec import journal_facts
from app.orders import chassis, names
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.removals import queries
from app.removals.marks import next_mark
from app.removals.models import Removal, RemovalPiece, RemovalTie
from app.removals.rules import FIXINGS, Fate, PieceUse, Tie, fold
from app.removals.spaces import CLOSING
from app.removals.spec import RemovalFacts
from app.removals.stacks import Stack, loose_pieces, read_bodies


def record_removal(order: RepairOrder, mark: str, facts: RemovalFacts, *, by: Actor, now: datetime) -> Removal:
    """One more thing off, with the next number. Its mark is unique in the order and stays."""
    must_be_open(order)
    mark = fold(mark)
    if not mark:
        raise BadInput("Enter what its tag says, for example P1.", "mark")
    taken = [one.mark.lower() for struck in (False, True) for one in queries.of_order(order, struck=struck)]
    if mark.lower() in taken:
        raise BadInput(f"{mark} is on another tag already. Use the next one free.", "mark")
    facts = _normalise_and_check(order, mark, facts)
    removal = Removal(order_id=order.id, number=next_number(order), mark=mark, removed_at=now, removed_by=by.name,
                      **_columns(facts))
    session().add(removal)
    session().flush()
    _write_ties(removal, order, facts, [], by, now)
    _write_pieces(removal, facts, by, now)
    chassis.opened(removal.order_id, "a removal was recorded", by=by, now=now)
    record(Event.REMOVAL_RECORDED, removal, by=by, now=now,
           after={"tag": mark, "number": removal.number, **{k: v for k, v in journal_facts(facts, RemovalFacts).items() if v}})
    names.renew(order, by=by, now=now)
    return removal


def change_removal(removal: Removal, order: RepairOrder, facts: RemovalFacts, *, by: Actor, now: datetime) -> None:
    """Say it better. The journal names what changed."""
    must_be_open(order)
    must_stand(removal)
    if removal.ended_at is not None:
        raise RuleBroken(f"{removal.title} has ended: {removal.ended_as.word if removal.ended_as else ''}. Reopen it first.")
    facts = _normalise_and_check(order, removal.mark, facts)
    before = journal_facts(facts_of(removal), RemovalFacts)
    held = [one.id for one in removal.holders] if facts.fixed_to == removal.fixed_to else []  # the same words mean what they meant
    for name, value in _columns(facts).items():
        setattr(removal, name, value)
    if _write_ties(removal, order, facts, held, by, now) | _write_pieces(removal, facts, by, now):
        flag_modified(removal, "name")  # its own row changes too, so that an older page of it is refused
    record_change(Event.REMOVAL_CHANGED, removal, before, journal_facts(facts, RemovalFacts), by=by, now=now)
    names.renew(order, by=by, now=now)


def same_again(like: Removal, order: RepairOrder, mark: str, *, by: Actor, now: datetime) -> Removal:
    """The next of a row of equals: all as with `like`, under a mark of its own; orientation, photo and ends are not copied."""
    facts = facts_of(like)
    name = facts.name.replace(like.mark, mark) if like.mark in facts.name else facts.name
    alike = replace(facts, name=name, bag=_next_bag(like, order, mark), photo_id=None, ends=(), lacked={}, keyed=False,
                    orientation="", note="", closes="")
    return record_removal(order, mark, alike, by=by, now=now)


def _next_bag(like: Removal, order: RepairOrder, mark: str) -> str:
    """A bag of its own where the last one had one; the same tray where they share it."""
    if like.bag == bag_of(order, like.number):
        return bag_of(order, next_number(order))
    return mark.join(like.bag.split(like.mark)) if like.mark in like.bag.split() else like.bag


def bag_of(order: RepairOrder, number: int) -> str:
    """What a bag of its own is called: repair and number of the removal."""
    return f"{order.number}-{number}"


def next_number(order: RepairOrder) -> int:
    """The number that the next removal gets."""
    return (session().scalar(sa.select(sa.func.max(Removal.number)).where(Removal.order_id == order.id)) or 0) + 1


def suggest_mark(like: Removal, order: RepairOrder) -> str:
    """The mark that the next of a row would have."""
    taken = [one.mark for struck in (False, True) for one in queries.of_order(order, struck=struck)]
    return next_mark(like.mark, taken)


def facts_of(removal: Removal) -> RemovalFacts:
    """What is recorded."""
    lists: dict[str, Any] = {"under": tuple(removal.under), "stack": tuple(removal.stack), "fasteners": dict(removal.fasteners),
             "other_stacks": tuple(Stack(one["times"], tuple(one["pieces"])) for one in removal.other_stacks),
             "lacked": dict(removal.lacked), "ends": removal.wire_ends}
    return RemovalFacts(**{name: lists.get(name, getattr(removal, name)) for name in RemovalFacts.__dataclass_fields__})


def must_stand(removal: Removal) -> None:
    """Nothing is done with a removal that was recorded in error."""
    if removal.struck_at is not None:
        raise RuleBroken(f"{removal.title} was recorded in error and is struck.")


def _normalise_and_check(order: RepairOrder, mark: str, facts: RemovalFacts) -> RemovalFacts:
    """Text folded; names of other removals as their tags spell them; what must go together goes together."""
    given: dict[str, Any] = {name: fold(value) if type(value) is str else value for name, value in vars(facts).items()}
    facts = RemovalFacts(**given)
    if not facts.name:
        raise BadInput("Enter what came off.", "name")
    marks = {removal.mark.lower(): removal.mark for removal in queries.of_order(order)}
    marks.pop(mark.lower(), None)
    for name in facts.under:
        if name.lower() not in marks:
            raise BadInput(f"No removal is tagged {name}. Record it first.", "under")
    called = queries.others_called(order, mark)
    if any(not end.host for end in facts.ends) and not facts.fixed_to:
        raise BadInput("Enter what its ends were soldered to, or enter each as place:pin, for example V6:3.", "fixed_to")
    if facts.keyed and not facts.orientation:
        raise BadInput("Enter which way its keyway, tab or polarity faces.", "orientation")
    if facts.fate is Fate.REPLACE and facts.old_part is None:
        raise BadInput("Enter where the old one goes.", "old_part")
    if facts.fate in (Fate.SCRAP, Fate.REPLACE) and not facts.fate_reason:
        raise BadInput("Enter why it does not go back.", "fate_reason")
    for field_name in ("minutes", "unattended_minutes"):
        if getattr(facts, field_name) < 0:
            raise BadInput("Enter minutes, zero or more.", field_name)
    if facts.other_stacks and not facts.stack:
        raise BadInput("Enter the first stack above, then those unlike it.", "other_stacks")
    first = Stack(facts.stack_times, facts.stack)
    loose = loose_pieces((first, *facts.other_stacks), facts.fasteners, called)
    new = facts.fate is Fate.NEW
    spoken = {name.casefold(): name for name in queries.cavities(order)}
    return replace(facts, bag="" if new or (facts.stays_on_loom and not loose) else facts.bag,
                   stays_on_loom=facts.stays_on_loom and not new, lacked={} if new else _by_class(facts.lacked),
                   cavity=spoken.get(facts.cavity.casefold(), facts.cavity), closes=_closes(mark, facts, spoken),
                   other_stacks=tuple(replace(one, pieces=_pieces(one.pieces, called)) for one in facts.other_stacks),
                   under=tuple(dict.fromkeys(marks[one.lower()] for one in facts.under)),
                   old_part=facts.old_part if facts.fate is Fate.REPLACE else None,
                   fixed_to=marks.get(facts.fixed_to.lower(), facts.fixed_to),
                   stack=_pieces(facts.stack, called), fasteners=_by_class(facts.fasteners))


def _pieces(pieces: tuple[str, ...], called: Collection[str]) -> tuple[str, ...]:
    """The pieces of a stack by the classes that their words name; what has a record of its own stays as it is called."""
    return tuple(piece if piece.lower() in called else queries.stack_piece(piece) for piece in pieces)


def _closes(mark: str, facts: RemovalFacts, spoken: Mapping[str, str]) -> str:
    """The cavity that it closes, as others spell it. BadInput where it would lie in what it closes."""
    closes = spoken.get(facts.closes.casefold(), facts.closes)
    if closes and closes.casefold() == facts.cavity.casefold():
        raise BadInput(f"{mark} lies in “{facts.cavity}” by this record: it cannot close it. Choose another for one of the two.",
                       "closes")
    return closes if facts.kind in CLOSING else ""


def _by_class(counts: Mapping[str, int]) -> dict[str, int]:
    """The counts by the classes that their words name."""
    told: Counter[str] = Counter()
    for text, count in counts.items():
        if count:
            told[label_of(text)] += count
    return dict(told)


def _columns(facts: RemovalFacts) -> dict[str, object]:
    rows = ("under", "fasteners", "lacked")  # kept in tables of their own
    return {**{name: value for name, value in vars(facts).items() if name not in rows}, "stack": list(facts.stack),
            "other_stacks": [{"times": one.times, "pieces": list(one.pieces)} for one in facts.other_stacks],
            "ends": [asdict(end) for end in facts.ends]}


def _write_ties(removal: Removal, order: RepairOrder, facts: RemovalFacts, held: Sequence[int], by: Actor,
                now: datetime) -> bool:
    """Tie it to what it was under and is fixed to: `held`, else what its words name; whether a tie came or went."""
    off = {one.id: one for one in queries.of_order(order)}
    wanted = {(Tie.UNDER, one.id) for one in off.values() if one.mark in facts.under}
    called = queries.named(order)
    wanted |= {(Tie.FIXED, one) for one in held or queries.holders_called(removal, facts.kind, facts.fixed_to, called)}
    standing = {(tie.how, tie.to_id): tie for tie in removal.ties if tie.struck_at is None}
    for gone in standing.keys() - wanted:
        standing[gone].struck_at = now
    for how, to_id in sorted(wanted - standing.keys()):
        removal.ties.append(RemovalTie(order_id=order.id, to=off[to_id], how=how, at=now, by_name=by.name))
    session().flush()
    return wanted != standing.keys()


def _write_pieces(removal: Removal, facts: RemovalFacts, by: Actor, now: datetime) -> bool:
    """A row for each class and use; whether one changed. The classes of its stack are made too, should nobody have counted one."""
    changed = False
    wanted = {(use, label): count for use, counts in ((PieceUse.LOOSE, facts.fasteners), (PieceUse.LACKED, facts.lacked))
              for label, count in counts.items()}
    there = {(one.use, one.hardware.label): one for one in removal.pieces}
    for key in dict.fromkeys((*there, *wanted)):
        count = wanted.get(key, 0)
        if key in there:
            changed |= there[key].count != count
            there[key].count = count
        else:
            changed = True
            removal.pieces.append(RemovalPiece(use=key[0], hardware=hardware.class_of(key[1], by=by, now=now), count=count))
    for piece in (piece for stack in removal.stacks for piece in stack.pieces):
        if queries.is_sized(piece):
            hardware.class_of(piece, by=by, now=now)
    session().flush()
    return changed


@names.renews
def tie_what_waits(order: RepairOrder, by: Actor, now: datetime) -> None:
    """A screw comes off before the panel that it holds: its words get their key once the panel is off too."""
    off, called = {removal.id: removal for removal in queries.of_order(order)}, queries.named(order)
    for one in off.values():
        # A key once given stays; what else a shared fixing holds may still be to come.
        if one.fixed_to and (one.held_by is None or one.kind in FIXINGS):
            known = {each.id for each in one.holders}
            for holder in queries.holders_called(one, one.kind, one.fixed_to, called):
                if holder not in known and len(known) < max(1, len(read_bodies(one.fixed_to))):
                    known.add(holder)
                    one.ties.append(RemovalTie(order_id=order.id, to=off[holder], how=Tie.FIXED, at=now, by_name=by.name))
    session().flush()
