"""Orders with hours, made as the shop makes them. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from app.db import session
from app.hours.models import TimeEntry
from app.hours.queries import tasks as queries
from app.hours.rules.timing import Span
from app.hours.rules.words import Called, Role, WorkKey
from app.hours.service import timers
from app.hours.service.tasks import Plan
from app.journal.service import Actor
from app.orders import authority
from app.orders.authority import Consent
from app.orders.models import AuthorityFor, Channel, RepairOrder
from app.orders.stages import Stage
from app.quote import queries as quoted
from app.quote.rules.lines import Hours
from tests.factories import NOW
from tests.people import BY
from tests.quote import make as quotes

__all__ = ["Called", "Span", "queries"]
STRIP_DOWN, DIAGNOSIS, WAY_BACK = WorkKey(Role.STRIP_DOWN), WorkKey(Role.DIAGNOSIS), WorkKey(Role.WAY_BACK)
START = NOW + timedelta(hours=4)  # after the quotes of the tests are answered; 00:30 in Sydney, when the shop is closed


def at(hours: float) -> Any:
    """So many hours after the first start."""
    return START + timedelta(hours=hours)


def diagnosed(order: RepairOrder | None = None, ceiling_minor: int = 41_800) -> RepairOrder:
    """At teardown, with a sum agreed for diagnosis: 418.00 with 10 % tax hold four hours at 95.00."""
    made = order or quotes.order_at(Stage.TEARDOWN)
    authority.grant(made, Consent(AuthorityFor.DIAGNOSIS, "diagnosis", ceiling_minor, Channel.IN_PERSON, NOW), by=BY, now=NOW)
    session().flush()
    return made


def agreed(hours: float = 4.0, maximum_minor: int = 52_250, **given: Any) -> RepairOrder:
    """At reassembly, one item agreed: 4 h at 95.00, up to 522.50 with 10 % tax: five hours."""
    made = quotes.order_at(Stage.REASSEMBLY)
    quotes.line(made, **{"hours": Hours.one(hours), "parts": "", "parts_minor": 0, "condition": None, **given})
    quotes.issue(made, maximum_minor=maximum_minor)
    quotes.authorise(made)
    return made


def item(order: RepairOrder, number: int = 0) -> WorkKey:
    """The agreed item of this place."""
    return WorkKey(Role.ITEM, quoted.agreed_lines(order)[number].line_root_id)


def started(order: RepairOrder, key: WorkKey, by: Actor, hours: float = 0.0, **given: Any) -> TimeEntry:
    made = timers.start(order, key, by=by, now=at(hours), **given)
    session().flush()
    return made


def worked(order: RepairOrder, key: WorkKey, by: Actor, first: float, last: float, **given: Any) -> TimeEntry:
    """A timer from one hour to another."""
    made = started(order, key, by, first, **given)
    timers.stop(by.person_id or 0, seen=made.id, by=by, now=at(last))
    session().flush()
    return made


def plan(**given: Any) -> Plan:
    return Plan(**{"kind": "boards", "hours": Hours(1, 2, 4), **given})
