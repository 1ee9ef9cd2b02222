"""What an earlier repair left behind, for the counter and for whoever judges a come-back: one page of it, asked once."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from app import clock
from app.findings.models.findings import Finding
from app.findings.queries import declined, findings_of, gravest_first
from app.intake.come_back_rules import Cover, cover
from app.intake.models import Complaint
from app.intake.queries import sheets
from app.intake.queries.search import orders_of_amp
from app.measuring.queries import Row, as_found_as_left
from app.orders.models import RepairOrder
from app.orders.stages import End
from app.quote import queries as quotes
from app.shop.queries import the_shop

MOST_FINDINGS = 6


@dataclass(frozen=True)
class LastVisit:
    """One ended repair: what came with it, what was to stay, what was found and declined, what is under warranty, as left."""

    order: RepairOrder
    accessories: tuple[tuple[str, int], ...]
    complaint: Complaint | None
    findings: tuple[Finding, ...]
    more_findings: int
    declined: tuple[Finding, ...]
    covers: tuple[Cover, ...]
    as_left: tuple[Row, ...]
    today: date

    @property
    def days(self) -> int | None:
        """Days since it left."""
        return (self.today - _day(self.order.ended_at)).days if self.order.ended_at else None


def last_visit(amp_id: int) -> LastVisit | None:
    """The newest repair of this amp that has ended and was not void; None if there is none."""
    return next((visit_of(order) for order in orders_of_amp(amp_id) if order.ended_as not in (None, End.VOID)), None)


def visit_of(order: RepairOrder) -> LastVisit:
    """What this repair left behind. Warranty counts from the day after it was given back, and only if it was repaired."""
    found = gravest_first([one for one in findings_of(order) if one.withdrawn_at is None])
    out_on = _day(order.ended_at) if order.ended_as is End.REPAIRED and order.ended_at else None
    covers = (cover(line.what, line.warranty_days, out_on) for line in quotes.agreed_lines(order))
    return LastVisit(
        order, tuple((one.what, one.quantity) for one in sheets.accessories(order.id)), sheets.complaint(order.id),
        tuple(found[:MOST_FINDINGS]), max(0, len(found) - MOST_FINDINGS), tuple(declined(order)),
        tuple(one for one in covers if one is not None), tuple(row for row in as_found_as_left(order) if row.as_left),
        _day(clock.now()))


def _day(moment: datetime) -> date:
    return moment.astimezone(the_shop().zone).date()
