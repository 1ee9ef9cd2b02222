"""Blocks of a sheet: entered, changed, renamed, withdrawn."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from app.circuits.models import AmpSheet, BlockValue, SheetBlock
from app.circuits.rules.assemble import assemble
from app.circuits.rules.blocks import Given, Kind, links
from app.circuits.rules.changes import described
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.measuring.service import points
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


def add_block(sheet: AmpSheet, order: RepairOrder, kind: Kind, name: str, given: Mapping[str, Given], *, by: Actor,
              now: datetime) -> SheetBlock:
    """One more block under a name that no other of the sheet has. What is not known yet is left out."""
    must_be_open(order)
    block = SheetBlock(sheet=sheet, kind=kind, name=_free(sheet, name, None), at=now, by_name=by.name)
    block.values = [_value(field, one) for field, one in given.items() if _says(one)]
    session().add(block)
    session().flush()
    record(Event.SHEET_BLOCK_ADDED, block, by=by, now=now, order_id=order.id, after=described(block.as_entered))
    return block


def change_block(block: SheetBlock, order: RepairOrder, name: str, given: Mapping[str, Given], *, by: Actor, now: datetime) -> None:
    """Other values or another name; what is wired to the block keeps to it."""
    must_be_open(order)
    _stands(block)
    called, before = _free(block.sheet, name, block.id), described(block.as_entered)
    renamed = block.name if called != block.name else ""
    was = _nodes(block.sheet) if renamed else []
    there = {one.field: one for one in block.values}
    for field, one in given.items():
        if field not in there:
            if _says(one):
                block.values.append(_value(field, one))
            continue
        value = there[field]
        value.number, value.word, value.reference, value.tolerance = one.number, one.word, one.reference, one.tolerance
    block.name, block.at, block.by_name = called, now, by.name
    session().flush()
    record_change(Event.SHEET_BLOCK_CHANGED, block, before, described(block.as_entered), by=by, now=now)
    if renamed:
        _rewire(block.sheet, renamed, called, by=by, now=now)
        _follow(order, was, block.sheet, by=by, now=now)


def withdraw_block(block: SheetBlock, order: RepairOrder, *, reason: str, by: Actor, now: datetime) -> None:
    """This amp has no such block. What hangs on it then says that it does."""
    must_be_open(order)
    _stands(block)
    said = " ".join(reason.split())
    if not said:
        raise BadInput("Enter why the block is withdrawn.", "reason")
    before = described(block.as_entered)
    block.withdrawn_at, block.withdrawn_reason = now, said
    record(Event.SHEET_BLOCK_WITHDRAWN, block, by=by, now=now, order_id=order.id, before=before, reason=said)


def _rewire(sheet: AmpSheet, name: str, called: str, *, by: Actor, now: datetime) -> None:
    """Blocks that named this one name it as it is called now."""
    for other in sheet.shown:
        before, changed = described(other.as_entered), False
        wired = {field.name for field in links(other.kind)}
        for value in other.values:
            if value.field in wired and value.word == name:
                value.word, changed = called, True
        if changed:
            other.at, other.by_name = now, by.name
            session().flush()
            record_change(Event.SHEET_BLOCK_CHANGED, other, before, described(other.as_entered), by=by, now=now)


def _nodes(sheet: AmpSheet) -> list[str]:
    return [node.name for node in assemble(sheet.as_entered, None).nodes]


def _follow(order: RepairOrder, was: list[str], sheet: AmpSheet, *, by: Actor, now: datetime) -> None:
    """Points and printed volts of the nodes that are called otherwise now: the circuit lists its nodes in the same order."""
    now_called = _nodes(sheet)
    if len(now_called) != len(was):
        return
    for old, new in zip(was, now_called, strict=True):
        if old != new:
            points.rename_node(order.id, old, new, by=by, now=now)
            for printed in sheet.prints:
                if printed.node == old:
                    printed.node = new


def _free(sheet: AmpSheet, name: str, own_id: int | None) -> str:
    plain = " ".join(name.split())
    if not plain:
        raise BadInput("Give the block a name, such as V1a or HT2.", "name")
    if plain == "0":
        raise BadInput("0 is the chassis. Give the block another name.", "name")
    if any(one.name.lower() == plain.lower() and one.id != own_id for one in sheet.shown):
        raise BadInput(f"There is a block called {plain} already.", "name")
    return plain


def _stands(block: SheetBlock) -> None:
    if block.withdrawn_at is not None:
        raise RuleBroken(f"{block.name} was withdrawn: {block.withdrawn_reason.rstrip('.')}.")


def _says(given: Given) -> bool:
    return not given.empty or bool(given.reference)


def _value(field: str, given: Given) -> BlockValue:
    return BlockValue(field=field, number=given.number, word=given.word, reference=given.reference, tolerance=given.tolerance)
