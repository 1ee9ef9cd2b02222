"""Which forms of a browser the shop confirms: those that are saved, by the person who asks, and no others."""

from __future__ import annotations

import pytest

from app.db import transaction
from app.kernel.tokens import SENT_COOKIE
from tests.findings.make import order_at
from tests.pages import Page, PageClient
from tests.people import Cast


def confirmed(page: Page) -> list[str]:
    return [key for one in page.all("meta", name="tagstrip-saved") for key in one.get("content", "").split()]


@pytest.fixture
def saved(technician: PageClient) -> str:
    """The key of a form that was saved."""
    with technician.app.app_context(), transaction():
        order_id = order_at().id
    path = f"/orders/{order_id}/intake/place"
    fields = {**technician.get(path).fields(path), "shelf": "Shelf 3"}
    technician.send(path, fields)
    return str(fields["once"])


def test_a_saved_form_is_confirmed_on_any_page_as_long_as_it_is_asked_for(technician: PageClient, saved: str) -> None:
    assert confirmed(technician.get("/")) == []
    technician.client.set_cookie(SENT_COOKIE, f"never-sent.{saved}")
    for _ in range(2):
        assert confirmed(technician.get("/")) == [saved]


def test_nobody_else_is_told(technician: PageClient, saved: str, cast: Cast) -> None:
    other = PageClient(technician.app).sign_in(cast.owner)
    stranger = PageClient(technician.app)
    for client in (other, stranger):
        client.client.set_cookie(SENT_COOKIE, saved)
    assert confirmed(other.get("/")) == []
    assert confirmed(stranger.get("/people/sign-in")) == []


@pytest.mark.parametrize("odd", ["'; drop", "%00", "." * 4000, "é", ".".join(["a"] * 2000)])
def test_what_a_browser_may_send_breaks_nothing(technician: PageClient, odd: str) -> None:
    technician.client.set_cookie(SENT_COOKIE, odd)
    assert confirmed(technician.get("/")) == []
