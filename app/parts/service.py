"""What is done with a part: written down, changed, ordered, received, fitted, dropped."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kept.models import SumUse
from app.kept.queries import to_settle
from app.kept.rules import Purpose, check_fits
from app.kept.service import carry_over, end_use, end_uses_of_part, note_use
from app.kernel.money import show
from app.kernel.spec import columns, journal_facts
from app.orders import chassis
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.parts import queries
from app.parts.models import Part
from app.parts.places import keys_of
from app.parts.rules import Arrival, Dropped, Incoming, Need, PartState, PlaceAsks, RatedAgain, Settle, check_arrival, check_need
from app.quote import costs
from app.quote import queries as quote
from app.quote.rules.costs import Level, PartCost
from app.quote.rules.words import PartCondition
from app.shop.queries import the_shop

SHELF = "own stock"
SOURCE_LONGEST = 200
# The column of what a place asks, by what a calculation is used for.
RATED_BY = {Purpose.VOLTS: "needed_volts", Purpose.WATTS: "needed_watts", Purpose.REVERSE: "needed_reverse_volts",
            Purpose.RIPPLE: "needed_ripple_volts"}


@dataclass(frozen=True)
class Purchase:
    """Where it is ordered, what the customer is charged for all pieces (minor units before tax), when it should come."""

    supplier: str
    ordered_minor: int
    expected_on: date | None = None


def need(order: RepairOrder, what: Need, line_root_id: int | None = None, *, again_of: Part | None = None, by: Actor,
         now: datetime) -> Part:
    """Write down a part that is needed, for a line of the quote or free; `again_of`: in place of this one, which was dropped."""
    must_be_open(order)
    _check(order, what, line_root_id)
    if again_of is not None and not queries.is_needed_still(again_of):
        raise RuleBroken(f"{again_of.title} is not needed again: look at the list of parts.")
    part = Part(order_id=order.id, again_of_id=again_of.id if again_of else None, state=PartState.NEEDED, needed_at=now,
                needed_by=by.name, line_root_id=line_root_id, **_columns(what), **keys_of(order, what.place))
    session().add(part)
    record(Event.PART_NEEDED, part, by=by, now=now, after=_need_facts(part))
    if again_of is not None:
        session().flush()
        carry_over(again_of.id, part.id, _rated_by(part), by=by, now=now)
    return part


def change(order: RepairOrder, part: Part, what: Need, line_root_id: int | None, *, by: Actor, now: datetime) -> None:
    """Say better what is needed, as long as it has not come."""
    must_be_open(order)
    _must_be(part, PartState.NEEDED, PartState.ORDERED)
    _check(order, what, line_root_id)
    before = _need_facts(part)
    for name, value in {**_columns(what), **keys_of(order, what.place), "line_root_id": line_root_id}.items():
        setattr(part, name, value)
    record_change(Event.PART_CHANGED, part, before, _need_facts(part), by=by, now=now)
    end_uses_of_part(part.id, _rated_by(part), now=now)


def rate(order: RepairOrder, part: Part, purpose: Purpose, value: float, source: str, *, by: Actor, now: datetime) -> None:
    """What its place asks, as a kept calculation says: volts, watts, reverse volts or ripple. Only while it has not come."""
    must_be_open(order)
    _must_be(part, PartState.NEEDED, PartState.ORDERED)
    before = _need_facts(part)
    _rate(part, purpose, value, source)
    record_change(Event.PART_CHANGED, part, before, _need_facts(part), by=by, now=now)


def rate_again(order: RepairOrder, part: Part, use: SumUse, decided: RatedAgain, *, by: Actor, now: datetime) -> None:
    """What its place asks, after the calculation that said so was changed or withdrawn; what came is judged by it again."""
    must_be_open(order)
    _must_be(part, PartState.NEEDED, PartState.ORDERED, PartState.RECEIVED, PartState.FITTED)
    if use.part_id != part.id or use.ended_at is not None or use.kept.stands:
        raise RuleBroken(f"The {use.purpose.value} of {part.place} is settled already: look at the list of parts.")
    before, purpose, reason, figure = _need_facts(part), use.purpose, decided.reason.strip(), use.figure_now
    stands = use.kept.in_its_place
    if decided.how is Settle.TAKE:
        if stands is None or figure is None:
            raise BadInput("The calculation was withdrawn and none is in its place. Keep the rating with a reason, or enter "
                           "another.", "how")
        check_fits(figure, purpose, purpose.unit, stands.figures)
        title = use.said.partition(": ")[0]
        _rate(part, purpose, figure.value, f"calculated {purpose.value}: {title}, {figure.words}")
        note_use(stands, figure, purpose, title=title, place=part.place, part_id=part.id, by=by, now=now)
    else:
        if not reason:
            raise BadInput("Enter why.", "reason")
        value = use.value if decided.how is Settle.KEEP else decided.value
        if value is None or not (math.isfinite(value) and value > 0):
            raise BadInput("Enter a rating above 0.", "value")
        told = "kept" if decided.how is Settle.KEEP else "set"
        _rate(part, purpose, value, f"{purpose.value} {told}: {reason.replace('; ', ', ')}")
        end_use(use, now=now)
    after = _need_facts(part)
    differs = [name for name in after if after[name] != before[name]]
    record(Event.PART_RATED_AGAIN, part, by=by, now=now, reason=reason,
           before={name: before[name] for name in differs} | {"rests on": f"{use.said}, {use.kept.end_words}"},
           after={name: after[name] for name in differs} | {"part": part.title})


def _rate(part: Part, purpose: Purpose, value: float, source: str) -> None:
    """Set one figure of its place with its source, in place of what was said of that figure; refused if what came is below it."""
    rating = replace(part.need.rating, **{RATED_BY[purpose].removeprefix("needed_"): value})
    others = [told for told in part.rating_source.split("; ") if told and not told.startswith(_said_of(purpose))]
    told = "; ".join([*others, source])
    asks = replace(part.need, rating=rating, rating_source=told if len(told) <= SOURCE_LONGEST else source[:SOURCE_LONGEST])
    check_need(asks)
    if part.arrival is not None:
        check_arrival(asks, part.arrival)
    setattr(part, RATED_BY[purpose], value)
    part.rating_source = asks.rating_source


def _said_of(purpose: Purpose) -> tuple[str, ...]:
    return tuple(f"{words}:" for words in (f"calculated {purpose.value}", f"{purpose.value} kept", f"{purpose.value} set"))


def order_part(order: RepairOrder, part: Part, bought: Purchase, *, by: Actor, now: datetime) -> None:
    """Order it. Refused before its line is agreed to, and if the agreed sum would be passed."""
    must_be_open(order)
    _must_be(part, PartState.NEEDED)
    if not bought.supplier.strip():
        raise BadInput("Enter where it is ordered.", "supplier")
    if bought.ordered_minor < 0:
        raise BadInput("Enter a price of 0 or more.", "ordered_minor")
    _must_be_agreed(order, part)
    _must_be_covered(order, part, bought.ordered_minor, "ordered_minor")
    part.state, part.supplier, part.ordered_minor = PartState.ORDERED, bought.supplier.strip(), bought.ordered_minor
    part.expected_on, part.ordered_at, part.ordered_by = bought.expected_on, now, by.name
    record(Event.PART_ORDERED, part, by=by, now=now, before={"state": PartState.NEEDED.value},
           after={"state": part.state.value, "part": part.title, "from": part.supplier, "price": _money(part.ordered_minor),
                  "expected": str(part.expected_on) if part.expected_on else None})


def receive(order: RepairOrder, part: Part, came: Arrival, *, by: Actor, now: datetime) -> None:
    """All pieces are here: marked for their place, in the condition asked for, tested. From stock it need not be ordered."""
    must_be_open(order)
    _must_be(part, PartState.NEEDED, PartState.ORDERED)
    check_arrival(part.need, came)
    if part.state is PartState.NEEDED:
        _must_be_agreed(order, part)
    if came.test is not Incoming.FAILED:
        _must_be_covered(order, part, came.charged_minor, "charged_minor")
    before = part.state
    part.state = PartState.RECEIVED
    _came(part, came, 0 if came.test is Incoming.FAILED else came.charged_minor, by=by, now=now)
    if not part.supplier:
        part.supplier = "the customer" if came.condition is PartCondition.CUSTOMERS else SHELF
    record(Event.PART_RECEIVED, part, by=by, now=now, before={"state": before.value},
           after={"state": part.state.value, "part": part.title, "condition": came.condition.value,
                  "marked": came.rating.words or None, "batch": part.batch or None, "incoming test": came.test.value,
                  "it showed": part.test_words or None, "charged": _money(part.charged_minor or 0)})


def send_back(order: RepairOrder, part: Part, came: Arrival, reason: str, *, by: Actor, now: datetime) -> None:
    """It came and is refused: what came is kept, the customer is not charged, and the part is needed as before."""
    must_be_open(order)
    _must_be(part, PartState.NEEDED, PartState.ORDERED)
    if not reason.strip():
        raise BadInput("Enter why it is sent back.", "sent_back_reason")
    before = part.state
    part.state, part.dropped_how = PartState.DROPPED, Dropped.SENT_BACK
    part.dropped_reason, part.dropped_at, part.dropped_by = reason.strip(), now, by.name
    _came(part, came, 0, by=by, now=now)
    record(Event.PART_SENT_BACK, part, by=by, now=now, before={"state": before.value}, reason=part.dropped_reason,
           after={"part": part.title, "came": came.condition.value, "marked": came.rating.words or None,
                  "batch": part.batch or None, "incoming test": came.test.value, "it showed": part.test_words or None})


def _came(part: Part, came: Arrival, charged_minor: int, *, by: Actor, now: datetime) -> None:
    part.condition, part.batch, part.charged_minor = came.condition, came.batch.strip(), charged_minor
    part.rated_volts, part.rated_watts = came.rating.volts, came.rating.watts
    part.test, part.test_words = came.test, came.test_words.strip()
    part.received_at, part.received_by = now, by.name


def fit(order: RepairOrder, part: Part, place: str, *, by: Actor, now: datetime) -> None:
    """It is in its place."""
    must_be_open(order)
    _must_be(part, PartState.RECEIVED)
    if part.test is Incoming.FAILED:
        raise RuleBroken("Its incoming test failed: it must not go in. Send it back and order the same again.")
    if to_settle(order.id, part.id):
        raise RuleBroken(f"The calculation that rates {part.place} was changed or withdrawn. Look at its rating again first.")
    if not place.strip():
        raise BadInput("Enter where it was fitted.", "fitted_place")
    part.state, part.fitted_place, part.fitted_at, part.fitted_by = PartState.FITTED, place.strip(), now, by.name
    chassis.opened(part.order_id, "a part was fitted", by=by, now=now)
    record(Event.PART_FITTED, part, by=by, now=now, before={"state": PartState.RECEIVED.value},
           after={"state": part.state.value, "part": part.title, "place": part.fitted_place})


def drop(order: RepairOrder, part: Part, reason: str, how: Dropped = Dropped.WITHOUT, *, by: Actor, now: datetime) -> None:
    """It was cancelled or sent back, and is needed as before; or the work was planned anew without it. The reason stays."""
    must_be_open(order)
    if not reason.strip():
        raise BadInput("Enter why, and how the work is planned now." if how is Dropped.WITHOUT else "Enter why.", "reason")
    if part.state is not PartState.DROPPED or not queries.is_needed_still(part):
        _must_be(part, PartState.NEEDED, PartState.ORDERED, PartState.RECEIVED)
    if how not in may_be_dropped(part):
        raise BadInput(f"That does not fit a part that is {part.state.value}: choose what happened to it.", "how")
    before = part.dropped_how.word if part.dropped_how else part.state.value
    told = f"{part.dropped_reason}; then: {reason.strip()}" if part.dropped_reason else reason.strip()
    part.state, part.dropped_how, part.dropped_reason = PartState.DROPPED, how, told
    part.dropped_at, part.dropped_by = now, by.name
    record(Event.PART_DROPPED, part, by=by, now=now, before={"state": before},
           after={"state": part.state.value, "how": how.value, "part": part.title}, reason=reason.strip())


def may_be_dropped(part: Part) -> tuple[Dropped, ...]:
    """What can have happened to it, by how far it came."""
    return {PartState.ORDERED: (Dropped.CANCELLED, Dropped.WITHOUT),
            PartState.RECEIVED: (Dropped.SENT_BACK, Dropped.WITHOUT)}.get(part.state, (Dropped.WITHOUT,))


def _check(order: RepairOrder, what: Need, line_root_id: int | None) -> None:
    check_need(what)
    line = quote.find_line(line_root_id) if line_root_id is not None else None
    if line_root_id is not None and (line is None or line.order_id != order.id or line.first_id is not None):
        raise BadInput("Choose a line of this repair’s quote.", "line_root_id")


def _must_be(part: Part, *states: PartState) -> None:
    if part.state not in states:
        raise RuleBroken(f"{part.title} is {part.state.value} already.")


def _must_be_agreed(order: RepairOrder, part: Part) -> None:
    """Refuse what nobody agreed to, and say what to ask for."""
    line = quote.find_line(part.line_root_id) if part.line_root_id is not None else None
    if line is not None and line.line_root_id not in quote.agreed_line_roots(order):
        now = line.newest
        raise BadInput(f"The line that calls for this part has not been agreed to. Ask {order.authority.name} to approve "
                       f"“{now.what}”, {_money(now.net_minor)} {costs.basis(order)}, and record the answer.")


def _must_be_covered(order: RepairOrder, part: Part, price_minor: int, field: str) -> None:
    """Refuse a price that takes committed cost past the agreed sum; the words say by how much and what to do."""
    stands = costs.standing(order, PartCost(part.line_root_id, price_minor - part.cost_minor))
    if stands.level is Level.NOTHING_AGREED:
        raise BadInput("Nobody has agreed to any sum yet. Record what the customer agreed to first.", field)
    if stands.level is Level.PASSED and stands.ceiling_minor is not None:
        raise BadInput(f"With this part {_money(stands.committed_minor)} would be committed, tax included, and "
                       f"{_money(stands.ceiling_minor)} is agreed: {_money(-stands.left_minor)} too much. Issue a new revision "
                       "of the quote and have it agreed, find a cheaper part, or drop this one.", field)


def _columns(what: Need) -> dict[str, Any]:
    return {**columns(what), "needed_volts": what.rating.volts, "needed_watts": what.rating.watts,
            "needed_reverse_volts": what.rating.reverse_volts, "needed_ripple_volts": what.rating.ripple_volts,
            "needed_condition": what.condition}


def _rated_by(part: Part) -> dict[Purpose, float | None]:
    return {purpose: getattr(part, column) for purpose, column in RATED_BY.items()}


def _need_facts(part: Part) -> dict[str, Any]:
    line = quote.find_line(part.line_root_id) if part.line_root_id else None
    return {**journal_facts(part, Need), **journal_facts(part, PlaceAsks), "rating needed": part.need.rating.words or None,
            "for": line.what if line else None}


def _money(minor: int) -> str:
    return show(minor, the_shop().currency)
