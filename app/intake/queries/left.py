"""What somebody leaves, in the words that they read and sign: complaint, condition, accessories, what must stay."""

from __future__ import annotations

from app.intake.queries import sheets
from app.intake.rules import Zone
from app.kernel.local_forms import counted
from app.orders import power
from app.orders.models import RepairOrder
from app.shop.queries import in_shop_words


def what_was_left(order: RepairOrder) -> list[tuple[str, str]]:
    """Head and text of each matter; what nobody has recorded yet is said as such."""
    told, barred = sheets.complaint(order.id), power.do_not_energise(order.id)
    things = ", ".join(f"{one.quantity} × {one.what}" for one in sheets.accessories(order.id))
    counted_by = sheets.counted(order.id)
    found = [("The amp", _amp(order)),
             ("You said", f"“{told.words}”" if told else "nothing is recorded yet."),
             ("Condition as it came in", _condition(order)),
             ("Came with it", f"{in_shop_words(things)}." if things else "nothing." if counted_by else "not counted yet.")]
    if told and told.keep:
        found.append(("Must be kept", told.keep))
    if told and told.leave_alone:
        found.append(("Must not be changed", told.leave_alone))
    if barred:
        found.append(("Do not switch on", in_shop_words(barred.reason)))
    return found


def _amp(order: RepairOrder) -> str:
    return f"{order.amp.title}, serial {order.amp.serial or 'not read yet'}."


def _condition(order: RepairOrder) -> str:
    shown = sheets.zones_shown(order.id)
    views = ", ".join(in_shop_words(zone.value) for zone in Zone if zone in shown)
    photos = f"{counted(sum(shown.values()), 'photo')} as found: {views}." if shown else "no photo yet."
    notes = " ".join(f"{in_shop_words(one.zone.value).capitalize()}: {one.note.rstrip('.')}."
                     for one in sheets.condition_notes(order.id))
    return f"{photos} {notes}".strip()
