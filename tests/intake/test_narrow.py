"""The counter's pages on the narrowest phone, 320 CSS pixels (WCAG 2.2, success criterion 1.4.10), with the longest marking."""

from __future__ import annotations

import pytest
from flask import Flask
from playwright.sync_api import Browser

from app.db import session, transaction
from app.intake.service import terms as terms_service
from app.intake.service.terms import Edition
from app.intake.terms import for_jurisdiction
from app.orders.stages import End
from app.shop.queries import the_shop
from tests import factories
from tests.factories import NOW
from tests.intake.make import finish
from tests.people import BY, Cast
from tests.served import ready, sign_in

LONG = "M" * 120  # what the form takes
PAGES = ("/orders/{order}", "/orders/{order}/intake", "/orders/{order}/intake/terms", "/orders/{order}/intake/terms?again=yes",
         "/orders/{order}/receipt", "/orders/{order}/intake/condition", "/orders/{order}/intake/accessories",
         "/orders/{order}/intake/people", "/orders/{order}/intake/void", "/orders/{back}/intake/come-back", "/amps/{amp}",
         "/amps/{amp}/merge", "/customers/{who}", "/customers/{who}/merge", "/check-in?customer={who}&amp={old}",
         "/check-in?customer=new", "/check-in?q=m", "/records?q=mmm", "/shop/terms", "/")


@pytest.mark.browser
@pytest.mark.parametrize("engine_name", ["sqlite"], indirect=True)
def test_no_page_of_the_counter_is_wider_than_the_narrowest_phone(app: Flask, engine_name: str, browser: Browser, address: str,
                                                                  cast: Cast) -> None:
    with app.app_context(), transaction():
        order = finish(factories.order(amp=factories.amp(maker=LONG, model="N" * 60, serial="S" * 60),
                                       customer=factories.customer("W" * 60, email=f"{'e' * 60}@band.example")))
        factories.amp(maker=LONG, model="N" * 60, serial="S" * 60)
        old = factories.order(amp=factories.amp(serial="OLD"), customer=order.depositor)
        old.ended_as, old.ended_at = End.REPAIRED, NOW
        session().flush()
        back = factories.order(amp=old.amp, customer=old.depositor, come_back_of=old)
        own = Edition((("H" * 60, "t" * 400),), NOW.date(), "u" * 200)
        terms_service.write_edition(for_jurisdiction(the_shop().jurisdiction), own, today=NOW.date(), by=BY, now=NOW)
        ids = {"order": order.id, "amp": order.amp_id, "who": order.depositor_id, "old": old.amp_id, "back": back.id}
    context = browser.new_context(base_url=address, viewport={"width": 320, "height": 640}, has_touch=True)
    sign_in(context, app, address, cast.owner.id)
    page, wide = context.new_page(), {}
    for path in PAGES:
        page.goto(path.format(**ids))
        ready(page)
        if (width := page.evaluate("document.documentElement.scrollWidth")) > 320:
            wide[path] = width, page.evaluate(
                "[...document.querySelectorAll('main *')].filter((one) => one.getBoundingClientRect().right > 321)"
                ".slice(0, 3).map((one) => `${one.localName}.${one.className} ${one.textContent.trim().slice(0, 30)}`)")
        for row in page.locator(".aside-nav").all():
            assert (row.bounding_box() or {"height": 0})["height"] <= 72, (path, "the sheets of an order stand in one row")
    context.close()
    assert wide == {}
