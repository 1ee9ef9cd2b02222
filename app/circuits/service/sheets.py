"""Beginning a sheet, how its amp is read, keeping it for the model, printed volts."""

from __future__ import annotations

from datetime import datetime

from app.circuits import queries
from app.circuits.models import AmpSheet, BlockValue, PrintedVolts, SheetBlock
from app.circuits.spec import PrintedFacts, SheetFacts
from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kernel.spec import columns, journal_facts
from app.orders.models import RepairOrder
from app.orders.service import must_be_open


def begin(order: RepairOrder, *, by: Actor, now: datetime) -> AmpSheet:
    """The sheet of this amp: a copy of the sheet last kept of its model, else an empty one."""
    must_be_open(order)
    if queries.of_order(order) is not None:
        raise RuleBroken("This amp has its sheet already.")
    model = queries.last_of_model(order.amp.maker, order.amp.model)
    made = AmpSheet(order_id=order.id, maker=order.amp.maker, model=order.amp.model, copied_from_id=model.id if model else None,
                    whole=model.whole if model else False, at=now, by_name=by.name)
    session().add(made)
    session().flush()
    if model is not None:
        _copy(model, made, by, now)
    record(Event.AMP_SHEET_BEGUN, made, by=by, now=now,
           after={"model": f"{made.maker} {made.model}", "blocks": len(made.blocks), "copied from": model.id if model else ""})
    return made


def change(sheet: AmpSheet, order: RepairOrder, facts: SheetFacts, *, by: Actor, now: datetime) -> None:
    """The mains and the meter of now, whether the sheet is whole, and which source speaks."""
    must_be_open(order)
    before = journal_facts(sheet, SheetFacts)
    for name, value in columns(facts).items():
        setattr(sheet, name, value)
    record_change(Event.AMP_SHEET_CHANGED, sheet, before, journal_facts(sheet, SheetFacts), by=by, now=now)


def keep_for_model(sheet: AmpSheet, order: RepairOrder, *, by: Actor, now: datetime) -> AmpSheet:
    """Keep this sheet as that of its model: the next repair of one begins with it. Earlier ones stay."""
    must_be_open(order)
    if not sheet.shown:
        raise RuleBroken("There is no block on the sheet yet.")
    kept = AmpSheet(kept_from_id=order.id, maker=order.amp.maker, model=order.amp.model, copied_from_id=sheet.copied_from_id,
                    whole=sheet.whole, at=now, by_name=by.name)
    session().add(kept)
    session().flush()
    _copy(sheet, kept, by, now)
    record(Event.AMP_SHEET_KEPT, kept, by=by, now=now, order_id=order.id,
           after={"model": f"{kept.maker} {kept.model}", "blocks": len(kept.blocks)})
    return kept


def add_printed(sheet: AmpSheet, order: RepairOrder, facts: PrintedFacts, *, by: Actor, now: datetime) -> PrintedVolts:
    """Volts that a schematic prints at a node; a later entry for the node goes before the one that stands."""
    must_be_open(order)
    node = " ".join(facts.node.split())
    if not node:
        raise BadInput("Choose or enter the node.", "node")
    if facts.volt is None:
        raise BadInput("Enter the volts that the drawing prints.", "volt")
    for one in sheet.prints:
        if one.node == node:
            withdraw_printed(one, order, by=by, now=now)
    session().flush()
    made = PrintedVolts(sheet=sheet, node=node, volt=facts.volt, tolerance=facts.percent / 100, said=facts.said.strip(), at=now,
                        by_name=by.name)
    session().add(made)
    record(Event.PRINTED_VOLTS_ADDED, made, by=by, now=now, order_id=order.id, after=journal_facts(facts, PrintedFacts))
    return made


def withdraw_printed(printed: PrintedVolts, order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """They were read wrong, or are of another edition."""
    must_be_open(order)
    if printed.withdrawn_at is None:
        printed.withdrawn_at = now
        record(Event.PRINTED_VOLTS_WITHDRAWN, printed, by=by, now=now, order_id=order.id,
               before={"node": printed.node, "volt": printed.volt})


def _copy(here: AmpSheet, there: AmpSheet, by: Actor, now: datetime) -> None:
    """The blocks and printed volts that stand. Where a part sits goes along: boards of one model carry the same marks."""
    for one in here.shown:
        block = SheetBlock(sheet=there, kind=one.kind, name=one.name, at=now, by_name=by.name)
        block.values = [BlockValue(field=value.field, number=value.number, word=value.word, reference=value.reference,
                                   tolerance=value.tolerance) for value in one.values if value.said]
        session().add(block)
    for printed in here.prints:
        session().add(PrintedVolts(sheet=there, node=printed.node, volt=printed.volt, tolerance=printed.tolerance,
                                   said=printed.said, at=now, by_name=by.name))
    session().flush()
