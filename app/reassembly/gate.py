"""What must hold before an amp leaves reassembly: everything is on again or accounted for, measured, counted and explained."""

from __future__ import annotations

from app.errors import Missing
from app.findings import queries as findings_queries
from app.kernel.local_forms import counted
from app.orders.models import RepairOrder
from app.parts import queries as parts
from app.parts.rules import PartState
from app.reassembly.queries.way import way_back
from app.reassembly.queries.work import balance_of
from app.removals import queries as removals
from app.removals.rules import Fate

NAMED = 4  # things that a line names before it only counts


def closed_up(order: RepairOrder) -> str:
    """Why the amp is not whole, in a sentence: pieces still off, or a count that does not balance. Empty if it is.

    Where the plan's own next step is a stage with the mains on, what is still off is meant to be off: valves, and the covers.
    """
    way = way_back(order, planned=False)
    if any(step.powered and not way.waits_for(step.id) for step in way.left):
        return ""
    off = [one for one in removals.of_order(order) if one.ended_at is None]
    if off:
        return f"{counted(len(off), 'part')} still off the amp: {', '.join(one.title for one in off[:NAMED])}."
    open_ = balance_of(order).unexplained
    return f"The balance is open: {open_[0].piece}." if open_ else ""


def nothing_is_left(order: RepairOrder) -> list[Missing]:
    """Every removal ended, every step of the way back done, every class of piece at nought."""
    here = (("order_id", order.id),)
    standing = removals.of_order(order)
    off = [one for one in standing if one.ended_at is None]
    missing = [Missing(f"{removal.title} is still to be ended: {removal.fate.word}.", "removals.one",
                       (*here, ("removal_id", removal.id)))
               for removal in off if not removal.fate.goes_back or removal.fate is Fate.HOLD]
    if back := [removal.title for removal in off if removal.fate.goes_back]:
        named = ", ".join(back[:NAMED]) + (f" and {len(back) - NAMED} more" if len(back) > NAMED else "")
        missing.append(Missing(f"Still off the amp: {named}.", "reassembly.page", here))
    way = way_back(order, planned=False)
    missing += [Missing(str(conflict), "removals.one", (*here, ("removal_id", way.removals[conflict.records[0]].id)))
                if conflict.records and conflict.records[0] in way.removals else Missing(str(conflict), "reassembly.page", here)
                for conflict in way.conflicts]
    if way.problem:
        missing.append(Missing(way.problem, "reassembly.page", here))
    elif way.left:
        first = way.left[0]
        more = f" and {len(way.left) - 1} more" if len(way.left) > 1 else ""
        missing.append(Missing(f"The way back: {first.label or first.id}{more}.", "reassembly.page", here))
    weighed = balance_of(order)
    missing += [Missing(f"The balance is open: {row.piece}, {abs(row.unexplained)} "
                        f"{'not accounted for' if row.unexplained > 0 else 'too many'}.",
                        "reassembly.balance", here) for row in weighed.unexplained]
    return missing


def nothing_is_lost_or_unexplained(order: RepairOrder) -> list[Missing]:
    """Every found object explained, no piece lost."""
    here = (("order_id", order.id),)
    missing = [Missing(f"Found inside and not explained: {piece.piece}.", "reassembly.found", (*here, ("object_id", piece.id)))
               for piece in removals.found_objects(order) if piece.explained_at is None]
    return missing + [Missing(f"Lost: {loss.piece}. Find it, or have a search countersigned.", "removals.one_lost",
                              (*here, ("lost_id", loss.id)), holds=True) for loss in removals.open_losses(order)]


def hazards_are_acted_on(order: RepairOrder) -> list[Missing]:
    """Nothing that could hurt somebody stays as it was, unless the customer declined it in writing."""
    return [Missing(f"{one.called}: record the work done, or have it declined in writing.", "findings.finding",
                    (("order_id", order.id), ("finding_id", one.id)))
            for one in findings_queries.safety_findings_needing_action(order)]


def no_part_lies_about(order: RepairOrder) -> list[Missing]:
    """What was got for this amp is in it, or was dropped with a reason: a part on the shelf is charged to nobody."""
    return [Missing(f"Fit {part.title} at {part.place}, or drop it with a reason.", "parts.fit",
                    (("order_id", order.id), ("part_id", part.id)))
            for part in parts.called_for(order) if part.state is PartState.RECEIVED and not part.failed]


def nothing_is_in_the_warmth(order: RepairOrder) -> list[Missing]:
    """A board that dries is out again, and measured, before the amp goes on."""
    running = [(bake.finding, bake) for bake in findings_queries.bake_outs(order, running=True)]
    return [Missing(f"{finding.called}: end the bake-out.", "findings.end_bake",
                    (("order_id", order.id), ("finding_id", finding.id), ("bake_id", bake.id))) for finding, bake in running]
