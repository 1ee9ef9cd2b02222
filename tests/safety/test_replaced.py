"""Editions that were replaced, what a class I amp is asked, mains pins that join the chassis, and how a shop is told of changes.

VDE 0701-0702 was split in 2021 into EN 50678 and EN 50699; the IET Code of Practice has a fifth edition since November 2020;
AS/NZS 5762 was revised in 2011 (Standards New Zealand, 14 Sep 2011), AS/NZS 3760 in 2022.
"""

from __future__ import annotations

from dataclasses import asdict
from datetime import date

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput, RuleBroken
from app.findings.models.findings import Finding
from app.journal.models import JournalEntry
from app.measuring.rules import Verdict
from app.orders import power
from app.records.models import ProtectionClass
from app.safety import queries, regimes
from app.safety.changes import changes
from app.safety.models.profiles import Profile, ProfileStep
from app.safety.regimes import SHIPPED, shipped_as
from app.safety.rules import Applies, Mark, Result, StepKind
from app.safety.service import profiles as profiles_service
from app.safety.service import testing as testing_service
from tests.factories import NOW
from tests.pages import PageClient
from tests.people import BY
from tests.safety import make

REPLACED = {"vde_0701_0702": "en_50678", "iet": "iet_5"}


def in_force(key: str) -> Profile:
    """In force as it ships, confirmed by nobody."""
    profiles_service.ensure_profiles(now=NOW)
    found = next(one for one in queries.profiles() if one.key == key)
    profiles_service.put_in_force(found, by=BY, now=NOW)
    return found


NEW = {"Mains apart from chassis", "Who tests", "Touch current of metal not joined to earth",
       "Insulation of metal not joined to earth", "Leakage at isolated inputs"}


def as_of_before(key: str) -> Profile:
    """In force as the version before shipped it: no mark of being replaced, none of the newer steps."""
    regime = shipped_as(key)
    assert regime is not None
    made = Profile(key=key, name=regime.name, edition=regime.edition, in_force=True, added_at=NOW)
    session().add(made)
    for place, spec in enumerate(one for one in regime.steps if one.title not in NEW):
        mark = Mark.SEEN if spec.mark in (Mark.SUPERSEDED, Mark.PRACTICE) else spec.mark
        made.steps.append(ProfileStep(position=place, **{**asdict(spec), "mark": mark}))
    session().flush()
    return made


@pytest.mark.parametrize("key", REPLACED)
def test_limits_of_a_replaced_edition_pass_nothing_without_the_owner(context: Flask, key: str) -> None:
    with transaction():
        profile, tester = in_force(key), make.tester()
        assert profile.unconfirmed and profile.replaced
        order = make.order()
        bond = "0.12"
        assert make.completed(order, tester, bond=bond).result is Result.INCOMPLETE and not queries.last_test_passed(order)
        with pytest.raises(BadInput, match="was replaced"):
            profiles_service.confirm_profile(profile, edition="4th", edition_date=date(2012, 1, 1), by=BY, now=NOW)
        profiles_service.confirm_profile(profile, edition="4th", edition_date=date(2012, 1, 1), reason="the insurer asks for it",
                                         by=BY, now=NOW)
        assert make.completed(order, tester, bond=bond).result is Result.PASS
        assert profile.kept_reason == "the insurer asks for it" and not profile.to_look_at


@pytest.mark.parametrize("key", REPLACED)
def test_every_measured_limit_of_a_replaced_edition_is_marked(key: str) -> None:
    regime = shipped_as(key)
    assert regime is not None and regime.replaced_by == REPLACED[key]
    assert {step.mark for step in regime.steps if step.quantity} <= {Mark.SUPERSEDED, Mark.MEMORY}
    assert Mark.SUPERSEDED.needs_owner and not Mark.PRACTICE.needs_owner


def test_a_copy_of_a_replaced_profile_passes_nothing_either(context: Flask) -> None:
    with transaction():
        own = profiles_service.copy_profile(as_of_before("vde_0701_0702"), name="Lowgate limits", by=BY, now=NOW)
        assert own.unconfirmed and own.to_look_at
        profiles_service.put_in_force(own, by=BY, now=NOW)
        test = make.started(make.order())
        assert test.unconfirmed and make.step_of(test, StepKind.BOND).mark is Mark.SUPERSEDED


def test_a_profile_of_the_version_before_passes_nothing_and_is_replaced_by_one_act(context: Flask) -> None:
    with transaction():
        before = as_of_before("vde_0701_0702")
        assert before.unconfirmed and before.is_earlier and before.to_look_at
        told = profiles_service.changed_since(before)
        assert any(line.startswith("New: Mains apart from chassis.") for line in told)
        assert any("Touch current of metal not joined to earth" in line for line in told)
        adopted = profiles_service.adopt(before, by=BY, now=NOW)
        assert (adopted.key, adopted.in_force, before.in_force) == ("en_50678", True, False)
        assert adopted.unconfirmed and not adopted.to_look_at
        with pytest.raises(RuleBroken, match="otherwise today"):
            profiles_service.put_in_force(before, by=BY, now=NOW)


def test_what_is_kept_has_a_reason_and_is_asked_again_at_the_next_change(context: Flask, monkeypatch: pytest.MonkeyPatch) -> None:
    with transaction():
        kept = in_force("vde_0701_0702")
        with pytest.raises(BadInput, match="Enter why"):
            profiles_service.keep_profile(kept, reason=" ", by=BY, now=NOW)
        profiles_service.keep_profile(kept, reason="our insurer names it", by=BY, now=NOW)
        assert not kept.to_look_at and kept.unconfirmed  # keeping confirms nothing
    entry = session().scalars(sa.select(JournalEntry).where(JournalEntry.event == "profile:kept")).one()
    assert entry.reason == "our insurer names it" and "EN 50678" in entry.after
    monkeypatch.setattr(regimes, "SHIPPED", tuple(regimes.replace(one, revision=one.revision + 1) for one in SHIPPED))
    assert kept.to_look_at and kept.is_earlier


def test_the_newest_profiles_are_put_in_beside_those_of_before(context: Flask) -> None:
    with transaction():
        before = as_of_before("en_50678")
        assert not profiles_service.all_shipped()
        profiles_service.ensure_profiles(now=NOW)
        assert profiles_service.all_shipped()
        found = [one for one in queries.profiles() if one.key == "en_50678"]
        assert {one.revision for one in found} == {1, regimes.REVISION} and before.in_force


@pytest.mark.parametrize("key", ["vde_0701_0702", "en_50678", "en_50699", "as_nzs_3760", "as_nzs_5762"])
def test_class_one_is_asked_for_metal_that_is_not_joined_to_earth_and_who_tests(key: str) -> None:
    """Insulation and touch current of such metal; the values are from memory but for the touch current of VDE."""
    regime = shipped_as(key)
    assert regime is not None
    asked = {(step.kind, step.title) for step in regime.steps if step.applies is not Applies.II}
    assert (StepKind.INSULATION, "Insulation of metal not joined to earth") in asked
    assert (StepKind.TOUCH, "Touch current of metal not joined to earth") in asked
    assert any("electrically skilled person" in step.question for step in regime.steps)
    assert any(step.title == "Leakage at isolated inputs" for step in regime.steps) is (key in ("en_50678", "en_50699"))


def test_american_class_one_touch_current_is_measured_with_the_earth_open_at_the_plug(context: Flask) -> None:
    """UL test texts as quoted: the grounding conductor is open at the plug. Closed, the amp's leakage shows as next to nothing."""
    with transaction():
        in_force("ul")
        test = make.started(make.order())
        touch = make.step_of(test, StepKind.TOUCH)
        bond = make.step_of(test, StepKind.BOND)
    assert "opened at the plug" in touch.question and "earth open at the plug" in touch.condition
    assert "With the earth closed this reading proves nothing" in touch.note and "Not before earth and insulation" in touch.note
    assert "the mains lead is not in this reading" in bond.question and bond.upper == 0.1
    assert any(step.title == "Earth of the lead" for step in test.steps)  # the limit leaves the lead out: it is looked at


def test_a_reading_may_be_left_out_only_where_there_is_nothing_to_measure(context: Flask) -> None:
    with transaction():
        make.profile()
        test = make.do(make.started(make.order()), make.tester(), touch="0.6m")
        metal = make.step_of(test, StepKind.TOUCH)
        assert metal.verdict is Verdict.FAIL
        with pytest.raises(RuleBroken, match="on every amp"):
            testing_service.none_there(make.step_of(test, StepKind.BOND), reason="none", by=BY, now=NOW)
        testing_service.none_there(metal, reason="that was the speaker frame, which is joined", by=BY, now=NOW)
        assert metal.verdict is Verdict.PASS and metal.outcome is not None and metal.outcome.answer == "none there"


def test_a_mains_pin_on_the_chassis_bars_the_amp_and_opens_its_finding(app: Flask, technician: PageClient) -> None:
    """Whichever way the plug is in, such a chassis may be at mains volts. Common practice, no source."""
    with app.app_context(), transaction():
        make.profile()
        order = make.order()
        step = make.step_of(make.started(order), StepKind.ISOLATION)
        here, number, test = f"/orders/{order.id}/safety/steps/{step.id}", order.id, step.test_id
    page = technician.post(here, {"seen": "no", "words": "0.4 Ω from one pin to the chassis"})
    page = technician.get(f"/orders/{number}/safety/tests/{test}")
    link = next(one for one in page.links() if "code=MNS-08" in one)
    page = technician.get(link)
    assert "No isolating transformer" in page.words
    technician.send(link, {**page.fields(link.split("?")[0]), "observation": "No isolating transformer: chassis on a mains wire"})
    with app.app_context():
        barred = power.do_not_energise(number)
        assert barred is not None and "a mains pin joins chassis or signal earth" in barred.reason
        finding = session().scalars(sa.select(Finding).where(Finding.order_id == number)).one()
        assert (finding.severity, finding.probability, finding.risk and finding.risk.value) == (4, "d", "S")


def test_polarity_can_be_answered_where_plugs_fit_both_ways() -> None:
    for regime in SHIPPED:
        polarity = next(step for step in regime.steps if step.kind is StepKind.POLARITY)
        assert "either way round" in polarity.question and "breaks both conductors" in polarity.question


def test_editions_are_the_newest_known() -> None:
    editions = {one.key: one.edition for one in SHIPPED}
    assert (editions["as_nzs_5762"], editions["as_nzs_3760"], editions["iet_5"]) == ("2011", "2022", "5th")
    repaired = shipped_as("as_nzs_5762")
    assert repaired is not None and "New Zealand" in repaired.where and "reg 90" in repaired.where
    five = shipped_as("iet_5")
    assert five is not None
    assert next(step.upper for step in five.steps if step.kind is StepKind.LEAKAGE) == 5e-3  # seen on a training page


def test_changes_are_told_step_by_step() -> None:
    vde, en = shipped_as("vde_0701_0702"), shipped_as("en_50678")
    assert vde is not None and en is not None
    assert changes(en.steps, en.steps) == []
    told = changes(vde.steps, en.steps)
    assert any(line.startswith("New: Leakage at isolated inputs") for line in told)
    assert any("the limit is from memory: EN 50678" in line for line in told)
    british, fifth = shipped_as("iet"), shipped_as("iet_5")
    assert british is not None and fifth is not None
    assert any("at most 5 mA in place of at most 750 µA" in line for line in changes(british.steps, fifth.steps))


def test_the_owner_sees_what_changed_and_keeps_or_adopts(app: Flask, owner: PageClient, technician: PageClient) -> None:
    with app.app_context(), transaction():
        before = as_of_before("vde_0701_0702")
        number, order = before.id, make.order(ProtectionClass.I).id
    assert "The owner decides whether to adopt it." in technician.get(f"/orders/{order}/safety").words
    page = owner.get("/")
    assert "safety profile in force" in page.words
    assert f"/safety-profiles/{number}/changed" in page.links()
    assert "safety profile in force" not in technician.get("/").words
    here = f"/safety-profiles/{number}/changed"
    page = owner.get(here)
    assert "New: Mains apart from chassis." in page.words and "Adopt EN 50678, after repair" in page.words
    assert "Enter why this profile is kept." in owner.post(here, {"reason": ""}).words
    technician.get(here, status=403)
    page = owner.post(f"/safety-profiles/{number}/adopt", form_on=here)
    assert page.title.startswith("EN 50678, after repair") and "in force" in page.words
    assert "safety profile in force" not in owner.get("/").words
