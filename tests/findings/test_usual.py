"""The catalogue of usual findings: what ships, what a chip fills in, and the shop's own words."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import transaction
from app.findings import usual
from app.findings.rules.life import why_not_decided
from app.findings.rules.signs import signs_in, why_not_decided_with, why_not_judged
from app.findings.usual import Usual
from tests.findings.make import order_at
from tests.pages import PageClient

# Risk letters as the trade's list of usual findings gives them (its own judgement, no source); ours must come out alike.
LETTERS = {
    "S": "MNS-01 MNS-02 MNS-03 MNS-04 MNS-07 ERT-01 ERT-02 ERT-03 HTS-06 OUT-01 BAS-01 WIR-01",
    "H": "MNS-05 MNS-06 HTS-01 HTS-02 HTS-03 BIA-01 WIR-02 WIR-03 CTL-02 JCK-03 CAB-01",
    "M": "HTS-04 HTS-07 BIA-02 OUT-03 OUT-05 BAS-02 BRD-01 BRD-02 BRD-03 CAB-02 CAB-03",
    "L": "HTS-05 BIA-03 SPK-02",
    "N": "BIA-04 OUT-02 OUT-04 BAS-03 BRD-04 CTL-01 JCK-01 JCK-02 SPK-01",
}
EXPECTED = {code: letter for letter, codes in LETTERS.items() for code in codes.split()}


def test_all_46_ship_and_each_risk_is_computed() -> None:
    assert {one.code: str(one.risk) for one in usual.shipped()} == EXPECTED
    assert len(EXPECTED) == 46


@pytest.mark.parametrize("one", usual.shipped(), ids=lambda one: one.code)
def test_each_fills_in_a_whole_finding_that_the_rules_accept(one: Usual) -> None:
    signs = signs_in(one.signs)
    assert one.short and one.observation and one.check_words and one.cause
    assert one.disposition_words[0].isupper() and one.disposition_words.endswith(".")  # the customer reads it on the quote
    assert bool(one.hazard) == bool(one.severity)
    assert not why_not_decided(one.disposition, one.risk) and not why_not_decided_with(signs, one.disposition)
    assert not why_not_judged(signs, one.severity, one.probability)


def test_a_chip_and_a_tap_make_a_finding(technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{order_at().id}/findings/new"
    page = technician.get(f"{at}?area=mains")
    assert any("code=MNS-04" in link for link in page.links())
    (chosen,) = [one for one in page.all("a") if one.get("aria-current") == "true"]
    assert chosen.text == "mains"
    page = technician.post(at, {"seen_0": "bridged"}, form_on=f"{at}?code=MNS-04")
    assert "Finding 1 is recorded." in page.words and "serious risk" in page.words and "decided" in page.words


def test_the_shops_own_words_stand_in_place_of_ours(owner: PageClient, technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{order_at().id}/findings/new"
    technician.get("/usual-findings/CTL-01", status=403)
    owner.post("/usual-findings/CTL-01", {"observation": "Pot scratches", "check_words": "turned through on tone"})
    assert "Pot scratches" in technician.get("/usual-findings").words
    assert technician.get(f"{at}?code=CTL-01").fields(at)["observation"] == "Pot scratches"
    owner.post("/usual-findings/CTL-01", {"retired": "y"})
    assert "Pot scratches" not in technician.get("/usual-findings").words


def test_the_shop_adds_one_and_cannot_judge_an_earth_lightly(owner: PageClient) -> None:
    new = {"code": "ERT-09", "area": "earth", "short": "no lock", "observation": "Earth stud, one plain nut", "origin": "design",
           "severity": "2", "probability": "e", "hazard": "works loose", "disposition": "replace_upgrade",
           "check_words": "bond at test current", "signs": "earth stud without a locking nut"}
    assert "serious risk" in owner.post("/usual-findings/new", new).words
    page = owner.post("/usual-findings/new", {**new, "severity": "4"})
    assert "Earth stud, one plain nut" in page.words
    assert "in the catalogue already" in owner.post("/usual-findings/new", {**new, "severity": "4"}).words
