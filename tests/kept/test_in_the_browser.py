"""A kept calculation in a real browser: used by taps, marked after a change; another valve by its typed limits.

axe-core 4 is the reference for the accessibility rules; reflow at 320 px is WCAG 2.2, 1.4.10.
"""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from flask import Flask
from playwright.sync_api import Page, expect

from app.db import session, transaction
from app.measuring.rules import Quantity
from app.measuring.service import points
from app.measuring.spec import PointFacts
from tests.discharge import make as discharges
from tests.factories import NOW
from tests.kept import make
from tests.parts import make as part_make
from tests.people import BY
from tests.quote import make as quotes
from tests.served import ready
from tests.sums.test_in_the_browser import RULES

pytestmark = pytest.mark.browser


@pytest.fixture
def engine_name() -> str:
    """What a browser shows does not differ by engine."""
    return "sqlite"


def prepared(app: Flask) -> tuple[int, int, int]:
    """An order with a part, a point and a supply list, and a reservoir kept for it: order, point and calculation."""
    with app.app_context(), transaction(), app.test_request_context():
        order = quotes.agreed_order()
        part_make.part(order)
        point = points.add_point(order, PointFacts("HT at C14", Quantity.VOLT_DC), by=BY, now=NOW)
        discharges.listed(order)
        session().flush()
        return order.id, point.id, make.kept(order).id


def visit(page: Page, where: str) -> None:
    page.goto(where)
    ready(page)


def use(page: Page, figure: str, target: str) -> None:
    page.locator("#use select[name=figure]").select_option(label=figure)
    page.locator("#use select[name=target]").select_option(label=target)
    page.get_by_role("button", name="Use this figure").click()
    page.wait_for_selector("[data-said=saved]")


def test_a_figure_is_used_by_taps_and_marked_when_the_calculation_is_changed(tablet: Page, app: Flask) -> None:
    order_id, point_id, sum_id = prepared(app)
    visit(tablet, f"/sums/kept/{sum_id}")
    options = tablet.locator("#use select[name=figure] option").all_inner_texts()
    highest, mean, joule = (next(one for one in options if one.startswith(name)) for name in ("Highest at", "Mean", "Energy"))
    targets = tablet.locator("#use select[name=target] option").all_inner_texts()
    use(tablet, highest, next(one for one in targets if "worst-case voltage" in one))
    use(tablet, mean, "HT at C14: expected value")
    use(tablet, joule, "the discharge record: stored energy")
    expect(tablet.locator(".rows li")).to_have_count(3)
    tablet.get_by_role("link", name="Change it: save another in its place").click()
    ready(tablet)
    tablet.get_by_label("Winding, off load").fill("350")
    expect(tablet.locator("#keep input[name=secondary_vrms]")).to_have_value("350")
    tablet.get_by_role("button", name="Save this calculation").click()
    tablet.wait_for_selector("[data-said=saved]")
    for where in (f"/orders/{order_id}/parts", f"/orders/{order_id}/readings/points/{point_id}", f"/orders/{order_id}/discharge"):
        visit(tablet, where)
        expect(tablet.locator("main")).to_contain_text("The calculation behind this was changed by")


def test_another_valve_opens_its_limits_and_is_judged_by_them(tablet: Page) -> None:
    visit(tablet, "/sums/idle?mine=yes&mains_tolerance=0&spread=0")
    expect(tablet.get_by_label("Anode dissipation, at most")).to_be_hidden()
    tablet.locator("#given select[name=valve]").select_option("other")
    tablet.get_by_label("Anode dissipation, at most").fill("30")
    said = tablet.locator('[data-place="said"]')
    expect(said).to_contain_text("within a limit from memory")
    tablet.get_by_label("Sheet they were read from").fill("data sheet of 1961")
    expect(said).to_contain_text("within the limit typed here")


@pytest.mark.parametrize(("width", "theme"), [(320, "light"), (1180, "dark")])
def test_axe_finds_nothing_and_nothing_is_wider_than_the_screen(tablet: Page, app: Flask, width: int, theme: str) -> None:
    order_id, point_id, sum_id = prepared(app)
    tablet.set_viewport_size({"width": width, "height": 820})
    tablet.emulate_media(color_scheme=theme, reduced_motion="reduce")  # type: ignore[arg-type]
    for where in (f"/sums/kept/{sum_id}", "/sums/idle?valve=other", "/sums/heater-winding?valves=2+×+5881WXT", "/sums/transformer",
                  "/sums/coupling-leak", "/sums/grid-leak", "/sums/speakers", f"/orders/{order_id}/parts/new",
                  f"/orders/{order_id}/readings/points/{point_id}"):
        visit(tablet, where)
        wrong = Axe().run(tablet, options=RULES).response["violations"]
        assert wrong == [], (where, [(one["id"], [node["html"] for node in one["nodes"]][:3]) for one in wrong])
        assert tablet.evaluate("document.documentElement.scrollWidth") <= width, where
