"""Lines of the draft: added, changed by a later one, withdrawn with a reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from app.db import session
from app.errors import BadInput, ChangedMeanwhile, RuleBroken
from app.findings.models.findings import Finding
from app.findings.queries import find_finding
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.money import show
from app.kernel.spec import columns, journal_facts
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.quote.models import QuoteLine
from app.quote.queries import risk_letter
from app.quote.rules import lines as lines_rules
from app.quote.rules.lines import Draft, say_hours
from app.shop.prices import Rate, price_of_parts
from app.shop.queries import the_shop


def add(order: RepairOrder, draft: Draft, *, by: Actor, now: datetime) -> QuoteLine:
    """A new line at the shop's present rate."""
    must_be_open(order)
    finding = _checked(order, draft)
    last = session().scalar(sa.select(sa.func.max(QuoteLine.position)).where(QuoteLine.order_id == order.id))
    line = _line(order, draft, (last or 0) + 1, by=by, now=now)
    session().add(line)
    record(Event.QUOTE_LINE_ADDED, line, by=by, now=now, after=_facts(line, finding))
    return line


def change(order: RepairOrder, line: QuoteLine, draft: Draft, *, by: Actor, now: datetime) -> QuoteLine:
    """A line that takes the place of an earlier one, at the shop's present rate; the earlier one stays readable."""
    must_be_open(order)
    must_stand(line)
    finding = _checked(order, draft)
    before = _facts(line, find_finding(line.finding_id) if line.finding_id else None)
    made = _line(order, draft, line.position, by=by, now=now)
    made.first_id, made.takes_place_of_id = line.line_root_id, line.id
    session().add(made)
    session().flush()
    session().expire(line, ["later"])
    after = _facts(made, finding)
    changed = [name for name in after if after[name] != before[name]]
    record(Event.QUOTE_LINE_CHANGED, made, by=by, now=now, before={name: before[name] for name in changed},
           after={name: after[name] for name in changed})
    return made


def withdraw(line: QuoteLine, reason: str, *, order: RepairOrder, by: Actor, now: datetime) -> None:
    """Take a line off the quote, with a reason; it stays readable."""
    must_be_open(order)
    must_stand(line)
    if not reason.strip():
        raise BadInput("Enter why the line is withdrawn.", "reason")
    line.withdrawn_at, line.withdrawn_by, line.withdrawn_reason = now, by.name, reason.strip()
    record(Event.QUOTE_LINE_WITHDRAWN, line, by=by, now=now, before={"what": line.what, "price": _money(line.net_minor)},
           after={"withdrawn": True}, reason=line.withdrawn_reason)


def must_stand(line: QuoteLine) -> None:
    """Refuse to build on a line that was changed or withdrawn in the meantime."""
    if line.withdrawn_at is not None:
        raise RuleBroken(f"{line.withdrawn_by} withdrew this item: {line.withdrawn_reason}. Add a new one if it is wanted.")
    if line.later is not None:
        raise ChangedMeanwhile(f"{line.later.added_by} changed this line while your page was open. "
                               "Look at what is saved, then change that.")


def _checked(order: RepairOrder, draft: Draft) -> Finding | None:
    finding = find_finding(draft.finding_id) if draft.finding_id is not None else None
    if draft.finding_id is not None and (finding is None or finding.order_id != order.id):
        raise BadInput("Choose a finding of this repair.", "finding")
    lines_rules.check(draft, risk=risk_letter(finding))
    return finding


def _line(order: RepairOrder, draft: Draft, position: int, *, by: Actor, now: datetime) -> QuoteLine:
    shop, has_parts = the_shop(), bool(draft.parts.strip())
    if draft.parts_cost_minor is not None:
        draft = replace(draft, parts_minor=price_of_parts(draft.parts_cost_minor, shop.bands))
    rate = _rate(draft.rate_name)
    priced = lines_rules.price(draft, rate.minor, rate.least_minor)
    told = {**columns(draft), "parts_minor": priced.parts_minor, "condition": draft.condition if has_parts else None}
    return QuoteLine(
        order_id=order.id, position=position, finding_id=draft.finding_id, hours_low=draft.hours.low,
        hours_likely=draft.hours.likely, hours_high=draft.hours.high, rate_minor=priced.rate_minor,
        labour_minor=priced.labour_minor, added_at=now, added_by=by.name, **told)


def _rate(name: str) -> Rate:
    """The rate of this name on the price list; the usual one for none."""
    if not name:
        return Rate("", the_shop().hourly_rate_minor)
    found = next((one for one in the_shop().rates if one.name == name), None)
    if found is None:
        raise BadInput("That labour rate is not on the price list any more. Choose another.", "rate_name")
    return found


def _facts(line: QuoteLine, finding: Finding | None) -> dict[str, Any]:
    hours = say_hours(line.hours_likely)
    if line.hours.in_doubt:
        hours = f"{hours} ({say_hours(line.hours_low)} to {say_hours(line.hours_high)})"
    return {**journal_facts(line, Draft), "about": finding.title if finding else None, "hours": hours,
            "rate": _money(line.rate_minor), "price": _money(line.net_minor)}


def _money(minor: int) -> str:
    return show(minor, the_shop().currency)
