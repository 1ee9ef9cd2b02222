"""Profiles, tests, soak runs and proofs through the services; and the gate over them.

The rows of R1.2 of the reference values: the same reading under three regimes, whose limits are those of the VDE 0701-0702
table in a tester's manual, of three public pages on the IET Code of Practice, and (from memory) of AS/NZS 3760:2010.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, GateClosed, RuleBroken
from app.findings.rules.life import Disposition
from app.findings.service import outcome as outcome_service
from app.journal.events import Event
from app.journal.models import JournalEntry
from app.journal.service import record
from app.measuring.models import Reading
from app.measuring.rules import Kind, Quantity, Statement, Verdict, judged
from app.measuring.service import readings as readings_service
from app.measuring.service.readings import Taken
from app.orders import chassis
from app.orders import service as orders
from app.orders.gates import missing_in
from app.orders.stages import Stage
from app.reassembly.queries.fitting import fitted
from app.records.rules import ProtectionClass
from app.safety import queries
from app.safety.models.profiles import Profile
from app.safety.models.testing import SafetyTest, TestStep
from app.safety.record import safety_record
from app.safety.regimes import SHIPPED
from app.safety.rules import Result, StepKind
from app.safety.service import profiles as profiles_service
from app.safety.service import proofs as proofs_service
from app.safety.service import testing as testing_service
from app.safety.service.profiles import LimitFacts
from app.safety.service.testing import Setup
from tests.factories import NOW
from tests.findings import make as findings_make
from tests.measuring import make as measuring
from tests.people import BY
from tests.safety import make

LATER = NOW + timedelta(hours=4)


@pytest.mark.parametrize(("key", "limit", "verdict"), [
    ("vde_0701_0702", 0.3, Verdict.PASS), ("iet", 0.1585, Verdict.FAIL), ("as_nzs_3760", 1.0, Verdict.PASS)])
def test_a_quarter_ohm_under_three_regimes(context: Flask, key: str, limit: float, verdict: Verdict) -> None:
    """0.25 Ω through 3 m of 1 mm², class I: passes VDE, fails IET (0.1 + 0.0585 Ω), passes AS/NZS (1 Ω)."""
    with transaction():
        make.profile(key)
        test = make.started(make.order())
        bond = make.step_of(test, StepKind.BOND)
        assert bond.upper == pytest.approx(limit, abs=0.0005)
        found = testing_service.measure(bond, typed="0.25", level=0.2, instrument=make.tester(), by=BY, now=NOW)
        assert found.verdict is verdict
        assert found.reading is not None and judged(found.reading.inputs).verdict is found.reading.verdict


@pytest.mark.parametrize(("metre", "limit"), [(3, 0.3), (5, 0.3), (10, 0.4), (12.5, 0.4), (13, 0.5)])
def test_the_bond_limit_goes_with_the_lead(context: Flask, metre: float, limit: float) -> None:
    """VDE 0701-0702: each started further 7.5 m; the rounding is from memory."""
    with transaction():
        make.profile()
        test = make.started(make.order(), metre=metre)
    assert make.step_of(test, StepKind.BOND).upper == pytest.approx(limit)


@pytest.mark.parametrize(("key", "verdict"), [
    ("vde_0701_0702", Verdict.FAIL), ("iet", Verdict.FAIL), ("as_nzs_3760", Verdict.PASS)])
def test_insulation_of_class_two(context: Flask, key: str, verdict: Verdict) -> None:
    """1.5 MΩ: fails VDE and IET (2 MΩ), passes AS/NZS 3760:2010 (1 MΩ, a training page)."""
    with transaction():
        make.profile(key)
        test = testing_service.start_test(make.order(ProtectionClass.II), Setup(conducts=False), by=BY, now=NOW)
        assert not [one for one in test.steps if one.kind in (StepKind.BOND, StepKind.LEAKAGE)]
        found = testing_service.measure(make.step_of(test, StepKind.INSULATION), typed="1M5", level=500.0,
                                        instrument=make.tester(), by=BY,
                                        now=NOW)
    assert found.verdict is verdict


def test_touch_current_of_a_two_wire_product(context: Flask) -> None:
    """0.6 mA on a two-wire 120 V product fails 0.5 (UL 1711 cl. 39.1 as quoted)."""
    with transaction():
        make.profile("ul")
        test = testing_service.start_test(make.order(ProtectionClass.II), Setup(conducts=False), by=BY, now=NOW)
        found = make.step_of(make.do(test, make.tester(), touch="0.6m"), StepKind.TOUCH)
    assert found.verdict is Verdict.FAIL


def test_shipped_profiles_with_a_limit_from_memory_are_unconfirmed(context: Flask) -> None:
    with transaction():
        profiles_service.ensure_profiles(now=NOW)
        profiles_service.ensure_profiles(now=NOW)
    found = {one.key: one.unconfirmed for one in queries.profiles()}
    assert set(found) == {one.key for one in SHIPPED} and all(found.values())  # replaced editions count like memory
    assert queries.profile_in_force() is None


def test_unconfirmed_limits_pass_nothing_until_the_owner_confirms(context: Flask) -> None:
    with transaction():
        profile, order, tester = make.profile("as_nzs_3760"), make.order(), make.tester()
        assert make.completed(order, tester).result is Result.INCOMPLETE
        assert not queries.last_test_passed(order)
        assert make.completed(make.order(), tester, bond="1.4").result is Result.FAIL  # a fail needs nobody's leave
        make.confirmed(profile)
        assert make.completed(order, tester).result is Result.PASS
        assert queries.last_test_passed(order)
    kept = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == "profile:confirmed")).one()
    assert '"edition":"2010"' in kept.after and "at most 5 mA" in kept.after


def test_the_database_refuses_a_pass_under_unconfirmed_limits(context: Flask) -> None:
    with transaction():
        make.profile("as_nzs_3760")
        make.completed(make.order(), make.tester())
    with pytest.raises(sa.exc.IntegrityError), transaction() as current:
        current.execute(sa.update(SafetyTest).values(result=Result.PASS))


def test_a_doubtful_reading_does_not_pass(context: Flask) -> None:
    """0.290 Ω under 0.3 Ω, tester ± (2 % + 2 × 0.01): U = 0.0298 Ω, so the limit lies within what it cannot tell."""
    with transaction():
        make.profile()
        order = make.order()
        test = make.completed(order, make.tester(), bond="0.290")
        assert make.step_of(test, StepKind.BOND).verdict is Verdict.UNDECIDED
        assert test.result is Result.INCOMPLETE and "inconclusive" in test.reasons
        assert not queries.last_test_passed(order)


def test_only_instruments_in_date_prove_safety(context: Flask) -> None:
    with transaction():
        make.profile()
        bond = make.step_of(make.started(make.order()), StepKind.BOND)
        overdue = make.tester("E2", calibrated_on=date(2024, 1, 1), due_on=date(2025, 1, 1))
        with pytest.raises(BadInput, match="overdue"):
            testing_service.measure(bond, typed="0.12", level=0.2, instrument=overdue, by=BY, now=NOW)
        bare = measuring.instrument("M9", stated=(Statement(Quantity.VOLT_DC, 600, 1, 0, 0),), kind=Kind.BOND_TESTER)
        with pytest.raises(BadInput, match="states no accuracy"):
            testing_service.measure(bond, typed="0.12", level=0.2, instrument=bare, by=BY, now=NOW)
        assert bond.verdict is None and not session().scalars(sa.select(Reading)).all()


def test_failed_then_passed_and_the_first_stays_readable(context: Flask) -> None:
    with transaction():
        make.profile()
        order, tester = make.order(), make.tester()
        first = make.completed(order, tester, bond="0.45")
        assert first.result is Result.FAIL and not queries.last_test_passed(order)
        with pytest.raises(RuleBroken, match="completed"):
            testing_service.measure(make.step_of(first, StepKind.BOND), typed="0.1", instrument=tester, by=BY, now=NOW)
        second = make.completed(order, tester, now=LATER)
        assert second.number == 2 and queries.last_test_passed(order)
        third = make.completed(order, tester, insulation="0.4M", now=LATER)
        assert third.result is Result.FAIL and not queries.last_test_passed(order)  # the last one decides
    assert [one.result for one in queries.tests_of(order)] == [Result.FAIL, Result.PASS, Result.FAIL]


def test_a_step_done_again_says_why(context: Flask) -> None:
    with transaction():
        make.profile()
        test, tester = make.started(make.order()), make.tester()
        bond, fuse = make.step_of(test, StepKind.BOND), make.step_of(test, StepKind.FUSE)
        testing_service.measure(bond, typed="0.45", level=0.2, instrument=tester, by=BY, now=NOW)
        with pytest.raises(BadInput, match="why it is done again"):
            testing_service.measure(bond, typed="0.12", level=0.2, instrument=tester, by=BY, now=NOW)
        testing_service.measure(bond, typed="0.12", level=0.2, instrument=tester, reason="clip on lacquer", by=BY, now=NOW)
        assert bond.verdict is Verdict.PASS and [one.verdict for one in bond.outcomes] == [Verdict.FAIL, Verdict.PASS]
        with pytest.raises(BadInput, match="fuse fitted"):
            testing_service.answer(fuse, seen=True, by=BY, now=NOW)
        with pytest.raises(BadInput, match="what is wrong"):
            testing_service.answer(make.step_of(test, StepKind.VISUAL), seen=False, by=BY, now=NOW)


@pytest.mark.parametrize(("kind", "typed", "words"), [
    (StepKind.BOND, "-0.05", "cannot be negative"), (StepKind.BOND, "0", "are the leads joined"),
    (StepKind.INSULATION, "-200M", "cannot be negative"), (StepKind.LEAKAGE, "-15m", "cannot be negative"),
    (StepKind.LEAKAGE, "0", "are the leads joined"), (StepKind.LEAKAGE, "<0", "Nothing is less than 0")])
def test_an_impossible_reading_is_no_reading(context: Flask, kind: StepKind, typed: str, words: str) -> None:
    """An earth of -0.05 ohm and a leakage of -15 mA once came to a pass."""
    with transaction():
        make.profile()
        test, tester = make.started(make.order()), make.tester()
        for step in test.steps:
            if step.kind is kind:
                break
            if step.kind.is_seen:
                testing_service.answer(step, seen=True, words="T2A 250 V", by=BY, now=NOW)
            else:
                testing_service.measure(step, typed=make.GOOD[step.kind], level=make.LEVEL.get(step.kind), instrument=tester,
                                        by=BY, now=NOW)
        with pytest.raises(BadInput, match=words):
            testing_service.measure(step, typed=typed, level=make.LEVEL.get(kind), instrument=tester, by=BY, now=NOW)
        assert step.verdict is None


def test_a_zero_that_was_looked_at_twice_is_a_reading(context: Flask) -> None:
    with transaction():
        make.profile()
        bond = make.step_of(make.started(make.order()), StepKind.BOND)
        found = testing_service.measure(bond, typed="0.00", zero_is_real=True, level=0.2, instrument=make.tester(), by=BY, now=NOW)
    assert found.verdict is Verdict.PASS and found.level == 0.2


@pytest.mark.parametrize(("kind", "meter"), [(kind, meter) for kind in (StepKind.BOND, StepKind.INSULATION, StepKind.TOUCH)
                                             for meter in (Kind.MULTIMETER, Kind.LOAD, Kind.OSCILLOSCOPE)])
def test_a_step_asks_for_its_kind_of_instrument(context: Flask, kind: StepKind, meter: Kind) -> None:
    """A multimeter once proved an earth and an insulation; a dummy load measures nothing."""
    with transaction():
        make.profile()
        test = make.started(make.order(), metre=3.0) if kind is StepKind.BOND else testing_service.start_test(
            make.order(ProtectionClass.II), Setup(conducts=False), by=BY, now=NOW)
        step = make.step_of(test, kind)
        if kind is StepKind.TOUCH:
            testing_service.measure(make.step_of(test, StepKind.INSULATION), typed=">200M", level=500.0, instrument=make.tester(),
                                    by=BY, now=NOW)
        stated = (Statement(Quantity.OHM, 500e6, 1, 0, 0), Statement(Quantity.AMP_AC, 1, 1, 0, 0))
        wrong = measuring.instrument("M9", stated=stated, kind=meter)
        with pytest.raises(BadInput, match="needs an? "):
            testing_service.measure(step, typed=make.GOOD[kind], level=make.LEVEL.get(kind), instrument=wrong, by=BY, now=NOW)


def test_the_insulation_is_tested_by_what_is_fitted(context: Flask) -> None:
    """250 V where a varistor lies between mains and metal, else 500 V: from memory, see `app.measuring.insulation`."""
    with transaction():
        make.profile()
        tester, order = make.tester(), make.order(ProtectionClass.II)
        with pytest.raises(BadInput, match="fitted between live or neutral and the chassis"):
            testing_service.start_test(order, Setup(), by=BY, now=NOW)
        test = testing_service.start_test(order, Setup(conducts=True), by=BY, now=NOW)
        step = make.step_of(test, StepKind.INSULATION)
        assert step.least_level == 250.0 and "conducts at more" in step.condition and test.conducts
        for level, words in ((500.0, "can conduct at 500 V: test at 250 V"), (100.0, "less than the 250 V")):
            with pytest.raises(BadInput, match=words):
                testing_service.measure(step, typed=">200M", level=level, words="as asked", instrument=tester, by=BY, now=NOW)
        assert testing_service.measure(step, typed=">200M", level=250.0, instrument=tester, by=BY, now=NOW).verdict is Verdict.PASS
        testing_service.void_test(test, reason="once more", by=BY, now=NOW)
        session().flush()
        again = testing_service.start_test(order, Setup(), by=BY, now=NOW)  # the answer is kept for the order
        assert again.conducts == test.conducts
        testing_service.void_test(again, reason="it was taken out", by=BY, now=NOW)
        session().flush()
        bare = testing_service.start_test(order, Setup(conducts=False), by=BY, now=NOW)
        assert (bare.conducts, make.step_of(bare, StepKind.INSULATION).least_level) == ("", 500.0)


def test_what_is_found_at_the_step_is_kept_as_what_is_fitted(context: Flask) -> None:
    with transaction():
        make.profile()
        order = make.order(ProtectionClass.II)
        test = testing_service.start_test(order, Setup(conducts=False), by=BY, now=NOW)
        testing_service.measure(make.step_of(test, StepKind.INSULATION), typed=">200M", level=250.0, words="varistor at the inlet",
                                instrument=make.tester(), by=BY, now=NOW)
        session().flush()
        assert (here := fitted(order)) is not None and here.what == "varistor at the inlet"


@pytest.mark.parametrize(("kind", "level", "words", "refused"), [
    (StepKind.BOND, None, "", "test current"), (StepKind.BOND, 0.05, "", "less than the 200 mA"), (StepKind.BOND, 10.0, "", ""),
    (StepKind.INSULATION, None, "", "test volts"), (StepKind.INSULATION, 50.0, "", "less than the 500 V"),
    (StepKind.INSULATION, 250.0, "", "what would conduct"), (StepKind.INSULATION, 250.0, "a varistor of 275 V at the inlet", ""),
    (StepKind.INSULATION, 500.0, "", "")])
def test_what_the_tester_worked_with_is_asked_and_kept(context: Flask, kind: StepKind, level: float | None, words: str,
                                                       refused: str) -> None:
    with transaction():
        make.profile()
        tester = make.tester()
        test = make.started(make.order()) if kind is StepKind.BOND else testing_service.start_test(
            make.order(ProtectionClass.II), Setup(conducts=False), by=BY, now=NOW)
        step = make.step_of(test, kind)
        if refused:
            with pytest.raises(BadInput, match=refused):
                testing_service.measure(step, typed=make.GOOD[kind], level=level, words=words, instrument=tester, by=BY, now=NOW)
        else:
            found = testing_service.measure(step, typed=make.GOOD[kind], level=level, words=words, instrument=tester, by=BY,
                                            now=NOW)
            assert found.level == level and found.verdict is Verdict.PASS


def test_mains_goes_on_only_after_earth_and_insulation_have_passed(context: Flask) -> None:
    """A failed earth of 0.5 ohm once led on to 500 V and to leakage at full mains."""
    with transaction():
        make.profile()
        test, tester = make.started(make.order()), make.tester()
        leakage, insulation, bond = (make.step_of(test, one) for one in (StepKind.LEAKAGE, StepKind.INSULATION, StepKind.BOND))
        works = make.step_of(test, StepKind.FUNCTIONAL)

        def refused(step: TestStep, words: str) -> None:
            with pytest.raises(RuleBroken, match=words):
                if step.kind.is_seen:
                    testing_service.answer(step, seen=True, by=BY, now=NOW)
                else:
                    testing_service.measure(step, typed=make.GOOD[step.kind], level=make.LEVEL.get(step.kind), instrument=tester,
                                            by=BY, now=NOW)

        refused(insulation, "Protective earth resistance has not passed yet")
        refused(leakage, "Protective earth resistance has not passed yet")
        testing_service.measure(bond, typed="0.5", level=0.2, instrument=tester, by=BY, now=NOW)
        for step in (insulation, leakage, works, make.step_of(test, StepKind.FUSE)):
            refused(step, "Complete this test as failed")
        testing_service.measure(bond, typed="0.12", level=0.2, reason="the clip sat on lacquer", instrument=tester, by=BY, now=NOW)
        refused(leakage, "Insulation resistance has not passed yet")
        refused(works, "Insulation resistance has not passed yet")
        for one in [step for step in test.steps if step.kind is StepKind.INSULATION]:
            testing_service.measure(one, typed=">200M", level=500.0, instrument=tester, by=BY, now=NOW)
        testing_service.measure(leakage, typed="0.2m", instrument=tester, by=BY, now=NOW)


def test_a_limit_that_the_lead_takes_out_of_what_was_seen_passes_nothing(context: Flask) -> None:
    """EN 50678 to 5 m was seen; the rule for longer leads is from memory, and the owner had confirmed the short one."""
    with transaction():
        profile = make.profile("en_50678")
        make.confirmed(profile)
        seen = [step.mark for step in profile.steps if step.kind is StepKind.BOND]
        assert not seen[0].needs_owner
        short = make.completed(make.order(), make.tester())
        long = testing_service.complete_test(make.do(make.started(make.order(), metre=10.0), make.tester("E2")), by=BY, now=NOW)
    assert short.result is Result.PASS
    assert long.unconfirmed and long.result is Result.INCOMPLETE and "had not confirmed" in long.reasons


def test_opening_the_chassis_voids_the_test(context: Flask) -> None:
    with transaction():
        make.profile()
        order, other, tester = make.order(), make.order(), make.tester()
        test = make.completed(order, tester)
        chassis.opened(other.id, "a part was fitted", by=BY, now=LATER)
        record(Event.REMOVAL_RECORDED, order, by=BY, now=LATER)  # words in the journal decide nothing
        assert queries.last_test_passed(order)
        chassis.opened(order.id, "a part was fitted", by=BY, now=NOW)  # a clock that went back changes nothing
        assert not queries.last_test_passed(order) and queries.why_void(test) == "After it began, a part was fitted."
        assert testing_service.void_if_reopened(order, by=BY, now=LATER) == [test] and test.voided_at == LATER
        assert testing_service.void_if_reopened(order, by=BY, now=LATER) == []


def test_moving_back_voids_test_and_soak_run(context: Flask) -> None:
    with transaction():
        make.profile()
        order, tester = make.order(), make.tester()
        make.soaked(order)
        make.completed(order, tester)
        order.stage = Stage.RETURN
        orders.move_back(order, Stage.SAFETY_TEST, reason="tag missing", by=BY, now=LATER)
        assert queries.last_test_passed(order) and not queries.why_no_soak(order)
        orders.move_back(order, Stage.REASSEMBLY, reason="hum", by=BY, now=LATER)
        assert not queries.last_test_passed(order) and "went back" in queries.why_no_soak(order)
        running = make.started(order, now=LATER)
        orders.move_back(order, Stage.TEARDOWN, reason="hum", by=BY, now=LATER)
        with pytest.raises(RuleBroken, match="void"):
            testing_service.complete_test(running, by=BY, now=LATER)


def test_a_test_needs_profile_class_and_lead(context: Flask) -> None:
    with transaction():
        order = make.order()
        with pytest.raises(RuleBroken, match="in force"):
            make.started(order)
        make.profile()
        with pytest.raises(BadInput, match="class I or class II"):
            make.started(make.order(ProtectionClass.UNKNOWN))
        with pytest.raises(BadInput, match="length and section"):
            testing_service.start_test(order, Setup(conducts=False), by=BY, now=NOW)
        with pytest.raises(BadInput, match="section"):
            make.started(order, mm2=2.5)  # the VDE rule ends at 1.5 mm²
        make.started(order)
        with pytest.raises(RuleBroken, match="running"):
            make.started(order)


def test_own_profiles_are_copies_to_be_confirmed(context: Flask) -> None:
    with transaction():
        shipped = make.profile()
        bond = next(one for one in shipped.steps if one.kind is StepKind.BOND)
        with pytest.raises(RuleBroken, match="Copy it"):
            profiles_service.change_limit(bond, LimitFacts(None, 0.2, "10 A", "insurer's letter"), by=BY, now=NOW)
        own = profiles_service.copy_profile(shipped, name="Lowgate house limits", by=BY, now=NOW)
        bond = next(one for one in own.steps if one.kind is StepKind.BOND)
        profiles_service.change_limit(bond, LimitFacts(None, 0.2, "10 A", "insurer's letter"), by=BY, now=NOW)
        assert own.unconfirmed
        profiles_service.put_in_force(own, by=BY, now=NOW)
        make.confirmed(own)
        assert not own.unconfirmed
        test = make.started(make.order(), metre=13)
        assert make.step_of(test, StepKind.BOND).upper == 0.2
        profiles_service.change_limit(bond, LimitFacts(None, 0.25, "10 A", "insurer's letter"), by=BY, now=NOW)
        assert own.unconfirmed and make.step_of(test, StepKind.BOND).upper == 0.2  # what is begun keeps its limits
    assert session().scalars(sa.select(Profile).where(Profile.in_force)).one() is own


def test_the_gate_opens_only_when_all_is_proved(context: Flask) -> None:
    with transaction():
        order = make.order()
        words = [one.text for one in missing_in(order, Stage.SAFETY_TEST)]
        assert [one.split(":")[0].split(".")[0] for one in words] == [
            "Add the points and read them as left", "Choose the safety profile in force",
            "The soak run comes after earth and insulation"]
        make.profile()
        finding = findings_make.finding(order)
        meter, point = measuring.instrument(), measuring.point(order)
        texts = [one.text for one in missing_in(order, Stage.SAFETY_TEST)]
        assert texts[0] == "Read HT1, reservoir as left." and texts[1].startswith("Finding 1, “")
        reading = readings_service.take(order, Taken.at(point, "470", meter), by=BY, now=NOW)
        assert "outside its band" in missing_in(order, Stage.SAFETY_TEST)[0].text
        reading = readings_service.correct(reading, Taken.at(point, "441", meter), reason="wrong tap", by=BY, now=NOW)
        outcome_service.decide(finding, Disposition.REPLACE_LIKE, by=BY, now=NOW)
        outcome_service.act_on(finding, words="new reservoir", by=BY, now=NOW)
        proofs_service.prove(finding, result="leakage 0.4 mA at 450 V", reading=reading, by=BY, now=NOW)
        make.soaked(order, symptom=True)
        assert any("symptom showed" in one.text for one in missing_in(order, Stage.SAFETY_TEST))
        make.soaked(order)
        make.completed(order, make.tester(), polarity="no")
        assert [one.text for one in missing_in(order, Stage.SAFETY_TEST)] == [
            "Safety test 1 failed. Repair it and test again."]
        test = make.started(order)
        assert "steps to go" in missing_in(order, Stage.SAFETY_TEST)[0].text
        testing_service.complete_test(make.do(test, session().get_one(type(meter), meter.id + 1)), tag="A-0042", by=BY, now=NOW)
        assert missing_in(order, Stage.SAFETY_TEST) == ()
    assert "HT1, reservoir: 441 V, pass" in finding.proof_words
    assert queries.proof_readings([finding.id])[finding.id].reading_id == reading.id


def test_an_amp_that_failed_cannot_move_on(context: Flask) -> None:
    with transaction():
        make.profile()
        order = make.order()
        make.completed(order, make.tester(), bond="0.9")
        with pytest.raises(GateClosed) as refused:
            orders.move_on(order, by=BY, now=NOW)
    assert "Safety test 1 failed. Repair it and test again." in [one.text for one in refused.value.missing]


def test_the_record_says_all_that_paper_needs(context: Flask) -> None:
    with transaction():
        make.profile()
        order = make.order()
        assert safety_record(order) is None
        make.soaked(order)
        make.completed(order, make.tester())
    found = safety_record(order)
    assert found is not None and found.passed and found.soak is not None and found.soak.minutes == 125
    bond = next(one for one in found.steps if one.kind == "protective earth")
    assert (bond.found, bond.limit, bond.calibration_due) == ("0.12 Ω", "at most 0.3 Ω", date(2026, 6, 1))
    assert "0701-0702" in bond.limit_source and "serial 7731" in bond.instrument and "200 mA" in bond.condition
    assert "safe" not in found.wording and "passed these tests on this date" in found.wording

