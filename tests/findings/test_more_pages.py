"""Pages beside the finding: wires, leakage and drying, waste, what a supply holds."""

from __future__ import annotations

from flask import Flask

from app.db import transaction
from app.findings.rules.life import Area
from app.findings.rules.signs import Sign
from tests.findings.make import finding, order_at
from tests.pages import PageClient


def test_wires_of_a_finding_are_listed_and_grouped(technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        order = order_at()
        made = finding(order, area=Area.WIRING, signs=Sign.WEEPS.value)
        at = f"/orders/{order.id}/findings/{made.id}"
    assert "List the wires that weep" in technician.get(f"/orders/{order_id(at)}/findings").words
    technician.post(f"{at}/wires", {"colour": "yellow", "run": "back loom", "from_end": "V3-2", "to_end": "tag 9",
                                    "weeps": "y"})
    page = technician.post(f"{at}/wires", {"colour": "black", "run": "front", "from_end": "tag 9", "to_end": "star"})
    assert "2 of 2 go" in page.words and "shares tag 9" in page.words
    strike = next(form.get("action", "") for form in page.all("form") if form.get("action", "").endswith("/strike"))
    page = technician.post(strike, {}, form_on=f"{at}/wires")
    assert "Struck out." in page.words and "0 of 1 go" in page.words


def order_id(at: str) -> str:
    return at.split("/")[2]


def test_a_board_is_measured_dried_and_measured_again(technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        order = order_at()
        at = f"/orders/{order.id}/findings/{finding(order, signs=Sign.BOARD_LEAKS.value).id}"
    page = technician.post(f"{at}/leakage", {"between": "4 and 5", "source_v": "250", "meter_v": "2.5", "instrument": "meter 2"})
    assert "990 MΩ" in page.words
    page = technician.post(f"{at}/leakage", {"meter_v": "300"})
    assert "a board cannot give more than its source" in page.words
    page = technician.get(f"{at}/bake-out")
    assert "smoke alarm" in page.words and page.fields()["hours"] == "12.0"
    assert "Enter 30 to 105" in technician.post(f"{at}/bake-out", {"celsius": "150"}).words
    page = technician.post(f"{at}/bake-out", {})
    assert "Other work can go on." in page.words
    end = next(link for link in page.links() if link.endswith("/end"))
    page = technician.post(end, {"note": "dry to the touch"})
    assert "dry to the touch" in page.words and page.fields(f"{at}/leakage")["round"] == "after"


def test_waste_is_logged_with_its_caution_and_handed_over(technician: PageClient, counter: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        at = f"/orders/{order_at().id}/waste"
    page = technician.post(at, {"material": "suspect fibre", "presumed": "y", "quantity": "1", "unit": "bag", "container": "bin 7"})
    assert "suspect fibre, presumed" in page.words and "Presume asbestos" in page.words
    hand, strike = (next(link for link in page.links() if link.endswith(end)) for end in ("/hand-over", "/strike"))
    assert "Enter to whom" in technician.post(hand, {"to": ""}).words
    assert "Harrow Depot" in technician.post(hand, {"to": "Harrow Depot", "paper": "WT 88"}).words
    assert "Nothing is logged." in technician.post(strike, {"reason": "twice"}).words
    counter.get(hand, status=403)
