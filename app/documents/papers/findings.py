"""What was found in an amp and how it ended, and figures of what is original and what was exchanged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from app.boards import queries as boards
from app.documents.papers.shared import FINDING_PIN, Shown, shown_with
from app.findings.models.findings import Finding
from app.findings.rules.life import LEAVES_IT, Confidence, Disposition, Origin, Status
from app.kernel.local_forms import plural
from app.orders.models import RepairOrder
from app.parts import queries as parts
from app.photos import pins
from app.removals import queries as removals
from app.removals.rules import Outcome


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
        others = ((self.refitted, "piece", "taken off and put back"), (self.proved, "finding", "fixed and proved"),
                  (self.fitted, "part", "fitted"), (self.earlier_corrected, "earlier repair", "corrected"))
        told = [(number, words.format(n=self.board_parts)) for number, words, always in boards
                if self.board_parts and (always or number)]
        return [*told, *((number, f"{plural(number, thing)} {done}") for number, thing, done in others if number)]


def told_of(order: RepairOrder, findings: Sequence[Finding]) -> tuple[Found, ...]:
    """These findings as their owner reads them, in this order."""
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


def counts_of(order: RepairOrder, findings: Sequence[Finding]) -> Counts:
    """The figures of an order, with these findings."""
    sums = boards.totals_of(order)
    proved = [one for one in findings if _ended(one) is Ended.PROVED]
    return Counts(
        refitted=sum(one.ended_as is Outcome.REFITTED for one in removals.of_order(order)), proved=len(proved),
        fitted=sum(part.quantity for part in parts.fitted(order)),
        earlier_corrected=sum(one.origin is Origin.EARLIER_WORK for one in proved),
        board_parts=sum(len(board.positions) for board in boards.boards_of(order)), board_original=sums.kept,
        board_replaced=sums.replaced, board_altered=sums.altered, board_undecided=sums.undecided)
