"""Work for safety that the customer declines: what that means, in writing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from app.db import session
from app.errors import BadInput, RuleBroken
from app.findings.queries import find_finding
from app.findings.rules.life import Status
from app.findings.service import outcome as outcome_service
from app.intake.rules import is_signature
from app.journal.events import Event
from app.journal.service import Actor, record
from app.kernel.names import why_no_witness, why_not_typed
from app.orders.models import RepairOrder
from app.orders.service import must_be_open
from app.quote import queries
from app.quote.models import DeclinedWork, IssuedLine
from app.quote.rules.words import HowAcknowledged


@dataclass(frozen=True)
class Acknowledgement:
    """The hazard in a plain sentence, the advice given, what was done to make the amp safe, and whose name stands under it."""

    hazard: str
    advice: str
    made_safe: str
    how: HowAcknowledged
    signer_name: str
    signature: str = ""
    witness: str = ""
    tag: str = ""
    typed: str = ""  # their name as they typed it themselves


def acknowledge(order: RepairOrder, line: IssuedLine, paper: Acknowledgement, *, by: Actor, now: datetime) -> DeclinedWork:
    """Keep the acknowledgement. The finding that the line would cure then counts as declined, unless work on it was agreed."""
    must_be_open(order)
    if line.line_id not in {one.line_id for one in queries.to_acknowledge(order)}:
        raise RuleBroken("This line waits for no acknowledgement.")
    _check(paper, by)
    declined_work = DeclinedWork(
        order_id=order.id, line_id=line.line_id, issued_line_id=line.id, finding_id=line.finding_id, risk=line.risk,
        hazard=paper.hazard.strip(), advice=paper.advice.strip(), made_safe=paper.made_safe.strip(), tag=paper.tag.strip(),
        how=paper.how, signer_name=paper.signer_name.strip(),
        signature=paper.signature if paper.how is HowAcknowledged.SCREEN else "",
        witness=paper.witness.strip() if paper.how is HowAcknowledged.REFUSED else "", at=now, by_name=by.name)
    session().add(declined_work)
    record(Event.DECLINE_ACKNOWLEDGED, declined_work, by=by, now=now,
           after={"declined": line.what, "hazard": declined_work.hazard, "disabled by": declined_work.made_safe,
                  "how": declined_work.how.value, "name": declined_work.signer_name, "witness": declined_work.witness or None,
                  "tag": declined_work.tag or None})
    if line.finding_id not in {agreed.finding_id for agreed in queries.agreed_lines(order)}:
        _decline_finding(line, declined_work, by=by, now=now)
    return declined_work


def _check(paper: Acknowledgement, by: Actor) -> None:
    for text, words, field in (
            (paper.hazard, "Enter in one plain sentence how someone could be hurt.", "hazard"),
            (paper.advice, "Enter what was advised.", "advice"),
            (paper.made_safe, "Enter what was done to make the amp safe: lead removed, plug cut, tag put on.", "made_safe"),
            (paper.signer_name, "Enter the name of the person who declined.", "signer_name")):
        if not text.strip():
            raise BadInput(words, field)
    if paper.how is HowAcknowledged.SCREEN and not is_signature(paper.signature):
        raise BadInput("Have them sign on the screen, or choose how else it was acknowledged.", "signature")
    if paper.how is HowAcknowledged.TYPED and (why := why_not_typed(paper.typed, paper.signer_name)):
        raise BadInput(why, "typed")
    if paper.how is HowAcknowledged.REFUSED and (why := why_no_witness(paper.witness, refuser=paper.signer_name, writer=by.name)):
        raise BadInput(why, "witness")


def _decline_finding(line: IssuedLine, made: DeclinedWork, *, by: Actor, now: datetime) -> None:
    finding = find_finding(line.finding_id) if line.finding_id else None
    if finding is None or finding.status.is_ended or finding.status is Status.ACTED_ON:
        return
    outcome_service.decline(finding, paper=f"Declined work {made.id}, {made.how.value}, {made.signer_name}", by=by, now=now)
