"""Reading the strip-down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import sqlalchemy as sa
from sqlalchemy.orm import joinedload

from app.db import session
from app.findings.models.findings import Finding
from app.findings.models.special import BakeOut, FindingWire, LeakageReading, Round
from app.findings.models.waste import Waste
from app.findings.rules.life import Status
from app.findings.rules.risk import MUST_ACT, weight
from app.findings.rules.signs import RULES, Sign
from app.orders import names
from app.orders.models import RepairOrder
from app.request_cache import cached_until_write


def find_finding(finding_id: int) -> Finding | None:
    """The finding with this id."""
    return session().get(Finding, finding_id)


@cached_until_write
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


def wires_of(finding: Finding) -> Sequence[FindingWire]:
    """The wires listed for a finding."""
    return session().scalars(sa.select(FindingWire).where(FindingWire.finding_id == finding.id,
                                                          FindingWire.struck_at.is_(None)).order_by(FindingWire.id)).all()


def leakage_of(finding: Finding) -> Sequence[LeakageReading]:
    """Leakage readings that stand, oldest first."""
    return session().scalars(sa.select(LeakageReading).where(
        LeakageReading.finding_id == finding.id, LeakageReading.struck_at.is_(None)).order_by(LeakageReading.id)).all()


def leakage_rounds(finding: Finding) -> set[Round]:
    """In which rounds this finding's board was measured."""
    return {reading.round for reading in leakage_of(finding)}


def _rounds_by_finding(order: RepairOrder) -> dict[int, set[Round]]:
    """The same for every finding of an order whose board was measured, asked once."""
    found: dict[int, set[Round]] = {}
    for finding_id, round_ in session().execute(sa.select(LeakageReading.finding_id, LeakageReading.round).where(
            LeakageReading.order_id == order.id, LeakageReading.struck_at.is_(None)).distinct()):
        found.setdefault(finding_id, set()).add(round_)
    return found


@names.finds("finding")
def named(order: RepairOrder) -> list[names.Named]:
    """The findings of an order by their number: "finding 3"."""
    return [names.Named("finding", finding.id, frozenset({finding.title.lower()}), finding.title) for finding in findings_of(order)]


def _with_wires(order: RepairOrder) -> set[int]:
    """Ids of the findings of an order that list wires."""
    return set(session().scalars(sa.select(FindingWire.finding_id).where(FindingWire.order_id == order.id,
                                                                         FindingWire.struck_at.is_(None)).distinct()))


def bake_outs_of(finding: Finding) -> Sequence[BakeOut]:
    """A finding's bake-outs, oldest first."""
    return session().scalars(sa.select(BakeOut).where(BakeOut.finding_id == finding.id).order_by(BakeOut.id)).all()


@cached_until_write
def bake_outs(order: RepairOrder, *, running: bool = False) -> Sequence[BakeOut]:
    """All bake-outs of an order, or those that still run: unattended steps of the way back."""
    wanted = sa.select(BakeOut).options(joinedload(BakeOut.finding), joinedload(BakeOut.holds)).where(BakeOut.order_id == order.id)
    if running:
        wanted = wanted.where(BakeOut.ended_at.is_(None))
    return session().scalars(wanted.order_by(BakeOut.id)).unique().all()


def waste_of(order: RepairOrder) -> Sequence[Waste]:
    """The waste log of an order, struck entries left out."""
    return session().scalars(sa.select(Waste).where(Waste.order_id == order.id, Waste.struck_at.is_(None))
                             .order_by(Waste.id)).all()


@dataclass(frozen=True)
class Ask:
    """Something that a sign asks for and that is still to be done."""

    finding: Finding
    words: str


def asks_of(order: RepairOrder) -> list[Ask]:
    """What the signs in open findings ask for, until it is done."""
    findings = open_findings(order)
    leaking = any(Sign.BOARD_LEAKS in one.sign_set for one in findings_of(order) if one.withdrawn_at is None)
    measured, wired = _rounds_by_finding(order), _with_wires(order)
    found = []
    for finding in findings:
        done = {Sign.SPRAY: leaking, Sign.WEEPS: finding.id in wired,
                Sign.BOARD_LEAKS: measured.get(finding.id, set()) >= set(Round),
                Sign.NUT_EARTH: finding.status is Status.ACTED_ON}
        found += [Ask(finding, RULES[sign].asks) for sign in Sign
                  if sign in finding.sign_set and RULES[sign].asks and not done.get(sign, False)]
    return found
