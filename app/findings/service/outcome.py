"""From decision to proof: what becomes of a finding."""

from __future__ import annotations

from datetime import datetime

from app.errors import BadInput, RuleBroken
from app.findings import queries
from app.findings.models.findings import Finding
from app.findings.models.special import Round
from app.findings.rules.life import DecidedBy, Disposition, Status, why_not_acted_on, why_not_decided, why_not_proved
from app.findings.rules.signs import Sign, must_be_measured, why_not_decided_with
from app.journal.events import Event
from app.journal.service import Actor, record
from app.orders import chassis
from app.orders.service import must_be_open_still


def decide(finding: Finding, disposition: Disposition, *, words: str = "", authority: DecidedBy = DecidedBy.TECHNICIAN,
           by: Actor, now: datetime) -> None:
    """What becomes of it, and by whose authority."""
    must_be_open_still(finding.order_id)
    if finding.status.is_ended:
        raise RuleBroken(f"{finding.title} is {finding.status.value}. Reopen it with a reason first.")
    if finding.status is Status.ACTED_ON and disposition is not finding.disposition:
        raise RuleBroken(f"{finding.title} has its work recorded already. Reopen it with a reason first.")
    if wrong := why_not_decided(disposition, finding.risk):
        raise BadInput(wrong, "disposition")
    if wrong := why_not_decided_with(finding.sign_set, disposition):
        raise BadInput(wrong, "disposition")
    before, words = _decision(finding), " ".join(words.split())
    finding.disposition, finding.disposition_words, finding.authority = disposition, words, authority
    after = _decision(finding)
    if after == before and finding.decided_at is not None:
        return
    finding.decided_at, finding.decided_by = now, by.name
    record(Event.FINDING_DECIDED, finding, by=by, now=now, before=before, after=after)


def act_on(finding: Finding, *, words: str, by: Actor, now: datetime) -> None:
    """What was done about it."""
    must_be_open_still(finding.order_id)
    if wrong := why_not_acted_on(finding.status, finding.disposition):
        raise RuleBroken(wrong)
    words = _needed(words, "Enter what was done.", "words")
    before = {"done": finding.acted_words}
    finding.acted_at, finding.acted_by, finding.acted_words = now, by.name, words
    chassis.opened(finding.order_id, "work on a finding was done", by=by, now=now)
    record(Event.FINDING_ACTED_ON, finding, by=by, now=now, before=before, after={"done": words})


def prove(finding: Finding, *, result: str, instrument: str = "", by: Actor, now: datetime) -> None:
    """The check that shows it cured, with its result and the instrument."""
    must_be_open_still(finding.order_id)
    if wrong := why_not_proved(finding.status, finding.disposition):
        raise RuleBroken(wrong)
    result = _needed(result, "Enter what the check showed.", "result")
    if must_be_measured(finding.sign_set) and not instrument.strip():
        raise BadInput("This is proved by a measurement: enter with which instrument.", "instrument")
    if Sign.BOARD_LEAKS in finding.sign_set and not queries.leakage_rounds(finding) >= set(Round):
        raise BadInput("Measure the board's leakage before and after it was dried; both readings are its proof.", "result")
    finding.proved_at, finding.proved_by = now, by.name
    finding.proof_words, finding.proof_instrument = result, " ".join(instrument.split())
    record(Event.FINDING_PROVED, finding, by=by, now=now, after={
        "check": finding.check_words, "result": result, "instrument": finding.proof_instrument})


def decline(finding: Finding, *, paper: str, by: Actor, now: datetime) -> None:
    """The customer does not want it done; `paper` names the writing in which they said so."""
    must_be_open_still(finding.order_id)
    if finding.status.is_ended or finding.status is Status.ACTED_ON:
        raise RuleBroken(f"{finding.title} is {finding.status.value}.")
    paper = _needed(paper, "Name the paper in which it was declined.", "paper")
    before = _decision(finding)
    finding.advised, finding.disposition = finding.disposition, Disposition.DECLINED
    finding.authority, finding.decline_paper = DecidedBy.CUSTOMER, paper
    finding.declined_at, finding.declined_by = now, by.name
    finding.decided_at, finding.decided_by = finding.decided_at or now, finding.decided_by or by.name
    record(Event.FINDING_DECLINED, finding, by=by, now=now, before=before, after={**_decision(finding), "paper": paper})


def withdraw(finding: Finding, *, reason: str, by: Actor, now: datetime) -> None:
    """It was none, or it is told elsewhere."""
    must_be_open_still(finding.order_id)
    if finding.status.is_ended:
        raise RuleBroken(f"{finding.title} is {finding.status.value} already.")
    reason = _needed(reason, "Enter why it is withdrawn.", "reason")
    before = {"status": finding.status.value}
    finding.withdrawn_at, finding.withdrawn_by, finding.withdrawn_reason = now, by.name, reason
    record(Event.FINDING_WITHDRAWN, finding, by=by, now=now, before=before, after={"status": Status.WITHDRAWN.value},
           reason=reason)


def reopen(finding: Finding, *, reason: str, by: Actor, now: datetime) -> None:
    """Back to decided (or open): a test failed, the customer changed their mind, it was withdrawn by mistake."""
    must_be_open_still(finding.order_id)
    if finding.status in (Status.OPEN, Status.DECIDED):
        raise RuleBroken(f"{finding.title} is still {finding.status.value}.")
    reason = _needed(reason, "Enter why it is reopened.", "reason")
    before = {"status": finding.status.value, "done": finding.acted_words, "proof": finding.proof_words,
              "paper": finding.decline_paper}
    if finding.declined_at is not None:
        finding.disposition, finding.advised = finding.advised, None
        finding.decline_paper, finding.declined_at, finding.declined_by = "", None, None
        if finding.disposition is None:
            finding.decided_at = finding.decided_by = finding.authority = None
    finding.withdrawn_at, finding.withdrawn_by, finding.withdrawn_reason = None, None, ""
    finding.proved_at, finding.proved_by, finding.proof_words, finding.proof_instrument = None, None, "", ""
    finding.acted_at, finding.acted_by, finding.acted_words = None, None, ""
    record(Event.FINDING_REOPENED, finding, by=by, now=now, before=before, after={"status": finding.status.value},
           reason=reason)


def _needed(text: str, words: str, field: str) -> str:
    plain = " ".join(text.split())
    if not plain:
        raise BadInput(words, field)
    return plain


def _decision(finding: Finding) -> dict[str, str]:
    return {"decision": finding.disposition.word if finding.disposition else "", "how": finding.disposition_words,
            "by authority of": finding.authority.value if finding.authority else ""}
