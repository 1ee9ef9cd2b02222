"""From evidence to decision to proof: no finding ends otherwise."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.findings import queries
from app.findings.models.findings import Finding
from app.findings.rules.life import CHOICES, LEAVES_IT, Disposition, Status, why_not_decided
from app.findings.rules.risk import Risk
from app.findings.service import findings as findings_service
from app.findings.service import outcome as outcome_service
from app.orders import power
from app.orders.gates import missing_in
from app.orders.stages import Stage
from tests.discharge.make import discharged
from tests.factories import NOW
from tests.findings.make import facts, finding, order_at
from tests.people import BY


def test_a_finding_goes_from_open_to_proved(context: Flask) -> None:
    with transaction():
        order = order_at()
        found = finding(order)
        assert (found.number, found.status, found.risk) == (1, Status.OPEN, Risk.HIGH)
        assert queries.safety_findings_needing_action(order) == [found]
        outcome_service.decide(found, Disposition.REPLACE_LIKE, by=BY, now=NOW)
        assert found.status is Status.DECIDED and queries.safety_findings_needing_action(order) == [found]
        outcome_service.act_on(found, words="new can fitted, clamped", by=BY, now=NOW)
        assert not queries.safety_findings_needing_action(order) and queries.open_findings(order) == [found]
        outcome_service.prove(found, result="0.2 mA at 450 V", instrument="leakage set", by=BY, now=NOW)
        assert found.status is Status.PROVED and not queries.open_findings(order)


def test_a_proof_needs_something_done(context: Flask) -> None:
    with transaction():
        found = finding(order_at())
        with pytest.raises(RuleBroken, match="work done"):
            outcome_service.prove(found, result="fine", by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="Choose a disposition first"):
            outcome_service.act_on(found, words="done", by=BY, now=NOW)


def test_declined_in_writing_keeps_what_was_advised_and_can_be_reopened(context: Flask) -> None:
    with transaction():
        order = order_at()
        found = finding(order)
        outcome_service.decide(found, Disposition.REPLACE_LIKE, by=BY, now=NOW)
        with pytest.raises(BadInput, match="paper"):
            outcome_service.decline(found, paper=" ", by=BY, now=NOW)
        outcome_service.decline(found, paper="quote 1001-2, signed 2 Mar 2026", by=BY, now=NOW)
        assert queries.declined(order) == [found] and found.advised is Disposition.REPLACE_LIKE
        assert not queries.safety_findings_needing_action(order)
        outcome_service.reopen(found, reason="the owner rang: do it after all", by=BY, now=NOW)
        assert found.status is Status.DECIDED and found.disposition is Disposition.REPLACE_LIKE


def test_withdrawn_with_a_reason_only(context: Flask) -> None:
    with transaction():
        found = finding(order_at())
        with pytest.raises(BadInput):
            outcome_service.withdraw(found, reason="", by=BY, now=NOW)
        outcome_service.withdraw(found, reason="flux, not electrolyte", by=BY, now=NOW)
        assert found.status is Status.WITHDRAWN
        with pytest.raises(RuleBroken):
            findings_service.change_finding(found, facts(), by=BY, now=NOW)


@pytest.mark.parametrize("risk", [None, *Risk])
@pytest.mark.parametrize("disposition", list(Disposition))
def test_grave_risks_cannot_be_left_as_they_are(disposition: Disposition, risk: Risk | None) -> None:
    """Serious and high: mended, or declined in writing (our rule, shaped by the guidelines' ranking)."""
    refused = bool(why_not_decided(disposition, risk))
    left = disposition in LEAVES_IT and risk in (Risk.SERIOUS, Risk.HIGH)
    assert refused == (left or disposition is Disposition.DECLINED)
    assert disposition in CHOICES or disposition is Disposition.DECLINED


def test_risk_cannot_rise_under_a_decision_to_keep(context: Flask) -> None:
    with transaction():
        found = finding(order_at(), severity=0, probability=None)
        outcome_service.decide(found, Disposition.MONITOR, by=BY, now=NOW)
        with pytest.raises(BadInput, match="cannot be kept"):
            findings_service.change_finding(found, facts(severity=4, probability="c"), by=BY, now=NOW)


def test_what_is_kept_is_proved_without_an_act_and_quarantine_is_never_proved(context: Flask) -> None:
    with transaction():
        order = order_at()
        kept, held = finding(order, severity=0), finding(order, severity=4, probability="c")
        outcome_service.decide(kept, Disposition.ACCEPT, by=BY, now=NOW)
        outcome_service.prove(kept, result="103k, limit 110k", by=BY, now=NOW)
        outcome_service.decide(held, Disposition.QUARANTINE, by=BY, now=NOW)
        outcome_service.act_on(held, words="boxed and labelled", by=BY, now=NOW)
        with pytest.raises(RuleBroken, match="do not energise"):
            outcome_service.prove(held, result="gone", by=BY, now=NOW)
        assert queries.open_findings(order) == [held]


@pytest.mark.parametrize(("given", "field"), [
    ({"observation": "  "}, "observation"), ({"probability": None}, "probability"), ({"hazard": ""}, "hazard")])
def test_an_injury_has_its_scenario_and_its_chance(context: Flask, given: dict[str, object], field: str) -> None:
    with transaction(), pytest.raises(BadInput) as refused:
        finding(order_at(), **given)
    assert refused.value.field == field


@pytest.mark.parametrize("broken", [
    {"severity": 5}, {"severity": 3, "probability": None}, {"probability": "z"}, {"observation": ""},
    {"equipment_severity": 0}, {"function_severity": 4}, {"declined_at": NOW}, {"decided_at": NOW}, {"acted_at": NOW},
    {"proved_at": NOW, "proof_words": "x", "withdrawn_at": NOW, "withdrawn_reason": "y"}])
def test_the_database_refuses_what_must_never_be(context: Flask, broken: dict[str, object]) -> None:
    with transaction():
        made = finding(order_at()).id
    with pytest.raises(sa.exc.IntegrityError), transaction():
        session().execute(sa.update(Finding).where(Finding.id == made).values(**broken))


def test_teardown_is_left_only_safe_and_decided(context: Flask) -> None:
    with transaction():
        order = order_at()
        open_one = finding(order, severity=None, probability=None, hazard="")

        def lacks() -> list[str]:
            rooms = ("findings.", "discharge.")
            return [item.text for item in missing_in(order, Stage.TEARDOWN) if item.endpoint.startswith(rooms)]

        assert len(lacks()) == 3 and "measure every capacitor" in lacks()[0]
        discharged(order)
        findings_service.change_finding(open_one, facts(severity=0, probability=None), by=BY, now=NOW)
        assert lacks() == [f"Finding 1, “{open_one.observation}”: choose a disposition."]
        outcome_service.decide(open_one, Disposition.CLEAN, by=BY, now=NOW)
        assert lacks() == []
        power.power_up_by_word(order, "symptom listened to", reason="as found", by=BY, now=NOW)
        power.power_off(order, by=BY, now=NOW)
        assert lacks() == ["The amp was powered again: discharge and measure it once more."]
        order.stage = Stage.SAFETY_TEST
        assert lacks() == []
