"""The final report and bill, for the owner of the amp: what they told, what was found and done, how it was proved."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from app.documents.papers.charges import Bill, bill
from app.documents.papers.findings import Counts, Ended, Found, counts_of, told_of
from app.documents.papers.heard import HeardKind, heard
from app.documents.papers.proof import PointRead, points_read
from app.documents.papers.shared import (
    Goods,
    OldParts,
    Pair,
    Signed,
    Thing,
    goods,
    old_parts,
    pairs,
    things,
)
from app.documents.papers.unrepaired import Warning, warning
from app.findings import queries as findings_queries
from app.findings.rules.life import Status
from app.handover import queries as handover
from app.hours.queries.outlook import worked
from app.hours.rules.outlook import Bar
from app.intake.queries import sheets as intake
from app.intake.terms import Paragraph, for_jurisdiction
from app.kernel.facts import since
from app.kernel.local_forms import counted, plural
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.parts import queries as parts
from app.quote import queries as quotes
from app.quote.rules.words import PartCondition
from app.safety.record import SafetyRecord, safety_record
from app.shop.queries import the_shop

VERSION = 5  # 4: a second tax, and how prices hold tax; 5: what recordings showed


class Use(StrEnum):
    """What the owner is told about using the amp: never how to run one that did not pass, or that leaves unrepaired."""

    RUN = "run"
    LABEL = "as on the label"
    BARRED = "barred"
    UNTESTED = "untested"


@dataclass(frozen=True)
class Fitted:
    """A part that is in the amp now."""

    what: str
    place: str
    condition: PartCondition | None
    quantity: int


@dataclass(frozen=True)
class Told:
    """What the customer said, and what must stay as it is."""

    words: str
    keep: str
    leave_alone: str
    at: datetime


@dataclass(frozen=True)
class Demonstrated:
    """Whether it was shown working, and what was said about its use."""

    shown: bool
    said: str
    at: datetime


@dataclass(frozen=True)
class Report:
    """Everything on the report. `left_on` holds each stage that was left with its day, in the shop's zone."""

    number: int
    goods: Goods
    owner: str
    opened_at: datetime
    stage: Stage
    left_on: tuple[tuple[Stage, date], ...]
    told: Told | None
    findings: tuple[Found, ...]
    pairs: tuple[Pair, ...]
    counts: Counts
    points: tuple[PointRead, ...]
    safety: SafetyRecord | None
    fitted: tuple[Fitted, ...]
    bill: Bill
    declined: tuple[str, ...]
    things: tuple[Thing, ...]
    old_parts: OldParts | None
    demonstrated: Demonstrated | None
    signed: Signed | None
    warning: Warning | None = field(metadata=since(1))
    do_not_energise: str = field(metadata=since(1))
    acknowledged: bool = field(metadata=since(1))  # the warning of an amp that leaves unrepaired
    withdrawn_at: tuple[datetime, ...] = field(metadata=since(0, aside=True))  # findings not told any more
    statements: tuple[Paragraph, ...] = field(metadata=since(2))  # what the law of the place wants on the invoice
    hours: Bar | None = field(metadata=since(3))  # worked on what was agreed, and how many hours the agreed sum holds
    sound: tuple[HeardKind, ...] = field(metadata=since(5))  # what recordings showed as found and as left
    version: int = VERSION

    @property
    def passed(self) -> bool:
        return self.safety is not None and self.safety.passed

    @property
    def draft(self) -> str:
        """What every sheet is marked with until the amp was tested and is out: 'Draft: not tested, not out'."""
        lacks = [*(["not repaired"] if self.warning else []), *([] if self.passed else ["not tested"]),
                 *([] if self.signed or self.acknowledged else ["not out"])]
        told = ", ".join(lacks)
        return told.capitalize() if self.warning and self.acknowledged else f"Draft: {told}" if told else ""

    @property
    def use(self) -> Use:
        if self.warning is not None:
            return Use.LABEL
        if self.do_not_energise:
            return Use.BARRED
        return Use.RUN if self.passed else Use.UNTESTED

    @property
    def found_words(self) -> str:
        """How many things were found, and how each stands."""
        if not self.findings:
            return "Nothing out of order was recorded."
        of = {end: len(self.ended_as(end.value)) for end in Ended}
        told = [f"We found {counted(len(self.findings), 'thing')}"
                + (f" and recorded a passed check for {of[Ended.PROVED]}" if of[Ended.PROVED] else "")]
        done, left, open_ = of[Ended.DONE], of[Ended.LEFT] + of[Ended.WATCHED], of[Ended.OPEN]
        told += [f"{done} {plural(done, 'is', 'are')} done and not checked yet"] if done else []
        told += [f"{left} {plural(left, 'is', 'are')} left as it is or watched"] if left else []
        told += [f"{of[Ended.DECLINED]} you declined in writing"] if of[Ended.DECLINED] else []
        told += [f"{open_} {plural(open_, 'is', 'are')} open"] if open_ else []
        return "; ".join(told) + "."

    def ended_as(self, end: str) -> list[Found]:
        """The findings that ended so, gravest first."""
        return [one for one in self.findings if one.ended.value == end]


def facts(order: RepairOrder, _about: int = 0) -> Report:
    """The report as things stand. It is the same before and after the order ends, so that ending it does not make it old."""
    every = findings_queries.findings_of(order)
    findings = findings_queries.gravest_first([one for one in every if one.status is not Status.WITHDRAWN])
    signed, barred = handover.signed_as_it_is(order), power.do_not_energise(order.id)
    out_on = signed.at.astimezone(the_shop().zone).date() if signed else None
    return Report(
        number=order.number, goods=goods(order.amp), owner=order.owner.name, opened_at=order.opened_at, stage=order.stage,
        left_on=_left_on(order), told=_told(order), findings=told_of(order, findings), pairs=pairs(order),
        counts=counts_of(order, findings), points=points_read(order), safety=safety_record(order), fitted=_fitted(order),
        bill=bill(order, out_on), declined=tuple(line.what for line in quotes.declined_lines(order)), things=things(order),
        old_parts=old_parts(order), demonstrated=_demonstrated(order),
        signed=Signed(signed.name, signed.who.value, signed.how.value, signed.signature, signed.at, signed.by_name)
        if signed else None,
        warning=warning(order), do_not_energise=barred.reason if barred else "",
        acknowledged=handover.unrepaired_facts(order).stands,
        withdrawn_at=tuple(one.withdrawn_at for one in every if one.withdrawn_at),
        statements=for_jurisdiction(the_shop().jurisdiction).invoice, hours=worked(order), sound=heard(order))


def _left_on(order: RepairOrder) -> tuple[tuple[Stage, date], ...]:
    zone = the_shop().zone
    left = {move.from_stage: move.at.astimezone(zone).date() for move in order.moves
            if IN_ORDER.index(move.to_stage) > IN_ORDER.index(move.from_stage)}
    return tuple((stage, left[stage]) for stage in IN_ORDER if stage in left)


def _told(order: RepairOrder) -> Told | None:
    told = intake.complaint(order.id)
    return Told(told.words, told.keep, told.leave_alone, told.at) if told else None


def _fitted(order: RepairOrder) -> tuple[Fitted, ...]:
    return tuple(Fitted(one.what, one.fitted_place or one.place, one.condition, one.quantity) for one in parts.fitted(order))


def _demonstrated(order: RepairOrder) -> Demonstrated | None:
    found = handover.shown_as_it_is(order)
    return Demonstrated(found.shown, found.said, found.at) if found else None

