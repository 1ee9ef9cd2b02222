"""Ready words that say 'A or B': whoever records the finding says which it is."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from flask import Flask

from app.db import session, transaction
from app.errors import BadInput
from app.findings import usual
from app.findings.models.findings import Finding
from app.findings.rules.alternatives import chosen, groups, spread, why_not_offered
from app.findings.rules.life import Confidence
from app.findings.service import findings as findings_service
from tests.factories import NOW
from tests.findings.make import facts, order_at
from tests.pages import PageClient
from tests.people import BY

FUSE = "Mains fuse [too large | of the wrong speed | bridged]"


def test_a_choice_makes_the_sentence() -> None:
    assert groups(FUSE) == (("too large", "of the wrong speed", "bridged"),)
    assert chosen(FUSE, [["bridged"]]) == "Mains fuse bridged"
    assert chosen(FUSE, [["bridged", "too large"]]) == "Mains fuse too large and bridged"
    assert chosen("[Rubber | PVC] insulation [crumbles | weeps]", [["Rubber", "PVC"], ["weeps"]]) == (
        "Rubber and PVC insulation weeps")
    assert chosen("[Mould | Droppings | Traces of flood] inside", [["Mould", "Droppings", "Traces of flood"]]) == (
        "Mould, droppings and traces of flood inside")
    assert chosen("Anodes glow red", []) == "Anodes glow red" and groups("a [note] on it") == ()
    assert spread(FUSE) == "Mains fuse too large / of the wrong speed / bridged"


@pytest.mark.parametrize("choices", [[], [[]], [["blown"]], [["bridged"], ["bridged"]]])
def test_nothing_is_made_of_no_choice_or_of_one_that_is_not_offered(choices: list[list[str]]) -> None:
    with pytest.raises(ValueError, match="does not choose"):
        chosen(FUSE, choices)


@pytest.mark.parametrize(("text", "why"), [
    (FUSE, ""), ("Anodes glow red", ""), ("Fuse [too large | ]", "both sides"),
    ("Fuse [too large | bridged", "in brackets like this"),
    ("Fuse [bridged | bridged]", "twice"), ("Fuse [bridged]", "in brackets like this")])
def test_ready_words_whose_brackets_do_not_fit_are_not_taken(text: str, why: str) -> None:
    assert (why in why_not_offered(text)) if why else why_not_offered(text) == ""


@pytest.mark.parametrize("one", usual.shipped(), ids=lambda one: one.code)
def test_no_ready_observation_says_a_or_b(one: usual.Usual) -> None:
    assert " or " not in one.observation and why_not_offered(one.observation) == ""
    assert all(len(group) > 1 for group in groups(one.observation))


def test_a_finding_is_saved_only_once_it_is_said_which(technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{order_at().id}/findings/new"
    begun = f"{at}?code=MNS-04"
    page = technician.get(begun)
    assert page.fields(at)["observation"] == "" and "What you saw: Mains fuse …" in page.words
    refused = technician.post(at, {}, form_on=begun)
    assert "Choose what you saw: too large, of the wrong speed or bridged." in refused.words
    assert "serious risk" in refused.words  # what the chip filled in is still there
    odd = technician.post(at, {"seen_0": "blown"}, form_on=begun)
    assert "Choose what you saw: too large, of the wrong speed or bridged." in odd.words
    saved = technician.post(at, {"seen_0": ["bridged", "too large"]}, form_on=begun)
    assert "Finding 1 is recorded." in saved.words and "Mains fuse too large and bridged" in saved.words
    with app.app_context():
        assert session().scalar(sa.select(Finding.confidence)) is Confidence.POSSIBLE  # until somebody says more


def test_own_words_take_the_place_of_a_choice(technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{order_at().id}/findings/new"
    page = technician.post(at, {"observation": "Fuse wrapped in foil"}, form_on=f"{at}?code=MNS-04")
    assert "Finding 1 is recorded." in page.words and "Fuse wrapped in foil" in page.words
    both = technician.post(at, {"observation": "Fuse wrapped in foil", "seen_0": "bridged"}, form_on=f"{at}?code=MNS-04")
    assert "Clear one of the two" in both.words and both.fields(at)["observation"] == "Fuse wrapped in foil"


def test_brackets_are_never_stored(context: Flask) -> None:
    with transaction():
        order = order_at()
    with pytest.raises(BadInput, match="Choose what you saw"), transaction():
        findings_service.record_finding(order, facts(observation=FUSE), by=BY, now=NOW)


def test_the_shop_may_write_alternatives_of_its_own(owner: PageClient, technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{order_at().id}/findings/new"
    assert "both sides" in owner.post("/usual-findings/CTL-01", {"observation": "Pot [scratches | ]"}).words
    owner.post("/usual-findings/CTL-01", {"observation": "Pot [scratches | sticks]"})
    assert "Pot scratches / sticks" in technician.get("/usual-findings").words
    assert "Pot sticks" in technician.post(at, {"seen_0": "sticks"}, form_on=f"{at}?code=CTL-01").words
