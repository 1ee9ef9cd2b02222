"""What the page suggests is an example until it is edited: marked, without a verdict, not saved. The shop's own mains is none."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
from flask import Flask

from app.bench.sums import queries
from app.bench.sums.kinds import Sum
from app.bench.sums.work import work_out
from app.db import transaction
from app.shop import queries as shop_queries
from tests import factories
from tests.pages import Page, PageClient
from tests.sums.test_no_input_breaks_a_page import usual
from tests.sums.test_pages import part
from tests.sums.test_sections import EACH

OWN = {"anode_v": "430", "cathode_a": "38m"}


@EACH
def test_an_untouched_sum_is_an_example(one: Sum, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.kernel.speech._speech", None)
    with Flask(__name__).test_request_context():
        worked, mine = work_out(one, {}), work_out(one, {"mine": "yes"})
    assert worked.examples and worked.untouched and not mine.examples and mine.answer is not None


@EACH
def test_editing_all_that_is_marked_leaves_no_example(one: Sum, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each is written otherwise; the usual figures (tolerances, spread, limits of practice) may stay as they are."""
    monkeypatch.setattr("app.kernel.speech._speech", None)
    with Flask(__name__).test_request_context():
        marked = work_out(one, {}).examples
        edited = {field.name: f"0{field.default}".replace("0-", "-0") for field in marked if field.shows_example}
        worked = work_out(one, usual(one) | (edited or {one.fields[0].name: one.fields[0].options[0][0]}))
    assert worked.examples == ()


def test_an_example_has_no_verdict_and_says_that_it_is_one(technician: PageClient) -> None:
    page = technician.get("/sums/idle")
    assert part(page, "said").startswith("Example") and "Enter your own values." in part(page, "said")
    assert "verdict verdict-" not in page.text and part(page, "limits") == ""
    marked = [e.get("id") for e in page.all("input") if e.get("data-is-example") is not None]
    assert marked == ["anode_v", "cathode_a"]


def test_a_value_that_is_still_an_example_is_named(technician: PageClient) -> None:
    page = technician.get("/sums/idle?" + urlencode({"anode_v": "430"}))
    assert "Still example values: Cathode current, one valve." in part(page, "said") and "verdict verdict-" not in page.text
    own = technician.get("/sums/idle?" + urlencode(OWN))
    assert "Example" not in part(own, "said") and "verdict verdict-" in own.text and "heat" in part(own, "limits")


def test_the_piece_for_script_treats_an_example_alike(technician: PageClient) -> None:
    piece = technician.client.get("/sums/idle/answer").get_data(as_text=True)
    assert "Example" in piece and "verdict-" not in re.sub(r'data-part="wrong".*', "", piece, flags=re.DOTALL)
    assert "verdict-" in technician.client.get("/sums/idle/answer?mine=yes").get_data(as_text=True)


def test_an_example_is_not_saved_and_nothing_typed_is_lost(app: Flask, technician: PageClient) -> None:
    page = technician.post("/sums/idle/keep", {"note": "V5"}, form_on="/sums/idle?anode_v=430")
    assert page.title.startswith("Error:") and "Example values are not saved." in page.words
    assert page.fields("/sums/idle")["anode_v"] == "430" and page.fields("/sums/idle/keep")["note"] == "V5"
    with app.app_context():
        assert queries.count() == 0
    technician.post("/sums/idle/keep", {}, form_on="/sums/idle?mine=yes")
    with app.app_context():
        assert queries.count() == 1


def test_a_kept_sum_opens_as_the_users_own(technician: PageClient) -> None:
    technician.post("/sums/idle/keep", {}, form_on="/sums/idle?mine=yes")
    again = next(link for link in technician.get("/sums/kept").links() if link.startswith("/sums/idle?"))
    assert "Example" not in part(technician.get(again), "said")


def test_a_field_that_is_not_in_use_is_no_example(technician: PageClient) -> None:
    own = {"secondary_vrms": "320", "source_ohm": "90", "reservoir_farad": "50u", "load_a": "120m", "farad": "50u",
           "stage_a": "50m", "part": "resistor", "ohm": "1k2"}
    assert "Example" not in part(technician.get("/sums/smoothing?" + urlencode(own)), "said")


@pytest.mark.parametrize(("volts", "hertz", "said"), [
    (120.0, 60, "2 A slow-blow"), (230.0, 50, "T1A"), (100.0, 50, "2-1/2 A slow-blow"),
])
def test_a_fuse_has_the_ratings_of_the_shops_mains(
    app: Flask, technician: PageClient, volts: float, hertz: int, said: str
) -> None:
    with app.app_context(), transaction():
        shop = shop_queries.the_shop()
        shop.mains_v, shop.mains_hz = volts, hertz
    page = technician.get("/sums/fuse?va=151")
    assert said in part(page, "said") and page.fields("/sums/fuse")["mains_v"] == f"{volts:g}"
    assert technician.get("/sums/reservoir").fields("/sums/reservoir")["mains_hz"] == str(hertz)


def order_of_parts(page: Page) -> list[str]:
    return [e.get("data-place", "") for e in page.root.iter() if e.get("data-place")]


def test_the_answer_comes_first_then_limits_formula_and_caution(technician: PageClient) -> None:
    assert order_of_parts(technician.get("/sums/idle?mine=yes")) == ["said", "limits", "worked", "cited", "cautions"]


def test_recent_sums_of_the_same_order_are_at_hand(app: Flask, technician: PageClient) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        order_id, number = order.id, order.number
    page = technician.post("/sums/idle/keep", {"order_id": str(order_id)}, form_on="/sums/idle?mine=yes")
    assert f"Recent sums of {number}" in page.words and page.fields("/sums/idle/keep")["order_id"] == str(order_id)
    other = technician.get(f"/sums/bias?order={order_id}")
    assert f"Recent sums of {number}" in other.words and any(link.startswith("/sums/idle?") for link in other.links())
    assert f"/sums/cathode-bias?order={order_id}" in technician.get(f"/sums/idle?order={order_id}").links()
    assert f"/sums?order={order_id}" in technician.get(f"/orders/{order_id}").links()
    assert f"/sums/fuse?order={order_id}" in technician.get(f"/sums?order={order_id}").links()
    assert "Recent sums" not in technician.get("/sums/bias").words and technician.get("/sums/bias?order=999")
