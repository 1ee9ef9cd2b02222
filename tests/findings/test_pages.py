"""The strip-down's pages."""

from __future__ import annotations

import pytest
from flask import Flask

from app.db import transaction
from app.photos import pins
from tests.findings.make import finding, made_safe, order_at
from tests.pages import PageClient
from tests.photos.make import photo, photo_bytes, the_order


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        return order_at().id


def test_caution_comes_first_until_it_is_made_safe(technician: PageClient, order_id: int) -> None:
    at = f"/orders/{order_id}/findings"
    page = technician.get(at)
    assert page.words.index("Lethal voltage") < page.words.index("Findings")
    assert "local codes" in page.words
    page = technician.post(f"/orders/{order_id}/made-safe", {"volts": "52", "instrument": "meter 2"})
    assert "52 V is not below" in page.words and page.title.startswith("Error")
    page = technician.post(f"/orders/{order_id}/made-safe", {"volts": "350m", "instrument": "meter 2"})
    assert "Lethal voltage" not in page.words and "0.35 V across" in page.words and "by Ines" in page.words
    refused = technician.post(f"/orders/{order_id}/power-up", {"why": "hum listened to"})
    assert "protective earth has not been measured" in refused.words and refused.title.startswith("Error")
    page = technician.post(f"/orders/{order_id}/power-up", {"why": "hum listened to", "reason": "heard as found, on a limiter"})
    assert "Powered since" in page.words and "heard as found, on a limiter" in page.words
    for path in (at, f"/orders/{order_id}/removals", f"/orders/{order_id}/safety", f"/orders/{order_id}/quote"):
        assert "Powered since" in technician.get(path).words
    refused = technician.post(f"/orders/{order_id}/made-safe", {"volts": "350m", "instrument": "meter 2"}, status=409)
    assert "has been powered since" in refused.words
    technician.post(f"/orders/{order_id}/power-off", form_on=at)
    page = technician.get(at)
    assert "Lethal voltage" in page.words and "Powered since" not in page.words


def test_a_finding_with_its_photo_is_one_form(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        there = photo(the_order(order_id)).id
    at = f"/orders/{order_id}/findings/new"
    page = technician.post(f"{at}", {
        "observation": "wire of V3 pin 2 weeps", "severity": "2", "probability": "e", "hazard": "touch",
        "origin": "wear", "disposition": "replace_like", "pin_x": "0.25", "pin_y": "0.5", "photos": photo_bytes("PNG")},
        form_on=f"{at}?photo_id={there}")
    assert "Finding 1 is recorded." in page.words and "medium risk" in page.words and "decided" in page.words
    with app.app_context():
        placed = pins.on_photo(there)
        assert [(pin.label, pin.x, pin.y) for pin in placed] == [("1", 0.25, 0.5)]
        assert len(pins.of_record("finding", placed[0].subject_id)) == 2
    assert any("/findings/" in link for link in technician.get(f"/photos/{there}").links())


def test_the_way_of_a_finding_on_its_pages(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        order = order_at()
        made_safe(order)
        found, at = finding(order).id, f"/orders/{order.id}/findings/"
    one = f"{at}{found}"
    page = technician.post(one, {"disposition": "accept_as_is"})
    assert "A high risk cannot be kept" in page.words
    technician.post(one, {"disposition": "replace_like", "disposition_words": "47u 500 V"})
    page = technician.post(f"{one}/done", {"words": "fitted"})
    assert "Record the check" in page.words
    page = technician.post(f"{one}/proof", {"result": "0.2 mA at 450 V", "instrument": "leakage set"})
    assert "proved" in page.words and "0.2 mA at 450 V" in page.words
    page = technician.post(f"{one}/reopen", {"reason": "failed the soak"})
    assert "Finding 1 is open again." in page.words
    history = technician.get(f"/history/finding/{found}")
    assert "finding proved" in history.words and "failed the soak" in history.words


def test_the_counter_reads_and_does_not_write(counter: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        order = order_at()
        at = f"/orders/{order.id}/findings/{finding(order).id}"
    page = counter.get(at)
    assert "Save the finding" not in page.words
    counter.get(f"{at}/withdraw", status=403)


def test_a_finding_of_another_order_is_not_found_here(technician: PageClient, app: Flask, order_id: int) -> None:
    with app.app_context(), transaction():
        other = finding(order_at()).id
    technician.get(f"/orders/{order_id}/findings/{other}", status=404)


def test_a_stale_finding_is_told_and_chooses(technician: PageClient, app: Flask) -> None:
    with app.app_context(), transaction():
        order = order_at()
        at = f"/orders/{order.id}/findings/{finding(order).id}"
    mine = technician.get(at).fields(at)
    technician.post(at, {"observation": "both cans have wept"})
    page = technician.send(at, {**mine, "observation": "third can"}, status=409)
    assert "both cans have wept" in page.words and "third can" in page.words
