"""Profiles, testers and tests, made as the shop makes them. Call inside `with transaction():`."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from app.db import session
from app.findings.rules.life import Disposition
from app.measuring import queries as measuring_queries
from app.measuring.models import Instrument
from app.measuring.rules import Kind, Quantity, Statement, Verdict
from app.orders import power
from app.orders.models import RepairOrder
from app.orders.stages import Stage
from app.records.rules import ProtectionClass
from app.safety import queries
from app.safety.models.profiles import Profile
from app.safety.models.testing import SafetyTest, TestStep
from app.safety.rules import StepKind
from app.safety.service import profiles as profiles_service
from app.safety.service import soaking as soaking_service
from app.safety.service import testing as testing_service
from app.safety.service.testing import Setup
from tests import factories
from tests.factories import NOW
from tests.measuring import make as measuring
from tests.people import BY

LEVEL = {StepKind.BOND: 0.2, StepKind.INSULATION: 500.0}  # what the tester is set to, A and V
GOOD = {StepKind.BOND: "0.12", StepKind.INSULATION: ">200M", StepKind.LEAKAGE: "0.21m", StepKind.TOUCH: "0.08m"}


def profile(key: str = "vde_0701_0702", *, in_force: bool = True) -> Profile:
    """A shipped profile, in force."""
    profiles_service.ensure_profiles(now=NOW)
    found = next(one for one in queries.profiles() if one.key == key)
    if found.replaced and found.confirmed_at is None:
        profiles_service.confirm_profile(found, edition=found.edition, edition_date=date(2010, 1, 1),
                                         reason="what these tests were written for", by=BY, now=NOW)
    if in_force and not found.in_force:
        profiles_service.put_in_force(found, by=BY, now=NOW)
    return found


def tester(name: str = "E1", **given: Any) -> Instrument:
    """A combined appliance tester: 2 % + 2 counts on each function."""
    stated = (Statement(Quantity.OHM, 2, 2, 2, 0.01), Statement(Quantity.OHM, 500e6, 5, 2, 1e4),
              Statement(Quantity.AMP_AC, 0.02, 2, 2, 1e-5))
    return measuring.instrument(name, stated=stated, kind=Kind.SAFETY_TESTER, serial="7731", **given)


def order(protection: ProtectionClass = ProtectionClass.I, stage: Stage = Stage.SAFETY_TEST) -> RepairOrder:
    """An order that stands at the safety test."""
    made = factories.order(amp=factories.amp(protection_class=protection))
    made.stage = stage
    session().flush()
    return made


def started(order: RepairOrder, *, metre: float = 3.0, mm2: float = 1.0, now: datetime = NOW) -> SafetyTest:
    """A test begun under the profile in force, with a lead of 3 m of 1 mm²."""
    return testing_service.start_test(order, Setup(metre, mm2, "lead L-12", conducts=False), by=BY, now=now)


def step_of(test: SafetyTest, kind: StepKind) -> TestStep:
    return next(step for step in test.steps if step.kind is kind)


def do(test: SafetyTest, instrument: Instrument, *, now: datetime = NOW, **typed: str) -> SafetyTest:
    """Do every step up to one that is no pass; `typed` by kind (bond="0.25") overrides the good reading, "no" an answer."""
    given = {StepKind[name.upper()]: value for name, value in typed.items()}
    for step in test.steps:
        if step.verdict is not None:
            continue
        if step.kind.is_seen:
            testing_service.answer(step, seen=given.get(step.kind) != "no", words="T2A 250 V", by=BY, now=now)
        else:
            testing_service.measure(step, typed=given.get(step.kind, GOOD[step.kind]), instrument=instrument,
                                    level=LEVEL.get(step.kind), by=BY, now=now)
        if step.verdict is not Verdict.PASS:
            break  # nothing further is done once one has failed, nor mains put on what is in doubt
    return test


def completed(order: RepairOrder, instrument: Instrument, *, now: datetime = NOW, **typed: str) -> SafetyTest:
    """A whole test."""
    begun = queries.running_test(order) or started(order, now=now)
    done = testing_service.complete_test(do(begun, instrument, now=now, **typed), by=BY, now=now)
    off(order, now=now)
    return done


def off(order: RepairOrder, *, now: datetime = NOW) -> None:
    """Switched off and unplugged, if it was on."""
    if power.powered(order.id) is not None:
        power.power_off(order, by=BY, now=now)


def earthed(order: RepairOrder, *, now: datetime = NOW) -> SafetyTest:
    """A test that is begun, its earth and insulation passed: what a soak run asks for."""
    if queries.profile_in_force() is None:
        profile()
    begun = queries.running_test(order) or started(order, now=now)
    instrument = next((one for one in measuring_queries.instruments() if one.kind is Kind.SAFETY_TESTER), None) or tester("E0")
    for step in begun.steps:
        if step.kind in (StepKind.BOND, StepKind.INSULATION) and step.verdict is None:
            testing_service.measure(step, typed=GOOD[step.kind], instrument=instrument, level=LEVEL[step.kind], by=BY, now=now)
    return begun


def soaked(order: RepairOrder, *, minutes: int = 125, symptom: bool = False, now: datetime = NOW) -> None:
    """A soak run, long enough unless told otherwise, after earth and insulation."""
    if queries.why_not_proven(order):
        earthed(order, now=now)
    run = soaking_service.start_soak(order, load="8 Ω, pink noise at a third", attended=True, mains_v=241, by=BY, now=now)
    soaking_service.end_soak(run, symptom_shown=symptom, observations="quiet, warm, no smell", by=BY,
                     now=now + timedelta(minutes=minutes))
    off(order, now=now + timedelta(minutes=minutes))


def confirmed(found: Profile) -> Profile:
    profiles_service.confirm_profile(found, edition="2010", edition_date=date(2010, 5, 1), reason="the insurer asks for it",
                                     by=BY, now=NOW)
    return found


__all__ = ["BY", "Disposition", "NOW", "StepKind", "completed", "confirmed", "date", "do", "order", "profile", "queries",
           "soaked", "started", "step_of", "tester"]
