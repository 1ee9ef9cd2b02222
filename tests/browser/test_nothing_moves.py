"""Nothing moves under the finger while a removal is tapped together: the browser's own count of layout shift stays at nought.

Layout Instability (W3C WICG) is the measure; entries right after a tap count here too, as it is the next tap that would miss.
"""

from __future__ import annotations

import pytest
from flask import Flask
from playwright.sync_api import Page, expect

from app.db import transaction
from tests import factories, served
from tests.removals import make

pytestmark = pytest.mark.browser
STACK = ("knob", "nut", "flat washer", "fascia", "chassis", "toothed washer", "body")
WATCH = """() => {
  window.moved = [];
  new PerformanceObserver((list) => {
    for (const one of list.getEntries()) window.moved.push([one.value, ...one.sources.map((s) => s.node?.outerHTML?.slice(0, 90))]);
  }).observe({ type: 'layout-shift', buffered: true });
}"""


@pytest.fixture
def engine_name() -> str:
    """What is stored plays no part."""
    return "sqlite"


def test_tapping_a_stack_together_moves_nothing(tablet: Page, app: Flask) -> None:
    with app.app_context(), transaction():
        order = factories.order()
        make.removal(order, "P1")
        order_id = order.id
    for _ in range(2):  # typefaces are fetched by the first page that a device opens; the second has them
        tablet.goto(f"/orders/{order_id}/removals/new")
        served.ready(tablet)
        tablet.evaluate("document.fonts.ready")
    tablet.evaluate(WATCH)
    for drawn, piece in enumerate(STACK, start=1):
        tablet.locator(f"[data-piece='{piece}']").tap()
        tablet.wait_for_function("n => document.querySelectorAll('.stack-sketch .st-ball').length === n", arg=drawn)
    tablet.get_by_label("pot or switch", exact=True).tap()
    expect(tablet.get_by_role("button", name="As the last pot or switch, P1")).to_be_visible()
    tablet.get_by_label("cover", exact=True).tap()
    tablet.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    assert tablet.evaluate("window.moved") == []


def test_the_next_pot_is_off_by_three_taps(tablet: Page, app: Flask) -> None:
    """Kind, as the last, off: its tag is proposed, and what somebody wrote on it stays."""
    with app.app_context(), transaction():
        order, other = factories.order(), factories.order(amp=factories.amp(serial="2"))
        make.removal(other, "J1", kind=make.Kind.JACK, stack=("nut", "chassis", "body"), fasteners={"screw": 2, "spacer": 1})
        make.removal(order, "P1", unit="front panel", fasteners={"clip": 1})
        order_id = order.id
    tablet.goto(f"/orders/{order_id}/removals/new")
    served.ready(tablet)
    tag = tablet.get_by_label("Tag", exact=True)
    expect(tag).to_have_value("R2")
    tablet.get_by_label("pot or switch", exact=True).tap()
    expect(tag).to_have_value("P2")
    tablet.get_by_role("button", name="As the last pot or switch, P1").tap()
    expect(tablet.get_by_label("Stack, outer to inner")).to_have_value("\n".join(STACK))
    tablet.get_by_role("button", name="Save and next").tap()
    expect(tablet.get_by_text("pot or switch P2 is off the amp.")).to_be_visible()
    expect(tag).to_have_value("R3")
    tablet.goto(f"/orders/{order_id}/removals")
    expect(tablet.locator("tbody tr").last).to_contain_text("1 clip")
    tablet.goto(f"/orders/{order_id}/removals/new")
    served.ready(tablet)
    tablet.get_by_label("jack socket", exact=True).tap()
    expect(tag).to_have_value("J1")
    tag.fill("J7")
    tablet.get_by_label("pot or switch", exact=True).tap()
    expect(tag).to_have_value("J7")
    tablet.get_by_label("jack socket", exact=True).tap()
    tablet.get_by_role("button", name="As the last jack socket, on another amp").tap()
    expect(tablet.get_by_label("Another size or kind")).to_have_value("1 spacer")
    expect(tablet.get_by_role("spinbutton", name="screw", exact=True)).to_have_value("2")


def test_a_class_that_is_new_to_the_shop_is_made_by_two_taps(tablet: Page, app: Flask) -> None:
    """Its kind, its size; a third tap counts one more. What the shop counted before is one tap, and the shop's sizes come first."""
    with app.app_context(), transaction():
        order = factories.order()
        make.removal(order, "E1", name="end screw", stack=("screw M7 × 99",))
        order_id = order.id
    tablet.goto(f"/orders/{order_id}/removals/new")
    served.ready(tablet)
    tablet.get_by_text("Other small parts, by plus and minus").tap()
    written = tablet.get_by_label("Another size or kind")
    taps = written.locator("xpath=ancestor::div[@data-module]")
    taps.get_by_role("button", name="bolt", exact=True).tap()
    taps.get_by_role("button", name="M7 × 99", exact=True).tap()
    expect(written).to_have_value("1 bolt M7 × 99")
    taps.get_by_role("button", name="Count one more").tap()
    taps.get_by_role("button", name="screw M7 × 99", exact=True).tap()
    expect(written).to_have_value("2 bolt M7 × 99\n1 screw M7 × 99")
    tablet.get_by_label("What came off").fill("strap")
    tablet.get_by_role("button", name="Save removal", exact=True).tap()
    expect(tablet.get_by_text("2 bolt M7 × 99, 1 screw M7 × 99")).to_be_visible()
