"""Reading the strip-down."""

from __future__ import annotations

from collections.abc import Sequence

import sqlalchemy as sa

from app.db import session
from app.orders.models import RepairOrder
from app.teardown.models import Finding, MadeSafe
from app.teardown.rules.life import Status
from app.teardown.rules.risk import MUST_ACT, weight


def made_safe(order: RepairOrder) -> MadeSafe | None:
    """The record that stands: measured, and not powered since."""
    return session().scalar(sa.select(MadeSafe).where(MadeSafe.order_id == order.id, MadeSafe.expired_at.is_(None))
                            .order_by(MadeSafe.id.desc()).limit(1))


def times_made_safe(order: RepairOrder) -> Sequence[MadeSafe]:
    """Every such record, newest first."""
    return session().scalars(sa.select(MadeSafe).where(MadeSafe.order_id == order.id)
                             .order_by(MadeSafe.id.desc())).all()


def find_finding(finding_id: int) -> Finding | None:
    """The finding with this id."""
    return session().get(Finding, finding_id)


def findings_of(order: RepairOrder) -> Sequence[Finding]:
    """All findings of an order by number, withdrawn ones too."""
    return session().scalars(sa.select(Finding).where(Finding.order_id == order.id).order_by(Finding.number)).all()


def open_findings(order: RepairOrder) -> list[Finding]:
    """Those that have not ended: neither proved nor declined in writing nor withdrawn."""
    return [finding for finding in findings_of(order) if not finding.status.is_ended]


def safety_findings_needing_action(order: RepairOrder) -> list[Finding]:
    """Serious and high risks about which nothing has been done, and findings whose risk is not judged yet."""
    return [finding for finding in open_findings(order)
            if finding.status is not Status.ACTED_ON and (finding.risk is None or finding.risk in MUST_ACT)]


def declined(order: RepairOrder) -> list[Finding]:
    """What the customer declined in writing."""
    return [finding for finding in findings_of(order) if finding.status is Status.DECLINED]


def gravest_first(findings: Sequence[Finding]) -> list[Finding]:
    """By risk, then equipment, then function; what is not judged yet on top."""
    return sorted(findings, key=lambda one: (*weight(one.severity, one.probability, one.equipment_severity,
                                                     one.function_severity), one.number))
