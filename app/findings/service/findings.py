"""Recording a finding and saying it better."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

import sqlalchemy as sa

from app.db import session
from app.electrics import ElectricsError
from app.errors import BadInput, RuleBroken
from app.findings.models.findings import Finding
from app.findings.rules.alternatives import groups, spread
from app.findings.rules.life import LEAVES_IT, why_not_decided
from app.findings.rules.risk import MUST_ACT, Probability, Severity, risk_of
from app.findings.rules.signs import Sign, is_anode_to_heater, signs_in, stored, why_not_decided_with, why_not_judged
from app.findings.service.bake_holds import name_anew
from app.findings.spec import FindingFacts
from app.journal.events import Event
from app.journal.service import Actor, record, record_change
from app.kernel.spec import journal_facts, tidied
from app.orders import names
from app.orders.models import RepairOrder
from app.orders.service import must_be_open, must_be_open_still


def record_finding(order: RepairOrder, facts: FindingFacts, *, by: Actor, now: datetime) -> Finding:
    """A new finding with the order's next number."""
    must_be_open(order)
    facts = _normalise_and_check(facts)
    last = session().scalar(sa.select(sa.func.max(Finding.number)).where(Finding.order_id == order.id))
    finding = Finding(order_id=order.id, number=(last or 0) + 1, recorded_at=now, recorded_by=by.name, **vars(facts))
    session().add(finding)
    record(Event.FINDING_RECORDED, finding, by=by, now=now, after={"number": finding.number, **_journal_facts(finding)})
    names.renew(order, by=by, now=now)
    return finding


def change_finding(finding: Finding, facts: FindingFacts, *, by: Actor, now: datetime) -> None:
    """Say it better. The journal names what changed."""
    must_be_open_still(finding.order_id)
    if finding.status.is_ended:
        raise RuleBroken(f"{finding.title} is {finding.status.value}. Reopen it with a reason first.")
    facts = _normalise_and_check(facts)
    risk = risk_of(facts.severity, facts.probability)
    if finding.disposition in LEAVES_IT and risk in MUST_ACT:
        raise BadInput(why_not_decided(finding.disposition, risk), "disposition")
    if finding.disposition and (wrong := why_not_decided_with(signs_in(facts.signs), finding.disposition)):
        raise BadInput(wrong, "disposition")
    before = _journal_facts(finding)
    for name, value in vars(facts).items():
        setattr(finding, name, value)
    changed = record_change(Event.FINDING_CHANGED, finding, before, _journal_facts(finding), by=by, now=now)
    if "place" in changed:
        name_anew(finding.id, session().get_one(RepairOrder, finding.order_id), by=by, now=now)


def _normalise_and_check(facts: FindingFacts) -> FindingFacts:
    """Text folded; a severity that hurts somebody comes with its scenario and its probability."""
    facts = tidied(facts)
    if not facts.observation:
        raise BadInput("Enter what was seen or measured.", "observation")
    if groups(facts.observation):
        raise BadInput(f"Choose what you saw: {spread(facts.observation)}.", "observation")
    signs = signs_in(facts.signs) | _track_sign(facts.track)
    facts = replace(facts, signs=stored(signs))
    if wrong := why_not_judged(signs, facts.severity, facts.probability):
        raise BadInput(wrong, "severity")
    if not facts.severity:
        return replace(facts, probability=None)
    if not facts.probability:
        raise BadInput("Enter how likely that injury is.", "probability")
    if not facts.hazard:
        raise BadInput("Enter how someone could be hurt.", "hazard")
    return replace(facts, severity=Severity(facts.severity).value, probability=Probability(facts.probability).value)


def _track_sign(track: str) -> frozenset[Sign]:
    """'6L6GC 3-2' as the sign it is, if it joins anode and heater."""
    if not track:
        return frozenset()
    found = re.fullmatch(r"(.+?)[ :]+(?:pins? )?([0-9]+) *[-–/ ] *([0-9]+)", track)
    if found is None:
        raise BadInput("Enter the valve and two pins, such as 6L6GC 3-2.", "track")
    try:
        joins = is_anode_to_heater(found.group(1), int(found.group(2)), int(found.group(3)))
    except ElectricsError:
        raise BadInput(f"The pins of {found.group(1)} are not known here. Tick the sign instead, if it joins an anode "
                       "to a heater.", "track") from None
    return frozenset({Sign.BASE_TRACK}) if joins else frozenset()


def _journal_facts(finding: Finding) -> dict[str, object]:
    risk = finding.risk
    return {**journal_facts(finding, FindingFacts), "risk": risk.word if risk else "not judged yet"}
