"""Whether an amp is on power, and whether it may be.

Putting it on power ends what was measured after a discharge; while it is on, nothing is done that needs it off. What speaks
against it (pieces off, an earth that nobody measured) is one visible tuple in app.gates, handed in when the application is built.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, RuleBroken
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel import local_forms
from app.orders.models import PowerUp, Quarantine, RepairOrder
from app.request_cache import cached_until_write
from app.shop.queries import day, the_shop

Check = Callable[[RepairOrder], str]
_checks: tuple[Check, ...] = ()


def use(checks: Sequence[Check]) -> None:
    """Ask these before an amp is put on power: each says in a sentence what speaks against it, or nothing."""
    global _checks  # noqa: PLW0603 - the spine knows no room: they are handed in once
    _checks = tuple(checks)


@cached_until_write
def _state(order_id: int) -> tuple[Quarantine | None, PowerUp | None]:
    """The mark in force and the time on power that has not ended, asked in one question: every page of the order shows both."""
    found = session().execute(
        sa.select(Quarantine, PowerUp).select_from(RepairOrder)
        .outerjoin(Quarantine, sa.and_(Quarantine.order_id == RepairOrder.id, Quarantine.lifted_at.is_(None)))
        .outerjoin(PowerUp, sa.and_(PowerUp.order_id == RepairOrder.id, PowerUp.ended_at.is_(None)))
        .where(RepairOrder.id == order_id)).first()
    return (found[0], found[1]) if found else (None, None)


def do_not_energise(order_id: int) -> Quarantine | None:
    """The mark that bars power, if it is in force."""
    return _state(order_id)[0]


def powered(order_id: int) -> PowerUp | None:
    """Since when the amp is on power; None if it is off."""
    return _state(order_id)[1]


def last_power_up(order_id: int) -> int | None:
    """The id of the newest time on power: what was measured without power holds as long as no later one comes."""
    return session().scalar(sa.select(sa.func.max(PowerUp.id)).where(PowerUp.order_id == order_id))


@cached_until_write
def was_off_between(order_id: int, since: datetime, until: datetime) -> datetime | None:
    """When the amp was first recorded as off and unplugged between two moments; None if it was not."""
    return session().scalar(sa.select(sa.func.min(PowerUp.ended_at)).where(
        PowerUp.order_id == order_id, PowerUp.ended_at > since, PowerUp.ended_at < until))


def against(order: RepairOrder) -> tuple[str, ...]:
    """What speaks against putting it on power, each in a sentence."""
    return tuple(words for check in _checks if (words := check(order)))


def must_not_be_barred(order: RepairOrder) -> None:
    """Nothing is switched on while it is marked “do not energise”."""
    if (standing := do_not_energise(order.id)) is not None:
        raise RuleBroken(f"This amp is marked “do not energise”: {standing.reason}. "
                         "Deal with the danger and remove that mark first.")


def must_be_off(order: RepairOrder) -> None:
    """Refused while it is on power."""
    if (on := powered(order.id)) is not None:
        raise RuleBroken(f"The amp has been powered since {clock_time(on.since)}: {on.why}. "
                         "Switch it off, unplug it and record that first.")


def power_up(order: RepairOrder, why: str, *, by: Actor, now: datetime) -> PowerUp:
    """It goes on power as part of another act that says what it needs; refused under “do not energise”."""
    _must_be_open(order)
    must_not_be_barred(order)
    if (on := powered(order.id)) is not None:
        return on
    return _begin(order, why, "", by=by, now=now)


def power_up_by_word(order: RepairOrder, why: str, *, reason: str = "", by: Actor, now: datetime) -> PowerUp:
    """Somebody says that it is switched on, and why. What speaks against it must be put right, or answered with a reason."""
    _must_be_open(order)
    must_not_be_barred(order)
    if not why.strip():
        raise BadInput("Enter why it is powered.", "why")
    if powered(order.id) is not None:
        raise RuleBroken("It is recorded as powered already.")
    missing = against(order)
    if missing and not reason.strip():
        raise BadInput(" ".join(missing) + " Put that right first, or enter why it is powered like this.", "reason")
    return _begin(order, why.strip(), reason.strip() if missing else "", by=by, now=now)


def powered_again(order: RepairOrder, *, by: Actor, now: datetime) -> PowerUp:
    """Somebody says that it was powered, without a reason: what happened is recorded even under “do not energise”.

    It counts as on until it is recorded as off and unplugged.
    """
    _must_be_open(order)
    if (on := powered(order.id)) is not None:
        return on
    return _begin(order, "powered again, by word", "", by=by, now=now)


def was_on(order: RepairOrder, why: str, *, by: Actor, now: datetime) -> None:
    """It was on for an act that is over, and is unplugged again; refused under “do not energise”."""
    on = powered(order.id)
    power_up(order, why, by=by, now=now)
    if on is None:
        power_off(order, by=by, now=now)


def power_off(order: RepairOrder, *, by: Actor, now: datetime) -> None:
    """It is off and unplugged. What its capacitors hold is another question: that is measured."""
    on = powered(order.id)
    if on is None:
        raise RuleBroken("It is recorded as off already.")
    on.ended_at, on.ended_by = now, by.name
    record(Event.POWERED_OFF, on, by=by, now=now, before={"powered": True}, after={"powered": False})


def _must_be_open(order: RepairOrder) -> None:
    if not order.is_open:
        raise RuleBroken("The repair has ended. Check the amp in as a come-back.")


def clock_time(moment: datetime) -> str:
    """'06:37', and its day where that is not plain, in the shop's zone."""
    there = moment.astimezone(the_shop().zone)
    return f"{local_forms.clock(there)} on {day(there)}"


def _begin(order: RepairOrder, why: str, reason: str, *, by: Actor, now: datetime) -> PowerUp:
    on = PowerUp(order_id=order.id, since=now, by_name=by.name, why=why, reason=reason)
    session().add(on)
    record(Event.POWERED_UP, on, by=by, now=now, after={"powered": True, "why": why}, reason=reason)
    return on
