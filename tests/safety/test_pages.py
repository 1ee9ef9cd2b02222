"""The safety pages as technician, owner and counter see them."""

from __future__ import annotations

import re

from flask import Flask

from app.db import session, transaction
from app.findings.service import outcome as outcome_service
from app.orders.models import RepairOrder
from app.records.rules import ProtectionClass
from tests.findings import make as findings_make
from tests.pages import Page, PageClient
from tests.safety import make


def link(page: Page, ending: str) -> str:
    return next(one for one in page.links() if re.search(ending, one))


def called(page: Page, words: str) -> str:
    return next(e.get("href", "") for e in page.all("a") if "".join(e.itertext()) == words)


def names(page: Page, start: str) -> set[str]:
    return {e.get("name", "") for e in page.form().iter() if e.get("name", "").startswith(start)}


def test_a_whole_test_by_its_pages(app: Flask, technician: PageClient, counter: PageClient) -> None:
    with app.app_context(), transaction():
        make.profile()
        number, tester = make.order().id, make.tester(due_on=make.date(2099, 1, 1)).id
    here = f"/orders/{number}/safety"
    assert "Do the safety test." in technician.get(here).words
    page = technician.post(f"{here}/start", {"lead_metre": ""})
    assert "Enter length and section" in page.words
    page = technician.post(f"{here}/start", {"lead_metre": "3", "lead_mm2": "1.0", "lead_words": "L-12", "conducts": "no"})
    test = page.response.request.path
    assert "at most 0.3 Ω" in page.words and "not done" in page.words
    look = link(page, r"/look$")
    page = technician.get(look)
    page = technician.send(look, {**page.fields(look), **dict.fromkeys(names(page, "seen_"), "")})
    assert "An empty inspection records nothing." in page.words and page.title.startswith("Error: ")
    answers = dict.fromkeys(names(page, "seen_"), "yes")
    page = technician.send(look, {**page.fields(look), **answers})
    assert "Enter the fuse fitted" in page.words
    fuse = next(e.get("id", "") for e in page.all("input") if e.get("aria-invalid"))
    page = technician.send(look, {**page.fields(look), **answers, fuse: "T2A 250 V"})
    page = technician.get(called(page, "Mains lead and plug"))
    assert "Enter why it is done again" in technician.send(page.form().get("action", ""), {**page.fields(), "seen": "yes"}).words
    page = technician.get(test)
    typed = {"Protective earth res": "0.12", "Insulation": ">200M", "Protective conductor": "0.21m"}
    page = technician.get(called(page, "Measure"))
    while "Every step is done" not in page.words:
        action = page.form().get("action", "")
        if page.title.startswith("Safe function"):
            page = technician.send(action, {**page.fields(action), "seen": "yes"})
            continue
        if page.title.startswith("Touch current of metal"):
            assert "take the tick off" in technician.send(action, {**page.fields(action), "none_there": "y", "typed": "0.1m"}).words
            page = technician.send(action, {**page.fields(action), "none_there": "y"})
            continue
        found = next(value for name, value in typed.items() if page.title.startswith(name))
        page = technician.send(action, {**page.fields(action), "typed": found, "instrument": str(tester),
                                        "level": "500" if page.title.startswith("Insulation") else "200m"})
    assert "Every step is done" in page.words
    assert "none there: Looked for: all bare metal that can be touched is joined to earth." in page.words
    page = technician.post(f"{test}/complete", {"tag": "A-0042"}, form_on=test)
    assert "It passed these tests on" in page.words and "A-0042" in page.words
    assert "pass" in counter.get(here).words and "Test again" not in counter.get(here).words
    page = technician.post(f"{test}/void", {"reason": "lid off again for the pilot lamp"})
    assert "lid off again for the pilot lamp" in page.words and "is void" in page.words


def test_an_overdue_tester_is_refused_on_the_page(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        make.profile()
        order = make.order(ProtectionClass.II)
        meter = make.tester("E2", due_on=make.date(2025, 7, 1)).id
        test = make.started(order)
        here = f"/orders/{order.id}/safety/steps/{make.step_of(test, make.StepKind.INSULATION).id}"
    page = technician.post(here, {"typed": ">200M", "level": "500", "instrument": str(meter)})
    assert page.title.startswith("Error:") and "overdue since 1 Jul 2025" in page.words


def test_the_owner_keeps_the_profiles(app: Flask, owner: PageClient, technician: PageClient) -> None:
    page = owner.get("/safety-profiles")
    assert "AS/NZS 3760" in page.words and "unconfirmed" in page.words
    with app.app_context():
        one = next(one.id for one in make.queries.profiles() if one.key == "as_nzs_3760")
    here = f"/safety-profiles/{one}"
    assert "in force" in owner.post(f"{here}/in-force", form_on=here).words
    assert "Enter the edition's date." in owner.post(f"{here}/confirm", {"edition": "2010"}).words
    ahead = {"edition": "2010", "edition_date": "2999-01-01"}
    assert "This edition’s date lies ahead." in owner.post(f"{here}/confirm", ahead).words
    page = owner.post(f"{here}/confirm", {"edition": "2010", "edition_date": "2010-05-01"})
    assert "edition 2010 of 1 May 2010" in page.words and "passes no amp" not in page.words
    page = owner.post(f"{here}/copy", {"name": "House limits"})
    change = link(page, r"/safety-profiles/steps/\d+$")
    assert "Enter a limit." in owner.post(change, {"lower": "", "upper": "", "source": "insurer"}).words
    page = owner.post(change, {"upper": "0.2", "source": "insurer"})
    assert "at most 0.2 Ω" in page.words and "passes no amp until the owner confirms" in page.words
    assert "Copy it for the shop" not in technician.get(here).words
    technician.get(f"{here}/confirm", status=403)


def test_soak_run_and_proof(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        make.profile()
        order = make.order()
        number, finding = order.id, findings_make.finding(order)
        outcome_service.decide(finding, make.Disposition.REPLACE_LIKE, by=make.BY, now=make.NOW)
        outcome_service.act_on(finding, words="new reservoir", by=make.BY, now=make.NOW)
    here = f"/orders/{number}/safety"
    assert "Enter into which load" in technician.post(f"{here}/soak", {"load": ""}).words
    refused = technician.post(f"{here}/soak", {"load": "8 Ω, pink noise"}, status=409)
    assert "Measure its protective earth and insulation in a safety test first." in refused.words
    with app.app_context(), transaction():
        make.earthed(session().get_one(RepairOrder, number))
    page = technician.post(f"{here}/soak", {"load": "8 Ω, pink noise"})
    assert "The soak run is on" in page.words and "Powered since" in page.words
    assert "0 of 120 minutes" in technician.get(f"{here}/soak").words and "Long enough at" in technician.get(f"{here}/soak").words
    end = technician.get(f"{here}/soak").form().get("action", "")
    assert "Choose whether the symptom showed." in technician.post(end, {"observations": "warm"}).words
    page = technician.post(end, {"symptom": "no", "observations": "warm, quiet"})
    assert "of 120 minutes" in page.words
    page = technician.post(link(technician.get(here), r"/findings/\d+$"), {"result": "leakage 0.4 mA at 450 V"})
    assert "Finding 1 is proved." in page.words and "leakage 0.4 mA" in page.words
    assert "Safety" in technician.get(f"/orders/{number}").words
