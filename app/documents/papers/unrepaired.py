"""The label and acknowledgement of an amp that leaves unrepaired."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from app.documents.papers.shared import Goods, OldParts, Signed, Thing, goods, old_parts, things
from app.findings import queries as findings_queries
from app.findings.rules.life import Status
from app.handover import queries as handover
from app.handover.models import UnrepairedAcknowledgement
from app.handover.rules import Measure, Reason
from app.intake.queries import sheets as intake
from app.kernel.facts import ASIDE, since
from app.orders.models import RepairOrder

VERSION = 2


@dataclass(frozen=True)
class Warning:
    """What stands on the label: what is wrong, what keeps the amp off, or how alone it may be switched on."""

    reason: Reason
    danger: str
    measures: tuple[str, ...]
    works: str
    tag: str
    at: datetime


@dataclass(frozen=True)
class Hazard:
    """A finding that is not proved cured; its risk by letter, empty while it is not judged."""

    number: int
    risk: str
    observation: str
    hazard: str
    recorded_at: datetime


@dataclass(frozen=True)
class Unrepaired:
    """The label, what is still wrong, and what is acknowledged.

    `text` is the very text that was signed, or that would be; the signature is given for it, so neither makes the label old.
    """

    number: int
    goods: Goods
    opened_at: datetime
    warning: Warning
    advice: str
    told: str
    findings: tuple[Hazard, ...]
    things: tuple[Thing, ...]
    old_parts: OldParts | None
    text: str = field(metadata=ASIDE)
    signed: Signed | None = field(metadata=since(1, aside=True))
    version: int = VERSION


def warning(order: RepairOrder) -> Warning | None:
    """What was written for the label; None while nobody has written why it leaves unrepaired."""
    written = handover.unrepaired(order.id)
    if written is None:
        return None
    measures = tuple(one for one in written.measures if one != Measure.LABEL)
    return Warning(written.reason, written.danger, measures, written.works, written.tag, written.at)


def facts(order: RepairOrder, _about: int = 0) -> Unrepaired | None:
    """The label as things stand; None before somebody has written why the amp leaves unrepaired."""
    written, label = handover.unrepaired(order.id), warning(order)
    if written is None or label is None:
        return None
    signed, told = handover.acknowledgement(order.id), intake.complaint(order.id)
    open_ = [one for one in findings_queries.gravest_first(findings_queries.findings_of(order))
             if one.status not in (Status.WITHDRAWN, Status.PROVED)]
    return Unrepaired(
        number=order.number, goods=goods(order.amp), opened_at=order.opened_at, warning=label, advice=written.advice,
        told=told.words if told else "",
        findings=tuple(Hazard(one.number, one.risk.value if one.risk else "", one.observation, one.hazard, one.recorded_at)
                       for one in open_),
        things=things(order), old_parts=old_parts(order),
        text=signed.text if signed else handover.text_to_acknowledge(order), signed=_signed(signed) if signed else None)


def _signed(one: UnrepairedAcknowledgement) -> Signed:
    return Signed(one.name, "", one.how.value, one.signature, one.at, one.by_name, one.witness)
