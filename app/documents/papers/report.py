"""The final report and bill, for the owner of the amp: what they told, what was found and done, how it was proved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from app.boards import queries as boards
from app.documents.facts import since
from app.documents.papers.bill import Bill, bill
from app.documents.papers.proof import PointRead, points_read
from app.documents.papers.shared import (
    FINDING_PIN,
    Goods,
    OldParts,
    Pair,
    Shown,
    Signed,
    Thing,
    goods,
    old_parts,
    pairs,
    shown_with,
    things,
)
from app.documents.papers.unrepaired import Warning, warning
from app.findings import queries as findings_queries
from app.findings.models.findings import Finding
from app.findings.rules.life import LEAVES_IT, Confidence, Disposition, Origin, Status
from app.handover import queries as handover
from app.intake.queries import sheets as intake
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import IN_ORDER, Stage
from app.parts import queries as parts
from app.photos import pins
from app.quote import queries as quotes
from app.quote.rules.words import PartCondition
from app.removals import queries as removals
from app.removals.rules import Outcome
from app.safety.record import SafetyRecord, safety_record
from app.shop.queries import the_shop

VERSION = 1


class Ended(StrEnum):
    """How a finding stands for its owner. Proved: its check was recorded; done: not checked yet."""

    PROVED = "proved"
    DONE = "done"
    WATCHED = "watched"
    LEFT = "left"
    DECLINED = "declined"
    OPEN = "open"

    @property
    def word(self) -> str:
        return {"proved": "Fixed and proved", "done": "Done, not checked yet", "watched": "To be watched",
                "left": "Left as it is", "declined": "Declined", "open": "Open"}[self.value]


@dataclass(frozen=True)
class Found:
    """A finding as its owner reads it."""

    number: int
    risk: str  # its letter; empty while it is not judged
    observation: str
    cause: str
    confidence: Confidence
    origin: Origin
    hazard: str
    ended: Ended
    decided: str
    done: str
    proof: str
    proof_instrument: str
    declined: str
    shown: tuple[Shown, ...]
    moments: tuple[datetime, ...]  # when it was recorded, decided, acted on, proved, declined: as far as it has come

    @property
    def pinned(self) -> bool:
        """Whether its number stands on one of its photos."""
        return any(each.own for one in self.shown for each in one.callouts)


@dataclass(frozen=True)
class Counts:
    """What is still as it was made and what was exchanged. Board figures count the parts on board sheets alone."""

    refitted: int
    proved: int
    fitted: int
    earlier_corrected: int
    board_parts: int
    board_original: int
    board_replaced: int
    board_altered: int
    board_undecided: int

    @property
    def lines(self) -> list[tuple[int, str]]:
        """Each figure with what it counts. Board figures are told at nought too, once there are any; others are left out."""
        boards = ((self.board_original, "of the {n} board parts we checked original", True),
                  (self.board_replaced, "of the {n} board parts we checked replaced", True),
                  (self.board_altered, "of the {n} board parts we checked altered by earlier hands", True),
                  (self.board_undecided, "of the {n} board parts we checked not decided yet", False))
        others = ((self.refitted, "part taken off and put back", "parts taken off and put back"),
                  (self.proved, "finding fixed and proved", "findings fixed and proved"),
                  (self.fitted, "part fitted", "parts fitted"),
                  (self.earlier_corrected, "earlier repair corrected", "earlier repairs corrected"))
        told = [(number, words.format(n=self.board_parts)) for number, words, always in boards
                if self.board_parts and (always or number)]
        return [*told, *((number, one if number == 1 else many) for number, one, many in others if number)]


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
    withdrawn_at: tuple[datetime, ...] = field(metadata=since(0, aside=True))  # findings not told any more
    version: int = VERSION

    @property
    def passed(self) -> bool:
        return self.safety is not None and self.safety.passed


def facts(order: RepairOrder, _about: int = 0) -> Report:
    """The report as things stand. It is the same before and after the order ends, so that ending it does not make it old."""
    every = findings_queries.findings_of(order)
    findings = findings_queries.gravest_first([one for one in every if one.status is not Status.WITHDRAWN])
    signed, barred = handover.signature(order.id), power.do_not_energise(order.id)
    out_on = signed.at.astimezone(the_shop().zone).date() if signed else None
    return Report(
        number=order.number, goods=goods(order.amp), owner=order.owner.name, opened_at=order.opened_at, stage=order.stage,
        left_on=_left_on(order), told=_told(order), findings=_found(order, findings), pairs=pairs(order),
        counts=_counts(order, findings), points=points_read(order), safety=safety_record(order), fitted=_fitted(order),
        bill=bill(order, out_on), declined=tuple(line.what for line in quotes.declined_lines(order)), things=things(order),
        old_parts=old_parts(order), demonstrated=_demonstrated(order),
        signed=Signed(signed.name, signed.who.value, signed.how.value, signed.signature, signed.at, signed.by_name)
        if signed else None,
        warning=warning(order), do_not_energise=barred.reason if barred else "",
        withdrawn_at=tuple(one.withdrawn_at for one in every if one.withdrawn_at))


def _left_on(order: RepairOrder) -> tuple[tuple[Stage, date], ...]:
    zone = the_shop().zone
    left = {move.from_stage: move.at.astimezone(zone).date() for move in order.moves
            if IN_ORDER.index(move.to_stage) > IN_ORDER.index(move.from_stage)}
    return tuple((stage, left[stage]) for stage in IN_ORDER if stage in left)


def _told(order: RepairOrder) -> Told | None:
    told = intake.complaint(order.id)
    return Told(told.words, told.keep, told.leave_alone, told.at) if told else None


def _found(order: RepairOrder, findings: Sequence[Finding]) -> tuple[Found, ...]:
    pinned, numbers = pins.by_record(order.id, FINDING_PIN), {one.id: one.number for one in findings}
    return tuple(Found(
        number=one.number, risk=one.risk.value if one.risk else "", observation=one.observation, cause=one.cause,
        confidence=one.confidence, origin=one.origin, hazard=one.hazard, ended=_ended(one), decided=one.disposition_words,
        done=one.acted_words, proof=one.proof_words, proof_instrument=one.proof_instrument, declined=one.decline_paper,
        shown=shown_with(one.id, pinned, numbers),
        moments=tuple(at for at in (one.recorded_at, one.decided_at, one.acted_at, one.proved_at, one.declined_at) if at))
        for one in findings)


def _ended(finding: Finding) -> Ended:
    if finding.status is Status.DECLINED:
        return Ended.DECLINED
    if finding.disposition in LEAVES_IT:
        return Ended.WATCHED if finding.disposition is Disposition.MONITOR else Ended.LEFT
    return {Status.PROVED: Ended.PROVED, Status.ACTED_ON: Ended.DONE}.get(finding.status, Ended.OPEN)


def _counts(order: RepairOrder, findings: Sequence[Finding]) -> Counts:
    sums = boards.totals_of(order)
    proved = [one for one in findings if _ended(one) is Ended.PROVED]
    return Counts(
        refitted=sum(one.ended_as is Outcome.REFITTED for one in removals.of_order(order)), proved=len(proved),
        fitted=sum(part.quantity for part in parts.fitted(order)),
        earlier_corrected=sum(one.origin is Origin.EARLIER_WORK for one in proved),
        board_parts=sum(len(board.positions) for board in boards.boards_of(order)), board_original=sums.kept,
        board_replaced=sums.replaced, board_altered=sums.altered, board_undecided=sums.undecided)


def _fitted(order: RepairOrder) -> tuple[Fitted, ...]:
    return tuple(Fitted(one.what, one.fitted_place or one.place, one.condition, one.quantity) for one in parts.fitted(order))


def _demonstrated(order: RepairOrder) -> Demonstrated | None:
    found = handover.demonstration(order.id)
    return Demonstrated(found.shown, found.said, found.at) if found else None

