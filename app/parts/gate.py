"""What must hold before an order leaves the wait for parts."""

from __future__ import annotations

from app.errors import BadInput, Missing
from app.kept.queries import to_settle
from app.orders.models import RepairOrder
from app.parts import queries
from app.parts.models import Part
from app.parts.rules import PartState, check_arrival
from app.shop.queries import day


def parts_here(order: RepairOrder) -> list[Missing]:
    """Every part that a needed task calls for is received and rated for its place, or its task is planned anew."""
    missing = [Missing(f"Add the parts for: {line.what}. Named on the quote: {line.parts}.", "parts.new",
                       (("order_id", order.id), ("line", line.line_root_id))) for line in queries.lines_without_parts(order)]
    missing += [Missing(f"{part.title} for {part.place} was {part.dropped_how.word if part.dropped_how else 'dropped'}: order the "
                        "same again, or say how the work is planned without it.", "parts.again",
                        (("order_id", order.id), ("part_id", part.id))) for part in queries.to_get_again(order)]
    return missing + [item for part in queries.called_for(order) for item in (*_rated_by_none(part), *_lacks(part))]


def nothing_was_bought(order: RepairOrder) -> list[Missing]:
    """Of an order that is to be void: nothing is on its way for it, and nothing that came lies here."""
    bought = (PartState.ORDERED, PartState.RECEIVED, PartState.FITTED)
    return [Missing(f"{part.title} was {part.state.value} for this repair: send it back or drop it.", "parts.drop",
                    (("order_id", order.id), ("part_id", part.id)))
            for part in queries.parts_of(order) if part.state in bought]


def _rated_by_none(part: Part) -> list[Missing]:
    """What its place asks rests on a calculation that was changed or withdrawn: no part is judged by that."""
    return [Missing(f"{part.title} for {part.place}: the calculation of its {use.purpose.value} was {use.kept.end_words}. "
                    "Look at the rating again.", "parts.rating",
                    (("order_id", part.order_id), ("part_id", part.id), ("use_id", use.id)))
            for use in to_settle(part.order_id, part.id)]


def _lacks(part: Part) -> list[Missing]:
    here = (("order_id", part.order_id), ("part_id", part.id))
    if part.state is PartState.NEEDED:
        return [Missing(f"Order {part.title} for {part.place}, or drop it with a reason.", "parts.order", here)]
    if part.state is PartState.ORDERED:
        when = f", expected {day(part.expected_on)}" if part.expected_on else ""
        return [Missing(f"Receive {part.title} from {part.supplier}{when}.", "parts.receive", here)]
    if part.failed:
        return [Missing(f"{part.title} failed its incoming test: send it back, then order the same again.", "parts.drop", here)]
    came = part.arrival
    try:
        if came is not None:
            check_arrival(part.need, came)
    except BadInput as wrong:
        return [Missing(f"{part.title}: {wrong.words}", "parts.drop", here)]
    return []
