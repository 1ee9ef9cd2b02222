"""The pages of the discharge record, and the mark on every page of the order."""

from __future__ import annotations

import re

import pytest
from flask import Flask

from app.db import session, transaction
from app.discharge import queries
from app.orders.models import RepairOrder
from tests import factories
from tests.discharge.make import discharged, meter
from tests.findings.make import order_at
from tests.pages import PageClient


@pytest.fixture
def order_id(app: Flask) -> int:
    with app.app_context(), transaction():
        meter()
        return order_at().id


def capacitors(app: Flask, order_id: int) -> list[int]:
    with app.app_context():
        found = queries.list_of(order_id)
        assert found is not None
        return [one.id for one in found.capacitors]


def test_from_an_empty_order_to_a_mark_on_every_page(app: Flask, technician: PageClient, order_id: int) -> None:
    """The list in two taps, a round whose far node is at 42 V, a second one; then a word that it was powered."""
    here = f"/orders/{order_id}/discharge"
    page = technician.get(here)
    assert page.words.index("Lethal voltage") < page.words.index("Start from") and "Not shown discharged" in page.words
    start = next(link for link in page.links() if link.endswith("list?from=four-fixed"))
    page = technician.get(start)  # the first tap
    assert "not read from this one" in page.words
    page = technician.send(f"{here}/list", page.fields(f"{here}/list"))  # the second
    assert "5 capacitors listed." in page.words and "HT4 then still holds" in page.words and '<svg class="chain"' in page.text
    one, two, three, four, bias = capacitors(app, order_id)
    readings = {f"volts_{one}": "8.2", f"volts_{two}": "9.1", f"volts_{three}": "24", f"volts_{four}": "42",
                f"volts_{bias}": "-0.4"}
    proved = {"proved_before": "yes", "proved_after": "yes", "proved_on": "9 V battery", "stick_ohm": "10k", "stick_w": "10",
              "held_s": "7"}
    page = technician.post(here, {**readings, **proved})
    assert "Not shown below the limit: C3, C4." in page.words and "Not shown discharged." in page.words
    fields = page.fields(here)
    assert (fields["stick_ohm"], fields["proved_on"]) == ("10k", "9 V battery") and not fields.get("proved_before")
    assert fields[f"volts_{one}"] == "" and fields["instrument"]
    page = technician.post(here, {**readings, f"volts_{three}": "1.9", f"volts_{four}": "3.2", **proved})
    assert "5 of 5 below 10 V" in page.words and "Measure again after some minutes" in page.words
    for path in ("", "/findings", "/removals", "/way-back", "/readings", "/safety", "/quote", "/parts", "/photos"):
        assert "Discharged. Highest of 5: 9.1 V on C2" in technician.get(f"/orders/{order_id}{path}").words, path
    bench = technician.get("/").words
    assert "discharged" in bench and "not shown discharged" not in bench
    page = technician.post(f"/orders/{order_id}/powered-again", form_on=here)  # one tap
    assert "Powered since" in page.words and "Powered since" in technician.get("/").words
    technician.post(f"/orders/{order_id}/power-off", form_on=here)
    assert "Not shown discharged." in technician.get(f"/orders/{order_id}/removals").words
    assert "not shown discharged" in technician.get("/").words
    assert "The amp was powered since." in technician.get(here).words


def test_what_was_typed_stands_with_each_error_beside_it(app: Flask, technician: PageClient, order_id: int) -> None:
    here = f"/orders/{order_id}/discharge"
    with app.app_context(), transaction():
        discharged(session().get_one(RepairOrder, order_id))
    one, two, _, _, bias = capacitors(app, order_id)
    entered = {f"volts_{one}": "0", f"volts_{two}": "0.7", f"volts_{bias}": "0.4", "proved_before": "yes", "proved_after": "yes",
               "proved_on": "9 V battery"}
    page = technician.post(here, entered)
    assert page.title.startswith("Error") and "It shows 0 V" in page.words and "The bias supply is negative" in page.words
    again = page.fields(here)
    assert (again[f"volts_{one}"], again[f"volts_{two}"]) == ("0", "0.7") and "It truly shows that" in page.words
    page = technician.send(here, {**again, "really": "y"})
    assert "Not read: C3, C4." in page.words
    page = technician.post(here, {**entered, "proved_before": ""})
    assert "Choose whether the meter showed the known volts before." in page.words
    page = technician.post(here, {**entered, f"volts_{one}": "0.4", f"volts_{bias}": "-0.4", "stick_ohm": "10", "stick_w": "50"})
    assert "10 Ω into 450 V is 45 A at first touch" in page.words
    page = technician.post(here, {**entered, "stick_ohm": "10k", "stick_w": ""})
    assert "rated watts" in page.words


def test_the_sum_of_a_stick_is_asked_without_recording_anything(app: Flask, technician: PageClient, order_id: int) -> None:
    with app.app_context(), transaction():
        discharged(session().get_one(RepairOrder, order_id))
    here = f"/orders/{order_id}/discharge"
    words = technician.get(f"{here}?plan-stick_ohm=10k&plan-stick_w=10&plan-from_v=450").words.replace("\xa0", " ")
    assert "HT1 is at 10 V after 7 s" in words and "HT4 then still holds 42 V" in words
    words = technician.get(f"{here}?plan-stick_ohm=10&plan-stick_w=10").words.replace("\xa0", " ")
    assert "Do not use this stick. 10 Ω into 450 V" in words
    unread = technician.get(f"{here}?plan-stick_ohm=x&plan-stick_w=10").text
    assert 'id="plan-stick_ohm-error"' in unread and 'class="chain"' not in unread
    with app.app_context():
        assert len(queries.records_of(session().get_one(RepairOrder, order_id))) == 1


def test_the_list_is_typed_corrected_and_refused_in_words(app: Flask, technician: PageClient, order_id: int) -> None:
    here = f"/orders/{order_id}/discharge/list"
    page = technician.post(here, {"farads": "47u, 22u", "ohms": "1k, 2k", "volts": "450", "no_bias": "y"})
    assert "2 capacitors have 1 resistors between them; here are 2" in page.words and page.fields(here)["farads"] == "47u, 22u"
    page = technician.post(here, {"farads": "47u, 22u", "ohms": "1k", "volts": "450"})
    assert "or tick that it has none" in page.words
    page = technician.post(here, {"farads": "47u, 22u", "ohms": "1k", "volts": "450", "no_bias": "y"})
    assert "2 capacitors listed." in page.words
    assert technician.get(here).fields(here)["ohms"] == "1k"
    technician.get(f"{here}?from=nowhere", status=404)


def test_drafts_number_keyboards_and_the_old_address(app: Flask, technician: PageClient, counter: PageClient,
                                                     order_id: int) -> None:
    with app.app_context(), transaction():
        discharged(session().get_one(RepairOrder, order_id))
    here = f"/orders/{order_id}/discharge"
    text = technician.get(here).text
    assert f'data-draft="discharge-{order_id}"' in text and text.count('data-keys="volts"') == 5
    readings = [one for one in re.findall(r"<input[^>]*>", text) if 'data-keys="volts"' in one]
    assert not [one for one in readings if 'inputmode="decimal"' in one]  # a minus is needed: the page's own keypad has one
    assert f'data-draft="supply-{order_id}"' in technician.get(f"{here}/list").text
    moved = technician.client.get(f"/orders/{order_id}/made-safe")
    assert moved.status_code == 303 and moved.headers["Location"].endswith(here)
    seen = counter.get(here).words
    assert "Highest of 5" in seen and "Proved before" not in seen
    counter.get(f"{here}/list", status=403)


def test_an_ended_order_carries_no_mark(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        number = order.id
    assert "Not shown discharged" in technician.get(f"/orders/{number}").words
