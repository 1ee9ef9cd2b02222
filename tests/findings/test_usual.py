"""The catalogue of usual findings: what ships, what a chip fills in, and the shop's own words."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import transaction
from app.findings import usual
from app.findings.rules.life import Disposition, Origin, why_not_decided
from app.findings.rules.signs import signs_in, why_not_decided_with, why_not_judged
from app.findings.usual import Usual
from tests.findings.make import order_at
from tests.pages import PageClient

# Risk letters as the trade's list of usual findings gives them, with later corrections (judgement, no source); ours must come out
# alike from severity and probability by the matrix of Implementing Decision (EU) 2019/417, which test_risk holds row by row.
LETTERS = {
    "S": "MNS-01 MNS-02 MNS-03 MNS-04 MNS-05 MNS-07 MNS-08 MNS-09 MNS-10 MNS-11 MNS-13 MNS-14 ERT-01 ERT-02 ERT-03 ERT-04 HTS-06 "
         "HTS-08 OUT-01 BAS-01 BAS-04 WIR-01 WIR-05",
    "H": "MNS-06 MNS-12 HTS-01 HTS-02 HTS-03 HTS-09 BIA-01 BIA-02 BIA-05 BIA-06 WIR-02 WIR-03 WIR-04 WIR-06 CTL-02 JCK-03 CAB-01 "
         "BRD-05",
    "M": "HTS-04 HTS-05 HTS-07 HTS-10 BIA-04 OUT-03 OUT-05 OUT-06 BAS-02 BAS-06 BRD-01 BRD-02 BRD-03 CAB-02 CAB-03 CAB-04",
    "L": "BIA-03 OUT-02 BAS-03 SPK-02 SPK-04 CTL-03",
    "N": "OUT-04 OUT-07 BAS-05 BRD-04 CTL-01 JCK-01 JCK-02 SPK-01 SPK-03",
}
EXPECTED = {code: letter for letter, codes in LETTERS.items() for code in codes.split()}


def test_all_72_ship_and_each_risk_is_computed() -> None:
    assert {one.code: str(one.risk) for one in usual.shipped()} == EXPECTED
    assert len(EXPECTED) == 72


def test_what_an_amp_was_made_with_is_no_modification() -> None:
    """Nobody is told to take a change out that the maker designed in."""
    assert [one.code for one in usual.shipped() if one.origin is Origin.DESIGN and one.disposition is Disposition.REMOVE_MOD] == []


def test_an_earth_lead_is_not_advised_without_asking_for_an_isolating_transformer() -> None:
    """An amp whose chassis is joined to the mains puts the mains on the earth: the words say so."""
    by_code = {one.code: one for one in usual.shipped()}
    assert "isolating transformer" in by_code["MNS-01"].disposition_words and "ohmmeter" in by_code["MNS-01"].check_words
    assert by_code["MNS-08"].disposition is Disposition.QUARANTINE
    assert "isolating transformer and an earth together" in by_code["MNS-08"].disposition_words


@pytest.mark.parametrize("one", usual.shipped(), ids=lambda one: one.code)
def test_each_fills_in_a_whole_finding_that_the_rules_accept(one: Usual) -> None:
    signs = signs_in(one.signs)
    assert one.short and one.observation and one.check_words and one.cause
    assert one.disposition_words[0].isupper() and one.disposition_words.endswith(".")  # the customer reads it on the quote
    assert one.hazard and one.hazard.startswith("no injury expected") == (not one.severity)
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
